-- title: Words in the scores that were not understood
-- for: whoever wants to know what the tables do not say
-- answers: >
--   One row a text in words that holds some which were not understood, the most frequent first,
--   with the words left over and one place where it stands. Texts that were understood, and those
--   about tempo or expression only, are not listed; the last row, which is always there, counts all
--   texts and says how large a share of them each of the two makes. Signs (hairpins, f, rehearsal
--   letters …) are no texts.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: text, meaning: "the text as printed; in the last row: all texts"}
--   - {name: not_understood, meaning: the words of it that were not understood}
--   - {name: times, unit: times, meaning: how often it stands}
--   - {name: movement_id, meaning: a movement in which it stands}
--   - {name: bar, meaning: a bar in which it stands}
--   - {name: part, meaning: the part there}
--   - {name: understood, unit: share, meaning: "last row: share of all texts that were understood and say who plays or how"}
--   - {name: not_our_business, unit: share, meaning: "last row: share of all texts that speak of tempo, expression or headings only"}
-- rates:
--   - {name: understood, numerator: texts of which every word was understood, denominator: texts}
--   - {name: not_our_business, numerator: "texts about tempo, expression or headings only", denominator: texts}

WITH texts AS (
    SELECT
        d.text,
        d.not_understood,
        d.movement_id,
        d.bar,
        d.direction_key,
        p.name AS part,
        d.kind = 'tempo' OR (
            d.kind = 'other'
            AND list_has_all(
                [
                    'expression', 'heading', 'sempre', 'molto', 'subito', 'poco_a_poco', 'quasi',
                    'moderately', 'at_first', 'if_possible', 'to_the_end', 'again'
                ],
                string_split(coalesce(d.understood_as, 'expression'), '; ')
            )
        ) AS not_ours
    FROM directions AS d
    INNER JOIN parts AS p ON d.movement_key = p.movement_key AND d.part_index = p.part_index
    WHERE
        d.element = 'words' AND d.text IS NOT NULL
        AND ($movement IS NULL OR d.movement_id = $movement)
)

SELECT
    text,
    not_understood,
    count(*) AS times,
    arg_min(movement_id, direction_key) AS movement_id,
    arg_min(bar, direction_key) AS bar,
    arg_min(part, direction_key) AS part,
    NULL::DOUBLE AS understood,
    NULL::DOUBLE AS not_our_business
FROM texts
WHERE not_understood IS NOT NULL
GROUP BY text, not_understood
UNION ALL
SELECT
    'all texts',
    NULL,
    count(*),
    NULL,
    NULL,
    NULL,
    count(*) FILTER (not_understood IS NULL AND NOT not_ours) / nullif(count(*), 0),
    count(*) FILTER (not_understood IS NULL AND not_ours) / nullif(count(*), 0)
FROM texts
ORDER BY not_understood IS NULL, times DESC, text, not_understood
