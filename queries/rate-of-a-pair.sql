-- title: How often one instrument doubles another, against opportunity
-- for: whoever compares works of different length and scoring
-- answers: >
--   One row a work that calls for both instruments, and a last row for all of them: F1 (of the time
--   of the line), F2 (of the time in which line and partner both sound: the opportunity) and E
--   (stretches per 100 bars). In the last row each work counts once. A work that never doubles so
--   is 0; one that lacks either instrument is missing. Intervals and contrasts: collaparte compare.
-- parameters:
--   - name: instrument
--     type: instrument
--     default: oboe
--     meaning: "key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus"
--   - name: partner
--     type: instrument
--     default: violin
--     meaning: "the instrument that doubles it, named in the same way"
--   - name: kinds
--     type: words
--     default: [unison, octave]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes]
--     meaning: kinds of doubling that count
--   - name: strict
--     type: boolean
--     default: true
--     meaning: strict stretches only, else all that pass the inclusive thresholds
--   - name: every_movement
--     type: boolean
--     default: false
--     meaning: also movements that do not count in statistics or are known to lack parts
-- columns:
--   - {name: work_id, meaning: "short name of the work; empty in the row of all works"}
--   - {name: composer, meaning: name of the composer}
--   - {name: f1, unit: share, meaning: share of the time of the instrument's lines}
--   - {name: f2, unit: share, meaning: share of the time in which line and partner both sound; empty where they never do}
--   - {name: e, unit: stretches per 100 bars, meaning: stretches of doubling per 100 bars in which the line sounds}
--   - {name: doubled_quarters, unit: quarters, meaning: doubled time of the instrument's lines}
--   - {name: together_quarters, unit: quarters, meaning: time in which they sound together with a partner}
--   - {name: sounding_quarters, unit: quarters, meaning: time in which they sound}
--   - {name: stretches, unit: stretches, meaning: stretches of doubling}
--   - {name: bars, unit: bars, meaning: "bars in which the instrument's lines sound, of each line"}
--   - {name: works, unit: works, meaning: works behind the row}
-- rates:
--   - {name: f1, numerator: doubled_quarters, denominator: sounding_quarters}
--   - {name: f2, numerator: doubled_quarters, denominator: together_quarters}
--   - {name: e, numerator: 100 times stretches, denominator: bars}

WITH named AS MATERIALIZED (
    SELECT line_key, movement_key, work_id, composer, sounding_ticks, words
    FROM named_lines() AS line
    JOIN chosen_movements($every_movement) USING (movement_key)
),

pairs AS MATERIALIZED (
    SELECT own.line_key, partner.line_key AS partner_line_key, own.work_id
    FROM named AS own
    JOIN named AS partner USING (movement_key)
    WHERE
        list_contains(own.words, $instrument)
        AND list_contains(partner.words, $partner)
        AND own.line_key <> partner.line_key
),

own AS MATERIALIZED (
    SELECT line_key, movement_key, work_id, composer, sounding_ticks
    FROM named
    WHERE list_contains(words, $instrument) AND work_id IN (SELECT work_id FROM pairs)
),

sounding AS (
    SELECT work_id, any_value(composer) AS composer, sum(sounding_ticks) AS sounding_ticks
    FROM own
    GROUP BY work_id
),

members AS MATERIALIZED (
    SELECT line_key, sonority_key, start_ticks, ticks, bar_key
    FROM sonority_members
    WHERE line_key IN (SELECT line_key FROM own UNION SELECT partner_line_key FROM pairs)
),

-- Sonorities of each line in which a partner other than itself sounds too.
partners_sounding AS (
    SELECT sonority_key, min(line_key) AS first_line, max(line_key) AS last_line
    FROM members
    WHERE line_key IN (SELECT partner_line_key FROM pairs)
    GROUP BY sonority_key
),

together AS (
    SELECT work_id, sum(ticks) AS together_ticks
    FROM (
        SELECT DISTINCT line_key, sonority_key, ticks
        FROM members
        JOIN partners_sounding USING (sonority_key)
        WHERE
            line_key IN (SELECT line_key FROM own)
            AND (line_key <> first_line OR line_key <> last_line)
    )
    JOIN own USING (line_key)
    GROUP BY work_id
),

doubled AS (
    SELECT
        work_id,
        sum(greatest(0, end_ticks - greatest(start_ticks, reached))) AS doubled_ticks,
        count(DISTINCT doubling_key) AS stretches
    FROM (
        SELECT
            work_id,
            doubling_key,
            start_ticks,
            start_ticks + ticks AS end_ticks,
            coalesce(max(start_ticks + ticks) OVER (
                PARTITION BY line_key
                ORDER BY start_ticks
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), 0) AS reached
        FROM doubled_notes
        JOIN pairs USING (line_key, partner_line_key)
        WHERE (strict OR NOT $strict) AND list_contains($kinds, kind)
    )
    GROUP BY work_id
),

bar_times AS MATERIALIZED (
    SELECT movement_key, bar_key, bar_index, start_ticks, start_ticks + length_ticks AS end_ticks
    FROM bars
    WHERE movement_key IN (SELECT movement_key FROM own)
),

-- Bars of each line: a sonority counts in every bar that it lasts into. Few outlast their bar.
begun AS MATERIALIZED (
    SELECT movement_key, line_key, bar_index, last_end, end_ticks AS end_of_bar
    FROM (
        SELECT line_key, bar_key, max(start_ticks + ticks) AS last_end
        FROM members
        WHERE line_key IN (SELECT line_key FROM own)
        GROUP BY ALL
    )
    JOIN bar_times USING (bar_key)
),

bars_of_lines AS (
    SELECT work_id, sum(greatest(0, last_bar - greatest(first_bar - 1, reached)))::BIGINT AS bars
    FROM (
        SELECT
            line_key,
            first_bar,
            last_bar,
            coalesce(max(last_bar) OVER (
                PARTITION BY line_key
                ORDER BY first_bar
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), -1) AS reached
        FROM (
            SELECT line_key, bar_index AS first_bar, bar_index AS last_bar
            FROM begun
            WHERE last_end <= end_of_bar
            UNION ALL
            SELECT line_key, begun.bar_index, bar_times.bar_index
            FROM begun
            ASOF JOIN bar_times
                ON begun.movement_key = bar_times.movement_key AND last_end > start_ticks
            WHERE last_end > end_of_bar
        )
    )
    JOIN own USING (line_key)
    GROUP BY work_id
),

works AS (
    SELECT
        work_id,
        composer,
        coalesce(doubled_ticks, 0) AS doubled_ticks,
        coalesce(together_ticks, 0) AS together_ticks,
        sounding_ticks,
        coalesce(stretches, 0) AS stretches,
        coalesce(bars, 0) AS bars,
        coalesce(doubled_ticks, 0) / sounding_ticks AS f1,
        coalesce(doubled_ticks, 0) / nullif(together_ticks, 0) AS f2,
        100 * coalesce(stretches, 0) / nullif(bars, 0) AS e
    FROM sounding
    LEFT JOIN together USING (work_id)
    LEFT JOIN doubled USING (work_id)
    LEFT JOIN bars_of_lines USING (work_id)
)

SELECT
    work_id,
    composer,
    f1,
    f2,
    e,
    doubled_ticks::BIGINT / 11531520 AS doubled_quarters,
    together_ticks::BIGINT / 11531520 AS together_quarters,
    sounding_ticks::BIGINT / 11531520 AS sounding_quarters,
    stretches,
    bars,
    1 AS works
FROM works
UNION ALL
SELECT
    NULL,
    NULL,
    avg(f1),
    avg(f2),
    avg(e),
    sum(doubled_ticks)::BIGINT / 11531520,
    sum(together_ticks)::BIGINT / 11531520,
    sum(sounding_ticks)::BIGINT / 11531520,
    sum(stretches)::BIGINT,
    sum(bars)::BIGINT,
    count(*)
FROM works
HAVING count(*) > 0
ORDER BY work_id NULLS LAST
