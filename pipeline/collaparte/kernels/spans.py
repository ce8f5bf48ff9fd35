"""Stretches of time: unions of spans and how much of a span a union covers."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.arrays import Ints


def union(groups: Ints, starts: Ints, ends: Ints) -> tuple[Ints, Ints, Ints]:
    """The union of the spans of each group, as spans that neither touch nor overlap.

    Parameters
    ----------
    groups
        Shape (n,), numbers from 0.
    starts, ends
        Shape (n,), not negative, each start before its end.

    Returns
    -------
    groups, starts, ends
        By group, then start.
    """
    if not len(groups):
        return groups, starts, ends
    width = int(ends.max()) + 1
    starts, ends = groups * width + starts, groups * width + ends
    order = np.argsort(starts, kind="stable")
    starts, reach = starts[order], np.maximum.accumulate(ends[order])
    first = np.ones(len(starts), np.bool_)
    first[1:] = starts[1:] > reach[:-1]
    opened = np.flatnonzero(first)
    closed = np.append(opened[1:], len(starts)) - 1
    group = starts[opened] // width
    return group, starts[opened] - group * width, reach[closed] - group * width


def union_lengths(groups: Ints, starts: Ints, ends: Ints, count: int) -> Ints:
    """The length of the union of the spans of each of `count` groups; arrays as in `union`."""
    group, start, end = union(groups, starts, ends)
    lengths = np.zeros(count, np.int64)
    np.add.at(lengths, group, end - start)
    return lengths


def covered(
    spans: tuple[Ints, Ints, Ints],
    cover: tuple[Ints, Ints, Ints],
) -> Ints:
    """How much of each span the union of the covering spans of its group covers.

    Parameters
    ----------
    spans, cover
        Groups, starts and ends, as in `union`.
    """
    groups, starts, ends = spans
    if not len(cover[0]) or not len(groups):
        return np.zeros(len(groups), np.int64)
    group, start, end = union(*cover)
    width = int(max(end.max(), ends.max())) + 1
    begins = group * width + start
    lengths = end - start
    before = np.cumsum(lengths) - lengths

    def covered_before(moment: Ints) -> Ints:
        at = np.searchsorted(begins, moment, side="right") - 1
        inside = np.minimum(moment - begins[at], lengths[at])
        return np.where(at >= 0, before[at] + inside, 0)

    return covered_before(groups * width + ends) - covered_before(groups * width + starts)
