-- title: Textures before and after rehearsal marks
-- for: whoever asks whether a new section brings a new way of writing
-- answers: >
--   One row a pair of textures, that of the bar before a rehearsal mark and that of the bar that
--   carries it: at how many marks it stands, and how often the same pair stands at the other bar
--   lines of movements that have marks. The textures are those of passages, in which short changes
--   are passed over.
-- parameters:
--   - name: movement
--     type: movement
--     default: null
--     meaning: movement_id of one movement; all when left out
-- columns:
--   - {name: before, meaning: texture of the bar before}
--   - {name: after, meaning: texture of the bar with the mark}
--   - {name: changes, meaning: the two are different}
--   - {name: marks, unit: marks, meaning: rehearsal marks with these textures}
--   - {name: share, unit: share, meaning: share of all rehearsal marks}
--   - {name: elsewhere, unit: share, meaning: share of the bar lines without a mark}
--   - {name: places, meaning: "movements and bars of the marks"}
-- rates:
--   - {name: share, numerator: marks with these textures before and after, denominator: marks with a texture before and after}
--   - {name: elsewhere, numerator: bar lines without a mark with these textures before and after, denominator: bar lines without a mark with a texture before and after}

WITH pairs AS MATERIALIZED (
    SELECT
        bars.movement_id,
        bars.bar,
        bar_key,
        rehearsal IS NOT NULL AS marked,
        bool_or(marked) OVER (PARTITION BY bars.movement_key) AS has_marks,
        lag(passage_texture) OVER earlier AS before,
        passage_texture AS after
    FROM bars
    JOIN textures USING (bar_key)
    WHERE $movement IS NULL OR bars.movement_id = $movement
    WINDOW earlier AS (PARTITION BY bars.movement_key ORDER BY bars.bar_index)
)

SELECT
    before,
    after,
    before <> after AS changes,
    count(*) FILTER (marked) AS marks,
    marks / (sum(count(*) FILTER (marked)) OVER ())::BIGINT AS share,
    count(*) FILTER (NOT marked)
        / nullif((sum(count(*) FILTER (NOT marked)) OVER ())::BIGINT, 0) AS elsewhere,
    string_agg(movement_id || ' ' || bar, ', ' ORDER BY movement_id, bar_key)
        FILTER (marked) AS places
FROM pairs
WHERE has_marks AND before IS NOT NULL AND after IS NOT NULL
GROUP BY before, after
QUALIFY marks > 0
ORDER BY marks DESC, before, after
