-- title: Why a line leads in a bar
-- for: whoever doubts which line leads, and would judge for himself
-- answers: >
--   One row a line that counts in the bar, from the one for which most speaks on: its role and
--   score, and the three pieces of evidence that speak most for it and most against it, in points
--   more or less than the mean of the lines of the bar. A background layer leads only where every
--   layer is background.
-- parameters:
--   - name: movement
--     type: movement
--     meaning: movement_id of the movement
--   - name: bar
--     type: text
--     meaning: number of the bar as printed
-- columns:
--   - {name: bar, meaning: number of the bar as printed}
--   - {name: line, meaning: name of the line}
--   - {name: leads, meaning: whether it leads}
--   - {name: role, meaning: role of its layer}
--   - {name: layer, meaning: "number of its layer in the bar, from 0"}
--   - {name: lead_score, unit: points, meaning: "0 for the best of most bars; the bars before and after count a little"}
--   - {name: for_it, unit: points, meaning: "what speaks most for it; `collaparte tables layers` says what each piece of evidence is"}
--   - {name: against_it, unit: points, meaning: what speaks most against it}

WITH lines_of_bar AS MATERIALIZED (
    SELECT *
    FROM layers
    WHERE movement_id = $movement AND bar = $bar
),

points AS (
    UNPIVOT lines_of_bar
    ON COLUMNS('lead_by_.*')
    INTO NAME evidence VALUE points
),

relative AS (
    SELECT
        bar_key,
        line_key,
        replace(replace(evidence, 'lead_by_', ''), '_', ' ') AS evidence,
        points - avg(points) OVER (PARTITION BY bar_key, evidence) AS more
    FROM points
),

told AS (
    SELECT
        bar_key,
        line_key,
        list(printf('%s %+.1f', evidence, more) ORDER BY more DESC, evidence)
            FILTER (more >= 0.05) AS for_it,
        list(printf('%s %+.1f', evidence, more) ORDER BY more, evidence)
            FILTER (more <= -0.05) AS against_it
    FROM relative
    GROUP BY bar_key, line_key
)

SELECT
    bar,
    player AS line,
    leads,
    role,
    layer,
    lead_score,
    coalesce(for_it[:3], []) AS for_it,
    coalesce(against_it[:3], []) AS against_it
FROM lines_of_bar
JOIN told USING (bar_key, line_key)
JOIN lines USING (line_key)
ORDER BY bar_index, leads DESC, lead_score DESC, line_key
