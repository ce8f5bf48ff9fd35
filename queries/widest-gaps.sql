-- title: Widest gaps between neighbouring pitches
-- for: whoever looks for hollow or widely spaced sonorities
-- answers: >
--   One row a stretch in which the widest interval between two neighbouring sounding pitches stays
--   where it is, the widest first and of equals the longest: how wide it is, where it lies, and
--   which lines stand on either side of it.
-- parameters:
--   - name: at_least
--     type: integer
--     unit: semitones
--     default: 19
--     meaning: gaps at least this wide
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
--   - {name: gap, unit: semitones, meaning: interval between the two pitches}
--   - {name: lower_pitch, unit: MIDI, meaning: pitch below the gap}
--   - {name: upper_pitch, unit: MIDI, meaning: pitch above it}
--   - {name: lies, meaning: "below, above or across middle C (MIDI 60)"}
--   - {name: below, meaning: lines on the pitch below the gap}
--   - {name: above, meaning: lines on the pitch above it}
--   - {name: pitches, unit: pitches, meaning: different pitches that sound at its beginning}
--   - {name: quarters, unit: quarters, meaning: length}

WITH wide AS (
    SELECT
        *,
        sum(CASE WHEN reached = start_ticks AND gap_before = widest_gap AND above_before = gap_above
            THEN 0 ELSE 1 END) OVER (ORDER BY sonority_key) AS stretch
    FROM (
        SELECT
            *,
            lag(start_ticks + ticks) OVER before AS reached,
            lag(widest_gap) OVER before AS gap_before,
            lag(gap_above) OVER before AS above_before
        FROM sonorities
        WHERE widest_gap >= $at_least AND ($movement IS NULL OR movement_id = $movement)
        WINDOW before AS (PARTITION BY movement_key ORDER BY sonority_key)
    )
),

widest AS MATERIALIZED (
    SELECT
        any_value(movement_id) AS movement_id,
        min(sonority_key) AS sonority_key,
        arg_min(bar, sonority_key) AS first_bar,
        arg_max(bar, sonority_key) AS last_bar,
        any_value(widest_gap) AS gap,
        any_value(gap_above) AS lower_pitch,
        arg_min(distinct_pitches, sonority_key) AS pitches,
        sum(ticks)::BIGINT AS ticks
    FROM wide
    GROUP BY stretch
    ORDER BY gap DESC, ticks DESC, sonority_key
    LIMIT $rows
),

beside AS (
    SELECT
        sonority_key,
        string_agg(DISTINCT player, ', ' ORDER BY player) FILTER (midi = lower_pitch) AS below,
        string_agg(DISTINCT player, ', ' ORDER BY player) FILTER (midi = lower_pitch + gap) AS above
    FROM sonority_members
    JOIN widest USING (sonority_key)
    JOIN lines USING (line_key)
    GROUP BY sonority_key
)

SELECT
    movement_id,
    bars_as_text(first_bar, last_bar) AS bars,
    gap,
    lower_pitch,
    lower_pitch + gap AS upper_pitch,
    CASE
        WHEN lower_pitch >= 60 THEN 'above'
        WHEN lower_pitch + gap <= 60 THEN 'below'
        ELSE 'across'
    END AS lies,
    below,
    above,
    pitches,
    ticks / 11531520 AS quarters
FROM widest
JOIN beside USING (sonority_key)
ORDER BY gap DESC, ticks DESC, sonority_key
