"""What the tables hold for a comparison: times and counts of movements, asked in SQL.

All times are unions: a moment in which two oboes double one clarinet line counts once for that
line, and so does a moment doubled in two kinds.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from types import MappingProxyType
from typing import Any

import duckdb

from collaparte.errors import UsageError, did_you_mean

Answer = Callable[[str, Mapping[str, Any]], duckdb.DuckDBPyRelation]
"""Asks one SELECT with bound values."""

Rows = list[dict[str, Any]]

NOT_STATED = "not stated"

GROUPS = MappingProxyType(
    {
        "composer": f"coalesce(composer, '{NOT_STATED}')",
        "work": "work_id",
        "decade": f"coalesce((year_from // 10 * 10)::TEXT || 's', '{NOT_STATED}')",
        "collection": f"coalesce(collection, '{NOT_STATED}')",
        "encoder": f"coalesce(encoder, '{NOT_STATED}')",
        "corpus": "'all works'",
    }
)
"""What works are grouped by, each with its expression on `movements`."""

STRATA = ("different instruments", "one instrument", "continuo and its doublers")
"""Strata of pairs of lines, in the order in which they are shown."""

_CHOSEN = f"""
    SELECT
        movement_key, movement_id, work_id,
        coalesce(composer, '{NOT_STATED}') AS composer,
        coalesce(collection, '{NOT_STATED}') AS collection,
        coalesce(encoder, '{NOT_STATED}') AS encoder,
        %(group)s AS grouped
    FROM movements
    WHERE state = 'read'
        AND ($every OR (counts AND scoring_complete <> 'no'))
        AND ($collection IS NULL OR collection = $collection)
        AND ($encoder IS NULL OR encoder = $encoder)
"""

_MOVEMENTS = "WITH chosen AS (%(chosen)s) FROM chosen ORDER BY movement_id"

_LEFT_OUT = """
SELECT
    count(*) FILTER (state <> 'read') AS unread,
    count(*) FILTER (state = 'read' AND same_music_as IS NOT NULL AND NOT counts) AS again,
    count(*) FILTER (state = 'read' AND same_music_as IS NULL AND NOT counts) AS not_counting,
    count(*) FILTER (state = 'read' AND counts AND scoring_complete = 'no') AS incomplete
FROM movements
"""

# A generic instrument (clarinet, horn) stands for its sizes and keys as well.
_NAMED_LINES = """
    SELECT
        movement_key, line_key, sounding_ticks,
        coalesce(instrument, '') AS instrument,
        coalesce(bare_name, instrument, '') AS bare_name,
        [instrument, bare_name, subfamily, family, ensemble] AS words
    FROM lines
    LEFT JOIN (
        SELECT line_key, max(key) AS bare_name
        FROM lines
        JOIN instruments ON generic AND starts_with(instrument, key || '-')
        GROUP BY line_key
    ) USING (line_key)
"""

_LINES = """
    SELECT
        movement_key, line_key, work_id, sounding_ticks, instrument, bare_name,
        list_contains(words, $line) AS is_own,
        list_contains(words, $partner) AS is_partner,
        list_contains($continuo, instrument)
            AND bool_or(instrument = 'continuo') OVER (PARTITION BY movement_key) AS in_continuo
    FROM named_lines
    JOIN chosen USING (movement_key)
"""

_PAIRS = f"""
    SELECT
        own.line_key, partner.line_key AS partner_line_key, own.work_id, own.instrument,
        CASE
            WHEN own.in_continuo AND partner.in_continuo THEN '{STRATA[2]}'
            WHEN own.bare_name = partner.bare_name THEN '{STRATA[1]}'
            ELSE '{STRATA[0]}'
        END AS stratum
    FROM chosen_lines AS own
    JOIN chosen_lines AS partner USING (movement_key)
    WHERE own.is_own AND partner.is_partner AND own.line_key <> partner.line_key
"""

_BARS = """
    SELECT line_key, sum(greatest(0, last_bar - greatest(first_bar - 1, reached)))::BIGINT AS bars
    FROM (
        SELECT
            line_key,
            sounding.bar_index AS first_bar,
            bars.bar_index AS last_bar,
            coalesce(max(bars.bar_index) OVER (
                PARTITION BY line_key ORDER BY onset_ticks, note_key
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), -1) AS reached
        FROM (
            SELECT movement_key, line_key, note_key, bar_index, onset_ticks,
                onset_ticks + duration_ticks AS end_ticks
            FROM notes
            WHERE NOT is_grace AND NOT is_cue
                AND line_key IN (SELECT line_key FROM chosen_lines WHERE is_own)
        ) AS sounding
        ASOF JOIN bars
            ON sounding.movement_key = bars.movement_key AND sounding.end_ticks > bars.start_ticks
    )
    GROUP BY line_key
