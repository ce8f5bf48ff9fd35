-- title: Passages of doubling, with their bars
-- for: whoever wants to look at the bars behind a figure
-- answers: >
--   One row a passage: the time in which lines of one sort are doubled by lines of another, joined
--   across gaps shorter than a bar, in order of the score. Unless told, the chorus and the
--   woodwind; with register = low these are the passages of the headline question.
-- parameters:
--   - name: line
--     type: instrument
--     default: chorus
--     meaning: "lines that are doubled: key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus"
--   - name: partner
--     type: instrument
--     default: woodwind
--     meaning: lines that double them, named in the same way
--   - name: register
--     type: text
--     default: null
--     choices: [low, middle, high, very_high]
--     meaning: register class of the partner's notes; any when left out
--   - name: kinds
--     type: words
--     default: [unison, octave]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes, chordal, parallel_thirds, parallel_sixths]
--     meaning: kinds of doubling that count
--   - name: strict
--     type: boolean
--     default: true
--     meaning: strict stretches only, else all that pass the inclusive thresholds
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: first_bar, meaning: first bar as printed}
--   - {name: last_bar, meaning: bar of the last doubled note as printed}
--   - {name: start_quarters, unit: quarters, meaning: start in written order}
--   - {name: doubled_quarters, unit: quarters, meaning: time in which at least one line is doubled}
--   - {name: lines, meaning: "lines that are doubled, in score order"}
--   - {name: partners, meaning: "lines that double them, in score order"}
--   - {name: intervals, unit: semitones, meaning: "sounding partner minus line, from below"}

WITH named AS MATERIALIZED (
    SELECT line_key, movement_key, movement_id, player, words
    FROM named_lines()
    WHERE $movement IS NULL OR movement_id = $movement
),

pairs AS MATERIALIZED (
    SELECT
        own.line_key,
        partner.line_key AS partner_line_key,
        own.player,
        partner.player AS partner_player
    FROM named AS own
    JOIN named AS partner USING (movement_key)
    WHERE
        list_contains(own.words, $line)
        AND list_contains(partner.words, $partner)
        AND own.line_key <> partner.line_key
),

doubled AS MATERIALIZED (
    SELECT
        movement_key,
        movement_id,
        line_key,
        partner_line_key,
        player,
        partner_player,
        interval_semitones,
        start_ticks,
        start_ticks + ticks AS end_ticks,
        bar_key,
        bar
    FROM doubled_notes
    JOIN pairs USING (line_key, partner_line_key)
    WHERE
        (strict OR NOT $strict)
        AND list_contains($kinds, kind)
        AND ($register IS NULL OR partner_register_class = $register)
),

spans AS (
    SELECT DISTINCT movement_key AS subject, start_ticks, end_ticks, bar, length_ticks
    FROM doubled
    JOIN (SELECT bar_key, length_ticks FROM bars) USING (bar_key)
),

passages AS MATERIALIZED (
    SELECT *, row_number() OVER (ORDER BY subject, start_ticks) AS passage
    FROM joined_passages('spans', length_ticks)
),

placed AS MATERIALIZED (
    SELECT doubled.*, passage
    FROM doubled
    ASOF JOIN passages
        ON movement_key = subject AND doubled.start_ticks >= passages.start_ticks
),

lengths AS (
    SELECT passage, sum(greatest(0, end_ticks - greatest(start_ticks, reached)))::BIGINT AS ticks
    FROM (
        SELECT
            passage,
            start_ticks,
            end_ticks,
            coalesce(max(end_ticks) OVER (
                PARTITION BY passage
                ORDER BY start_ticks, end_ticks
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), 0) AS reached
        FROM (SELECT DISTINCT passage, start_ticks, end_ticks FROM placed)
    )
    GROUP BY passage
),

lines_of AS (
    SELECT passage, string_agg(player, ', ' ORDER BY line_key) AS lines
    FROM (SELECT DISTINCT passage, line_key, player FROM placed)
    GROUP BY passage
),

partners_of AS (
    SELECT passage, string_agg(partner_player, ', ' ORDER BY partner_line_key) AS partners
    FROM (SELECT DISTINCT passage, partner_line_key, partner_player FROM placed)
    GROUP BY passage
),

intervals_of AS (
    SELECT
        passage,
        any_value(movement_id) AS movement_id,
        string_agg(DISTINCT interval_semitones, ', ' ORDER BY interval_semitones) AS intervals
    FROM placed
    GROUP BY passage
)

SELECT
    movement_id,
    first_bar,
    last_bar,
    start_ticks / 11531520 AS start_quarters,
    ticks / 11531520 AS doubled_quarters,
    lines,
    partners,
    intervals
FROM passages
JOIN lengths USING (passage)
JOIN lines_of USING (passage)
JOIN partners_of USING (passage)
JOIN intervals_of USING (passage)
ORDER BY movement_id, start_ticks
