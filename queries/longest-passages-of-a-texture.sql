-- title: Longest passages of each texture
-- for: whoever wants one clear example of every texture
-- answers: >
--   One row a passage, the longest of every texture first: a run of bars with one texture, short
--   changes passed over; the column own says how many of its bars have that texture by themselves.
-- parameters:
--   - name: texture
--     type: text
--     default: null
--     choices: [one_line, one_block, melody_over_sustained_harmony, melody_over_repeated_notes, melody_over_figuration, two_lines, three_or_more_lines]
--     meaning: one texture; all when left out
--   - name: of_each
--     type: integer
--     unit: passages
--     default: 5
--     meaning: passages of each texture at most
--   - name: composer
--     type: composer
--     default: null
--     meaning: composer_id or name of one composer; all when left out
-- columns:
--   - {name: texture, meaning: texture of the passage}
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bars, meaning: first and last bar as printed}
--   - {name: quarters, unit: quarters, meaning: length of its bars}
--   - {name: length, unit: bars, meaning: bars of the passage}
--   - {name: own, unit: share, meaning: share of its bars whose own texture it is}
--   - {name: leaders, meaning: instruments that lead in it}
-- rates:
--   - {name: own, numerator: bars of the passage whose own texture is the passage's, denominator: bars of the passage}

WITH told AS (
    SELECT
        passages.*,
        (last.start_ticks + last.length_ticks - first.start_ticks) / 11531520 AS quarters
    FROM texture_passages AS passages
    JOIN movements USING (movement_key)
    JOIN bars AS first ON first.bar_key = start_bar_key
    JOIN bars AS last
        ON last.movement_key = passages.movement_key AND last.bar_index = end_bar_index
    WHERE
        ($texture IS NULL OR texture = $texture)
        AND ($composer IS NULL OR $composer IN (composer_id, composer))
)

SELECT
    texture,
    movement_id,
    bars_as_text(start_bar, end_bar) AS bars,
    quarters,
    told.bars AS length,
    same_bars / told.bars AS own,
    leading_instruments AS leaders
FROM told
QUALIFY row_number() OVER (PARTITION BY texture ORDER BY quarters DESC, passage_key) <= $of_each
ORDER BY texture, quarters DESC, passage_key
