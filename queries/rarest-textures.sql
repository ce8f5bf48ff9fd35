-- title: Rarest textures of a work
-- for: whoever looks for the bars in which a work departs from its habits
-- answers: >
--   One row a work and texture that takes up no more than a share of the work's time, the rarest
--   first in each work, with its bars; beside it how common the texture is in all works.
-- parameters:
--   - name: at_most
--     type: number
--     unit: share
--     default: 0.05
--     meaning: textures of at most this share of the work's time
--   - name: work
--     type: work
--     default: null
--     meaning: work_id of one work; all when left out
-- columns:
--   - {name: work_id, meaning: short name of the work}
--   - {name: texture, meaning: one of the seven textures}
--   - {name: share, unit: share, meaning: share of the work's time}
--   - {name: usual_share, unit: share, meaning: "mean of that share over all works, 0 where one has none"}
--   - {name: quarters, unit: quarters, meaning: time in the texture}
--   - {name: bars, meaning: "its bars as printed, by movement"}
-- rates:
--   - {name: share, numerator: "length of the bars of the texture, of one work", denominator: length of all bars of the work in which something sounds}
--   - {name: usual_share, numerator: the same, denominator: "the same; then the mean over works"}

WITH told AS MATERIALIZED (
    SELECT
        *,
        bar_index - row_number() OVER (PARTITION BY movement_key, texture ORDER BY bar_index) AS run
    FROM texture_bars(true)
),

shares AS (
    SELECT
        work_id,
        texture,
        sum(length_ticks)::BIGINT AS ticks,
        ticks / (sum(sum(length_ticks)) OVER (PARTITION BY work_id))::BIGINT AS share
    FROM told
    GROUP BY work_id, texture
),

usual AS (
    SELECT texture, sum(share) / (SELECT count(DISTINCT work_id) FROM told) AS usual_share
    FROM shares
    GROUP BY texture
),

runs AS (
    SELECT
        work_id,
        texture,
        movement_id,
        min(bar_index) AS first_index,
        bars_as_text(arg_min(bar, bar_index), arg_max(bar, bar_index)) AS bars
    FROM told
    GROUP BY work_id, texture, movement_id, movement_key, run
),

places AS (
    SELECT work_id, texture, string_agg(movement_id || ' ' || bars, '; ' ORDER BY movement_id) AS bars
    FROM (
        SELECT work_id, texture, movement_id, string_agg(bars, ', ' ORDER BY first_index) AS bars
        FROM runs
        GROUP BY ALL
    )
    GROUP BY ALL
)

SELECT work_id, texture, share, usual_share, ticks / 11531520 AS quarters, bars
FROM shares
JOIN usual USING (texture)
JOIN places USING (work_id, texture)
WHERE share <= $at_most AND ($work IS NULL OR work_id = $work)
ORDER BY work_id, share, texture
