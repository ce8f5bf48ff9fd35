-- title: Time in each texture, by composer
-- for: whoever compares how composers lay out the orchestra
-- answers: >
--   One row a composer and texture: the share of the time in which the bars have that texture. Each
--   work counts once: its share is taken first (0 where it has none), then the mean over the
--   composer's works. Bars in which nothing sounds do not count.
-- parameters:
--   - name: composer
--     type: composer
--     default: null
--     meaning: composer_id or name of one composer; all when left out
--   - name: every_movement
--     type: boolean
--     default: false
--     meaning: also movements that do not count in statistics or are known to lack parts
-- columns:
--   - {name: composer, meaning: "name of the composer, or not stated"}
--   - {name: texture, meaning: one of the seven textures}
--   - {name: share, unit: share, meaning: mean over works}
--   - {name: between, unit: share, meaning: "share of the time in this texture in bars between two textures (margin under 0.1), of all works together"}
--   - {name: quarters, unit: quarters, meaning: time in the texture}
--   - {name: works, unit: works, meaning: works of the composer}
-- rates:
--   - {name: share, numerator: "length of the bars of the texture, of one work", denominator: "length of all bars of the work in which something sounds; then the mean over works"}
--   - {name: between, numerator: length of the bars of the texture with a margin under 0.1, denominator: length of the bars of the texture}

WITH told AS MATERIALIZED (
    SELECT
        composer,
        work_id,
        texture,
        sum(length_ticks)::BIGINT AS ticks,
        coalesce(sum(length_ticks) FILTER (margin < 0.1), 0)::BIGINT AS between_ticks
    FROM texture_bars($every_movement)
    WHERE $composer IS NULL OR $composer IN (composer_id, composer)
    GROUP BY ALL
),

works AS (
    SELECT composer, work_id, sum(ticks) AS all_ticks FROM told GROUP BY ALL
)

SELECT
    composer,
    texture,
    avg(coalesce(ticks, 0) / all_ticks) AS share,
    sum(between_ticks)::BIGINT / sum(ticks)::BIGINT AS between,
    sum(ticks)::BIGINT / 11531520 AS quarters,
    count(*) AS works
FROM works
JOIN (SELECT DISTINCT composer, texture FROM told) USING (composer)
LEFT JOIN told USING (composer, work_id, texture)
GROUP BY composer, texture
ORDER BY composer, share DESC, texture
