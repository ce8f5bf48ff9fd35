-- title: How often the low-register winds double the chorus
-- for: whoever asks how choral writing was supported from the orchestra, and has to defend the figure
-- answers: >
--   One row a movement with a chorus: the share of the time in which the chorus sings that at least
--   one wind in the register asked for plays the same line, in unison or at the octave, and where.
--   Two figures, always both named: any_voice (time in which at least one voice is doubled, over
--   time in which at least one voice sings) and voice_time (each voice's own doubled time, summed,
--   over the sounding time of all voices). A chorus that was only guessed has a row of its own.
--   Then a row for the corpus, one for certain and one for guessed choruses: there any_voice,
--   voice_time and the other shares are those of all its time together, and the means over works
--   stand beside them.
-- parameters:
--   - name: winds
--     type: text
--     default: all
--     choices: [all, woodwind, woodwind_horn]
--     meaning: which winds count; usage differs, and horns change the answer
--   - name: kinds
--     type: words
--     default: [unison, octave]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes]
--     meaning: kinds of doubling that count
--   - name: strict
--     type: boolean
--     default: true
--     meaning: the strict figure leads, else the inclusive one; both are printed
--   - name: register
--     type: text
--     default: low
--     choices: [low, middle, high, very_high]
--     meaning: register class of the wind's note
--   - name: words
--     type: boolean
--     default: false
--     meaning: "count also what the score says in words alone (col Coro), as if it were notated and strict"
--   - name: every_movement
--     type: boolean
--     default: false
--     meaning: the rows for the corpus count also movements that do not count in statistics or are known to lack parts
-- columns:
--   - {name: movement_id, meaning: "short name of the movement, or corpus"}
--   - {name: chorus, meaning: "certain, or guess where nothing in file or manifest says that the voices are a chorus"}
--   - {name: any_voice, unit: share, meaning: share of the sung time in which at least one voice is doubled (the leading figure)}
--   - {name: voice_time, unit: share, meaning: share of the voices' own time in which they are doubled (the leading figure)}
--   - {name: doubled_quarters, unit: quarters, meaning: time in which at least one voice is doubled (the leading figure)}
--   - {name: sung_quarters, unit: quarters, meaning: time in which at least one voice of the chorus sings}
--   - {name: doubled_voice_quarters, detail: true, unit: quarters, meaning: "each voice's own doubled time, summed (the leading figure)"}
--   - {name: voice_quarters, detail: true, unit: quarters, meaning: "sounding time of each voice, summed"}
--   - {name: by_chance, unit: share, meaning: "any_voice (the leading figure) that the shift null expects; see the note where it is empty"}
--   - {name: passages, unit: passages, meaning: doubled time joined across gaps shorter than a bar}
--   - {name: instruments, meaning: "winds that double, the longest first, with wind minus voice in semitones"}
--   - {name: voices, meaning: "voices that are doubled, in score order"}
--   - {name: bars, meaning: first and last bar of each passage as printed}
--   - {name: any_register, unit: share, meaning: any_voice (the leading figure) with winds in any register}
--   - {name: any_voice_strict, unit: share, meaning: any_voice by the strict thresholds}
--   - {name: any_voice_inclusive, unit: share, meaning: any_voice by the inclusive thresholds}
--   - {name: voice_time_strict, unit: share, meaning: voice_time by the strict thresholds}
--   - {name: voice_time_inclusive, unit: share, meaning: voice_time by the inclusive thresholds}
--   - {name: on_thirds_of_the_range, unit: share, meaning: "share of the winds' doubled time whose register is a computed third of the range, for want of a table"}
--   - {name: on_transferred, unit: share, meaning: "share of the winds' doubled time whose register is taken over from a sister instrument"}
--   - {name: work_id, detail: true, meaning: short name of the work}
--   - {name: composer, detail: true, meaning: composer}
--   - {name: counts, detail: true, meaning: the movement counts in the rows for the corpus}
--   - {name: works, unit: works, meaning: "corpus: works that count"}
--   - {name: any_voice_mean, unit: share, meaning: "corpus: mean of any_voice over works, each counting once"}
--   - {name: any_voice_low, unit: share, meaning: "corpus: low end of its 95% bootstrap interval over works"}
--   - {name: any_voice_high, unit: share, meaning: "corpus: high end of it"}
--   - {name: voice_time_mean, unit: share, meaning: "corpus: mean of voice_time over works, each counting once"}
--   - {name: voice_time_low, unit: share, meaning: "corpus: low end of its 95% bootstrap interval over works"}
--   - {name: voice_time_high, unit: share, meaning: "corpus: high end of it"}
--   - {name: note, meaning: why a value is empty or to be read with care}
-- rates:
--   - {name: any_voice, numerator: doubled_quarters, denominator: sung_quarters}
--   - {name: voice_time, numerator: doubled_voice_quarters, denominator: voice_quarters}
--   - {name: by_chance, numerator: "time doubled when the winds are shifted against the voices by a random number of bars, mean of the draws", denominator: sung_quarters}
--   - {name: any_register, numerator: "time in which a wind in any register doubles a voice", denominator: sung_quarters}
--   - {name: any_voice_strict, numerator: "doubled time by the strict thresholds", denominator: sung_quarters}
--   - {name: any_voice_inclusive, numerator: "doubled time by the inclusive thresholds", denominator: sung_quarters}
--   - {name: voice_time_strict, numerator: "doubled time of each voice by the strict thresholds, summed", denominator: voice_quarters}
--   - {name: voice_time_inclusive, numerator: "doubled time of each voice by the inclusive thresholds, summed", denominator: voice_quarters}
--   - {name: on_thirds_of_the_range, numerator: "the winds' doubled time on the scheme thirds of the range", denominator: "the winds' doubled time, each note of a wind once"}
--   - {name: on_transferred, numerator: "the winds' doubled time on the scheme transferred", denominator: "the winds' doubled time, each note of a wind once"}
--   - {name: any_voice_mean, numerator: any_voice of each work, denominator: works}
--   - {name: any_voice_low, numerator: the same in a resampled corpus, denominator: works}
--   - {name: any_voice_high, numerator: the same in a resampled corpus, denominator: works}
--   - {name: voice_time_mean, numerator: voice_time of each work, denominator: works}
--   - {name: voice_time_low, numerator: the same in a resampled corpus, denominator: works}
--   - {name: voice_time_high, numerator: the same in a resampled corpus, denominator: works}
-- corpus:
--   by: [chorus]
--   means: [any_voice, voice_time]

WITH voices AS MATERIALIZED (
    SELECT
        line_key,
        movement_key,
        movement_id,
        player,
        sounding_ticks,
        CASE ensemble_confidence WHEN 'guess' THEN 'guess' ELSE 'certain' END AS chorus
    FROM lines
    WHERE ensemble = 'chorus'
),

voice_time AS (
    SELECT movement_key, movement_id, chorus, sum(sounding_ticks) AS ticks
    FROM voices
    GROUP BY ALL
),

sung AS (
    SELECT movement_key, chorus, sum(ticks) AS ticks
    FROM (
        SELECT DISTINCT voices.movement_key, chorus, sonority_key, ticks
        FROM sonority_members
        JOIN voices USING (line_key)
        WHERE ensemble = 'chorus'
    )
    GROUP BY ALL
),

-- Every note of the chorus with a wind that doubles it, told from the voice's side.
notated AS (
    SELECT
        movement_key,
        chorus,
        line_key,
        player,
        strict,
        start_ticks,
        start_ticks + ticks AS end_ticks,
        ticks,
        bar,
        interval_semitones,
        partner_note_key,
        partner_register_scheme AS scheme,
        coalesce(partner_instrument, partner_family) AS wind,
        coalesce(partner_register_class = $register, false) AS in_register
    FROM doubled_notes
    JOIN voices USING (movement_key, line_key)
    WHERE
        ensemble = 'chorus'
        AND list_contains($kinds, kind)
        AND is_wind(partner_family, partner_instrument, $winds)
),

-- Winds that go with a voice in words alone: in unison at its pitch, whose register is known; at
-- the octave nothing says which.
in_words AS (
    SELECT
        movement_key,
        chorus,
        line_key,
        player,
        start_ticks,
        end_ticks,
        kind,
        CASE WHEN line_key = line_a THEN instrument_b ELSE instrument_a END AS instrument,
        CASE WHEN line_key = line_a THEN family_b ELSE family_a END AS family
    FROM doublings
    JOIN voices USING (movement_key)
    WHERE $words AND basis = 'words' AND line_key IN (line_a, line_b) AND list_contains($kinds, kind)
),

worded AS (
    SELECT
        movement_key,
        chorus,
        line_key,
        in_words.player,
        true AS strict,
        onset_ticks AS start_ticks,
        least(onset_ticks + duration_ticks, end_ticks) AS end_ticks,
        least(onset_ticks + duration_ticks, end_ticks) - onset_ticks AS ticks,
        bar,
        NULL AS interval_semitones,
        note_key AS partner_note_key,
        band.scheme,
        coalesce(in_words.instrument, in_words.family) AS wind,
        coalesce(band.class = $register, false) AS in_register
    FROM in_words
    JOIN notes USING (movement_key, line_key)
    LEFT JOIN bands_in_force() AS band
        ON kind = 'unison'
        AND band.key = in_words.instrument
        AND midi BETWEEN coalesce(sounding_low, 0) AND coalesce(sounding_high, 127)
    WHERE
        onset_ticks BETWEEN start_ticks AND end_ticks - 1
        AND NOT is_grace
        AND NOT is_cue
        AND is_wind(in_words.family, in_words.instrument, $winds)
),

doubled AS MATERIALIZED (
    FROM notated
    UNION ALL BY NAME
    FROM worded
),

-- Which rows count in which figure.
figures AS (
    SELECT *, 'strict' AS figure FROM doubled WHERE strict AND in_register
    UNION ALL
    SELECT *, 'inclusive' FROM doubled WHERE in_register
    UNION ALL
    SELECT *, 'any register' FROM doubled WHERE strict OR NOT $strict
),

any_voice AS MATERIALIZED (
    SELECT
        *,
        coalesce(max(end_ticks) OVER (
            PARTITION BY movement_key, chorus, figure
            ORDER BY start_ticks, end_ticks
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ), -1) AS reached
    FROM (SELECT DISTINCT movement_key, chorus, figure, start_ticks, end_ticks, bar FROM figures)
),

each_voice AS (
    SELECT
        *,
        coalesce(max(end_ticks) OVER (
            PARTITION BY line_key, figure
            ORDER BY start_ticks, end_ticks
            ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ), -1) AS reached
    FROM (SELECT DISTINCT movement_key, chorus, line_key, figure, start_ticks, end_ticks FROM figures)
),

any_voice_ticks AS (
    SELECT
        movement_key,
        chorus,
        sum(added) FILTER (figure = 'strict') AS strict_ticks,
        sum(added) FILTER (figure = 'inclusive') AS inclusive_ticks,
        sum(added) FILTER (figure = 'any register') AS any_register_ticks
    FROM (SELECT *, greatest(0, end_ticks - greatest(start_ticks, reached)) AS added FROM any_voice)
    GROUP BY ALL
),

each_voice_ticks AS (
    SELECT
        movement_key,
        chorus,
        sum(added) FILTER (figure = 'strict') AS strict_voice_ticks,
        sum(added) FILTER (figure = 'inclusive') AS inclusive_voice_ticks
    FROM (SELECT *, greatest(0, end_ticks - greatest(start_ticks, reached)) AS added FROM each_voice)
    GROUP BY ALL
),

-- The leading figure in every draw of the shift null, which keeps voices and winds each among
-- themselves.
shifted AS (
    SELECT movement_key, chorus, sum(greatest(0, end_ticks - greatest(start_ticks, reached))) AS ticks
    FROM (
        SELECT
            *,
            coalesce(max(end_ticks) OVER (
                PARTITION BY movement_key, chorus, draw
                ORDER BY start_ticks, end_ticks
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), -1) AS reached
        FROM (
            SELECT DISTINCT
                movement_key, chorus, draw, start_ticks, start_ticks + ticks AS end_ticks
            FROM chance_doubled
            JOIN voices USING (movement_key, line_key)
            WHERE
                model = 'shift'
                AND ensemble = 'chorus'
                AND list_contains($kinds, kind)
                AND (strict OR NOT $strict)
                AND partner_register_class = $register
                AND is_wind(partner_family, partner_instrument, $winds)
        )
    )
    GROUP BY ALL
),

chance AS (
    SELECT
        movement_key,
        value::INTEGER AS draws,
        bool_or(chance_shift_ticks IS NOT NULL) AS has_shift
    FROM pair_activity, (SELECT value FROM settings WHERE name = 'chance_draws')
    WHERE ensemble = 'chorus' AND kind = 'unison'
    GROUP BY ALL
),

-- Doubled time of the leading figure as spans that neither touch nor overlap.
spans AS (
    SELECT
        movement_key,
        chorus,
        min(start_ticks) AS start_ticks,
        max(end_ticks) AS end_ticks,
        arg_min(bar, start_ticks) AS first_bar
    FROM (
        SELECT
            *,
            sum(CASE WHEN start_ticks > reached THEN 1 ELSE 0 END) OVER (
                PARTITION BY movement_key, chorus
                ORDER BY start_ticks, end_ticks
                ROWS UNBOUNDED PRECEDING
            ) AS span
        FROM any_voice
        WHERE figure = CASE WHEN $strict THEN 'strict' ELSE 'inclusive' END
    )
    GROUP BY movement_key, chorus, span
),

placed AS (
    SELECT spans.*, bars.bar AS last_bar, bars.length_ticks AS bar_ticks
    FROM spans
    ASOF JOIN bars
        ON spans.movement_key = bars.movement_key AND spans.end_ticks > bars.start_ticks
),

passages AS (
    SELECT
        movement_key,
        chorus,
        passage,
        min(start_ticks) AS start_ticks,
        arg_min(first_bar, start_ticks) AS first_bar,
        arg_max(last_bar, end_ticks) AS last_bar
    FROM (
        SELECT *, sum(opens) OVER (PARTITION BY movement_key, chorus ORDER BY start_ticks) AS passage
        FROM (
            SELECT
                *,
                CASE WHEN start_ticks - lag(end_ticks) OVER earlier < lag(bar_ticks) OVER earlier
                    THEN 0 ELSE 1 END AS opens
            FROM placed
            WINDOW earlier AS (PARTITION BY movement_key, chorus ORDER BY start_ticks)
        )
    )
    GROUP BY ALL
),

places AS (
    SELECT
        movement_key,
        chorus,
        count(*) AS passages,
        string_agg(
            CASE WHEN first_bar = last_bar THEN first_bar ELSE first_bar || '–' || last_bar END,
            ', ' ORDER BY start_ticks
        ) AS bars
    FROM passages
    GROUP BY ALL
),

chosen AS MATERIALIZED (
    SELECT * FROM doubled WHERE in_register AND (strict OR NOT $strict)
),

intervals AS (
    SELECT movement_key, chorus, wind, interval_semitones, sum(ticks) AS ticks
    FROM chosen
    GROUP BY ALL
),

winds AS (
    SELECT
        movement_key,
        chorus,
        wind || ' (' || string_agg(
            coalesce(interval_semitones::VARCHAR, 'in words'), ', ' ORDER BY interval_semitones DESC
        ) || ')' AS wind,
        sum(ticks) AS ticks
    FROM intervals
    GROUP BY intervals.movement_key, intervals.chorus, intervals.wind
),

instrument_names AS (
    SELECT movement_key, chorus, string_agg(wind, ', ' ORDER BY ticks DESC, wind) AS instruments
    FROM winds
    GROUP BY ALL
),

voice_names AS (
    SELECT movement_key, chorus, string_agg(player, ', ' ORDER BY line_key) AS voices
    FROM (SELECT DISTINCT movement_key, chorus, line_key, player FROM chosen)
    GROUP BY ALL
),

schemes AS (
    SELECT
        movement_key,
        chorus,
        sum(ticks) AS ticks,
        sum(ticks) FILTER (scheme = 'thirds of the range') AS thirds_ticks,
        sum(ticks) FILTER (scheme = 'transferred') AS transferred_ticks
    FROM (
        SELECT movement_key, chorus, partner_note_key, any_value(scheme) AS scheme, max(ticks) AS ticks
        FROM chosen
        GROUP BY ALL
    )
    GROUP BY ALL
),

totals AS (
    SELECT
        voice_time.movement_id,
        movement_key,
        chorus,
        voice_time.ticks AS voice_ticks,
        sung.ticks AS sung_ticks,
        coalesce(strict_ticks, 0) AS strict_ticks,
        coalesce(inclusive_ticks, 0) AS inclusive_ticks,
        coalesce(any_register_ticks, 0) AS any_register_ticks,
        coalesce(strict_voice_ticks, 0) AS strict_voice_ticks,
        coalesce(inclusive_voice_ticks, 0) AS inclusive_voice_ticks
    FROM voice_time
    JOIN sung USING (movement_key, chorus)
    LEFT JOIN any_voice_ticks USING (movement_key, chorus)
    LEFT JOIN each_voice_ticks USING (movement_key, chorus)
),

shares AS (
    SELECT
        *,
        strict_ticks / sung_ticks AS any_voice_strict,
        inclusive_ticks / sung_ticks AS any_voice_inclusive,
        strict_voice_ticks / voice_ticks AS voice_time_strict,
        inclusive_voice_ticks / voice_ticks AS voice_time_inclusive
    FROM totals
)

SELECT
    movement.movement_id,
    chorus,
    CASE WHEN $strict THEN any_voice_strict ELSE any_voice_inclusive END AS any_voice,
    CASE WHEN $strict THEN voice_time_strict ELSE voice_time_inclusive END AS voice_time,
    CASE WHEN $strict THEN strict_ticks ELSE inclusive_ticks END / 11531520 AS doubled_quarters,
    sung_ticks / 11531520 AS sung_quarters,
    CASE WHEN $strict THEN strict_voice_ticks ELSE inclusive_voice_ticks END / 11531520
        AS doubled_voice_quarters,
    voice_ticks / 11531520 AS voice_quarters,
    CASE WHEN has_shift THEN coalesce(shifted.ticks, 0) / draws / sung_ticks END AS by_chance,
    coalesce(passages, 0) AS passages,
    instruments,
    voices,
    places.bars,
    any_register_ticks / sung_ticks AS any_register,
    any_voice_strict,
    any_voice_inclusive,
    voice_time_strict,
    voice_time_inclusive,
    coalesce(thirds_ticks, 0) / schemes.ticks AS on_thirds_of_the_range,
    coalesce(transferred_ticks, 0) / schemes.ticks AS on_transferred,
    movement.work_id,
    movement.composer,
    counting.movement_key IS NOT NULL AS counts,
    CASE
        WHEN draws = 0 THEN 'collaparte build --chance fills by_chance'
        WHEN NOT has_shift THEN 'by_chance: too few bars to shift'
    END AS note
FROM shares
JOIN movements AS movement USING (movement_key)
LEFT JOIN chosen_movements($every_movement) AS counting USING (movement_key)
LEFT JOIN chance USING (movement_key)
LEFT JOIN shifted USING (movement_key, chorus)
LEFT JOIN places USING (movement_key, chorus)
LEFT JOIN instrument_names USING (movement_key, chorus)
LEFT JOIN voice_names USING (movement_key, chorus)
LEFT JOIN schemes USING (movement_key, chorus)
ORDER BY movement.movement_id, chorus
