-- title: What was odd in the scores
-- for: whoever wants to know how far a score and the figures from it can be trusted
-- answers: >
--   One row a kind of oddity in a movement: where it was first met, how often, and what was done
--   about it. Errors come first (such a score is not in the tables), then warnings, then notes.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
--   - name: severity
--     type: words
--     default: [error, warning, note]
--     choices: [error, warning, note]
--     meaning: only remarks of these kinds
-- columns:
--   - {name: severity, meaning: "error, warning or note"}
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: code, meaning: code of the kind}
--   - {name: bar, meaning: number of the first bar as printed}
--   - {name: part, meaning: name of the first part}
--   - {name: count, unit: times, meaning: how often in the movement}
--   - {name: message, meaning: what was odd}
--   - {name: done, meaning: what was done about it}

SELECT
    severity,
    movement_id,
    code,
    bar,
    part,
    count,
    message,
    done
FROM remarks
WHERE
    ($movement IS NULL OR movement_id = $movement)
    AND severity IN (SELECT unnest($severity))
ORDER BY
    list_position(['error', 'warning', 'note'], severity),
    movement_id,
    code,
    part_index,
    bar_index
