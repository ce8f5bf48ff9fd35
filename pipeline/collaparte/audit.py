"""An audit of the doublings: a sheet of pair-bars to be coded by hand, and its score.

A pair-bar is a bar in which two lines sound together. Half of the sheet is drawn from those in
which a doubling was detected, half from the others, by strata: kind, strictness, and the families
of the two lines (for voices: chorus or solo_voice). Every stratum is drawn from; where there are
more strata than places, families are told apart less finely, then not at all, and kinds last.
Which pair-bars of a stratum are drawn depends on the seed and on their address alone.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import duckdb
import pyarrow as pa

from collaparte import statistics
from collaparte.errors import UsageError
from collaparte.measures.kinds import KINDS
from collaparte.statistics import Proportion

Answer = Callable[[str, Mapping[str, Any]], duckdb.DuckDBPyRelation]
"""Asks one SELECT with bound values."""

Row = tuple[str, str, str, float | None, float | None, float | None, int]

NO_KIND = "none"
"""The kind of a pair-bar in which nothing was detected."""

CODERS = ("coder_1", "coder_2")

_CODES = {**dict.fromkeys(("yes", "y", "1"), True), **dict.fromkeys(("no", "n", "0"), False)}

_POPULATION = """
WITH chosen AS (
    SELECT movement_key FROM movements WHERE state = 'read' AND same_music_as IS NULL
),

sounding AS MATERIALIZED (
    SELECT DISTINCT sonority_key, bar_key, line_key
    FROM sonority_members
    JOIN chosen USING (movement_key)
),

found AS (
    SELECT
        bar_key, line_key, partner_line_key, kind,
        if(strict, 'strict', 'inclusive') AS strictness
    FROM doubled_notes
    JOIN chosen USING (movement_key)
    WHERE line_key < partner_line_key
    QUALIFY row_number() OVER (
        PARTITION BY bar_key, line_key, partner_line_key
        ORDER BY list_position($kinds, kind), strict DESC
    ) = 1
),

pair_bars AS (
    SELECT DISTINCT own.bar_key, own.line_key, partner.line_key AS partner_line_key
    FROM sounding AS own
    JOIN sounding AS partner USING (sonority_key)
    WHERE own.line_key < partner.line_key
    UNION
    SELECT bar_key, line_key, partner_line_key FROM found
),

named AS (
    SELECT
        line_key, movement_id, part_name, player,
        CASE
            WHEN ensemble IN ('chorus', 'solo_voice') THEN ensemble ELSE coalesce(family, 'unknown')
        END AS family
    FROM lines
),

population AS (
    SELECT
        pair_bars.*,
        coalesce(kind, 'none') AS kind,
        coalesce(strictness, 'none') AS strictness,
        least(upper.family, lower.family) || ' + ' || greatest(upper.family, lower.family)
            AS families,
        upper.movement_id AS movement_id,
        upper.player AS line_a,
        lower.player AS line_b,
        coalesce(upper.part_name, '') AS part_a,
        coalesce(lower.part_name, '') AS part_b
    FROM pair_bars
    LEFT JOIN found USING (bar_key, line_key, partner_line_key)
    JOIN named AS upper USING (line_key)
    JOIN named AS lower ON lower.line_key = partner_line_key
)
"""

_COUNTS = f"""
{_POPULATION}
SELECT kind, strictness, families, count(*) AS pair_bars
FROM population
GROUP BY ALL
ORDER BY ALL
"""

_DRAWN = f"""
{_POPULATION},

cells AS (
    SELECT
        unnest($cell_kinds) AS kind,
        unnest($cell_strictnesses) AS strictness,
        unnest($cell_families) AS families,
        unnest($cell_strata) AS stratum,
        unnest($cell_sizes) AS size,
        unnest($cell_populations) AS population
),

drawn AS (
    SELECT *, md5(concat_ws('|', $seed, bar_key, line_key, partner_line_key)) AS lot
    FROM population
    JOIN cells USING (kind, strictness, families)
    QUALIFY row_number() OVER (PARTITION BY stratum ORDER BY lot) <= size
)

SELECT
    row_number() OVER (ORDER BY lot) AS item,
    drawn.movement_id, work, title, bar, bar_index, part_a, line_a, part_b, line_b,
    '' AS coder_1, '' AS coder_2, '' AS note,
    if(kind = 'none', 'no', 'yes') AS detected,
    kind, strictness, families, stratum, population, size AS sampled,
    size / population AS sampling_rate
