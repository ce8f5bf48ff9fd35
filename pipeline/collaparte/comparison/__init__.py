"""Comparison: how often one instrument doubles another, in one group of works against another.

Rates, each with what it divides: F1 = doubled time ÷ time in which the line sounds; F2 = doubled
time ÷ time in which the line and a partner both sound (opportunity); E = stretches of doubling
per 100 bars in which the line sounds. A work that does not call for both instruments is missing;
one that does and never doubles is 0.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import duckdb
import pyarrow as pa

from collaparte import statistics
from collaparte.comparison.amounts import (
    GROUPS,
    Answer,
    Rows,
    amounts,
    check_words,
    encodings,
    left_out,
    movements,
)
from collaparte.comparison.choice import RATES, Choice
from collaparte.comparison.method import Facts, method_of
from collaparte.comparison.rows import REFUSED, table_rows
from collaparte.errors import UsageError, did_you_mean
from collaparte.measures.kinds import KINDS
from collaparte.settings import Settings

HALVES = ("explore", "confirm")

COLUMNS: Mapping[str, Any] = MappingProxyType(
    {
        "rate": pa.string(),
        "group": pa.string(),
        "line": pa.string(),
        "partner": pa.string(),
        "stratum": pa.string(),
        "kind": pa.string(),
        "mean": pa.float64(),
        "low": pa.float64(),
        "high": pa.float64(),
        "without_one_low": pa.float64(),
        "without_one_high": pa.float64(),
        "pooled": pa.float64(),
        "numerator": pa.float64(),
        "denominator": pa.float64(),
        "works": pa.int64(),
        "movements": pa.int64(),
        "lift": pa.float64(),
        "ratio_to_shift": pa.float64(),
        "difference": pa.float64(),
        "p": pa.float64(),
        "q": pa.float64(),
        "remarks": pa.string(),
    }
)
"""Columns of the table; for `group` stands what works are grouped by, `composer` for instance."""

ENCODINGS: Mapping[str, Any] = MappingProxyType(
    {
        "group": pa.string(),
        "works": pa.int64(),
        "movements": pa.int64(),
        "collections": pa.string(),
        "encoders": pa.string(),
        "unknown_instrument": pa.float64(),
        "unknown_dynamic": pa.float64(),
        "unknown_register": pa.float64(),
    }
)


_SHARES = (
    "mean",
    "low",
    "high",
    "without_one_low",
    "without_one_high",
    "pooled",
    "difference",
)
_FIGURES = (*_SHARES[:-1], "works", "movements", "difference", "p", "q")
"""What a table for reading shows of each rate."""

Section = tuple[str, duckdb.DuckDBPyRelation, Mapping[str, str]]
"""A heading, a table and the units of its columns."""


@dataclass(frozen=True)
class Comparison:
    """An answer fit to be printed.

    Attributes
    ----------
    table
        One row a rate, stratum, pair of instruments, kind and group: `mean` over works with its
        interval from `low` to `high`, the range of the mean without one work, the `pooled`
        ratio, its `numerator` and `denominator` (quarters; for E stretches and hundreds of
        bars), works, movements, lift, `difference` from the group that the others are set
        against with p and q, and what is to be said of the row.
    encodings
        One row a group: its works, movements, collections and encoders, and the shares of time
        of which the encodings tell no instrument, dynamic or register.
    method
        The paragraph for a paper.
    """

    table: duckdb.DuckDBPyRelation
    encodings: duckdb.DuckDBPyRelation
    method: str

    def sections(self) -> list[Section]:
        """The answer for reading: a section a rate, lift, remarks on the rows, the encodings.

        Columns that say the same in every row, or nothing, are left out; a remark on several
        rows of a group stands once.
        """
        rows = self.table.to_arrow_table()
        said = [name for name in rows.column_names if rows[name].null_count < max(len(rows), 1)]
        apart = [name for name in ("line", "partner", "stratum") if len(rows[name].unique()) > 1]
        whom = ", ".join((rows.column_names[1], *apart))
        figures = ", ".join((whom, "kind", *(name for name in _FIGURES if name in said)))
        sections: list[Section] = [
            (
                f"{rate.name} = {rate.in_words}",
                self.table.filter(f"rate = '{rate.name}'").select(figures),
                {} if rate.name == "E" else dict.fromkeys(_SHARES, "share"),
            )
            for rate in RATES
        ]
        if "lift" in said:
            lift = self.table.filter(f"rate = '{RATES[0].name}'")
            columns = f"{whom}, kind, lift, ratio_to_shift"
            sections.append(
                ("Lift on the harmony null, ratio to the shift null", lift.select(columns), {})
            )
        remarks = self.table.filter("remarks IS NOT NULL").aggregate(
            f"{whom}, string_agg(DISTINCT rate, ', ' ORDER BY rate) AS rates, "
            "string_agg(DISTINCT kind, ', ' ORDER BY kind) AS kinds, remarks",
            f"{whom}, remarks",
        )
        sections.append(("Remarks on these rows", remarks.order("ALL"), {}))
        return [
            *sections,
            (
                "What the encodings lack: shares of time without instrument, dynamic, register",
                self.encodings,
                {name: "share" for name in ENCODINGS if name.startswith("unknown_")},
            ),
        ]


def compare(
    answer: Answer,
    choice: Choice,
    thresholds: Mapping[str, Any],
    libraries: Mapping[str, str],
    settings: Settings,
) -> Comparison:
    """Compare groups of works.

    Parameters
    ----------
    answer
        Asks the store.
    thresholds, libraries
        Settings and versions that its tables were built with.
    settings
        Rules of the statistics.

    Raises
    ------
    UsageError
        An instrument, group, kind or half is unknown, or no movement is left to compare.
    """
    _check(answer, choice)
    if choice.seed is not None:
        settings = replace(settings, seed=choice.seed)
    chosen = {
        "collection": choice.collection,
        "encoder": choice.encoder,
        "every": choice.every_movement,
    }
    compared = _half(movements(answer, choice.by, chosen), choice.half, settings.seed)
    works = {row["work_id"] for row in compared}
    found = {
        partner: [
            row
            for row in amounts(
                answer,
                choice.by,
                chosen,
                (choice.line, partner),
                choice.counted,
                choice.strict,
                settings.continuo_players,
            )
            if row["work_id"] in works
        ]
        for partner in choice.partners
    }
    reference = _reference(found, choice)
    table = table_rows(found, choice, reference, settings)
    used = {row["movement_id"] for rows in found.values() for row in rows}
    told = encodings(answer, choice.by, chosen, (choice.line, *choice.partners), used)
    facts = Facts(
        works=len({row["work_id"] for rows in found.values() for row in rows}),
        movements=len(used),
        reference=reference,
        tests=_by_rate(table, lambda row: row["p"] is not None),
        refused=_by_rate(table, lambda row: REFUSED in (row["remarks"] or "")),
        chance=any(row["harmony"] is not None for rows in found.values() for row in rows),
        left_out={} if choice.every_movement else left_out(answer),
        unknown=_unknown_shares(told),
    )
    return Comparison(
        _relation(table, COLUMNS, choice.by),
        _relation([{**row, **_unknown_shares([row])} for row in told], ENCODINGS, choice.by),
        method_of(choice, facts, thresholds, libraries, settings),
    )


def _check(answer: Answer, choice: Choice) -> None:
    for what, word, known in (
        ("by", choice.by, GROUPS),
        *(("kinds", kind, KINDS) for kind in choice.kinds),
        *(("half", half, HALVES) for half in (choice.half,) if half is not None),
    ):
        if word not in known:
            near = did_you_mean(word, known)
            raise UsageError(f"{what} is one of {', '.join(known)}, not {word}{near}")
    for what, words in (("kind", choice.kinds), ("partner", choice.partners)):
        if not words or len(set(words)) < len(words):
            raise UsageError(f"name at least one {what}, and each once")
    check_words(answer, (choice.line, *choice.partners))


def _half(compared: Rows, half: str | None, seed: int) -> Rows:
    """The movements of the works of one half; of all works where none is asked for."""
    if not compared:
        raise UsageError("no movement is left to compare; collaparte ask corpus-overview lists all")
    if half is None:
        return compared
    composers = {row["work_id"]: row["composer"] for row in compared}
    confirming = statistics.confirming(list(composers), list(composers.values()), seed)
    confirms = dict(zip(composers, confirming, strict=True))
    return [row for row in compared if confirms[row["work_id"]] == (half == "confirm")]


def _reference(found: Mapping[str, Rows], choice: Choice) -> str:
    """The group that the others are set against: as chosen, else the one of most works."""
    works: dict[str, set[str]] = {}
    for row in (row for rows in found.values() for row in rows):
        works.setdefault(row["grouped"], set()).add(row["work_id"])
    if choice.against is None:
        return max(sorted(works), key=lambda group: len(works[group]), default="")
    if choice.against not in works:
        near = did_you_mean(choice.against, works) or f"; there are {', '.join(sorted(works))}"
        raise UsageError(
            f"no {choice.by} {choice.against} has works for {choice.line} and "
            f"{' or '.join(choice.partners)}{near}"
        )
    return choice.against


def _by_rate(table: Rows, holds: Callable[[dict[str, Any]], bool]) -> dict[str, int]:
    """How many rows of each rate the condition holds for."""
    return {
        rate.name: sum(row["rate"] == rate.name and holds(row) for row in table) for rate in RATES
    }


def _unknown_shares(told: Rows) -> dict[str, float | None]:
    """Shares of the notes' time without instrument, dynamic, register, over rows of encodings."""
    shares: dict[str, float | None] = {}
    for what, of in (("instrument", "ticks"), ("dynamic", "of_pair"), ("register", "of_pair")):
        whole = sum(row[of] for row in told)
        without = sum(row[f"without_{what}"] for row in told)
        shares[f"unknown_{what}"] = without / whole if whole else None
    return shares


def _relation(rows: Rows, columns: Mapping[str, Any], by: str) -> duckdb.DuckDBPyRelation:
    """The rows as an answer like those of `ask`."""
    named = {by if name == "group" else name: kind for name, kind in columns.items()}
    table = pa.Table.from_pylist(rows, schema=pa.schema(named))
    return duckdb.connect().from_arrow(table).materialize()
