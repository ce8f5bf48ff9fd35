"""Rates, intervals, contrasts, lift: numbers in, numbers out.

Units lie within each other: movement < work < composer. Nothing below a movement enters here,
and a work weighs as much as another, however long it is. Wherever chance takes part its
generator is handed in (`generator`), so that the same numbers give the same answer.

Sources
-------
Cluster bootstrap: A. C. Davison and D. V. Hinkley, Bootstrap Methods and their Application,
1997, section 3.8; C. A. Field and A. H. Welsh, Bootstrapping clustered data, J. R. Stat. Soc. B
69, 2007. Of n works n − 1 are drawn, which gives the variance of the mean without bias: J. N. K.
Rao and C. F. J. Wu, Resampling inference with complex survey data, J. Am. Stat. Assoc. 83, 1988.
The levels of the percentile interval are widened to those of Student's t: T. C. Hesterberg, What
teachers should know about the bootstrap, The American Statistician 69, 2015 (from memory).
Permutation: B. Phipson and G. K. Smyth, Permutation p-values should never be zero, Stat. Appl.
Genet. Mol. Biol. 9, 2010. Correction: Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57, 1995.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from collaparte.kernels import seeds
from collaparte.settings import Settings

Numbers = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Observations:
    """Movements of one group, each with the two amounts whose ratio is the rate.

    Attributes
    ----------
    numerator, denominator
        Shape (movements,); every denominator above 0.
    work
        Shape (movements,): number of the movement's work, from 0, none left out, never falling.
    composer
        Shape (works,): number of the work's composer.
    """

    numerator: Numbers
    denominator: Numbers
    work: Codes
    composer: Codes

    @property
    def movements(self) -> int:
        """Movements with a rate."""
        return len(self.work)

    @property
    def works(self) -> int:
        """Works with a rate."""
        return len(self.composer)


@dataclass(frozen=True)
class Estimate:
    """A rate, and how far it is known.

    Attributes
    ----------
    works, movements
        What it rests on.
    mean
        Mean of the rates of the works: the primary estimate; None without works.
    pooled
        Ratio of the summed amounts: the secondary one.
    interval
        Low and high bound for the mean; None where the works are too few or all alike.
    without_one
        Least and greatest mean when one work is left out; where an interval rests on few works.
    few
        The interval rests on so few works that it may cover too rarely (A. C. Cameron, J. B.
        Gelbach and D. L. Miller, Bootstrap-based improvements for inference with clustered
        errors, Rev. Econ. Stat. 90, 2008).
    """

    works: int
    movements: int
    mean: float | None
    pooled: float | None
    interval: tuple[float, float] | None = None
    without_one: tuple[float, float] | None = None
    few: bool = False


@dataclass(frozen=True)
class Contrast:
    """Difference of two means over works, first minus second, with its p-value of two sides."""

    difference: float
    p: float


def generator(seed: int, *words: str) -> np.random.Generator:
    """The generator of one figure: its own, whatever else is computed and in which order."""
    return seeds.generator(str(seed), *words)


def observations(
    numerator: npt.ArrayLike,
    denominator: npt.ArrayLike,
    work: Sequence[str],
    composer: Sequence[str],
) -> Observations:
    """Observations of movements; one without a denominator is missing, one without a numerator 0.

    Parameters
    ----------
    numerator, denominator
        Shape (movements,), not negative.
    work, composer
        Names, one a movement; the movements of a work have one composer.

    Raises
    ------
    ValueError
        An amount is negative or no number.
    """
    above, below = (np.asarray(values, np.float64) for values in (numerator, denominator))
    if not (np.all(above >= 0) and np.all(below >= 0) and np.isfinite([above, below]).all()):
        raise ValueError("amounts are finite and not negative")
    known = below > 0
    _, works = np.unique(np.array(work, object)[known].astype(str), return_inverse=True)
    order = np.argsort(works, kind="stable")
    works = works[order]
    _, composers = np.unique(np.array(composer, object)[known].astype(str), return_inverse=True)
    first = np.searchsorted(works, np.arange(int(works.max(initial=-1)) + 1))
    return Observations(above[known][order], below[known][order], works, composers[order][first])


def rates_of_works(observed: Observations) -> Numbers:
    """The ratio of the amounts of each work, summed over its movements; shape (works,)."""
    above, below = (
        np.bincount(observed.work, amounts, observed.works)
        for amounts in (observed.numerator, observed.denominator)
    )
    return np.asarray(above / below, np.float64)


def estimate(observed: Observations, settings: Settings, chance: np.random.Generator) -> Estimate:
    """The rate of a group with its bootstrap interval, by the rules for few works.

    Fewer works than `least_works` have no interval; from there to below `enough_works` it comes
    with a warning and the range of the means without one work.
    """
    works = observed.works
    if not works:
        return Estimate(0, 0, None, None)
    rates = rates_of_works(observed)
    mean = float(rates.mean())
    pooled = float(observed.numerator.sum() / observed.denominator.sum())
    if works < settings.least_works:
        return Estimate(works, observed.movements, mean, pooled)
    few = works < settings.enough_works
    without = (mean * works - rates) / (works - 1)
    return Estimate(
        works,
        observed.movements,
        mean,
        pooled,
        None if np.ptp(rates) == 0 else _interval(observed, settings, chance),
        (float(without.min()), float(without.max())) if few else None,
        few,
    )


def _interval(
    observed: Observations, settings: Settings, chance: np.random.Generator
) -> tuple[float, float]:
    """Percentiles of the resampled means, at levels widened to those of Student's t."""
    strata = _strata(observed.composer)
    means = _resampled_means(observed, strata, settings.resamples, chance)
    freedom = observed.works - len(strata)
    level = float(special.ndtr(special.stdtrit(freedom, (1 - settings.confidence) / 2)))
    low, high = np.quantile(means, [level, 1 - level])
    return float(low), float(high)


