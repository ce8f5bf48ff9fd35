-- title: What leads and what accompanies when the chorus sings
-- for: whoever asks how chorus and orchestra divide the work
-- answers: >
--   One row a role and sort of line, in the bars in which the chorus sings: the share of the role's
--   part-time (sounding time of each line, added up) that lines of this sort have, in how many of
--   those bars one of them has the role, and how much of their own time they spend in it.
-- parameters:
--   - name: by
--     type: text
--     default: family
--     choices: [family, instrument]
--     meaning: sorts of lines; the chorus is always one
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: role, meaning: role of the layer}
--   - {name: lines, meaning: "sort of line: chorus, or family or instrument"}
--   - {name: share, unit: share, meaning: share of the part-time of the role}
--   - {name: own_share, unit: share, meaning: "share of these lines' own part-time that is spent in the role"}
--   - {name: bars_share, unit: share, meaning: share of the bars in which one of these lines has the role}
--   - {name: quarters, unit: quarters, meaning: part-time}
--   - {name: works, unit: works, meaning: works in which that is so}
-- rates:
--   - {name: share, numerator: part-time of the lines in the role, denominator: part-time of all lines in the role}
--   - {name: own_share, numerator: part-time of the lines in the role, denominator: part-time of the lines}
--   - {name: bars_share, numerator: bars in which one of the lines has the role, denominator: bars in which the chorus sings}

WITH sung AS MATERIALIZED (
    SELECT bar_key, work_id
    FROM textures
    JOIN movements USING (movement_key)
    WHERE chorus_present AND ($movement IS NULL OR textures.movement_id = $movement)
)

SELECT
    role,
    CASE
        WHEN ensemble = 'chorus' THEN 'chorus'
        WHEN $by = 'family' THEN coalesce(family, 'unknown')
        ELSE coalesce(instrument, 'unknown')
    END AS lines,
    sum(sounding_ticks)::BIGINT
        / (sum(sum(sounding_ticks)) OVER (PARTITION BY role))::BIGINT AS share,
    sum(sounding_ticks)::BIGINT
        / (sum(sum(sounding_ticks)) OVER (PARTITION BY lines))::BIGINT AS own_share,
    count(DISTINCT bar_key) / (SELECT count(*) FROM sung) AS bars_share,
    sum(sounding_ticks)::BIGINT / 11531520 AS quarters,
    count(DISTINCT work_id) AS works
FROM layers
JOIN sung USING (bar_key)
GROUP BY role, lines
HAVING sum(sounding_ticks) > 0
ORDER BY
    list_position([
        'leading_line', 'countermelody', 'bass', 'sustained_harmony', 'pedal_point',
        'repeated_notes', 'figuration', 'short_chords', 'filling'
    ], role),
    share DESC,
    lines
