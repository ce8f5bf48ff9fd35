"""Joins, runs and spans against the plain way to say the same."""

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from collaparte.kernels.joins import equal_pairs, matching_pairs, pairs_within, positions_within
from collaparte.kernels.runs import bridged_runs, count_within, distinct_within, runs
from collaparte.kernels.seeds import generator
from collaparte.kernels.spans import covered, union, union_lengths

numbers = st.lists(st.integers(0, 5), max_size=30)
spans = st.lists(
    st.tuples(st.integers(0, 2), st.integers(0, 30), st.integers(1, 9)), min_size=1, max_size=20
)


def array(values: object) -> np.ndarray:
    return np.array(values, np.int64).reshape(-1)


@given(numbers)
def test_equal_pairs(keys: list[int]) -> None:
    earlier, later = equal_pairs(array(keys))
    assert sorted(zip(earlier.tolist(), later.tolist(), strict=True)) == [
        (i, j) for i in range(len(keys)) for j in range(i + 1, len(keys)) if keys[i] == keys[j]
    ]


@given(numbers, numbers)
def test_matching_pairs(left: list[int], right: list[int]) -> None:
    one, other = matching_pairs(array(left), array(right))
    assert list(zip(one.tolist(), other.tolist(), strict=True)) == [
        (i, j) for i in range(len(left)) for j in range(len(right)) if left[i] == right[j]
    ]


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 3)), max_size=20), numbers)
def test_pairs_within(ranges: list[tuple[int, int]], right: list[int]) -> None:
    low = array([start for start, _ in ranges])
    high = array([start + length for start, length in ranges])
    one, other = pairs_within(low, high, array(right))
    assert list(zip(one.tolist(), other.tolist(), strict=True)) == [
        (i, j)
        for i, (start, length) in enumerate(ranges)
        for _, j in sorted((value, place) for place, value in enumerate(right))
        if start <= right[j] < start + length
    ]


def test_seeds_depend_on_the_names_alone() -> None:
    first = generator("movement", "harmony", "0").random(3).tolist()
    generator("another").random(5)
    assert generator("movement", "harmony", "0").random(3).tolist() == first
    assert generator("movement", "harmony", "1").random(3).tolist() != first
    assert generator("movementharmony", "0").random(3).tolist() != first


@given(numbers)
def test_positions_within(counts: list[int]) -> None:
    assert positions_within(array(counts)).tolist() == [i for n in counts for i in range(n)]


def test_runs_are_numbered_in_order() -> None:
    assert runs(np.array([True, False, True])).tolist() == [0, 0, 1, 1]
    assert runs(np.array([], bool)).tolist() == [0]


def test_a_gap_is_bridged_between_two_rows_on_each_side() -> None:
    direct = np.array([True, False, True, False, False])
    bridge = np.array([False, True, False, True, False])
    assert bridged_runs(direct, bridge, 0.75).tolist() == [0, 0, 0, 0, 1, 2]


def test_bridges_fall_where_too_few_rows_are_left() -> None:
    """Four pieces of two rows and three gaps: 8 of 11 is less than three quarters."""
    direct = np.array([True, False] * 3 + [True])
    assert bridged_runs(direct, ~direct, 0.75).tolist() == [0, 0, 1, 1, 2, 2, 3, 3]
    assert bridged_runs(direct, ~direct, 0.7).tolist() == [0] * 8


def test_counts_by_run() -> None:
    number = array([0, 0, 0, 2, 2])
    flags = np.array([True, False, True, True])
    assert count_within(number, flags, 4).tolist() == [1, 0, 1, 0]
    assert distinct_within(number, array([5, 7, 5, 1, 1]), 4).tolist() == [2, 0, 1, 0]


@given(spans)
def test_unions_are_the_moments_that_any_span_holds(
    given_spans: list[tuple[int, int, int]],
) -> None:
    group, start, length = (array(column) for column in zip(*given_spans, strict=True))
    held = {
        (its_group, moment)
        for its_group, begin, ticks in given_spans
        for moment in range(begin, begin + ticks)
    }
    groups, starts, ends = union(group, start, start + length)
    rows = list(zip(groups.tolist(), starts.tolist(), ends.tolist(), strict=True))
    assert {(g, moment) for g, begin, end in rows for moment in range(begin, end)} == held
    assert rows == sorted(rows)
    for (g, _, end), (h, begin, _) in itertools.pairwise(rows):
        assert g != h or begin > end
    assert union_lengths(group, start, start + length, 3).tolist() == [
        sum(its_group == number for its_group, _ in held) for number in range(3)
    ]


@given(spans, spans)
def test_cover(mine: list[tuple[int, int, int]], theirs: list[tuple[int, int, int]]) -> None:
    held = {(g, moment) for g, begin, ticks in theirs for moment in range(begin, begin + ticks)}
    columns = []
    for side in (mine, theirs):
        group, start, length = (array(column) for column in zip(*side, strict=True))
        columns.append((group, start, start + length))
    assert covered(columns[0], columns[1]).tolist() == [
        sum((g, moment) in held for moment in range(begin, begin + ticks))
        for g, begin, ticks in mine
    ]
