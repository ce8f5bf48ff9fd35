"""Rows for the corpus under an answer that has a row a movement.

A question asks for them in its header:

    -- corpus:
    --   by: [chorus]               a row for each value of these columns
    --   means: [any_voice]         rates whose mean over works is wanted

In such a row `movement_id` is `corpus`. A rate whose denominator is a column is pooled, and the
columns that are numerators or denominators of rates are summed; all others are empty. For each
of `means` the columns NAME_mean, NAME_low and NAME_high have the mean over works, each counting
once, and its bootstrap interval; `works` has their number, and `note` what the rules for few
works say; a note that all movements share is said here once. The SQL gives the columns `work_id`
and `composer`, and `counts`: whether the movement counts in these rows. What it does not give is
added.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pyarrow as pa

from collaparte import statistics
from collaparte.questions.header import Question
from collaparte.settings import Settings
from collaparte.statistics import Estimate

_LABEL = "corpus"

Row = Mapping[str, Any]


def with_corpus_rows(question: Question, answer: pa.Table, settings: Settings) -> pa.Table:
    """What the SQL of a question gives and its rows for the corpus, columns as in the header."""
    by = question.corpus.by if question.corpus else ()
    rows = answer.to_pylist()
    groups: dict[tuple[Any, ...], list[Row]] = {}
    for row in rows:
        members = groups.setdefault(tuple(row[name] for name in by), [])
        if row["counts"]:
            members.append(row)
    shared = _shared_note(rows)
    if shared:
        rows = [row | {"note": None} for row in rows]
    for group, members in sorted(groups.items(), key=lambda item: item[0]):
        named = {"movement_id": _LABEL, **dict(zip(by, group, strict=True))}
        means = _means(question, group, members, settings)
        means["note"] = "; ".join(filter(None, [shared, means["note"]])) or None
        rows.append(named | _amounts(question, members) | means)
    types = {field.name: field.type for field in answer.schema} | {"works": pa.int64()}
    schema = pa.schema(
        [(column.name, types.get(column.name, pa.float64())) for column in question.columns]
    )
    return pa.Table.from_pylist(rows, schema=schema)


def _amounts(question: Question, rows: Sequence[Row]) -> dict[str, float | None]:
    """Sums of the amounts, and the pooled rates."""
    columns = {column.name for column in question.columns} - {"works"}
    sides = {side for rate in question.rates for side in (rate.numerator, rate.denominator)}
    found: dict[str, float | None] = {
        name: sum(row[name] or 0 for row in rows) for name in sorted(sides & columns)
    }
    for rate in question.rates:
        if rate.denominator in columns:
            above, below = _ratio(rate.name, rate.denominator, rows)
            found[rate.name] = sum(above) / sum(below) if sum(below) else None
    return found


def _ratio(rate: str, denominator: str, rows: Sequence[Row]) -> tuple[list[float], list[float]]:
    """Numerators and denominators of the movements that have the rate."""
    known = [row for row in rows if row[rate] is not None]
    return [row[rate] * row[denominator] for row in known], [row[denominator] for row in known]


def _means(
    question: Question, group: tuple[Any, ...], rows: Sequence[Row], settings: Settings
) -> dict[str, Any]:
    """Means over works with their intervals, the number of works and what is to be said of them."""
    denominators = {rate.name: rate.denominator for rate in question.rates}
    works = len({row["work_id"] for row in rows})
    found: dict[str, Any] = {"works": works}
    notes = [_few(works, settings)]
    for name in question.corpus.means if question.corpus else ():
        chance = statistics.generator(settings.seed, question.name, name, *map(str, group))
        known = [row for row in rows if row[name] is not None]
        observed = statistics.observations(
            *_ratio(name, denominators[name], known),
            [row["work_id"] for row in known],
            [row["composer"] for row in known],
        )
        estimate = statistics.estimate(observed, settings, chance)
        low, high = estimate.interval or (None, None)
        found |= {f"{name}_mean": estimate.mean, f"{name}_low": low, f"{name}_high": high}
        notes.append(_range(name, estimate))
    found["note"] = "; ".join(filter(None, notes))
    return found


def _shared_note(rows: Sequence[Row]) -> str | None:
    """The note that all rows have, where they have one."""
    notes = {row["note"] for row in rows}
    return notes.pop() if len(notes) == 1 else None


def _few(works: int, settings: Settings) -> str:
    if not works:
        return "no movement counts; every_movement=yes counts all that were read"
    if works < settings.least_works:
        return f"fewer than {settings.least_works} works: no interval"
    if works < settings.enough_works:
        return f"fewer than {settings.enough_works} works: the intervals may be too narrow"
    return ""


def _range(name: str, estimate: Estimate) -> str:
    if estimate.without_one is None:
        return ""
    low, high = estimate.without_one
    return f"{name}_mean without one work: {100 * low:.1f} % to {100 * high:.1f} %"