def _strata(composer: Codes) -> list[Codes]:
    """The works that are drawn for each other: those of one composer.

    Works that are the only ones of their composers are drawn for each other; one that is left
    alone joins the stratum that is smallest.
    """
    members = [np.flatnonzero(composer == code) for code in np.unique(composer)]
    strata = [works for works in members if len(works) > 1]
    single = [works for works in members if len(works) == 1]
    if len(single) == 1 and strata:
        strata.sort(key=len)
        strata[0] = np.concatenate([strata[0], single[0]])
    elif single:
        strata.append(np.concatenate(single))
    return strata


def _resampled_means(
    observed: Observations, strata: list[Codes], resamples: int, chance: np.random.Generator
) -> Numbers:
    """Means over works of `resamples` corpora; works within strata, then their movements, drawn."""
    first = np.searchsorted(observed.work, np.arange(observed.works))
    count = np.bincount(observed.work)
    means = np.zeros(resamples)
    for members in strata:
        drawn = members[chance.integers(len(members), size=(resamples, len(members) - 1))]
        above, below = np.zeros(drawn.shape), np.zeros(drawn.shape)
        for place in range(int(count[members].max())):
            movement = first[drawn] + (chance.random(drawn.shape) * count[drawn]).astype(np.int64)
            there = place < count[drawn]
            above += np.where(there, observed.numerator[movement], 0)
            below += np.where(there, observed.denominator[movement], 0)
        means += (above / below).mean(axis=1) * (len(members) / observed.works)
    return means


def contrast(
    first: Numbers, second: Numbers, settings: Settings, chance: np.random.Generator
) -> Contrast | None:
    """Two groups of works against each other; None where one side has fewer than `least_works`.

    The labels of the works are permuted; p = (b + 1) ÷ (m + 1), where b of m permutations give
    a difference at least as great as the observed one.

    Parameters
    ----------
    first, second
        Rates of the works of each group.
    """
    if min(len(first), len(second)) < settings.least_works:
        return None
    rates = np.concatenate([first, second])
    difference = float(first.mean() - second.mean())
    shuffled = chance.permuted(np.tile(rates, (settings.permutations, 1)), axis=1)
    sums = shuffled[:, : len(first)].sum(axis=1)
    differences = sums / len(first) - (rates.sum() - sums) / len(second)
    # The observed labels come up again with another order of summing.
    least = abs(difference) - 1e-9 * max(float(np.abs(rates).max()), 1e-300)
    as_great = int(np.count_nonzero(np.abs(differences) >= least))
    return Contrast(difference, (as_great + 1) / (settings.permutations + 1))


