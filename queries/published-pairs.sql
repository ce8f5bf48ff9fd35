-- title: Published doublings of two instruments, and how often they occur
-- for: whoever holds a handbook against scores
-- answers: >
--   One row a combination of two instruments that a handbook speaks of, in unison, octaves or
--   parallels: how often it occurs in the corpus. A finding, not a pass or a fail. First and second
--   violins are not told apart; lines of one instrument are then meant. Interval: as published.
-- parameters:
--   - name: verdict
--     type: text
--     default: recommended
--     choices: [recommended, possible, rare, avoid]
--     meaning: what the handbook says of it
--   - name: strict
--     type: boolean
--     default: true
--     meaning: strict stretches only, else all that pass the inclusive thresholds
--   - name: every_movement
--     type: boolean
--     default: false
--     meaning: also movements that do not count in statistics or are known to lack parts
-- columns:
--   - {name: pair_id, meaning: short name of the combination}
--   - {name: upper, meaning: "upper instrument as published; in unison and parallels by the alphabet"}
--   - {name: lower, meaning: "lower instrument as published, or the other one"}
--   - {name: kind, meaning: kind of doubling}
--   - {name: interval_semitones, unit: semitones, meaning: sounding lower minus upper}
--   - {name: f1, unit: share, meaning: "share of the time of the upper instrument's lines; mean over works"}
--   - {name: f2, unit: share, meaning: "share of the time in which a pair of lines sounds together; mean over works"}
--   - {name: quarters, unit: quarters, meaning: doubled time of the upper instrument's lines}
--   - {name: works_doubled, unit: works, meaning: works in which it occurs}
--   - {name: works, unit: works, meaning: works that call for both}
--   - {name: lift, unit: times, meaning: "doubled time of these pairs of lines in this kind, at any distance of octaves, over what the harmony null expects"}
--   - {name: lift_note, meaning: why there is no lift}
--   - {name: context, meaning: where the handbook says that it holds}
--   - {name: source, meaning: the handbook}
-- rates:
--   - {name: f1, numerator: "time in which a line of the upper instrument is doubled by a line of the lower, summed over the upper's lines", denominator: "sounding time of the upper instrument's lines in the same work; then the mean over works that call for both"}
--   - {name: f2, numerator: "doubled time, summed over pairs of lines", denominator: "time in which both lines sound, summed over pairs of lines, of the same work; then the mean over works in which they do"}

WITH combinations AS MATERIALIZED (
    SELECT
        pair_id,
        kind,
        span_octaves,
        context,
        source,
        arg_max(instrument, rank) AS upper,
        arg_min(instrument, rank) AS lower,
        arg_max(words, rank) AS upper_words,
        arg_min(words, rank) AS lower_words
    FROM published_doublings
    JOIN (
        SELECT
            *,
            row_number() OVER (PARTITION BY pair_id ORDER BY level, instrument DESC) AS rank
        FROM published_members
    ) USING (pair_id)
    WHERE verdict = $verdict AND parts = 2
    GROUP BY ALL
    HAVING count(*) = 2
),

named AS MATERIALIZED (
    SELECT line_key, movement_key, work_id, sounding_ticks, unnest(words) AS word
    FROM named_lines() AS line
    JOIN chosen_movements($every_movement) USING (movement_key)
),

-- Lines that a side of a combination stands for.
sides AS MATERIALIZED (
    SELECT DISTINCT pair_id, side, line_key, movement_key, work_id, sounding_ticks
    FROM (
        SELECT pair_id, 'upper' AS side, unnest(upper_words) AS word FROM combinations
        UNION ALL
        SELECT pair_id, 'lower', unnest(lower_words) FROM combinations
    )
    JOIN named USING (word)
),

pairs AS MATERIALIZED (
    SELECT
        pair_id,
        upper.line_key,
        lower.line_key AS partner_line_key,
        upper.work_id
    FROM sides AS upper
    JOIN sides AS lower USING (pair_id, movement_key)
    WHERE upper.side = 'upper' AND lower.side = 'lower' AND upper.line_key <> lower.line_key
),

able AS (
    SELECT pair_id, work_id, sum(sounding_ticks) AS sounding_ticks
    FROM sides
    JOIN (SELECT DISTINCT pair_id, work_id FROM pairs) USING (pair_id, work_id)
    WHERE side = 'upper'
    GROUP BY ALL
),

activity AS MATERIALIZED (
    SELECT
        pair_id,
        work_id,
        line_key,
        partner_line_key,
        together_ticks,
        doubled_ticks,
        chance_harmony_ticks
    FROM pair_activity AS activity
    JOIN pairs USING (line_key, partner_line_key)
    JOIN combinations USING (pair_id)
    WHERE activity.kind = combinations.kind AND strict = $strict
),

together AS (
    SELECT pair_id, work_id, sum(together_ticks) AS together_ticks
    FROM activity
    GROUP BY ALL
),

-- Matched notes of the pairs that double at all, at the distance that is published.
matched AS MATERIALIZED (
    SELECT pair_id, work_id, line_key, start_ticks, ticks
    FROM doubled_notes AS note
    JOIN (SELECT * FROM activity WHERE doubled_ticks > 0) USING (line_key, partner_line_key)
    JOIN combinations USING (pair_id)
    WHERE
        note.kind = combinations.kind
        AND (strict OR NOT $strict)
        AND (span_octaves IS NULL OR interval_semitones = -12 * span_octaves)
),

doubled AS (
    SELECT
        pair_id,
        work_id,
        sum(ticks) AS pair_ticks,
        sum(greatest(0, start_ticks + ticks - greatest(start_ticks, reached))) AS ticks
    FROM (
        SELECT
            *,
            coalesce(max(start_ticks + ticks) OVER (
                PARTITION BY pair_id, line_key
                ORDER BY start_ticks
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), 0) AS reached
        FROM matched
    )
    GROUP BY ALL
),

shares AS (
    SELECT
        pair_id,
        avg(coalesce(ticks, 0) / sounding_ticks) AS f1,
        avg(coalesce(pair_ticks, 0) / nullif(together_ticks, 0)) AS f2,
        coalesce(sum(ticks), 0)::BIGINT AS ticks,
        count(ticks) AS works_doubled,
        count(*) AS works
    FROM able
    LEFT JOIN together USING (pair_id, work_id)
    LEFT JOIN doubled USING (pair_id, work_id)
    GROUP BY pair_id
),

expected AS (
    SELECT
        pair_id,
        sum(doubled_ticks)::BIGINT AS doubled_ticks,
        sum(chance_harmony_ticks) AS chance_ticks
    FROM activity
    WHERE chance_harmony_ticks IS NOT NULL
    GROUP BY pair_id
),

least AS (
    SELECT value::DOUBLE * 11531520 AS ticks FROM settings WHERE name = 'lift_quarters'
)

SELECT
    pair_id,
    upper,
    lower,
    kind,
    -12 * span_octaves AS interval_semitones,
    f1,
    f2,
    coalesce(ticks, 0) / 11531520 AS quarters,
    coalesce(works_doubled, 0) AS works_doubled,
    coalesce(works, 0) AS works,
    CASE WHEN chance_ticks >= (SELECT ticks FROM least) THEN doubled_ticks / chance_ticks END
        AS lift,
    CASE
        WHEN coalesce(works, 0) = 0 THEN 'no work calls for both'
        WHEN chance_ticks IS NULL THEN 'collaparte build --chance fills it'
        WHEN chance_ticks < (SELECT ticks FROM least) THEN 'chance expects too little to divide by'
    END AS lift_note,
    context,
    source
FROM combinations
LEFT JOIN shares USING (pair_id)
LEFT JOIN expected USING (pair_id)
ORDER BY works = 0 NULLS LAST, f1 DESC NULLS LAST, pair_id
