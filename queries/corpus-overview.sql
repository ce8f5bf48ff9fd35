-- title: Movements of the corpus
-- for: whoever wants to know what the other answers rest on
-- answers: >
--   One row a movement, in order of composer and work: its length, how many lines it has, whether
--   a chorus sings in it, whether it could be read, and under what licence its notes stand.
-- parameters:
--   - name: state
--     type: text
--     default: null
--     choices: [read, failed, skipped]
--     meaning: only movements in this state; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: composer, meaning: name of the composer}
--   - {name: work, meaning: title of the work}
--   - {name: movement, meaning: number or name of the movement within the work}
--   - {name: bars, unit: bars, meaning: bars of the file in written order}
--   - {name: lines, unit: lines, meaning: lines with at least one note}
--   - {name: chorus_lines, unit: lines, meaning: "those among them that a chorus sings, guessed ones included"}
--   - {name: state, meaning: "read, failed or skipped"}
--   - {name: invented, meaning: music that the project made up for demonstration}
--   - {name: counts, meaning: used in statistics}
--   - {name: licence_notes, meaning: licence of the notes}
--   - {name: may_show_notation, meaning: the notation may be shown}
--   - {name: may_share_events, meaning: tables of its notes may be passed on}

WITH singing AS (
    SELECT movement_key, count(*) AS chorus_lines
    FROM lines
    WHERE ensemble = 'chorus'
    GROUP BY movement_key
)

SELECT
    movement_id,
    composer,
    work,
    movement,
    bars,
    lines,
    coalesce(chorus_lines, 0) AS chorus_lines,
    state,
    invented,
    counts,
    licence_notes,
    may_show_notation,
    may_share_events
FROM movements
LEFT JOIN singing USING (movement_key)
WHERE $state IS NULL OR state = $state
ORDER BY composer, work, movement_id
