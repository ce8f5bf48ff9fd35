-- title: Registers of an instrument, by composer
-- for: whoever compares how high or low composers write for an instrument
-- answers: >
--   One row a composer, instrument and register: the share of the instrument's time that lies in
--   the register. Each work counts once: its share is taken first, then the mean over the
--   composer's works that call for the instrument. Bands that rest on no table of a handbook are
--   named in the column scheme (thirds of the range, transferred).
-- parameters:
--   - name: instrument
--     type: instrument
--     default: null
--     meaning: "key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus; all when left out"
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
--   - {name: instrument, meaning: key of the instrument}
--   - {name: register_class, meaning: "low, middle, high or very_high; empty where no band is known"}
--   - {name: band, meaning: the instrument's own name for it}
--   - {name: scheme, meaning: scheme that the band comes from}
--   - {name: share, unit: share, meaning: mean over works}
--   - {name: quarters, unit: quarters, meaning: time of the notes in the register}
--   - {name: works, unit: works, meaning: works of the composer that call for the instrument}
-- rates:
--   - {name: share, numerator: "durations of the instrument's notes in the register, of one work", denominator: "durations of all its notes in the same work; then the mean over works"}

WITH used AS MATERIALIZED (
    SELECT
        coalesce(composer, 'not stated') AS composer,
        work_id,
        register_use.instrument,
        register_class,
        sum(ticks) AS ticks
    FROM register_use
    JOIN chosen_movements($every_movement) USING (movement_key)
    JOIN named_lines() AS line USING (line_key)
    WHERE
        register_use.instrument IS NOT NULL
        AND ($instrument IS NULL OR list_contains(words, $instrument))
        AND ($composer IS NULL OR $composer IN (composer_id, composer))
    GROUP BY ALL
),

works AS (
    SELECT composer, work_id, instrument, sum(ticks) AS all_ticks
    FROM used
    GROUP BY ALL
),

-- A register that a work leaves unused counts with 0.
shares AS (
    SELECT
        composer,
        instrument,
        register_class,
        coalesce(ticks, 0) AS ticks,
        coalesce(ticks, 0) / all_ticks AS share
    FROM works
    JOIN (SELECT DISTINCT composer, instrument, register_class FROM used)
        USING (composer, instrument)
    LEFT JOIN used USING (composer, work_id, instrument, register_class)
),

schemes AS (
    SELECT
        key,
        arg_max(scheme, 2 * (scheme = (
            SELECT value FROM settings WHERE name = 'register_scheme'
        ))::INTEGER + is_default::INTEGER) AS scheme
    FROM register_bands
    GROUP BY key
),

bands AS (
    SELECT key AS instrument, class AS register_class, any_value(band) AS band, scheme
    FROM register_bands
    JOIN schemes USING (key, scheme)
    GROUP BY ALL
)

SELECT
    composer,
    instrument,
    register_class,
    band,
    scheme,
    avg(share) AS share,
    sum(ticks)::BIGINT / 11531520 AS quarters,
    count(*) AS works
FROM shares
LEFT JOIN bands USING (instrument, register_class)
GROUP BY composer, instrument, register_class, band, scheme
ORDER BY
    instrument, composer, list_position(['low', 'middle', 'high', 'very_high'], register_class)
