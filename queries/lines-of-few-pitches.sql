-- title: Lines of few pitches
-- for: whoever looks for pedals, drones, and parts bound to a few notes
-- answers: >
--   One row a stretch: bars in a row in all of which a line plays, at least so many, with no more
--   different pitches than asked for, and which pitches they are. A stretch is as long as it can
--   be; two stretches of one line may overlap where each goes on with another pitch. The longest
--   come first.
-- parameters:
--   - name: pitches
--     type: integer
--     unit: pitches
--     default: 3
--     meaning: different sounding pitches at most
--   - name: bars
--     type: integer
--     unit: bars
--     default: 8
--     meaning: bars in a row at least
--   - name: line
--     type: instrument
--     default: null
--     meaning: "key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus; all when left out"
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bars, meaning: first and last bar as printed}
--   - {name: line, meaning: name of the line}
--   - {name: instrument, meaning: its instrument}
--   - {name: length, unit: bars, meaning: bars of the stretch}
--   - {name: pitches, unit: pitches, meaning: different pitches}
--   - {name: inventory, unit: MIDI, meaning: "these pitches, from the lowest"}

-- Sets of pitches are bits: the pitch 60 is the bit 60.
WITH asked AS MATERIALIZED (
    SELECT line_key
    FROM named_lines()
    WHERE
        ($line IS NULL OR list_contains(words, $line))
        AND ($movement IS NULL OR movement_id = $movement)
),

begun AS (
    SELECT line_key, bar_index, bit_or(1::UHUGEINT << midi::UHUGEINT) AS pitch_set
    FROM notes
    JOIN asked USING (line_key)
    WHERE midi IS NOT NULL AND NOT is_grace AND NOT is_cue
    GROUP BY line_key, bar_index
),

-- Few notes outlast the bar that they begin in.
outlasting AS (
    SELECT
        line_key,
        notes.movement_key,
        notes.bar_index,
        midi,
        onset_ticks + duration_ticks AS end_ticks
    FROM notes
    JOIN asked USING (line_key)
    JOIN bars USING (bar_key)
    WHERE
        midi IS NOT NULL AND NOT is_grace AND NOT is_cue
        AND onset_ticks + duration_ticks > start_ticks + length_ticks
),

held_over AS (
    SELECT
        line_key,
        unnest(range(outlasting.bar_index + 1, bars.bar_index + 1)) AS bar_index,
        1::UHUGEINT << midi::UHUGEINT AS pitch_set
    FROM outlasting
    ASOF JOIN bars ON outlasting.movement_key = bars.movement_key AND end_ticks > start_ticks
),

-- Bars of few pitches, and those that stand in a row of enough of them with few pitches together.
few AS (
    SELECT line_key, bar_index, bit_or(pitch_set) AS pitch_set
    FROM (FROM begun UNION ALL FROM held_over)
    GROUP BY line_key, bar_index
    HAVING bit_count(bit_or(pitch_set)::BIT) <= $pitches
),

openings AS (
    SELECT
        *,
        bar_index + $bars - 1 = max(bar_index) OVER ahead
        AND bit_count((bit_or(pitch_set) OVER ahead)::BIT) <= $pitches AS opens
    FROM few
    WINDOW ahead AS (
        PARTITION BY line_key
        ORDER BY bar_index
        ROWS BETWEEN CURRENT ROW AND ($bars - 1) FOLLOWING
    )
),

covered AS (
    SELECT line_key, bar_index, pitch_set
    FROM openings
    QUALIFY max(CASE WHEN opens THEN bar_index END) OVER (
        PARTITION BY line_key
        ORDER BY bar_index
        ROWS BETWEEN ($bars - 1) PRECEDING AND CURRENT ROW
    ) > bar_index - $bars
),

runs AS MATERIALIZED (
    SELECT *, max(bar_index) OVER (PARTITION BY line_key, run) AS run_end
    FROM (
        SELECT
            *,
            bar_index - row_number() OVER (PARTITION BY line_key ORDER BY bar_index) AS run
        FROM covered
    )
),

-- From each bar on: where each pitch of the run comes next.
coming AS (
    SELECT
        line_key,
        run,
        bar_index,
        run_end,
        midi,
        min(bar_index) FILTER (get_bit(pitch_set::BIT, (127 - midi)::INTEGER) = 1) OVER (
            PARTITION BY line_key, run, midi
            ORDER BY bar_index
            ROWS BETWEEN CURRENT ROW AND UNBOUNDED FOLLOWING
        ) AS next_index
    FROM runs
    JOIN (
        SELECT line_key, run, range AS midi
        FROM (
            SELECT line_key, run, bit_or(pitch_set) AS all_pitches
            FROM runs
            GROUP BY line_key, run
        )
        JOIN range(128) ON get_bit(all_pitches::BIT, (127 - range)::INTEGER) = 1
    ) USING (line_key, run)
),

-- The pitch that would be one too many ends the stretch.
ends AS (
    SELECT
        line_key,
        run,
        bar_index AS start_index,
        coalesce(list_sort(list(next_index))[$pitches + 1] - 1, any_value(run_end)) AS end_index,
        list({midi: midi, next_index: next_index}) AS coming
    FROM coming
    WHERE next_index IS NOT NULL
    GROUP BY line_key, run, bar_index
),

stretches AS (
    SELECT
        line_key,
        start_index,
        end_index,
        list_sort([pitch.midi FOR pitch IN coming IF pitch.next_index <= end_index]) AS inventory
    FROM ends
    QUALIFY
        end_index > coalesce(
            lag(end_index) OVER (PARTITION BY line_key, run ORDER BY start_index), -1
        )
)

SELECT
    lines.movement_id,
    bars_as_text(first.bar, last.bar) AS bars,
    player AS line,
    instrument,
    end_index - start_index + 1 AS length,
    len(inventory) AS pitches,
    inventory
FROM stretches
JOIN lines USING (line_key)
JOIN bars AS first ON first.movement_key = lines.movement_key AND first.bar_index = start_index
JOIN bars AS last ON last.movement_key = lines.movement_key AND last.bar_index = end_index
WHERE end_index - start_index + 1 >= $bars
ORDER BY length DESC, movement_id, start_index, line_key
