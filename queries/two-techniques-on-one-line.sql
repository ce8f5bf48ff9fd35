-- title: Doublings of two techniques on the same pitches
-- for: whoever looks for composite colours, such as plucked and bowed strings on one line
-- answers: >
--   One row a stretch of doubling and pair of techniques: two lines play the same line, and their
--   techniques are not the same, the longest first. All movements are listed.
-- parameters:
--   - name: same_family
--     type: boolean
--     default: true
--     meaning: only lines of one family, so that the technique makes the difference
--   - name: kinds
--     type: words
--     default: [unison]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes]
--     meaning: "kinds of doubling; unison: the same pitches in the same octave"
--   - name: technique
--     type: text
--     default: null
--     meaning: id of a technique that one of the two has; any when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bars, meaning: first and last bar of these notes as printed}
--   - {name: line, meaning: upper line in score order}
--   - {name: techniques, meaning: "its techniques; empty: the ordinary way"}
--   - {name: partner, meaning: lower line in score order}
--   - {name: partner_techniques, meaning: its techniques}
--   - {name: kind, meaning: kind of doubling}
--   - {name: notes, unit: notes, meaning: notes of the upper line}
--   - {name: quarters, unit: quarters, meaning: time in which both sound}

WITH found AS (
    SELECT
        doubling_key,
        line_key,
        partner_line_key,
        techniques,
        partner_techniques,
        any_value(movement_id) AS movement_id,
        any_value(kind) AS kind,
        arg_min(bar, start_ticks) AS first_bar,
        arg_max(bar, start_ticks) AS last_bar,
        count(DISTINCT note_key) AS notes,
        sum(ticks)::BIGINT AS ticks
    FROM doubled_notes
    WHERE
        line_key < partner_line_key
        AND list_contains($kinds, kind)
        AND techniques <> partner_techniques
        AND (family = partner_family OR NOT $same_family)
        AND (
            $technique IS NULL
            OR list_contains(techniques, $technique)
            OR list_contains(partner_techniques, $technique)
        )
    GROUP BY doubling_key, line_key, partner_line_key, techniques, partner_techniques
)

SELECT
    found.movement_id,
    bars_as_text(first_bar, last_bar) AS bars,
    own.player AS line,
    techniques,
    partner.player AS partner,
    partner_techniques,
    kind,
    found.notes,
    ticks / 11531520 AS quarters
FROM found
JOIN lines AS own USING (line_key)
JOIN lines AS partner ON partner.line_key = partner_line_key
ORDER BY ticks DESC, doubling_key, techniques, partner_techniques
