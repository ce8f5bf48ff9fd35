-- title: What doubles the lowest sounding line, and how far away
-- for: whoever studies how a composer lays out the bass
-- answers: >
--   One row a bass instrument, partner and interval. The bass is whichever line sounds the lowest
--   pitch at the moment; where several do, each is, and their times are summed. The share is the mean over works of the share
--   of the time in which the instrument is the bass that the partner plays the same line so many
--   semitones away.
-- parameters:
--   - name: kinds
--     type: words
--     default: [unison, octave]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes]
--     meaning: kinds of doubling that count
--   - name: strict
--     type: boolean
--     default: true
--     meaning: strict stretches only, else all that pass the inclusive thresholds
--   - name: instrument
--     type: instrument
--     default: null
--     meaning: "key of the bass instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus; all when left out"
--   - name: every_movement
--     type: boolean
--     default: false
--     meaning: also movements that do not count in statistics or are known to lack parts
-- columns:
--   - {name: instrument, meaning: "key of the instrument on the lowest pitch, the generic one for all sizes and keys"}
--   - {name: partner, meaning: "key of the instrument that doubles it, generic in the same way"}
--   - {name: interval_semitones, unit: semitones, meaning: sounding partner minus bass}
--   - {name: share, unit: share, meaning: mean over works}
--   - {name: quarters, unit: quarters, meaning: time in which it is so}
--   - {name: bass_quarters, unit: quarters, meaning: time in which the instrument is the bass in these works}
--   - {name: works_doubled, unit: works, meaning: works in which it occurs}
--   - {name: works, unit: works, meaning: works that call for the partner and in which the instrument is the bass}
-- rates:
--   - {name: share, numerator: "time in which the instrument is on the lowest pitch and the partner doubles it at the interval", denominator: "time in which the instrument is on the lowest pitch, of the same work; then the mean over works that call for the partner"}

WITH named AS MATERIALIZED (
    SELECT line_key, movement_key, work_id, bare_name, words
    FROM named_lines() AS line
    JOIN chosen_movements($every_movement) USING (movement_key)
    WHERE bare_name IS NOT NULL
),

bass AS MATERIALIZED (
    SELECT line_key, sonority_key, note_key, start_ticks, ticks
    FROM sonority_members
    WHERE
        is_lowest
        AND line_key IN (
            SELECT line_key FROM named WHERE $instrument IS NULL OR list_contains(words, $instrument)
        )
),

bass_time AS (
    SELECT work_id, bare_name AS instrument, sum(ticks) AS bass_ticks
    FROM (SELECT line_key, sum(ticks) AS ticks FROM bass GROUP BY line_key)
    JOIN named USING (line_key)
    GROUP BY ALL
),

-- Each moment of a bass line once, however many lines of the partner double it.
doubled AS (
    SELECT
        named.work_id,
        named.bare_name AS instrument,
        partner,
        interval_semitones,
        sum(ticks) AS ticks
    FROM (
        SELECT
            bass.line_key,
            partner.bare_name AS partner,
            interval_semitones,
            any_value(bass.ticks) AS ticks
        FROM bass
        JOIN doubled_notes AS note USING (note_key)
        JOIN named AS partner ON partner.line_key = partner_line_key
        WHERE
            list_contains($kinds, kind)
            AND (strict OR NOT $strict)
            AND bass.start_ticks >= note.start_ticks
            AND bass.start_ticks < note.start_ticks + note.ticks
        GROUP BY bass.line_key, bass.sonority_key, interval_semitones, partner.bare_name
    )
    JOIN named USING (line_key)
    GROUP BY ALL
),

-- A work that has this bass and the partner, and never doubles so, counts with 0.
every_work AS (
    SELECT
        instrument,
        partner,
        interval_semitones,
        bass_ticks,
        coalesce(ticks, 0) AS ticks
    FROM (SELECT DISTINCT instrument, partner, interval_semitones FROM doubled)
    JOIN bass_time USING (instrument)
    JOIN (SELECT DISTINCT work_id, bare_name AS partner FROM named) USING (work_id, partner)
    LEFT JOIN doubled USING (work_id, instrument, partner, interval_semitones)
)

SELECT
    instrument,
    partner,
    interval_semitones,
    avg(ticks / bass_ticks) AS share,
    sum(ticks)::BIGINT / 11531520 AS quarters,
    sum(bass_ticks)::BIGINT / 11531520 AS bass_quarters,
    count(*) FILTER (ticks > 0) AS works_doubled,
    count(*) AS works
FROM every_work
GROUP BY instrument, partner, interval_semitones
ORDER BY bass_quarters DESC, instrument, share DESC, partner, interval_semitones
