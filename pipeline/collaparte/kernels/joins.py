"""Pairs of positions that share a key, without a comparison of each with each."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.arrays import Ints


def positions_within(counts: Ints) -> Ints:
    """0 … count − 1 for every count in turn, in one array of `counts.sum()` numbers."""
    starts = np.cumsum(counts) - counts
    return np.arange(int(counts.sum()), dtype=np.int64) - np.repeat(starts, counts)


def equal_pairs(keys: Ints) -> tuple[Ints, Ints]:
    """Every pair of different positions with equal keys, once, the earlier position first.

    Parameters
    ----------
    keys
        Shape (n,), in any order.

    Returns
    -------
    earlier, later
        Positions in `keys`, both of shape (pairs,); their order is by key, then position.
    """
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    ends = np.searchsorted(ordered, ordered, side="right")
    place = np.arange(len(keys), dtype=np.int64)
    counts = ends - place - 1
    earlier = np.repeat(place, counts)
    return order[earlier], order[earlier + 1 + positions_within(counts)]


def matching_pairs(left: Ints, right: Ints) -> tuple[Ints, Ints]:
    """Every pair of a position in `left` and one in `right` with equal keys.

    Parameters
    ----------
    left, right
        Shapes (n,) and (m,), in any order.

    Returns
    -------
    left_positions, right_positions
        Both of shape (pairs,), by position in `left`, then by position in `right`.
    """
    return pairs_within(left, left + 1, right)


def pairs_within(low: Ints, high: Ints, right: Ints) -> tuple[Ints, Ints]:
    """Every pair of a span and a key in `right` with low ≤ key < high.

    Parameters
    ----------
    low, high
        Shape (n,): the spans, in any order.
    right
        Shape (m,), in any order.

    Returns
    -------
    spans, right_positions
        Both of shape (pairs,), by span, then by key and position in `right`.
    """
    order = np.argsort(right, kind="stable")
    ordered = right[order]
    first = np.searchsorted(ordered, low)
    counts = np.searchsorted(ordered, high) - first
    spans = np.repeat(np.arange(len(low), dtype=np.int64), counts)
    return spans, order[np.repeat(first, counts) + positions_within(counts)]