FROM drawn
JOIN bars USING (bar_key)
JOIN movements USING (movement_key)
ORDER BY item
"""

Cell = tuple[str, str, str, int]
"""Kind, strictness, families, and how many pair-bars are of them."""


def _found(cell: Cell) -> str:
    return "not detected" if cell[0] == NO_KIND else f"{cell[0]}, {cell[1]}"


def _distance(families: str) -> str:
    """How far the two families are from each other."""
    one, other = families.split(" + ")
    if {one, other} & {"chorus", "solo_voice"}:
        return "with voices"
    return "one family" if one == other else "two families"


_GRAINS: tuple[Callable[[Cell], str], ...] = (
    lambda cell: f"{_found(cell)}, {cell[2]}",
    lambda cell: f"{_found(cell)}, {_distance(cell[2])}",
    _found,
    lambda cell: "not detected" if cell[0] == NO_KIND else "detected",
)
"""Names of strata, the finest first."""


@dataclass(frozen=True)
class Stratum:
    """Pair-bars that are drawn together: how many there are, and how many are drawn."""

    name: str
    population: int
    size: int


def sheet(answer: Answer, sample: int, seed: int) -> duckdb.DuckDBPyRelation:
    """The sheet: one row a pair-bar, in an order by lot.

    Parameters
    ----------
    answer
        Asks the store.
    sample
        Pair-bars to draw, at least 2; all where there are fewer.

    Returns
    -------
    item; movement_id, work, title, bar as printed, bar_index, parts and lines; the columns that
    the coders fill in; then what the program found (to be hidden from them), and of the stratum
    its pair-bars, how many of them were drawn, and the sampling rate.

    Raises
    ------
    UsageError
        In no bar of the store do two lines sound together.
    """
    kinds = {"kinds": list(KINDS)}
    cells = answer(_COUNTS, kinds).fetchall()
    if not cells:
        raise UsageError("there is nothing to audit: in no bar do two lines sound together")
    strata = strata_of(cells, sample)
    columns = zip(
        *(
            (*cell[:3], of.name, of.size, of.population)
            for cell, of in zip(cells, strata, strict=True)
        ),
        strict=True,
    )
    names = ("kinds", "strictnesses", "families", "strata", "sizes", "populations")
    given = {f"cell_{name}": list(values) for name, values in zip(names, columns, strict=True)}
    return answer(_DRAWN, {**kinds, "seed": seed, **given})


def strata_of(cells: Sequence[Cell], sample: int) -> list[Stratum]:
    """The stratum of each cell, `sample` pair-bars in all, half of them detected.

    Where one half has too few pair-bars the other takes its places.
    """
    detected = sum(cell[3] for cell in cells if cell[0] != NO_KIND)
    others = sum(cell[3] for cell in cells) - detected
    places = min(detected, max(sample - others, (sample + 1) // 2))
    strata: dict[Cell, Stratum] = {}
    for cell_is_detected, room in ((True, places), (False, min(others, sample - places))):
        half = [cell for cell in cells if (cell[0] != NO_KIND) == cell_is_detected]
        grain = next(grain for grain in _GRAINS if len(set(map(grain, half))) <= max(room, 1))
        populations: Counter[str] = Counter()
        for cell in half:
            populations[grain(cell)] += cell[3]
        sizes = _even(populations, room)
        strata |= {
            cell: Stratum(grain(cell), populations[grain(cell)], sizes[grain(cell)])
            for cell in half
        }
    return [strata[cell] for cell in cells]


def _even(populations: Mapping[str, int], places: int) -> dict[str, int]:
    """As many places for each as for the others, as far as each has pair-bars."""
    sizes = {}
    order = sorted(populations, key=lambda name: (populations[name], name))
    for number, name in enumerate(order):
        sizes[name] = min(populations[name], places // (len(order) - number))
        places -= sizes[name]
    return sizes


@dataclass(frozen=True)
class Item:
    """One coded row: what the program found, what the coders saw (None: not coded)."""

    detected: bool
    kind: str
    strictness: str
    rate: float
    codes: tuple[bool | None, bool | None]


def score(text: str, confidence: float) -> duckdb.DuckDBPyRelation:
    """Precision, recall and the coders' agreement, from a coded sheet.

    Parameters
    ----------
    text
        The sheet as CSV, with yes or no in the columns of the coders; empty: not coded. A
        spreadsheet's semicolons and decimal commas are understood.

    Returns
    -------
    One row a figure: figure (precision, recall, kappa), of (all, or a kind and strictness),
    coder, value, low, high, units. Precision is the share of the detected pair-bars that are
    doublings, recall the share of the doublings that are detected; each pair-bar weighs as many
    as it stands for, the inverse of its sampling rate.

    Raises
    ------
    UsageError
        The sheet is not one of ours, a cell cannot be read, or nothing is coded.
    """
    items = items_of(text)
    rows = []
    for number, coder in enumerate(CODERS):
        coded = [item for item in items if item.codes[number] is not None]
        if coded:
            rows += _of_coder(coder, number, coded, confidence)
    both = [item.codes for item in items if None not in item.codes]
    if both:
        agreement = statistics.kappa([code for code, _ in both], [code for _, code in both])
        rows.append(("kappa", "all", "both", agreement, None, None, len(both)))
    names = ("figure", "of", "coder", "value", "low", "high", "units")
    table = pa.Table.from_pylist(
        [dict(zip(names, row, strict=True)) for row in rows], schema=_SCORE
    )
    return duckdb.connect().from_arrow(table).materialize()


_SCORE = pa.schema(
    {
        "figure": pa.string(),
        "of": pa.string(),
        "coder": pa.string(),
        "value": pa.float64(),
        "low": pa.float64(),
        "high": pa.float64(),
        "units": pa.int64(),
    }
)


def _of_coder(coder: str, number: int, items: list[Item], confidence: float) -> list[Row]:
    detected = [item for item in items if item.detected]
    true = [item for item in items if item.codes[number]]
    kinds = sorted({(KINDS.index(item.kind), item.kind, item.strictness) for item in detected})
    subsets = [("all", detected)]
    for _, kind, strictness in kinds:
        of_kind = [item for item in detected if (item.kind, item.strictness) == (kind, strictness)]
        subsets.append((f"{kind}, {strictness}", of_kind))
    rows = [
        _row(
            "precision",
            of,
            coder,
            _share(subset, [bool(item.codes[number]) for item in subset], confidence),
        )
        for of, subset in subsets
    ]
    found = _share(true, [item.detected for item in true], confidence)
    return [*rows, _row("recall", "all", coder, found)]


def _share(items: list[Item], has: list[bool], confidence: float) -> Proportion:
    return statistics.proportion(has, [1 / item.rate for item in items], confidence)


def _row(figure: str, of: str, coder: str, found: Proportion) -> Row:
    low, high = found.interval or (None, None)
    return figure, of, coder, found.share, low, high, found.units


def items_of(text: str) -> list[Item]:
    """The rows of a coded sheet.

    Raises
    ------
    UsageError
        As in `score`; with the line.
    """
    head = text.partition("\n")[0]
    delimiter = ";" if head.count(";") > head.count(",") else ","
    reader = csv.DictReader(
        io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=delimiter
    )
    missing = [name for name in _READ if name not in (reader.fieldnames or ())]
    if missing:
        raise UsageError(f"the sheet lacks the column {missing[0]}")
    try:
        items = [_item(row, reader.line_num) for row in reader]
    except csv.Error as error:
        raise UsageError(f"the sheet is no CSV: {error}") from None
    if not any(code is not None for item in items for code in item.codes):
        raise UsageError("nothing is coded: write yes or no in the columns coder_1 and coder_2")
    return items


_READ = ("detected", "kind", "strictness", "sampling_rate", *CODERS)


def _item(row: Mapping[str | Any, Any], line: int) -> Item:
    cells = {name: (row[name] or "").strip() for name in _READ}
    try:
        rate = float(cells["sampling_rate"].replace(",", "."))
    except ValueError:
        rate = 0.0
    if not 0 < rate <= 1:
        raise UsageError(
            f"line {line}: sampling_rate is a number above 0 and at most 1, not "
            f"{cells['sampling_rate'] or 'empty'}"
        )
    detected = _code(cells["detected"], "detected", line)
    if detected is None:
        raise UsageError(f"line {line}: detected is yes or no, not empty")
    known = KINDS if detected else (NO_KIND,)
    if cells["kind"] not in known:
        raise UsageError(f"line {line}: kind is one of {', '.join(known)}, not {cells['kind']}")
    first, second = (_code(cells[coder], coder, line) for coder in CODERS)
    return Item(detected, cells["kind"], cells["strictness"], rate, (first, second))


def _code(cell: str, column: str, line: int) -> bool | None:
    if cell and cell.lower() not in _CODES:
        raise UsageError(f"line {line}: {column} is yes or no, not {cell}")
    return _CODES.get(cell.lower())
