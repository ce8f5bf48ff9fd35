-- title: Sustained harmony of low winds behind voices
-- for: whoever asks how singers are carried by held notes of the winds
-- answers: >
--   One row a passage: bars in a row in which a wind holds sustained harmony or a pedal point, in
--   the register asked for, while voices sing a line of their own; in order of the score.
-- parameters:
--   - name: register
--     type: text
--     default: low
--     choices: [low, middle, high, very_high]
--     meaning: register class that more than half of the wind's time in the passage lies in
--   - name: voices
--     type: text
--     default: voice
--     choices: [voice, chorus, solo_voice]
--     meaning: voices that sing, all or one ensemble
--   - name: least_bars
--     type: integer
--     unit: bars
--     default: 1
--     meaning: passages at least so long
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bars, meaning: first and last bar as printed}
--   - {name: wind, meaning: line that holds}
--   - {name: instrument, meaning: its instrument}
--   - {name: roles, meaning: its roles in these bars}
--   - {name: length, unit: bars, meaning: bars of the passage}
--   - {name: held_quarters, unit: quarters, meaning: time in which the wind sounds in them}
--   - {name: lowest, unit: MIDI, meaning: lowest pitch of the wind}
--   - {name: highest, unit: MIDI, meaning: highest pitch of the wind}
--   - {name: voices, meaning: "roles of the voices in these bars"}

WITH sung AS (
    SELECT bar_key, list(DISTINCT role) AS voice_roles
    FROM layers
    WHERE family = 'voice' AND ($voices = 'voice' OR ensemble = $voices)
    GROUP BY bar_key
    HAVING bool_or(role IN ('leading_line', 'countermelody'))
),

held AS (
    SELECT
        bar_key,
        layers.bar_index,
        layers.bar,
        line_key,
        role,
        sounding_ticks,
        voice_roles,
        start_ticks,
        start_ticks + length_ticks AS end_ticks
    FROM layers
    JOIN sung USING (bar_key)
    JOIN bars USING (bar_key)
    WHERE
        family IN ('woodwind', 'brass')
        AND role IN ('sustained_harmony', 'pedal_point')
        AND ($movement IS NULL OR layers.movement_id = $movement)
),

passages AS (
    SELECT
        *,
        bar_index - row_number() OVER (PARTITION BY line_key ORDER BY bar_index) AS passage
    FROM held
),

-- What sounds in each bar of a passage, also notes held over from before.
sounding AS (
    SELECT
        passages.line_key,
        passage,
        midi,
        register_class,
        least(end_ticks, onset_ticks + duration_ticks) - greatest(start_ticks, onset_ticks) AS ticks
    FROM passages
    JOIN notes USING (line_key)
    WHERE
        onset_ticks < end_ticks AND onset_ticks + duration_ticks > start_ticks
        AND NOT is_grace AND NOT is_cue
),

in_register AS (
    SELECT line_key, passage, min(midi) AS lowest, max(midi) AS highest
    FROM sounding
    GROUP BY line_key, passage
    HAVING 2 * sum(ticks) FILTER (register_class = $register) > sum(ticks)
)

SELECT
    any_value(lines.movement_id) AS movement_id,
    bars_as_text(arg_min(bar, bar_index), arg_max(bar, bar_index)) AS bars,
    any_value(player) AS wind,
    any_value(instrument) AS instrument,
    string_agg(DISTINCT role, ', ' ORDER BY role) AS roles,
    count(*) AS length,
    sum(passages.sounding_ticks)::BIGINT / 11531520 AS held_quarters,
    any_value(in_register.lowest) AS lowest,
    any_value(in_register.highest) AS highest,
    array_to_string(list_sort(list_distinct(flatten(list(voice_roles)))), ', ') AS voices
FROM passages
JOIN in_register USING (line_key, passage)
JOIN lines USING (line_key)
GROUP BY line_key, passage
HAVING count(*) >= $least_bars
ORDER BY movement_id, min(bar_index), line_key
