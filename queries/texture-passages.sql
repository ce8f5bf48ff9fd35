-- title: Passages by texture, leading instrument and dynamic
-- for: whoever looks for examples of a texture in scores
-- answers: >
--   One row a passage (a run of bars with one texture, short changes passed over), in order of the
--   score: where it lies, how much of it the instrument asked for leads, alone or doubled on the
--   same line of pitches, and how loud it is asked to be.
-- parameters:
--   - name: texture
--     type: text
--     default: null
--     choices: [one_line, one_block, melody_over_sustained_harmony, melody_over_repeated_notes, melody_over_figuration, two_lines, three_or_more_lines]
--     meaning: texture of the passage; any when left out
--   - name: leader
--     type: instrument
--     default: null
--     meaning: "line that leads, alone or with others, in at least half of the bars: key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus; any when left out"
--   - name: softest
--     type: text
--     default: null
--     choices: [pppp, ppp, pp, p, mp, mf, f, ff, fff, ffff]
--     meaning: mean dynamic at least this mark (p, mf …)
--   - name: loudest
--     type: text
--     default: null
--     choices: [pppp, ppp, pp, p, mp, mf, f, ff, fff, ffff]
--     meaning: mean dynamic at most this mark
--   - name: least_bars
--     type: integer
--     unit: bars
--     default: 2
--     meaning: passages at least so long
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bars, meaning: first and last bar as printed}
--   - {name: texture, meaning: texture of the passage}
--   - {name: length, unit: bars, meaning: bars of the passage}
--   - {name: led, unit: share, meaning: share of the bars in which the line asked for leads (any line when none is asked for)}
--   - {name: leaders, meaning: "instruments of its leading lines, those that double them left out"}
--   - {name: dynamic_degree, unit: degrees, meaning: "mean dynamic, 1 pppp to 10 ffff; empty where none is known"}
--   - {name: mean_margin, meaning: "mean margin of its bars, 0 to 1"}
-- rates:
--   - {name: led, numerator: bars in which the line asked for leads, denominator: bars of the passage}

WITH led AS (
    SELECT passage_key, count(DISTINCT bar_index) AS bars
    FROM texture_passages
    JOIN leading_lines() AS leader
        ON leader.movement_key = texture_passages.movement_key
        AND leader.bar_index BETWEEN start_bar_index AND end_bar_index
    JOIN named_lines() AS line ON line.line_key = leader.line_key
    WHERE $leader IS NULL OR list_contains(words, $leader)
    GROUP BY passage_key
),

dynamic AS (
    SELECT passage_key, avg(dynamic_degree) AS degree
    FROM texture_passages
    JOIN textures
        ON textures.movement_key = texture_passages.movement_key
        AND bar_index BETWEEN start_bar_index AND end_bar_index
    GROUP BY passage_key
)

SELECT
    movement_id,
    bars_as_text(start_bar, end_bar) AS bars,
    texture,
    passages.bars AS length,
    coalesce(led.bars, 0) / passages.bars AS led,
    leading_instruments AS leaders,
    dynamic.degree AS dynamic_degree,
    mean_margin
FROM texture_passages AS passages
LEFT JOIN led USING (passage_key)
LEFT JOIN dynamic USING (passage_key)
WHERE
    passages.bars >= $least_bars
    AND ($texture IS NULL OR texture = $texture)
    AND ($leader IS NULL OR 2 * led.bars >= passages.bars)
    AND ($softest IS NULL OR dynamic.degree >= (SELECT degree FROM dynamics WHERE mark = $softest))
    AND ($loudest IS NULL OR dynamic.degree <= (SELECT degree FROM dynamics WHERE mark = $loudest))
    AND ($movement IS NULL OR movement_id = $movement)
ORDER BY movement_id, passage_key
