-- title: Partners of an instrument at one height and dynamic
-- for: a composer or arranger who wants to know what has worked
-- answers: >
--   One row a partner and interval: of the time that the instrument plays about this pitch at about
--   this dynamic, the share in which the partner plays the same line at that interval, in how many
--   works, and passages to look at, one a work. A search: stretches that pass the inclusive
--   thresholds count unless strict is asked for, and movements that are left out of statistics are
--   searched too (column invented); the same music is never counted twice.
-- parameters:
--   - name: instrument
--     type: instrument
--     meaning: "key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus"
--   - name: pitch
--     type: pitch
--     meaning: sounding pitch
--   - name: dynamic
--     type: text
--     choices: [pppp, ppp, pp, p, mp, mf, f, ff, fff, ffff]
--     meaning: dynamic in force
--   - name: technique
--     type: text
--     default: null
--     meaning: id of a technique in force on the instrument's notes; any when left out
--   - name: within
--     type: integer
--     unit: semitones
--     default: 2
--     meaning: pitches so far above or below count too
--   - name: dynamic_within
--     type: number
--     unit: degrees
--     default: 0.5
--     meaning: dynamics so far above or below count too; a degree leads from f to ff
--   - name: kinds
--     type: words
--     default: [unison, octave]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes]
--     meaning: kinds of doubling that count
--   - name: strict
--     type: boolean
--     default: false
--     meaning: strict stretches only, else all that pass the inclusive thresholds
--   - name: counting
--     type: boolean
--     default: false
--     meaning: only movements that count in statistics and are not known to lack parts
-- columns:
--   - {name: stratum, meaning: "different instruments; one instrument, or continuo and its doublers, which go together as a matter of course"}
--   - {name: partner, meaning: "key of the partner's instrument, the generic one for all sizes and keys"}
--   - {name: interval_semitones, unit: semitones, meaning: sounding partner minus instrument}
--   - {name: share, unit: share, meaning: mean over works}
--   - {name: pooled_share, unit: share, meaning: all works pooled}
--   - {name: quarters, unit: quarters, meaning: time in which it is so}
--   - {name: lift, unit: times, meaning: "doubled time of the pair, at any pitch and dynamic, over what the harmony null expects"}
--   - {name: lift_note, meaning: why there is no lift}
--   - {name: works_doubled, unit: works, meaning: works in which it occurs}
--   - {name: works, unit: works, meaning: works that call for the partner and in which the instrument plays there}
--   - {name: invented, unit: works, meaning: works in which it occurs that are invented for demonstration}
--   - {name: passages, meaning: "up to five passages from different works, the longest first: movement and bars of the stretch"}
-- rates:
--   - {name: share, numerator: "time of the instrument's notes there that the partner doubles at the interval", denominator: "durations of the instrument's notes there, of the same work; then the mean over works that call for the partner"}
--   - {name: pooled_share, numerator: the same over all these works, denominator: durations of the instrument's notes there in these works}

WITH named AS MATERIALIZED (
    SELECT line.*, movement.work_id, movement.invented
    FROM named_lines() AS line
    JOIN chosen_movements(NOT $counting) AS movement USING (movement_key)
    WHERE same_music_as IS NULL
),

own AS MATERIALIZED (
    SELECT * FROM named WHERE list_contains(words, $instrument)
),

time_there AS (
    SELECT work_id, sum(duration_ticks) AS ticks
    FROM notes
    JOIN own USING (line_key)
    WHERE
        midi BETWEEN ($pitch - $within)::SMALLINT AND ($pitch + $within)::SMALLINT
        AND abs(dynamic_degree - (
            SELECT degree FROM dynamics WHERE mark = $dynamic
        )) <= $dynamic_within
        AND ($technique IS NULL OR list_contains(techniques, $technique))
        AND NOT is_grace
        AND NOT is_cue
    GROUP BY work_id
),

pairs AS MATERIALIZED (
    SELECT
        own.line_key,
        partner.line_key AS partner_line_key,
        own.work_id,
        own.invented,
        partner.bare_name AS partner,
        stratum(own, partner) AS stratum
    FROM own
    JOIN named AS partner USING (movement_key)
    WHERE own.line_key <> partner.line_key AND partner.bare_name IS NOT NULL
),

-- Each note with the time that one line or several of the partner double it.
matched AS MATERIALIZED (
    SELECT
        note_key,
        doubling_key,
        work_id,
        invented,
        stratum,
        partner,
        interval_semitones,
        start_ticks + ticks AS end_ticks,
        greatest(start_ticks, coalesce(max(start_ticks + ticks) OVER (
            PARTITION BY note_key, stratum, partner, interval_semitones
            ORDER BY start_ticks
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ), 0)) AS start_ticks
    FROM doubled_notes
    JOIN pairs USING (line_key, partner_line_key)
    WHERE
        midi BETWEEN ($pitch - $within)::SMALLINT AND ($pitch + $within)::SMALLINT
        AND abs(dynamic_degree - (
            SELECT degree FROM dynamics WHERE mark = $dynamic
        )) <= $dynamic_within
        AND ($technique IS NULL OR list_contains(techniques, $technique))
        AND (strict OR NOT $strict)
        AND list_contains($kinds, kind)
),

doubled AS (
    SELECT
        stratum,
        partner,
        interval_semitones,
        work_id,
        any_value(invented) AS invented,
        sum(greatest(0, end_ticks - start_ticks)) AS ticks
    FROM matched
    GROUP BY stratum, partner, interval_semitones, work_id
),

-- A work that calls for both and never doubles so counts with 0.
shares AS (
    SELECT
        stratum,
        partner,
        interval_semitones,
        avg(coalesce(doubled.ticks, 0) / time_there.ticks) AS share,
        sum(doubled.ticks)::BIGINT / sum(time_there.ticks)::BIGINT AS pooled_share,
        sum(doubled.ticks)::BIGINT AS ticks,
        count(doubled.ticks) AS works_doubled,
        count(*) AS works,
        count(*) FILTER (invented) AS invented
    FROM (SELECT DISTINCT stratum, partner, interval_semitones FROM doubled)
    JOIN (SELECT DISTINCT stratum, partner, work_id FROM pairs) USING (stratum, partner)
    JOIN time_there USING (work_id)
    LEFT JOIN doubled USING (stratum, partner, interval_semitones, work_id)
    GROUP BY stratum, partner, interval_semitones
),

expected AS (
    SELECT
        stratum,
        partner,
        sum(doubled_ticks)::BIGINT AS doubled_ticks,
        sum(chance_harmony_ticks) AS chance_ticks
    FROM pair_activity
    JOIN pairs USING (line_key, partner_line_key)
    WHERE
        strict = $strict
        AND list_contains($kinds, kind)
        AND chance_harmony_ticks IS NOT NULL
    GROUP BY stratum, partner
),

-- One stretch a work: the one with most of the time there.
examples AS (
    SELECT stratum, partner, interval_semitones, work_id, doubling_key, ticks
    FROM (
        SELECT
            stratum,
            partner,
            interval_semitones,
            work_id,
            doubling_key,
            sum(end_ticks - start_ticks) AS ticks
        FROM matched
        GROUP BY ALL
    )
    QUALIFY row_number() OVER (
        PARTITION BY stratum, partner, interval_semitones, work_id
        ORDER BY ticks DESC, doubling_key
    ) = 1
),

passages AS (
    SELECT
        stratum,
        partner,
        interval_semitones,
        string_agg(
            movement_id || ', ' || bars_as_text(start_bar, end_bar),
            '; ' ORDER BY ticks DESC, doubling_key
        ) AS passages
    FROM (
        SELECT *
        FROM examples
        QUALIFY row_number() OVER (
            PARTITION BY stratum, partner, interval_semitones ORDER BY ticks DESC, doubling_key
        ) <= 5
    )
    JOIN (SELECT doubling_key, movement_id, start_bar, end_bar FROM doublings) USING (doubling_key)
    GROUP BY stratum, partner, interval_semitones
),

least AS (
    SELECT value::DOUBLE * 11531520 AS ticks FROM settings WHERE name = 'lift_quarters'
)

SELECT
    stratum,
    partner,
    interval_semitones,
    share,
    pooled_share,
    ticks / 11531520 AS quarters,
    CASE WHEN chance_ticks >= (SELECT ticks FROM least) THEN doubled_ticks / chance_ticks END
        AS lift,
    CASE
        WHEN chance_ticks IS NULL THEN 'collaparte build --chance fills it'
        WHEN chance_ticks < (SELECT ticks FROM least) THEN 'chance expects too little to divide by'
    END AS lift_note,
    works_doubled,
    works,
    invented,
    passages
FROM shares
JOIN passages USING (stratum, partner, interval_semitones)
LEFT JOIN expected USING (stratum, partner)
ORDER BY stratum <> 'different instruments', stratum, share DESC, partner, interval_semitones