"""

_AMOUNTS = f"""
WITH chosen AS MATERIALIZED (%(chosen)s),
named_lines AS ({_NAMED_LINES}),
chosen_lines AS MATERIALIZED ({_LINES}),
pairs AS MATERIALIZED ({_PAIRS}),
asked AS (SELECT unnest($kinds) AS kind, unnest($labels) AS label),

-- The lines that could double: all of that instrument in a work that calls for such a pair.
able AS (
    SELECT DISTINCT movement_key, line_key, sounding_ticks, stratum
    FROM chosen_lines
    JOIN (SELECT DISTINCT work_id, instrument, stratum FROM pairs) USING (work_id, instrument)
    WHERE is_own
),

members AS MATERIALIZED (
    SELECT DISTINCT sonority_key, line_key, ticks
    FROM sonority_members
    WHERE line_key IN (SELECT line_key FROM chosen_lines WHERE is_own OR is_partner)
),
together AS (
    SELECT line_key, stratum, sum(ticks) AS together_ticks
    FROM (
        SELECT DISTINCT pairs.line_key, stratum, own.sonority_key, own.ticks
        FROM pairs
        JOIN members AS own ON own.line_key = pairs.line_key
        JOIN members AS partner
            ON partner.line_key = partner_line_key AND partner.sonority_key = own.sonority_key
    )
    GROUP BY ALL
),

doubled AS (
    SELECT
        line_key, stratum, label,
        sum(greatest(0, end_ticks - greatest(start_ticks, reached))) AS doubled_ticks,
        count(DISTINCT doubling_key) AS stretches
    FROM (
        SELECT
            line_key, stratum, label, doubling_key, start_ticks,
            start_ticks + ticks AS end_ticks,
            coalesce(max(start_ticks + ticks) OVER (
                PARTITION BY line_key, stratum, label
                ORDER BY start_ticks, note_key, partner_note_key, kind
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ), 0) AS reached
        FROM doubled_notes
        JOIN pairs USING (line_key, partner_line_key)
        JOIN asked USING (kind)
        WHERE strict OR NOT $strict
    )
    GROUP BY ALL
),

chance AS (
    SELECT
        line_key, stratum, label,
        sum(doubled_ticks) FILTER (chance_harmony_ticks IS NOT NULL) AS beside_harmony_ticks,
        sum(chance_harmony_ticks) AS harmony_ticks,
        sum(doubled_ticks) FILTER (chance_shift_ticks IS NOT NULL) AS beside_shift_ticks,
        sum(chance_shift_ticks) AS shift_ticks
    FROM pair_activity
    JOIN pairs USING (line_key, partner_line_key)
    JOIN asked USING (kind)
    WHERE strict = $strict
    GROUP BY ALL
),

bars_of_lines AS ({_BARS})

SELECT
    grouped, composer, work_id, movement_id, stratum, label,
    sum(sounding_ticks)::DOUBLE AS sounding,
    coalesce(sum(together_ticks), 0)::DOUBLE AS together,
    coalesce(sum(doubled_ticks), 0)::DOUBLE AS doubled,
    coalesce(sum(stretches), 0)::DOUBLE AS stretches,
    coalesce(sum(bars), 0)::DOUBLE AS bars,
    sum(beside_harmony_ticks)::DOUBLE AS beside_harmony,
    sum(harmony_ticks) AS harmony,
    sum(beside_shift_ticks)::DOUBLE AS beside_shift,
    sum(shift_ticks) AS shift
FROM able
CROSS JOIN (SELECT DISTINCT label FROM asked)
JOIN chosen USING (movement_key)
LEFT JOIN together USING (line_key, stratum)
LEFT JOIN doubled USING (line_key, stratum, label)
LEFT JOIN chance USING (line_key, stratum, label)
LEFT JOIN bars_of_lines USING (line_key)
GROUP BY ALL
ORDER BY ALL
"""

_ENCODINGS = f"""
WITH chosen AS MATERIALIZED (%(chosen)s),
named_lines AS ({_NAMED_LINES}),
told AS (
    SELECT
        chosen.movement_key,
        sum(duration_ticks) AS ticks,
        sum(if(notes.instrument IS NULL, duration_ticks, 0)) AS without_instrument,
        sum(if(of_pair, duration_ticks, 0)) AS of_pair,
        sum(if(of_pair AND dynamic_degree IS NULL, duration_ticks, 0)) AS without_dynamic,
        sum(if(of_pair AND register_class IS NULL, duration_ticks, 0)) AS without_register
    FROM notes
    JOIN chosen USING (movement_key)
    JOIN (SELECT line_key, list_has_any(words, $words) AS of_pair FROM named_lines)
        USING (line_key)
    WHERE list_contains($movements, chosen.movement_id) AND NOT is_grace AND NOT is_cue
    GROUP BY chosen.movement_key
)
SELECT
    grouped AS %(by)s,
    count(DISTINCT work_id) AS works,
    count(*) AS movements,
    string_agg(DISTINCT collection, '; ' ORDER BY collection) AS collections,
    string_agg(DISTINCT encoder, '; ' ORDER BY encoder) AS encoders,
    sum(ticks)::DOUBLE AS ticks,
    sum(without_instrument)::DOUBLE AS without_instrument,
    sum(of_pair)::DOUBLE AS of_pair,
    sum(without_dynamic)::DOUBLE AS without_dynamic,
    sum(without_register)::DOUBLE AS without_register
