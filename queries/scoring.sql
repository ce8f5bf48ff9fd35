-- title: What a movement is scored for
-- for: whoever plans a performance or compares forces
-- answers: >
--   One row a movement and instrument: how many parts and lines call for it, how many players the
--   score names, and what they are (chorus, solo voice, section, player). A player who changes
--   between two instruments is counted with each of them.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: instrument, meaning: "key of the instrument, or the printed name where it is not known"}
--   - {name: family, meaning: family of the instrument}
--   - {name: ensemble, meaning: "chorus, solo_voice, section or player"}
--   - {name: parts, unit: parts, meaning: parts that call for it}
--   - {name: lines, unit: lines, meaning: lines with at least one note}
--   - {name: players, unit: players, meaning: players of these lines together; empty for sections of unknown size}
--   - {name: sounding_quarters, unit: quarters, meaning: sounding time of these lines added up}
--   - {name: lowest, unit: MIDI, meaning: lowest sounding pitch}
--   - {name: highest, unit: MIDI, meaning: highest sounding pitch}

WITH per_player AS (
    SELECT
        movement_id,
        coalesce(instrument, part_name) AS instrument,
        family,
        ensemble,
        player_key,
        part_index,
        count(*) AS lines,
        max(players) AS players,
        sum(sounding_ticks) AS ticks,
        min(lowest) AS lowest,
        max(highest) AS highest,
        min(line_key) AS first_line
    FROM lines
    WHERE notes > 0 AND ($movement IS NULL OR movement_id = $movement)
    GROUP BY ALL
)

SELECT
    movement_id,
    instrument,
    family,
    ensemble,
    count(DISTINCT part_index) AS parts,
    sum(lines)::BIGINT AS lines,
    CASE WHEN count(players) = count(*) THEN sum(players)::BIGINT END AS players,
    sum(ticks)::BIGINT / 11531520 AS sounding_quarters,
    min(lowest) AS lowest,
    max(highest) AS highest
FROM per_player
GROUP BY movement_id, instrument, family, ensemble
ORDER BY movement_id, min(first_line)
