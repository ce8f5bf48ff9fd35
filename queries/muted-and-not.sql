-- title: Doublings in which one part is muted and the other is not
-- for: whoever looks for the mixed colour of a muted and an open instrument on one line
-- answers: >
--   One row a stretch of doubling in which a muted line and one without a mute play the same line,
--   the longest first, with the bars of its notes that are so. All movements are listed.
-- parameters:
--   - name: mutes
--     type: words
--     default: [mute_on, straight_mute, cup_mute, harmon_mute]
--     choices: [mute_on, straight_mute, cup_mute, harmon_mute, stopped]
--     meaning: techniques that count as muted
--   - name: same_family
--     type: boolean
--     default: false
--     meaning: only partners of the same family
--   - name: strict
--     type: boolean
--     default: false
--     meaning: strict stretches only, else all that pass the inclusive thresholds
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bars, meaning: first and last bar of these notes as printed}
--   - {name: muted, meaning: the muted line}
--   - {name: techniques, meaning: its techniques}
--   - {name: open, meaning: the line without a mute}
--   - {name: kind, meaning: kind of doubling}
--   - {name: intervals, unit: semitones, meaning: open minus muted}
--   - {name: notes, unit: notes, meaning: notes of the muted line}
--   - {name: quarters, unit: quarters, meaning: time of these notes together}

WITH found AS (
    SELECT
        doubling_key,
        line_key,
        partner_line_key,
        any_value(movement_id) AS movement_id,
        any_value(kind) AS kind,
        arg_min(bar, start_ticks) AS first_bar,
        arg_max(bar, start_ticks) AS last_bar,
        mode(techniques) AS techniques,
        string_agg(DISTINCT interval_semitones, ', ' ORDER BY interval_semitones) AS intervals,
        count(DISTINCT note_key) AS notes,
        sum(ticks)::BIGINT AS ticks
    FROM doubled_notes
    WHERE
        same_line
        AND (strict OR NOT $strict)
        AND list_has_any(techniques, $mutes)
        AND NOT list_has_any(partner_techniques, $mutes)
        AND (family = partner_family OR NOT $same_family)
    GROUP BY doubling_key, line_key, partner_line_key
)

SELECT
    found.movement_id,
    bars_as_text(first_bar, last_bar) AS bars,
    own.player AS muted,
    techniques,
    partner.player AS open,
    kind,
    intervals,
    found.notes,
    ticks / 11531520 AS quarters
FROM found
JOIN lines AS own USING (line_key)
JOIN lines AS partner ON partner.line_key = partner_line_key
ORDER BY ticks DESC, doubling_key, line_key
