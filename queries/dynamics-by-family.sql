-- title: Dynamics by family
-- for: whoever compares how loud the families of the orchestra are asked to play
-- answers: >
--   One row a family: the time-weighted quartiles of the written dynamic in degrees (1 pppp to 10
--   ffff), and how much of its time has no dynamic in force. Written dynamics are instructions, not
--   loudness.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
--   - name: composer
--     type: composer
--     default: null
--     meaning: composer_id or name of one composer; all when left out
-- columns:
--   - {name: family, meaning: family of the instrument}
--   - {name: lower_quartile, unit: degrees, meaning: a quarter of the time with a known dynamic is at most as loud}
--   - {name: median, unit: degrees, meaning: half of that time is at most as loud}
--   - {name: upper_quartile, unit: degrees, meaning: three quarters of that time are at most as loud}
--   - {name: in_hairpins, unit: share, meaning: share of the time within a crescendo or diminuendo}
--   - {name: unknown, unit: share, meaning: share of the time without a dynamic in force}
--   - {name: quarters, unit: quarters, meaning: note time of the family}
-- rates:
--   - {name: in_hairpins, numerator: durations of notes within a hairpin, denominator: durations of all notes}
--   - {name: unknown, numerator: durations of notes without a dynamic in force, denominator: durations of all notes}

WITH sounding AS (
    SELECT n.family, n.dynamic_degree, n.hairpin, n.duration_ticks
    FROM notes AS n
    INNER JOIN movements AS m ON n.movement_key = m.movement_key
    WHERE
        n.family IS NOT NULL AND NOT n.is_grace AND NOT n.is_cue
        AND ($movement IS NULL OR n.movement_id = $movement)
        AND ($composer IS NULL OR $composer IN (m.composer_id, m.composer))
),

ordered AS (
    SELECT
        family,
        dynamic_degree,
        sum(sum(duration_ticks)) OVER (PARTITION BY family ORDER BY dynamic_degree) AS reached,
        sum(sum(duration_ticks)) OVER (PARTITION BY family) AS total
    FROM sounding
    WHERE dynamic_degree IS NOT NULL
    GROUP BY family, dynamic_degree
),

quartiles AS (
    SELECT
        family,
        min(dynamic_degree) FILTER (4 * reached >= total) AS lower_quartile,
        min(dynamic_degree) FILTER (2 * reached >= total) AS median,
        min(dynamic_degree) FILTER (4 * reached >= 3 * total) AS upper_quartile
    FROM ordered
    GROUP BY family
)

SELECT
    s.family,
    any_value(q.lower_quartile) AS lower_quartile,
    any_value(q.median) AS median,
    any_value(q.upper_quartile) AS upper_quartile,
    coalesce(sum(s.duration_ticks) FILTER (s.hairpin IS NOT NULL), 0)::BIGINT
        / sum(s.duration_ticks)::BIGINT AS in_hairpins,
    coalesce(sum(s.duration_ticks) FILTER (s.dynamic_degree IS NULL), 0)::BIGINT
        / sum(s.duration_ticks)::BIGINT AS unknown,
    sum(s.duration_ticks)::BIGINT / 11531520 AS quarters
FROM sounding AS s
LEFT JOIN quartiles AS q ON s.family = q.family
GROUP BY s.family
ORDER BY s.family
