-- title: Who doubles each voice of the chorus
-- for: whoever prepares a chorus, and wants to know what each voice can lean on
-- answers: >
--   One row a voice of a chorus and an instrument that plays the same line for more than the share
--   asked for (half, unless told) of the voice's notes, in score order of the voices. A chorus that
--   was only guessed says so.
-- parameters:
--   - name: share
--     type: number
--     unit: share
--     default: 0.5
--     meaning: only partners that double more than this share of the voice's notes
--   - name: kinds
--     type: words
--     default: [unison, octave]
--     choices: [unison, octave, octave_displaced, reiterated, main_notes]
--     meaning: kinds of doubling that count
--   - name: strict
--     type: boolean
--     default: true
--     meaning: strict stretches only, else all that pass the inclusive thresholds
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: chorus, meaning: "certain, or guess where nothing in file or manifest says that the voices are a chorus"}
--   - {name: voice, meaning: name of the voice}
--   - {name: partner, meaning: name of the line that doubles it}
--   - {name: instrument, meaning: key of the partner's instrument}
--   - {name: intervals, unit: semitones, meaning: "sounding partner minus voice, the most frequent first"}
--   - {name: share, unit: share, meaning: share of the voice's notes that are doubled}
--   - {name: doubled, unit: notes, meaning: notes of the voice that are doubled}
--   - {name: notes, unit: notes, meaning: notes of the voice}
--   - {name: bars, meaning: first and last bar of a doubled note as printed}
-- rates:
--   - {name: share, numerator: doubled, denominator: notes}

WITH by_interval AS (
    SELECT
        line_key,
        partner_line_key,
        interval_semitones,
        count(DISTINCT note_key) AS notes
    FROM doubled_notes
    WHERE
        ensemble = 'chorus'
        AND partner_ensemble <> 'chorus'
        AND ($movement IS NULL OR movement_id = $movement)
        AND list_contains($kinds, kind)
        AND (strict OR NOT $strict)
    GROUP BY ALL
),

intervals AS (
    SELECT
        line_key,
        partner_line_key,
        string_agg(interval_semitones, ', ' ORDER BY notes DESC, interval_semitones) AS intervals
    FROM by_interval
    GROUP BY ALL
),

doubled AS (
    SELECT
        line_key,
        partner_line_key,
        count(DISTINCT note_key) AS doubled,
        arg_min(bar, start_ticks) AS first_bar,
        arg_max(bar, start_ticks) AS last_bar
    FROM doubled_notes
    WHERE
        ensemble = 'chorus'
        AND partner_ensemble <> 'chorus'
        AND ($movement IS NULL OR movement_id = $movement)
        AND list_contains($kinds, kind)
        AND (strict OR NOT $strict)
    GROUP BY ALL
)

SELECT
    voice.movement_id,
    CASE voice.ensemble_confidence WHEN 'guess' THEN 'guess' ELSE 'certain' END AS chorus,
    voice.player AS voice,
    partner.player AS partner,
    partner.instrument,
    intervals,
    doubled / voice.notes AS share,
    doubled,
    voice.notes,
    bars_as_text(first_bar, last_bar) AS bars
FROM doubled
JOIN intervals USING (line_key, partner_line_key)
JOIN lines AS voice USING (line_key)
JOIN lines AS partner ON partner.line_key = partner_line_key
WHERE doubled / voice.notes > $share
ORDER BY voice.movement_id, voice.line_key, share DESC, partner.line_key
