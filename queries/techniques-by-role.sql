-- title: Figuration by technique
-- for: whoever asks how figures, or lines in another role, are asked to be played
-- answers: >
--   One row a family and technique: the share of the family's note time in the role asked for
--   (figuration unless told) that carries the technique, and the same share of its time in all
--   other roles. Notes without any technique count as ordinary; a note with several counts with
--   each.
-- parameters:
--   - name: role
--     type: text
--     default: figuration
--     choices: [leading_line, countermelody, sustained_harmony, repeated_notes, figuration, bass, pedal_point, short_chords, filling]
--     meaning: role of the layer that the note begins in
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: family, meaning: family of the instrument}
--   - {name: technique, meaning: "id of the technique, or ordinary"}
--   - {name: share, unit: share, meaning: share of the family's note time in the role}
--   - {name: elsewhere, unit: share, meaning: share of the family's note time in other roles}
--   - {name: quarters, unit: quarters, meaning: note time in the role with the technique}
--   - {name: notes, unit: notes, meaning: notes in the role with the technique}
--   - {name: works, unit: works, meaning: works in which that is so}
-- rates:
--   - {name: share, numerator: durations of notes in the role with the technique, denominator: durations of the family's notes in the role}
--   - {name: elsewhere, numerator: durations of notes in other roles with the technique, denominator: durations of the family's notes in other roles}

WITH played AS MATERIALIZED (
    SELECT
        notes.family,
        techniques,
        work_id,
        role = $role AS in_role,
        sum(duration_ticks) AS ticks,
        count(*) AS notes
    FROM notes
    JOIN layers USING (bar_key, line_key)
    JOIN movements ON movements.movement_key = notes.movement_key
    WHERE
        notes.family IS NOT NULL AND NOT is_grace AND NOT is_cue
        AND ($movement IS NULL OR notes.movement_id = $movement)
    GROUP BY ALL
),

totals AS (
    SELECT
        family,
        sum(ticks) FILTER (in_role)::BIGINT AS role_ticks,
        sum(ticks) FILTER (NOT in_role)::BIGINT AS other_ticks
    FROM played
    GROUP BY family
)

SELECT
    family,
    technique,
    sum(ticks) FILTER (in_role)::BIGINT / any_value(role_ticks) AS share,
    coalesce(sum(ticks) FILTER (NOT in_role), 0)::BIGINT / any_value(other_ticks) AS elsewhere,
    sum(ticks) FILTER (in_role)::BIGINT / 11531520 AS quarters,
    sum(notes) FILTER (in_role)::BIGINT AS notes,
    count(DISTINCT work_id) FILTER (in_role) AS works
FROM (
    SELECT
        *,
        unnest(CASE WHEN len(techniques) = 0 THEN ['ordinary'] ELSE techniques END) AS technique
    FROM played
)
JOIN totals USING (family)
GROUP BY family, technique
HAVING sum(notes) FILTER (in_role) > 0
ORDER BY family, share DESC, technique
