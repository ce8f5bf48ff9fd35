"""The rows of a comparison: from the amounts of movements to rates, intervals and contrasts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from collaparte import statistics
from collaparte.comparison.amounts import STRATA, Rows
from collaparte.comparison.choice import RATES, Choice, Rate
from collaparte.schema import TICKS
from collaparte.settings import Settings
from collaparte.statistics import Contrast, Estimate, Observations

REFUSED = "no contrast"
"""How the remark on a contrast that was refused begins."""


def table_rows(
    found: Mapping[str, Rows], choice: Choice, reference: str, settings: Settings
) -> Rows:
    """The rows of the table in order: by rate, stratum, partner, kind, group.

    Parameters
    ----------
    found
        From `amounts`, for each partner.
    reference
        The group that all others are set against.
    """
    table: Rows = []
    for rate in RATES:
        of_rate = [
            row
            for stratum in STRATA
            for partner, rows in found.items()
            for label in choice.labels
            for row in _Cell(rows, choice, rate, stratum, partner, label).rows(reference, settings)
        ]
        # One family of tests: pairs of instruments × kinds × contrasts.
        q_values = statistics.corrected([row["p"] for row in of_rate])
        table += [{**row, "q": q} for row, q in zip(of_rate, q_values, strict=True)]
    return table


class _Cell:
    """One rate of one pair of instruments, stratum and kind, in all groups."""

    def __init__(
        self, rows: Rows, choice: Choice, rate: Rate, stratum: str, partner: str, label: str
    ) -> None:
        self._names = {
            "rate": rate.name,
            "line": choice.line,
            "partner": partner,
            "stratum": stratum,
            "kind": label,
        }
        self._by = choice.by
        self._rate = rate
        kept = [row for row in rows if (row["stratum"], row["label"]) == (stratum, label)]
        groups = sorted({row["grouped"] for row in kept})
        self._groups = {group: [row for row in kept if row["grouped"] == group] for group in groups}

    def rows(self, reference: str, settings: Settings) -> Rows:
        """One row a group."""
        observed = {group: self._observed(rows) for group, rows in self._groups.items()}
        return [self._row(group, observed, reference, settings) for group in self._groups]

    def _observed(self, rows: Rows) -> Observations:
        rate = self._rate
        return statistics.observations(
            [row[rate.numerator] / rate.numerator_unit for row in rows],
            [row[rate.denominator] / rate.denominator_unit for row in rows],
            [row["work_id"] for row in rows],
            [row["composer"] for row in rows],
        )

    def _row(
        self,
        group: str,
        observed: Mapping[str, Observations],
        reference: str,
        settings: Settings,
    ) -> dict[str, Any]:
        words = (*self._names.values(), group)
        one = observed[group]
        estimate = statistics.estimate(
            one, settings, statistics.generator(settings.seed, *words, "interval")
        )
        contrast = None
        if group != reference and reference in observed:
            contrast = statistics.contrast(
                statistics.rates_of_works(one),
                statistics.rates_of_works(observed[reference]),
                settings,
                statistics.generator(settings.seed, *words, "contrast", reference),
            )
        lift, to_shift, no_lift = _lift(self._groups[group], settings)
        low, high = estimate.interval or (None, None)
        without_low, without_high = estimate.without_one or (None, None)
        works = {name: of.works for name, of in observed.items()}
        remarks = [
            *_on_the_interval(estimate, settings),
            *_on_the_contrast(works, group, reference, contrast, settings),
            *no_lift,
        ]
        return {
            **self._names,
            self._by: group,
            "mean": estimate.mean,
            "low": low,
            "high": high,
            "without_one_low": without_low,
            "without_one_high": without_high,
            "pooled": estimate.pooled,
            "numerator": float(one.numerator.sum()),
            "denominator": float(one.denominator.sum()),
            "works": estimate.works,
            "movements": estimate.movements,
            "lift": lift,
            "ratio_to_shift": to_shift,
            "difference": contrast and contrast.difference,
            "p": contrast and contrast.p,
            "remarks": "; ".join(remarks) or None,
        }


def _lift(rows: Rows, settings: Settings) -> tuple[float | None, float | None, list[str]]:
    """Lift on the harmony null, ratio to the shift null, and why there is no lift."""
    if all(row["harmony"] is None for row in rows):
        return None, None, []  # the method says which command computes it
    observed, expected, beside_shift, shift = (
        sum(row[name] or 0 for row in rows) / TICKS
        for name in ("beside_harmony", "harmony", "beside_shift", "shift")
    )
    lift = statistics.lift(observed, expected, settings.lift_quarters)
    if lift is None:
        return None, None, [f"no lift: chance expects under {settings.lift_quarters} quarters"]
    return lift, statistics.lift(beside_shift, shift, 0), []


def _on_the_interval(estimate: Estimate, settings: Settings) -> list[str]:
    works = _works(estimate.works)
    if estimate.interval is None and estimate.works >= settings.least_works:
        return [f"{works}, all alike: no interval"]
    if estimate.interval is None:
        return [f"{works}: no interval under {settings.least_works}"]
    return [f"{works}: the interval may cover too rarely"] if estimate.few else []


def _on_the_contrast(
    works: Mapping[str, int],
    group: str,
    reference: str,
    contrast: Contrast | None,
    settings: Settings,
) -> list[str]:
    if contrast is not None:
        return []
    if group == reference:
        return ["the others are set against it"] if len(works) > 1 else []
    few = [
        f"{_works(works.get(name, 0))} {place}"
        for name, place in ((group, "here"), (reference, "there"))
        if works.get(name, 0) < settings.least_works
    ]
    needed = f"each side needs {settings.least_works}"
    return [f"{REFUSED} with {reference}: {' and '.join(few)}, {needed}"]


def _works(count: int) -> str:
    return f"{count} work" if count == 1 else f"{count} works"
