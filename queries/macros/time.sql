-- Quantiles and passages, which nobody writes by heart.

-- time_quantile(value, ticks, share): the least value at or below which this share of the time
-- lies; an aggregate. Values without time do not count.
CREATE MACRO time_quantile(value, ticks, share) AS (
    list_reduce(
        list_sort(
            list(struct_pack(value := value, ticks := ticks::BIGINT, reached := ticks::BIGINT))
            FILTER (value IS NOT NULL AND ticks > 0)
        ),
        lambda a, b: CASE
            WHEN a.reached >= share * (sum(ticks) FILTER (value IS NOT NULL))::BIGINT THEN a
            ELSE struct_pack(value := b.value, ticks := b.ticks, reached := a.reached + b.ticks)
        END
    )['value']
);

-- joined_passages('spans', gap): spans of one subject joined where less than `gap` ticks lie
-- between them. `spans` names a table or a WITH of the same statement with the columns subject,
-- start_ticks, end_ticks, bar.
CREATE MACRO joined_passages(spans, gap) AS TABLE
SELECT
    subject,
    min(start_ticks) AS start_ticks,
    max(end_ticks) AS end_ticks,
    arg_min(bar, start_ticks) AS first_bar,
    arg_max(bar, start_ticks) AS last_bar
FROM (
    SELECT
        *,
        sum(CASE WHEN start_ticks >= reached + gap THEN 1 ELSE 0 END) OVER (
            PARTITION BY subject ORDER BY start_ticks, end_ticks ROWS UNBOUNDED PRECEDING
        ) AS passage
    FROM (
        SELECT
            *,
            max(end_ticks) OVER (
                PARTITION BY subject ORDER BY start_ticks, end_ticks
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ) AS reached
        FROM query_table(spans)
    )
)
GROUP BY subject, passage;
