"""Intervals that cover, p-values that are uniform, and small cases worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from collaparte.settings import Settings
from collaparte.statistics import (
    Observations,
    confirming,
    contrast,
    corrected,
    estimate,
    generator,
    kappa,
    lift,
    observations,
    proportion,
    rates_of_works,
    wilson,
)

SETTINGS = Settings()
QUICK = replace(SETTINGS, resamples=500, permutations=499)


def one_composer(rates: list[float], denominator: float = 100, movements: int = 1) -> Observations:
    """Works of one composer, each with one rate in all its movements."""
    works = [f"work {number}" for number in range(len(rates)) for _ in range(movements)]
    numerators = [rate * denominator for rate in rates for _ in range(movements)]
    return observations(numerators, [denominator] * len(works), works, ["one"] * len(works))


def simulated(chance: np.random.Generator, works: int, mean: float = 0.3) -> Observations:
    """Works of one to four movements; rates differ between works and within them."""
    movements = chance.integers(1, 5, works)
    work = np.repeat(np.arange(works), movements)
    of_work = mean + 0.08 * chance.standard_normal(works)
    length = chance.uniform(100, 900, len(work))
    rate = np.clip(of_work[work] + 0.05 * chance.standard_normal(len(work)), 0, 1)
    return observations(rate * length, length, [str(w) for w in work], ["one"] * len(work))


def test_a_work_weighs_as_much_as_another_and_is_pooled_within() -> None:
    # Work a: 10 of 100 and 50 of 100 quarters, 0.3; work b: 9 of 10, 0.9.
    observed = observations([10, 50, 9], [100, 100, 10], ["a", "a", "b"], ["x", "x", "y"])
    assert rates_of_works(observed).tolist() == pytest.approx([0.3, 0.9])
    found = estimate(observed, SETTINGS, generator(1))
    assert (found.works, found.movements) == (2, 3)
    assert found.mean == pytest.approx(0.6)
    assert found.pooled == pytest.approx(69 / 210)


def test_movements_without_a_denominator_are_missing_and_without_a_numerator_0() -> None:
    observed = observations([0, 0, 30], [0, 100, 100], ["a", "b", "c"], ["x", "x", "x"])
    assert (observed.works, observed.movements) == (2, 2)
    assert estimate(observed, SETTINGS, generator(1)).mean == pytest.approx(0.15)


def test_nothing_observed_has_no_estimate() -> None:
    found = estimate(observations([0], [0], ["a"], ["x"]), SETTINGS, generator(1))
    assert (found.works, found.mean, found.pooled, found.interval) == (0, None, None, None)


@pytest.mark.parametrize("amounts", [([-1], [2]), ([1], [-2]), ([float("nan")], [1])])
def test_amounts_are_finite_and_not_negative(amounts: tuple[list[float], list[float]]) -> None:
    with pytest.raises(ValueError, match="finite and not negative"):
        observations(*amounts, ["a"], ["x"])


def test_rules_for_few_works() -> None:
    rates = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0]
    four, five, nine, ten = (
        estimate(one_composer(rates[:count]), SETTINGS, generator(1)) for count in (4, 5, 9, 10)
    )
    assert (four.interval, four.without_one, four.few) == (None, None, False)
    assert five.interval
    assert five.few
    # Without 0.5 the mean of the others is 0.25, without 0.1 it is 0.35.
    assert five.without_one == pytest.approx((0.25, 0.35))
    assert nine.few
    assert (ten.few, ten.without_one) == (False, None)


def test_works_that_are_all_alike_have_no_interval() -> None:
    assert estimate(one_composer([0.0] * 12), SETTINGS, generator(1)).interval is None


def test_the_interval_of_many_works_is_that_of_student() -> None:
    rates = np.random.default_rng(3).normal(0.5, 0.1, 200)
    found = estimate(one_composer(rates.tolist()), SETTINGS, generator(1))
    expected = stats.t.interval(0.95, 199, rates.mean(), stats.sem(rates))
    assert found.interval == pytest.approx(expected, abs=0.002)


def test_works_are_drawn_within_their_composers() -> None:
    # Two composers of six works: alike within, far apart. Only what differs within counts.
    rates = [0.10, 0.11, 0.12, 0.13, 0.14, 0.15, 0.80, 0.81, 0.82, 0.83, 0.84, 0.85]
    works = [f"work {number}" for number in range(12)]
    amounts = [100 * rate for rate in rates], [100.0] * 12
    within = estimate(observations(*amounts, works, ["a"] * 6 + ["b"] * 6), SETTINGS, generator(1))
    across = estimate(observations(*amounts, works, ["a"] * 12), SETTINGS, generator(1))
    assert within.interval
    assert across.interval
    assert np.ptp(within.interval) < 0.05 < 0.4 < np.ptp(across.interval)


@pytest.mark.parametrize("composers", [list("abcdefghijkl"), list("a" * 11 + "b")])
def test_composers_with_a_single_work_are_drawn_for_each_other(composers: list[str]) -> None:
    rates = np.linspace(0.1, 0.8, 12)
    works = [f"work {number}" for number in range(12)]
    observed = observations(rates, np.ones(12), works, composers)
    found = estimate(observed, SETTINGS, generator(1))
    expected = stats.t.interval(0.95, 11, rates.mean(), stats.sem(rates))
    assert found.interval == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize("works", [10, 12, 20])
def test_intervals_cover(works: int) -> None:
    # Of 400 intervals at 95%, 380 cover the truth, give or take 4.4 (one standard error).
    chance = np.random.default_rng(works)
    truth = float(rates_of_works(simulated(chance, 50_000)).mean())
    covered = 0
    for _ in range(400):
        interval = estimate(simulated(chance, works), QUICK, chance).interval
        assert interval
        covered += interval[0] <= truth <= interval[1]
    assert 0.95 * 400 - 3 * 4.4 <= covered <= 400


def test_p_values_are_uniform_where_there_is_no_effect_and_small_where_there_is() -> None:
    chance = np.random.default_rng(12)
    p_values: dict[float, list[float]] = {0.3: [], 0.45: []}
    for _ in range(400):
        for mean, found in p_values.items():
            first, second = simulated(chance, 12), simulated(chance, 12, mean)
            outcome = contrast(rates_of_works(first), rates_of_works(second), QUICK, chance)
            assert outcome
            found.append(outcome.p)
    assert stats.kstest(p_values[0.3], "uniform").pvalue > 0.01
    assert np.mean(np.array(p_values[0.3]) <= 0.05) == pytest.approx(0.05, abs=3 * 0.011)
    assert np.mean(np.array(p_values[0.45]) <= 0.05) > 0.95


def test_a_p_value_by_hand() -> None:
    # Of the 252 ways to choose 5 of these 10, the greatest difference comes twice.
    first, second = np.array([6.0, 7, 8, 9, 10]), np.array([1.0, 2, 3, 4, 5])
    found = contrast(first, second, SETTINGS, generator(1))
    assert found
    assert found.difference == 5
    assert found.p == pytest.approx(2 / 252, abs=0.003)
    assert found.p >= 1 / (SETTINGS.permutations + 1)


def test_a_p_value_against_every_permutation() -> None:
    rates = np.array([0.2, 0.5, 0.1, 0.9, 0.4, 0.6, 0.3, 0.8, 0.35, 0.75])
    found = contrast(rates[:5], rates[5:], SETTINGS, generator(1))
    total = rates.sum()
    differences = [
        abs(sum(chosen) / 5 - (total - sum(chosen)) / 5) for chosen in combinations(rates, 5)
    ]
    exact = np.mean(np.array(differences) >= differences[0] - 1e-9)
    assert found
    assert found.p == pytest.approx(exact, abs=4 * np.sqrt(exact * (1 - exact) / 9999))


def test_a_contrast_needs_five_works_on_each_side() -> None:
    many, few = np.linspace(0, 1, 12), np.linspace(0, 1, 4)
    assert contrast(many, few, SETTINGS, generator(1)) is None
    assert contrast(few, many, SETTINGS, generator(1)) is None


def test_no_difference_at_all_has_a_p_of_1() -> None:
    found = contrast(np.zeros(6), np.zeros(6), SETTINGS, generator(1))
    assert found
    assert (found.difference, found.p) == (0, 1)


def test_correction_by_hand() -> None:
    # Benjamini and Hochberg: p · m ÷ rank, made to rise from the greatest down.
    assert corrected([0.01, None, 0.04, 0.03, None, 0.5]) == pytest.approx(
        [0.04, None, 0.04 * 4 / 3, 0.04 * 4 / 3, None, 0.5]
    )
    assert corrected([None, None]) == [None, None]
    assert corrected([]) == []


def test_lift() -> None:
    assert lift(30, 6, 4) == 5
    assert lift(0, 6, 4) == 0
    assert lift(30, 3.9, 4) is None
    assert lift(30, 0, 0) is None


def test_generators_are_their_own_and_the_same_again() -> None:
    assert generator(1, "a", "b").random() == generator(1, "a", "b").random()
    assert len({generator(seed, *w).random() for seed in (1, 2) for w in (["ab"], ["a", "b"])}) == 4


WORKS = st.lists(
    st.tuples(
        st.floats(0, 1000, allow_subnormal=False),
        st.floats(1, 1000),
        st.sampled_from("abcdefghijkl"),
    ),
    max_size=40,
)


@settings(deadline=None)
@given(WORKS)
def test_estimates_lie_within_the_rates(rows: list[tuple[float, float, str]]) -> None:
    above, below, works = zip(*rows, strict=True) if rows else ((), (), ())
    composers = ["first" if work < "g" else "second" for work in works]
    observed = observations(above, below, works, composers)
    found = estimate(observed, QUICK, generator(1))
    assert (found.works, found.movements) == (len(set(works)), len(rows))
    assert (found.interval is None) >= (found.works < 5)
    if found.mean is None:
        return
    rates = rates_of_works(observed)
    low, high = rates.min() - 1e-9, rates.max() + 1e-9
    assert low <= found.mean <= high
    assert found.pooled is not None
    single = np.divide(above, below)
    for bounds in filter(None, (found.interval, found.without_one)):
        assert bounds[0] <= bounds[1]
        assert min(low, single.min()) - 1e-6 <= bounds[0]
        assert bounds[1] <= max(high, single.max()) + 1e-6


@settings(deadline=None)
@given(WORKS.filter(bool), st.randoms(use_true_random=False))
def test_the_order_of_movements_changes_no_mean(
    rows: list[tuple[float, float, str]], shuffler: Random
) -> None:
    mixed = list(rows)
    shuffler.shuffle(mixed)
    one, other = (
        estimate(
            observations(*list(zip(*order, strict=True)), ["x"] * len(order)), QUICK, generator(1)
        )
        for order in (rows, mixed)
    )
    assert one.mean == pytest.approx(other.mean)
    assert one.pooled == pytest.approx(other.pooled)


@settings(deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=30))
def test_q_values_are_in_the_order_of_p_and_never_below_it(p_values: list[float]) -> None:
    q_values = corrected(p_values)
    pairs = sorted(zip(p_values, q_values, strict=True))
    assert all(p <= q <= 1 for p, q in pairs if q is not None)
    assert [q for _, q in pairs] == sorted(q for q in q_values if q is not None)


@settings(deadline=None)
@given(
    st.dictionaries(st.text(max_size=5), st.sampled_from(["x", "y", "z"]), max_size=30),
    st.integers(0, 5),
    st.randoms(use_true_random=False),
)
def test_halves_of_a_corpus(composer_of: dict[str, str], seed: int, shuffler: Random) -> None:
    works = list(composer_of)
    half = dict(zip(works, confirming(works, list(composer_of.values()), seed), strict=True))
    mixed = list(works)
    shuffler.shuffle(mixed)
    again = confirming(mixed, [composer_of[work] for work in mixed], seed)
    assert dict(zip(mixed, again, strict=True)) == half
    for composer in "xyz":
        confirm = [half[work] for work in works if composer_of[work] == composer]
        assert sum(confirm) == len(confirm) // 2


def test_a_wilson_interval_by_hand() -> None:
    # 8 of 10 at 95%: (0.8 + 0.19207 ± 1.95996 · √(0.016 + 0.0096)) ÷ 1.38415.
    assert wilson(0.8, 10, 0.95) == pytest.approx((0.4902, 0.9433), abs=1e-4)
    assert wilson(0, 10, 0.95)[0] == 0
    assert wilson(1, 10, 0.95)[1] == 1


def test_a_weighted_proportion_by_hand() -> None:
    # Weights 1, 1, 4, 4 leave 100 ÷ 34 units.
    found = proportion([True, False, True, False], [1, 1, 4, 4], 0.95)
    assert (found.units, found.share) == (4, 0.5)
    assert found.interval == wilson(0.5, 100 / 34, 0.95)
    assert proportion([], [], 0.95).interval is None


def test_wilson_intervals_cover() -> None:
    chance = np.random.default_rng(5)
    intervals = [wilson(hits / 60, 60, 0.95) for hits in chance.binomial(60, 0.9, 2000)]
    assert np.mean([low <= 0.9 <= high for low, high in intervals]) == pytest.approx(
        0.95, abs=0.025
    )


def test_kappa_by_hand() -> None:
    # Both say yes 20 times and no 15; they differ 5 and 10 times: (0.7 − 0.5) ÷ (1 − 0.5).
    first = ["yes"] * 25 + ["no"] * 25
    second = ["yes"] * 20 + ["no"] * 5 + ["yes"] * 10 + ["no"] * 15
    assert kappa(first, second) == pytest.approx(0.4)
    assert kappa(["yes", "no"], ["yes", "no"]) == 1
    assert kappa(["yes", "yes"], ["yes", "yes"]) is None
    assert kappa([], []) is None


@settings(deadline=None)
@given(st.floats(0, 1), st.floats(0.5, 1e6))
def test_a_wilson_interval_holds_its_share(share: float, units: float) -> None:
    low, high = wilson(share, units, 0.95)
    assert 0 <= low <= share <= high <= 1