FROM chosen
JOIN told USING (movement_key)
GROUP BY grouped
ORDER BY grouped
"""

_WORDS = """
SELECT DISTINCT unnest([key, subfamily, family]) AS word FROM instruments
UNION SELECT DISTINCT unnest([instrument, subfamily, family, ensemble]) FROM lines
"""

_KEYS_OF_NAMES = """
SELECT lower(trim(unnest(string_split(concat_ws(';', english, french, german, italian), ';')))), key
FROM instruments
"""


def check_words(answer: Answer, words: Collection[str]) -> None:
    """Refuse words that are no instrument, subfamily, family or ensemble.

    Raises
    ------
    UsageError
        With the key of an instrument of that name, else the nearest word there is.
    """
    known = {word for (word,) in answer(_WORDS, {}).fetchall() if word}
    for word in words:
        if word not in known:
            key = dict(reversed(answer(_KEYS_OF_NAMES, {}).fetchall())).get(word.lower())
            near = did_you_mean(key or word, sorted(known)) or (
                "; write an instrument, a subfamily (horns), a family (woodwind) or chorus"
            )
            raise UsageError(f"there is no instrument {word}{near}")


def movements(answer: Answer, by: str, chosen: Mapping[str, Any]) -> Rows:
    """The movements that are compared: grouped, composer, work_id, movement_id.

    Parameters
    ----------
    by
        One of `GROUPS`.
    chosen
        `collection` and `encoder` (or None) to keep to, and `every`: those too that do not count
        or whose scoring is known to be incomplete.
    """
    return _rows(answer(_MOVEMENTS % {"chosen": _CHOSEN % {"group": GROUPS[by]}}, chosen))


def left_out(answer: Answer) -> dict[str, int]:
    """Movements that are left out when every = false, by reason."""
    return _rows(answer(_LEFT_OUT, {}))[0]


def amounts(
    answer: Answer,
    by: str,
    chosen: Mapping[str, Any],
    pair: tuple[str, str],
    labels: Sequence[tuple[str, str]],
    strict: bool,
    continuo: Sequence[str],
) -> Rows:
    """Times in ticks, stretches and bars: one row a movement, stratum and label.

    Parameters
    ----------
    by, chosen
        As in `movements`.
    pair
        Words for the line and for its partner.
    labels
        Kinds of doubling with the label under which each is counted.
    strict
        Strict stretches only, else all.
    continuo
        Instruments that play one bass in a movement with a continuo.

    Returns
    -------
    grouped, composer, work_id, movement_id, stratum, label; sounding, together and doubled of
    the lines; stretches and bars; time doubled and expected where a null model was computed.
    """
    values = {
        **chosen,
        "line": pair[0],
        "partner": pair[1],
        "kinds": [kind for kind, _ in labels],
        "labels": [label for _, label in labels],
        "strict": strict,
        "continuo": list(continuo),
    }
    return _rows(answer(_AMOUNTS % {"chosen": _CHOSEN % {"group": GROUPS[by]}}, values))


def encodings(
    answer: Answer,
    by: str,
    chosen: Mapping[str, Any],
    words: Sequence[str],
    movement_ids: Collection[str],
) -> Rows:
    """What the encodings do not tell: one row a group.

    Parameters
    ----------
    words
        Of the lines whose dynamics and registers matter.
    movement_ids
        The movements behind the comparison.

    Returns
    -------
    The group under the name `by`, works, movements, collections, encoders; ticks of all notes
    and of those without an instrument; ticks of the notes of the lines that `words` name
    (`of_pair`), and of those of them without a dynamic and without a register.
    """
    values = {**chosen, "words": list(words), "movements": sorted(movement_ids)}
    statement = _ENCODINGS % {"chosen": _CHOSEN % {"group": GROUPS[by]}, "by": by}
    return _rows(answer(statement, values))


def _rows(relation: duckdb.DuckDBPyRelation) -> Rows:
    rows: Rows = relation.to_arrow_table().to_pylist()
    return rows
