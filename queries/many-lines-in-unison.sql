-- title: Five or more lines in one unison
-- for: whoever looks for tutti unisons
-- answers: >
--   One row a stretch in which so many lines play one and the same line, the most lines first.
--   Lines that are octaves apart count together; of_one_pitch tells how many of them are on the
--   same pitch throughout. All movements are listed.
-- parameters:
--   - name: lines
--     type: integer
--     unit: lines
--     default: 5
--     meaning: at least so many lines
--   - name: octaves
--     type: boolean
--     default: true
--     meaning: lines that are octaves apart count together; else only lines on the same pitch
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
--   - {name: lines, unit: lines, meaning: lines in the unison}
--   - {name: of_one_pitch, unit: lines, meaning: the most lines that are on one pitch throughout}
--   - {name: families, unit: families, meaning: different families among the lines}
--   - {name: has_chorus, meaning: a line of the chorus is among them}
--   - {name: quarters, unit: quarters, meaning: length}
--   - {name: common_onsets, unit: onsets, meaning: onsets that all lines share}
--   - {name: members, meaning: "the lines in score order, each with its distance above the lowest in semitones where it does not change"}

WITH on_one_pitch AS (
    SELECT group_key, max(lines) AS of_one_pitch
    FROM (
        SELECT group_key, interval_to_lowest, count(*) AS lines
        FROM group_members
        WHERE interval_to_lowest IS NOT NULL
        GROUP BY ALL
    )
    GROUP BY group_key
),

chosen AS (
    SELECT unison_groups.*, coalesce(of_one_pitch, 1) AS of_one_pitch
    FROM unison_groups
    LEFT JOIN on_one_pitch USING (group_key)
    WHERE
        lines >= $lines
        AND ($octaves OR of_one_pitch >= $lines)
        AND ($movement IS NULL OR movement_id = $movement)
    ORDER BY
        CASE WHEN $octaves THEN lines ELSE of_one_pitch END DESC,
        end_ticks - start_ticks DESC, group_key
    LIMIT $rows
),

members AS (
    SELECT
        group_key,
        string_agg(
            player || coalesce(' (' || interval_to_lowest || ')', ''), ', ' ORDER BY line_key
        ) AS members
    FROM group_members
    JOIN lines USING (line_key)
    WHERE group_key IN (SELECT group_key FROM chosen)
    GROUP BY group_key
)

SELECT
    movement_id,
    bars_as_text(start_bar, end_bar) AS bars,
    lines,
    of_one_pitch,
    families,
    has_chorus,
    (end_ticks - start_ticks) / 11531520 AS quarters,
    common_onsets,
    members
FROM chosen
JOIN members USING (group_key)
ORDER BY
    CASE WHEN $octaves THEN lines ELSE of_one_pitch END DESC,
    end_ticks - start_ticks DESC, group_key
