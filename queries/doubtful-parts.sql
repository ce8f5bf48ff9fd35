-- title: Lines whose identity is not certain
-- for: whoever has to defend a figure, and wants to look at what it rests on
-- answers: >
--   One row a line whose instrument or ensemble is a guess or not known, or whose register is not
--   known, the longest sounding first; what is not known counts in no question that asks for it.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
--   - name: likely
--     type: boolean
--     default: false
--     meaning: list also what is likely, not only guesses and the unknown
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: line, meaning: name of the line}
--   - {name: instrument, meaning: key of the instrument; empty where not known}
--   - {name: instrument_basis, meaning: what the instrument rests on}
--   - {name: instrument_confidence, meaning: "certain, likely or guess"}
--   - {name: ensemble, meaning: "chorus, solo_voice, section or player"}
--   - {name: ensemble_basis, meaning: what that rests on}
--   - {name: ensemble_confidence, meaning: "certain, likely or guess"}
--   - {name: has_registers, meaning: "a table of registers has the instrument; timpani, for one, have none"}
--   - {name: quarters, unit: quarters, meaning: sounding time of the line}

WITH banded AS (
    SELECT DISTINCT key FROM register_bands WHERE is_default
)

SELECT
    l.movement_id,
    l.player AS line,
    l.instrument,
    l.instrument_basis,
    l.instrument_confidence,
    l.ensemble,
    l.ensemble_basis,
    l.ensemble_confidence,
    b.key IS NOT NULL AS has_registers,
    l.sounding_ticks / 11531520 AS quarters
FROM lines AS l
LEFT JOIN banded AS b ON l.instrument = b.key
WHERE
    ($movement IS NULL OR l.movement_id = $movement)
    AND (
        l.instrument IS NULL
        OR 'guess' IN (l.instrument_confidence, l.ensemble_confidence)
        OR (b.key IS NULL AND l.lowest IS NOT NULL)
        OR ($likely AND 'likely' IN (l.instrument_confidence, l.ensemble_confidence))
    )
ORDER BY quarters DESC, l.line_key