def corrected(p_values: Sequence[float | None]) -> list[float | None]:
    """q-values of one family of tests, declared before looking; None where there was no test."""
    from scipy import stats  # takes longer to load than most questions to answer

    tested = [p for p in p_values if p is not None]
    q_values = iter(stats.false_discovery_control(tested) if tested else [])
    return [None if p is None else float(next(q_values)) for p in p_values]


def lift(observed: float, expected: float, least_expected: float) -> float | None:
    """Observed ÷ expected time; None where less than `least_expected` is expected."""
    return observed / expected if expected >= least_expected and expected > 0 else None


def confirming(works: Sequence[str], composers: Sequence[str], seed: int) -> list[bool]:
    """Which works belong to the half that confirms; the others are there to explore.

    Each composer's works are halved (an odd one explores), by lot from the seed and their names.
    """
    lots = [hashlib.sha256(f"{seed}\x1f{work}".encode()).digest() for work in works]
    order = sorted(range(len(works)), key=lambda at: (composers[at], lots[at], works[at]))
    half = [False] * len(works)
    seen: dict[str, int] = {}
    for at in order:
        half[at] = seen.get(composers[at], 0) % 2 == 1
        seen[composers[at]] = seen.get(composers[at], 0) + 1
    return half


@dataclass(frozen=True)
class Proportion:
    """A share of units, weighted, with its Wilson interval; None where there are no units.

    Attributes
    ----------
    units
        How many there are.
    share
        Weight of those that have the property ÷ weight of all.
    interval
        Low and high bound (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927), for as many units as the
        weights leave: (Σw)² ÷ Σw² (L. Kish, Survey Sampling, 1965).
    """

    units: int
    share: float | None
    interval: tuple[float, float] | None


def proportion(has: npt.ArrayLike, weights: npt.ArrayLike, confidence: float) -> Proportion:
    """The weighted share of the units that have a property.

    Parameters
    ----------
    has
        Shape (units,), true or false.
    weights
        Shape (units,), above 0: the inverse of the rate at which each unit was sampled.
    """
    property_, weight = np.asarray(has, np.bool_), np.asarray(weights, np.float64)
    if not len(weight):
        return Proportion(0, None, None)
    share = float(weight[property_].sum() / weight.sum())
    effective = float(weight.sum() ** 2 / (weight**2).sum())
    return Proportion(len(weight), share, wilson(share, effective, confidence))


def wilson(share: float, units: float, confidence: float) -> tuple[float, float]:
    """The Wilson interval of a share of `units` units (above 0; need not be whole)."""
    z = float(special.ndtri((1 + confidence) / 2))
    middle = share + z * z / (2 * units)
    half = z * np.sqrt(share * (1 - share) / units + z * z / (4 * units * units))
    scale = 1 + z * z / units
    # Rounding must not put a share of 0 or 1 outside its own interval.
    low, high = float((middle - half) / scale), float((middle + half) / scale)
    return min(max(low, 0.0), share), max(min(high, 1.0), share)


def kappa(first: Sequence[object], second: Sequence[object]) -> float | None:
    """Agreement of two coders beyond chance (J. Cohen, Educ. Psychol. Meas. 20, 1960).

    None where it says nothing: no unit, or one and the same label throughout.
    """
    if not first:
        return None
    agreed = sum(one == other for one, other in zip(first, second, strict=True)) / len(first)
    labels = set(first) | set(second)
    by_chance = sum(first.count(label) * second.count(label) for label in labels) / len(first) ** 2
    return None if by_chance == 1 else (agreed - by_chance) / (1 - by_chance)
