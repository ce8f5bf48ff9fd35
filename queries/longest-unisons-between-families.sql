-- title: Longest unisons between families
-- for: whoever looks for one line in two contrasting colours
-- answers: >
--   One row a stretch in which two lines of different families play the same line, the longest
--   first. All movements are listed; a stretch is a passage to look at, not a rate.
-- parameters:
--   - name: kinds
--     type: words
--     default: [unison]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes]
--     meaning: kinds of doubling
--   - name: families
--     type: words
--     default: [woodwind, brass, percussion, keyboard, plucked, string, voice]
--     choices: [woodwind, brass, percussion, keyboard, plucked, string, voice]
--     meaning: both lines are of these families
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
--   - name: rows
--     type: integer
--     default: 50
--     meaning: how many rows at most
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bars, meaning: first and last bar as printed}
--   - {name: line, meaning: upper line in score order}
--   - {name: family, meaning: its family}
--   - {name: partner, meaning: lower line in score order}
--   - {name: partner_family, meaning: its family}
--   - {name: interval_semitones, unit: semitones, meaning: "sounding partner minus line; empty where it changes"}
--   - {name: quarters, unit: quarters, meaning: from the first matched note to the end of the last}
--   - {name: matched_notes, unit: notes, meaning: notes that begin together}
--   - {name: strict, meaning: passes the strict thresholds}

WITH longest AS (
    SELECT *
    FROM doublings
    WHERE
        basis = 'notes'
        AND list_contains($kinds, kind)
        AND family_a <> family_b
        AND list_contains($families, family_a)
        AND list_contains($families, family_b)
        AND ($movement IS NULL OR movement_id = $movement)
    ORDER BY end_ticks - start_ticks DESC, doubling_key
    LIMIT $rows
)

SELECT
    longest.movement_id,
    bars_as_text(start_bar, end_bar) AS bars,
    a.player AS line,
    family_a AS family,
    b.player AS partner,
    family_b AS partner_family,
    interval_semitones,
    (end_ticks - start_ticks) / 11531520 AS quarters,
    matched_notes,
    strict
FROM longest
JOIN lines AS a ON a.line_key = line_a
JOIN lines AS b ON b.line_key = line_b
ORDER BY end_ticks - start_ticks DESC, doubling_key
