-- title: Words in the scores that were not understood
-- for: whoever wants to know what the tables do not say
-- answers: >
--   One row a text in words that holds some which were not understood, the most frequent first,
--   with the words left over and one place where it stands. Texts that were understood, and those
--   about tempo or expression only, are not listed; the last two columns say how large a share of
--   all texts each of the two makes. Signs (hairpins, f, rehearsal letters …) are no texts.
-- parameters:
--   - name: movement
--     type: text
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: text, meaning: the text as printed}
--   - {name: not_understood, meaning: the words of it that were not understood}
--   - {name: times, unit: times, meaning: how often it stands}
--   - {name: movement_id, meaning: a movement in which it stands}
--   - {name: bar, meaning: a bar in which it stands}
--   - {name: part, meaning: the part there}
--   - {name: understood, unit: share, meaning: share of all texts that were understood and say who plays or how}
--   - {name: not_our_business, unit: share, meaning: "share of all texts that speak of tempo, expression or headings only"}
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
),

shares AS (
    SELECT
        count(*) FILTER (not_understood IS NULL AND NOT not_ours) / count(*) AS understood,
        count(*) FILTER (not_understood IS NULL AND not_ours) / count(*) AS not_our_business
    FROM texts
)

SELECT
    t.text,
    t.not_understood,
    count(*) AS times,
    arg_min(t.movement_id, t.direction_key) AS movement_id,
    arg_min(t.bar, t.direction_key) AS bar,
    arg_min(t.part, t.direction_key) AS part,
    any_value(s.understood) AS understood,
    any_value(s.not_our_business) AS not_our_business
FROM texts AS t
CROSS JOIN shares AS s
WHERE t.not_understood IS NOT NULL
GROUP BY t.text, t.not_understood
ORDER BY times DESC, t.text, t.not_understood
