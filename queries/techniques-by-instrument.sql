-- title: Techniques by instrument
-- for: whoever wants to know how a colour is asked for and how much of it there is
-- answers: >
--   One row an instrument and technique: the share of the instrument's note time (durations of its
--   notes added up) with the technique, in how many works, and one bar to look at. Marks of single
--   notes (bowing, harmonics …) count with the notes that carry them; the state that is usual
--   (arco, senza sordino …) is no technique.
-- parameters:
--   - name: instrument
--     type: instrument
--     default: null
--     meaning: key of one instrument; all when left out
--   - name: composer
--     type: composer
--     default: null
--     meaning: composer_id or name of one composer; all when left out
-- columns:
--   - {name: instrument, meaning: key of the instrument}
--   - {name: technique, meaning: "id of the technique, or name of the mark"}
--   - {name: share, unit: share, meaning: share of the instrument's note time with the technique}
--   - {name: quarters, unit: quarters, meaning: note time with the technique}
--   - {name: works, unit: works, meaning: works in which it occurs}
--   - {name: movement_id, meaning: a movement to look at}
--   - {name: bar, meaning: a bar to look at}
-- rates:
--   - {name: share, numerator: durations of the instrument's notes with the technique, denominator: durations of all its notes}

WITH sounding AS (
    SELECT n.*, m.work_id
    FROM notes AS n
    INNER JOIN movements AS m ON n.movement_key = m.movement_key
    WHERE
        n.instrument IS NOT NULL AND NOT n.is_grace AND NOT n.is_cue
        AND ($instrument IS NULL OR n.instrument = $instrument)
        AND ($composer IS NULL OR $composer IN (m.composer_id, m.composer))
),

totals AS (
    SELECT instrument, sum(duration_ticks)::BIGINT AS ticks FROM sounding GROUP BY instrument
),

marked AS (
    SELECT instrument, unnest(techniques) AS technique, duration_ticks, work_id, note_key,
        movement_id, bar
    FROM sounding
)

SELECT
    k.instrument,
    k.technique,
    sum(k.duration_ticks)::BIGINT / any_value(t.ticks) AS share,
    sum(k.duration_ticks)::BIGINT / 11531520 AS quarters,
    count(DISTINCT k.work_id) AS works,
    arg_min(k.movement_id, k.note_key) AS movement_id,
    arg_min(k.bar, k.note_key) AS bar
FROM marked AS k
INNER JOIN totals AS t ON k.instrument = t.instrument
GROUP BY k.instrument, k.technique
ORDER BY k.instrument, share DESC, k.technique
