-- title: Textures by written dynamic
-- for: whoever asks whether loud and soft passages are laid out differently
-- answers: >
--   One row a dynamic and texture: the share of the time at that dynamic (mean of the notes around
--   a bar, to the nearest mark) in which the bars have the texture. Each work counts once: its
--   share is taken first, then the mean over the works that call for the dynamic. Bars without a
--   dynamic do not count.
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
--   - {name: dynamic, meaning: nearest mark}
--   - {name: texture, meaning: one of the seven textures}
--   - {name: share, unit: share, meaning: mean over works}
--   - {name: quarters, unit: quarters, meaning: time at the dynamic in the texture}
--   - {name: works, unit: works, meaning: works with that dynamic}
-- rates:
--   - {name: share, numerator: "length of the bars of the dynamic and texture, of one work", denominator: "length of the work's bars of that dynamic; then the mean over works"}

WITH told AS MATERIALIZED (
    SELECT round(dynamic_degree)::INTEGER AS degree, work_id, texture, sum(length_ticks)::BIGINT AS ticks
    FROM texture_bars($every_movement)
    WHERE dynamic_degree IS NOT NULL AND ($composer IS NULL OR $composer IN (composer_id, composer))
    GROUP BY ALL
),

works AS (
    SELECT degree, work_id, sum(ticks)::BIGINT AS all_ticks FROM told GROUP BY ALL
)

SELECT
    mark AS dynamic,
    texture,
    avg(coalesce(ticks, 0) / all_ticks) AS share,
    sum(ticks)::BIGINT / 11531520 AS quarters,
    count(*) AS works
FROM works
JOIN (SELECT DISTINCT degree, texture FROM told) USING (degree)
LEFT JOIN told USING (degree, work_id, texture)
JOIN dynamics USING (degree)
GROUP BY degree, mark, texture
ORDER BY degree, share DESC, texture
