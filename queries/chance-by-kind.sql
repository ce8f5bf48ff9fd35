-- title: Chance by kind of doubling
-- for: whoever has to defend that a doubling is more than shared harmony or rhythm
-- answers: >
--   One row a kind and strictness: the doubled time of all pairs of lines, the time that two null
--   models expect, and what share of the doubled time that is. shift: one line moved against the
--   other by a number of bars; harmony: rhythm kept, pitches drawn anew from those of the bar. The
--   columns of chance are empty in a store built without them; the note says which command fills
--   them.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
--   - name: every_movement
--     type: boolean
--     default: false
--     meaning: also movements that do not count in statistics or are known to lack parts
-- columns:
--   - {name: kind, meaning: "kind of doubling, or all kinds of the same line"}
--   - {name: strict, meaning: strict stretches only; else all that pass the inclusive thresholds}
--   - {name: doubled_quarters, unit: quarters, meaning: "doubled time, summed over pairs of lines"}
--   - {name: shift_quarters, unit: quarters, meaning: doubled time that the shift null expects}
--   - {name: shift_share, unit: share, meaning: "share of the doubled time that the shift null expects, where there is one"}
--   - {name: harmony_quarters, unit: quarters, meaning: doubled time that the harmony null expects}
--   - {name: harmony_share, unit: share, meaning: share of the doubled time that the harmony null expects}
--   - {name: note, meaning: why a column of chance is empty}
-- rates:
--   - {name: shift_share, numerator: shift_quarters, denominator: doubled time of the pairs that have a shift null}
--   - {name: harmony_share, numerator: harmony_quarters, denominator: doubled time of the pairs that have a harmony null}

WITH activity AS (
    SELECT kind, same_line, strict, doubled_ticks, chance_shift_ticks, chance_harmony_ticks
    FROM pair_activity
    JOIN chosen_movements($every_movement) AS movement USING (movement_key)
    WHERE
        line_key < partner_line_key
        AND ($movement IS NULL OR movement.movement_id = $movement)
),

totals AS (
    SELECT
        CASE grouping(kind) WHEN 0 THEN kind ELSE 'all of the same line' END AS kind,
        grouping(kind) AS is_sum,
        strict,
        sum(doubled_ticks)::BIGINT AS ticks,
        sum(doubled_ticks) FILTER (chance_shift_ticks IS NOT NULL)::BIGINT AS beside_shift,
        sum(chance_shift_ticks) AS shift_ticks,
        sum(doubled_ticks) FILTER (chance_harmony_ticks IS NOT NULL)::BIGINT AS beside_harmony,
        sum(chance_harmony_ticks) AS harmony_ticks
    FROM activity
    GROUP BY GROUPING SETS ((kind, same_line, strict), (same_line, strict))
    HAVING grouping(kind) = 0 OR same_line
)

SELECT
    kind,
    strict,
    ticks / 11531520 AS doubled_quarters,
    shift_ticks / 11531520 AS shift_quarters,
    shift_ticks / nullif(beside_shift, 0) AS shift_share,
    harmony_ticks / 11531520 AS harmony_quarters,
    harmony_ticks / nullif(beside_harmony, 0) AS harmony_share,
    CASE
        WHEN harmony_ticks IS NULL AND shift_ticks IS NULL THEN 'collaparte build --chance fills the columns of chance'
        WHEN shift_ticks IS NULL THEN 'no movement has the 17 bars that a shift needs'
    END AS note
FROM totals
ORDER BY
    is_sum,
    list_position([
        'unison', 'octave', 'octave_displaced', 'reiterated',
        'main_notes', 'chordal', 'parallel_thirds', 'parallel_sixths'
    ], kind),
    strict DESC
