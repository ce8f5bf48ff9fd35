-- title: Parts of a score and the lines in them
-- for: whoever checks how a score was understood before trusting a figure
-- answers: >
--   One row a line, in score order: the part it stands in, who plays or sings it on which
--   instrument, what that reading rests on and how sure it is, and how far its notes reach.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
--   - name: confidence
--     type: text
--     default: null
--     choices: [certain, likely, guess]
--     meaning: only lines whose instrument is known with this confidence; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: part, meaning: name of the part as printed}
--   - {name: player, meaning: name of the line as a reader of the score would say it}
--   - {name: instrument, meaning: key of the instrument}
--   - {name: instrument_basis, meaning: what the instrument was known by}
--   - {name: instrument_confidence, meaning: "certain, likely or guess"}
--   - {name: ensemble, meaning: "chorus, solo_voice, section or player"}
--   - {name: ensemble_basis, meaning: what the ensemble was known by}
--   - {name: ensemble_confidence, meaning: "certain, likely or guess"}
--   - {name: notes, unit: notes, meaning: "notes that sound, grace and cue notes left out"}
--   - {name: lowest, unit: MIDI, meaning: lowest sounding pitch}
--   - {name: highest, unit: MIDI, meaning: highest sounding pitch}

SELECT
    movement_id,
    part_name AS part,
    player,
    instrument,
    instrument_basis,
    instrument_confidence,
    ensemble,
    ensemble_basis,
    ensemble_confidence,
    notes,
    lowest,
    highest
FROM lines
WHERE
    ($movement IS NULL OR movement_id = $movement)
    AND ($confidence IS NULL OR instrument_confidence = $confidence)
ORDER BY movement_id, line_key
