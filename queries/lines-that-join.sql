-- title: Lines that join after bars of independence, or part
-- for: whoever studies how independent lines are gathered into one, and let go again
-- answers: >
--   One row a meeting of two lines, in order of the score: both played for at least so many bars
--   without doubling each other, then they join in one line (unison or octaves), with their roles
--   before and after. With kind = part the other way round: they were one line and are free
--   afterwards.
-- parameters:
--   - name: kind
--     type: text
--     default: join
--     choices: [join, part]
--     meaning: joinings or partings
--   - name: least_free
--     type: integer
--     unit: bars
--     default: 4
--     meaning: bars in a row in which both are free, at least
--   - name: least_together
--     type: integer
--     unit: bars
--     default: 1
--     meaning: bars in a row together, at least
--   - name: strict
--     type: boolean
--     default: true
--     meaning: "only where a doubling passes the strict thresholds; else all that pass the inclusive ones, some of which are chance"
--   - name: line
--     type: instrument
--     default: null
--     meaning: "one of the two: key of an instrument (a generic one stands for its sizes and keys), a subfamily, a family, or chorus; any when left out"
--   - name: partner
--     type: instrument
--     default: null
--     meaning: the other one, named in the same way
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: movement_id, meaning: short name of the movement}
--   - {name: bar, meaning: bar as printed}
--   - {name: beat_quarters, unit: quarters, meaning: time from the start of that bar}
--   - {name: line, meaning: upper line in score order}
--   - {name: partner, meaning: lower line in score order}
--   - {name: bars_free, unit: bars, meaning: free bars directly before a joining or after a parting}
--   - {name: bars_together, unit: bars, meaning: bars together after a joining or before a parting}
--   - {name: line_roles, meaning: role of the line before and after}
--   - {name: partner_roles, meaning: role of the partner before and after}

SELECT
    met.movement_id,
    met.bar,
    (met.start_ticks - bars.start_ticks) / 11531520 AS beat_quarters,
    a.player AS line,
    b.player AS partner,
    bars_free,
    bars_together,
    coalesce(role_before, 'silent') || ' → ' || coalesce(role_after, 'silent') AS line_roles,
    coalesce(partner_role_before, 'silent') || ' → ' || coalesce(partner_role_after, 'silent')
        AS partner_roles
FROM line_meetings AS met
JOIN bars USING (bar_key)
JOIN named_lines() AS a ON a.line_key = met.line_key
JOIN named_lines() AS b ON b.line_key = partner_line_key
WHERE
    kind = $kind
    AND bars_free >= $least_free
    AND bars_together >= $least_together
    AND (strict OR NOT $strict)
    AND (
        ($line IS NULL OR list_contains(a.words, $line))
        AND ($partner IS NULL OR list_contains(b.words, $partner))
        OR ($line IS NULL OR list_contains(b.words, $line))
        AND ($partner IS NULL OR list_contains(a.words, $partner))
    )
    AND ($movement IS NULL OR met.movement_id = $movement)
ORDER BY met.movement_id, met.start_ticks, met.line_key, partner_line_key
