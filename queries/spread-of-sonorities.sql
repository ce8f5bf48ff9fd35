-- title: Spread of sonorities, by number of pitches
-- for: whoever compares how wide a composer or a work spaces the whole sonority
-- answers: >
--   The distance from the lowest to the highest sounding pitch, while at least two different
--   pitches sound, always by how many different pitches these are, because extremes grow with
--   their number. Each work counts once: its time-weighted quartiles are taken first, then the
--   mean over works.
-- parameters:
--   - name: by
--     type: text
--     default: corpus
--     choices: [corpus, composer, work]
--     meaning: whose works the mean is taken over
--   - name: every_movement
--     type: boolean
--     default: false
--     meaning: also movements that do not count in statistics or are known to lack parts
-- columns:
--   - {name: of, meaning: "all works, or the composer or work"}
--   - {name: pitches, unit: pitches, meaning: how many different pitches sound}
--   - {name: lower_quartile, unit: semitones, meaning: "a quarter of the time the spread is at most this wide; mean over works"}
--   - {name: median, unit: semitones, meaning: "half of the time it is at most this wide; mean over works"}
--   - {name: upper_quartile, unit: semitones, meaning: "three quarters of the time it is at most this wide; mean over works"}
--   - {name: widest, unit: semitones, meaning: widest spread of all}
--   - {name: quarters, unit: quarters, meaning: time in which so many pitches sound}
--   - {name: works, unit: works, meaning: works in which so many pitches sound}

WITH lengths AS (
    SELECT
        CASE $by
            WHEN 'work' THEN work_id
            WHEN 'composer' THEN coalesce(composer, 'not stated')
            ELSE 'all works'
        END AS "of",
        work_id,
        CASE
            WHEN distinct_pitches <= 3 THEN '2–3'
            WHEN distinct_pitches <= 6 THEN '4–6'
            WHEN distinct_pitches <= 10 THEN '7–10'
            ELSE '11 and more'
        END AS pitches,
        spread_semitones,
        sum(ticks)::BIGINT AS ticks
    FROM sonorities
    JOIN chosen_movements($every_movement) USING (movement_key)
    WHERE distinct_pitches >= 2
    GROUP BY ALL
),

of_works AS (
    SELECT
        "of",
        work_id,
        pitches,
        time_quantile(spread_semitones, ticks, 0.25) AS lower_quartile,
        time_quantile(spread_semitones, ticks, 0.5) AS median,
        time_quantile(spread_semitones, ticks, 0.75) AS upper_quartile,
        max(spread_semitones) AS widest,
        sum(ticks) AS ticks
    FROM lengths
    GROUP BY ALL
)

SELECT
    "of",
    pitches,
    avg(lower_quartile) AS lower_quartile,
    avg(median) AS median,
    avg(upper_quartile) AS upper_quartile,
    max(widest) AS widest,
    sum(ticks)::BIGINT / 11531520 AS quarters,
    count(*) AS works
FROM of_works
GROUP BY "of", pitches
ORDER BY "of", list_position(['2–3', '4–6', '7–10', '11 and more'], pitches)
