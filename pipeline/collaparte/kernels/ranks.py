"""Ranks, groups and unions on plain arrays."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

Integers = npt.NDArray[np.int64]


def groups(columns: Sequence[npt.NDArray[np.integer[Any]]]) -> Integers:
    """Number of the distinct combination in each row, in order of the combinations.

    Parameters
    ----------
    columns
        Arrays of one length, the most significant first.
    """
    group = np.zeros(len(columns[0]), np.int64)
    if not len(group):
        return group
    reach = 1
    for column in columns:
        low, high = int(column.min()), int(column.max())
        codes, width = column.astype(np.int64) - low, high - low + 1
        if reach * width > _MOST:
            group, reach = _codes(group)
            codes, width = _codes(codes)
        group = group * width + codes
        reach *= width
    return _codes(group)[0]


_MOST = 1 << 62


def _codes(values: Integers) -> tuple[Integers, int]:
    """Number of the distinct value in each row, and how many there are."""
    distinct, codes = np.unique(values, return_inverse=True)
    return codes, len(distinct)


def rank_within(group: npt.NDArray[np.integer[Any]]) -> Integers:
    """How many earlier rows are of the same group."""
    order = np.argsort(group, kind="stable")
    ordered = group[order]
    place = np.arange(len(group))
    first = np.ones(len(group), bool)
    first[1:] = ordered[1:] != ordered[:-1]
    rank = np.empty(len(group), np.int64)
    rank[order] = place - np.maximum.accumulate(np.where(first, place, 0))
    return rank


def members(
    owner: npt.NDArray[np.integer[Any]], wanted: npt.NDArray[np.integer[Any]]
) -> tuple[Integers, Integers]:
    """What belongs to each of the wanted owners.

    Returns
    -------
    place, member
        `owner[member[i]] == wanted[place[i]]`, by place, members in their own order.
    """
    order = np.argsort(owner, kind="stable")
    first = np.searchsorted(owner[order], wanted)
    count = np.searchsorted(owner[order], wanted, "right") - first
    place = np.repeat(np.arange(len(wanted)), count)
    within = np.arange(len(place)) - np.repeat(np.cumsum(count) - count, count)
    return place, order[np.repeat(first, count) + within]


def union_length(group: Integers, start: Integers, end: Integers, count: int) -> Integers:
    """Length of the union of the intervals of each group.

    Parameters
    ----------
    group
        Group of each interval, from 0 to `count` − 1.
    start, end
        Intervals [start, end), in one unit.

    Returns
    -------
    Lengths of the unions, one a group.
    """
    if not len(group):
        return np.zeros(count, np.int64)
    order = np.lexsort((start, group))
    group, start, end = group[order], start[order], end[order]
    span = int(end.max()) + 1
    # One running maximum serves all groups, because each group lies above the one before.
    reached = np.maximum.accumulate(end + group * span) - group * span
    before = np.zeros(len(group), np.int64)
    before[1:] = np.where(group[1:] == group[:-1], reached[:-1], 0)
    lengths = np.zeros(count, np.int64)
    np.add.at(lengths, group, np.maximum(end - np.maximum(start, before), 0))
    return lengths
