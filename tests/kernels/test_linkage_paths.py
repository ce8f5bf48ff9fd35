"""Clusters and paths against the plain way to find them."""

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.cluster.hierarchy import fcluster, linkage
from scipy.sparse.csgraph import connected_components
from scipy.spatial.distance import squareform

from collaparte.kernels.linkage import average_link, single_link
from collaparte.kernels.paths import cheapest_path


def partition(labels: np.ndarray) -> set[frozenset[int]]:
    return {frozenset(np.flatnonzero(labels == label)) for label in set(labels.tolist())}


@given(st.integers(2, 7), st.integers(0, 2**32 - 1), st.floats(0.05, 0.95))
def test_average_link_joins_what_scipy_joins(count: int, seed: int, cut: float) -> None:
    chance = np.random.default_rng(seed)
    distance = chance.random((3, count, count))
    distance = (distance + distance.transpose(0, 2, 1)) / 2
    present = chance.random((3, count)) < 0.8
    labels = average_link(distance, present, cut)
    for one, there, label in zip(distance, present, labels, strict=True):
        rows = np.flatnonzero(there)
        assert (label[~there] == -1).all()
        if len(rows) < 2:
            continue
        tree = linkage(squareform(one[np.ix_(rows, rows)], checks=False), "average")
        assert partition(label[rows]) == partition(fcluster(tree, cut, "distance"))
        assert all(label[row] == min(rows[label[rows] == label[row]]) for row in rows)


def test_average_link_takes_the_mean_of_all_pairs() -> None:
    # 0 and 1 join at 0.1; their mean distance to 2 is (0.3 + 0.7) / 2 = 0.5.
    distance = np.array([[[0, 0.1, 0.3], [0.1, 0, 0.7], [0.3, 0.7, 0]]])
    present = np.ones((1, 3), np.bool_)
    assert average_link(distance, present, 0.49).tolist() == [[0, 0, 2]]
    assert average_link(distance, present, 0.5).tolist() == [[0, 0, 0]]


@given(arrays(np.bool_, (2, 6, 6)))
def test_single_link_finds_what_hangs_together(near: np.ndarray) -> None:
    near = near | near.transpose(0, 2, 1)
    for one, labels in zip(near, single_link(near), strict=True):
        _, known = connected_components(one, directed=False)
        assert partition(labels) == partition(known)


@given(st.integers(1, 5), st.integers(0, 2**32 - 1), st.floats(0, 1.5))
def test_no_path_is_cheaper(places: int, seed: int, change: float) -> None:
    cost = np.random.default_rng(seed).random((places, 3))

    def price(path: tuple[int, ...]) -> float:
        changes = sum(a != b for a, b in itertools.pairwise(path))
        return sum(cost[place, choice] for place, choice in enumerate(path)) + change * changes

    found = tuple(cheapest_path(cost, change).tolist())
    least = min(price(path) for path in itertools.product(range(3), repeat=places))
    assert abs(price(found) - least) < 1e-9


def test_path_without_places_and_with_equals() -> None:
    assert cheapest_path(np.zeros((0, 3)), 0.3).tolist() == []
    assert cheapest_path(np.zeros((4, 3)), 0.3).tolist() == [0, 0, 0, 0]
