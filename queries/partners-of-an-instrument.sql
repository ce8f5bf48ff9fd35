-- title: Partners of an instrument, by interval
-- for: whoever wants to know which instruments go with one, and at which octave
-- answers: >
--   One row a partner and interval: the share of the instrument's sounding time in which a line of
--   the partner plays the same line at that interval. Primary figure: the mean over the works that
--   call for both, each work counting once; beside it the pooled share.
-- parameters:
--   - name: instrument
--     type: instrument
--     default: oboe
--     meaning: "key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus"
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
--   - {name: stratum, meaning: "different instruments; one instrument, or continuo and its doublers, which go together as a matter of course"}
--   - {name: partner, meaning: "key of the partner's instrument, the generic one for all sizes and keys"}
--   - {name: interval_semitones, unit: semitones, meaning: sounding partner minus instrument}
--   - {name: share, unit: share, meaning: "F1, mean over works"}
--   - {name: pooled_share, unit: share, meaning: "F1, all works pooled"}
--   - {name: quarters, unit: quarters, meaning: doubled time of the instrument's lines}
--   - {name: works_doubled, unit: works, meaning: works in which it occurs}
--   - {name: works, unit: works, meaning: works that call for both}
-- rates:
--   - {name: share, numerator: "time in which a line of the instrument is doubled by the partner at this interval, summed over its lines", denominator: "sounding time of the instrument's lines in the same work; then the mean over works that call for both"}
--   - {name: pooled_share, numerator: the same over all works that call for both, denominator: sounding time of the instrument's lines in these works}

WITH named AS MATERIALIZED (
    SELECT line.*, work_id
    FROM named_lines() AS line
    JOIN chosen_movements($every_movement) USING (movement_key)
),

own AS MATERIALIZED (
    SELECT * FROM named WHERE list_contains(words, $instrument)
),

pairs AS MATERIALIZED (
    SELECT
        own.line_key,
        partner.line_key AS partner_line_key,
        own.work_id,
        partner.bare_name AS partner,
        stratum(own, partner) AS stratum
    FROM own
    JOIN named AS partner USING (movement_key)
    WHERE own.line_key <> partner.line_key AND partner.bare_name IS NOT NULL
),

-- The sounding time that could be doubled: of all lines of the instrument in works with a partner.
able AS (
    SELECT stratum, partner, work_id, sum(sounding_ticks) AS ticks
    FROM (SELECT DISTINCT stratum, partner, work_id FROM pairs)
    JOIN (SELECT work_id, sum(sounding_ticks) AS sounding_ticks FROM own GROUP BY work_id)
        USING (work_id)
    GROUP BY ALL
),

doubled AS (
    SELECT
        stratum,
        partner,
        interval_semitones,
        work_id,
        sum(greatest(0, end_ticks - greatest(start_ticks, reached))) AS ticks
    FROM (
        SELECT
            stratum,
            partner,
            interval_semitones,
            work_id,
            start_ticks,
            start_ticks + ticks AS end_ticks,
            coalesce(max(start_ticks + ticks) OVER (
                PARTITION BY line_key, partner, stratum, interval_semitones
                ORDER BY start_ticks
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), 0) AS reached
        FROM doubled_notes
        JOIN pairs USING (line_key, partner_line_key)
        WHERE (strict OR NOT $strict) AND list_contains($kinds, kind)
    )
    GROUP BY ALL
),

-- A work that calls for both and never doubles so counts with 0.
every_work AS (
    SELECT
        stratum,
        partner,
        interval_semitones,
        able.ticks AS sounding_ticks,
        coalesce(doubled.ticks, 0) AS doubled_ticks
    FROM (SELECT DISTINCT stratum, partner, interval_semitones FROM doubled)
    JOIN able USING (stratum, partner)
    LEFT JOIN doubled USING (stratum, partner, interval_semitones, work_id)
)

SELECT
    stratum,
    partner,
    interval_semitones,
    avg(doubled_ticks / sounding_ticks) AS share,
    sum(doubled_ticks)::BIGINT / sum(sounding_ticks)::BIGINT AS pooled_share,
    sum(doubled_ticks)::BIGINT / 11531520 AS quarters,
    count(*) FILTER (doubled_ticks > 0) AS works_doubled,
    count(*) AS works
FROM every_work
GROUP BY stratum, partner, interval_semitones
ORDER BY stratum <> 'different instruments', stratum, share DESC, partner, interval_semitones
