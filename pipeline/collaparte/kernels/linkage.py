"""Average link on many small sets of things at once."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.arrays import Flags, Ints, Reals


def average_link(distance: Reals, present: Flags, cut: float) -> Ints:
    """Clusters of each set: the two nearest are joined as long as they are within the cut.

    The distance of two clusters is the mean over all pairs of their members (Sokal and Michener
    1958). Of pairs at one distance the first in order of rows, then columns, is joined.

    Parameters
    ----------
    distance
        Shape (sets, n, n), symmetric; what stands on the diagonal does not matter.
    present
        Shape (sets, n): which of the n things belong to the set.
    cut
        Greatest distance at which two clusters are joined.

    Returns
    -------
    Shape (sets, n): the smallest number of a member of the cluster of each thing, -1 where absent.
    """
    sets, count = present.shape
    label = np.where(present, np.arange(count), -1)
    apart = np.where(present[:, :, None] & present[:, None, :], distance, np.inf)
    apart[:, np.arange(count), np.arange(count)] = np.inf
    size = present.astype(np.float64)
    live = np.arange(sets)
    while len(live):
        nearest = apart[live].reshape(len(live), -1).argmin(axis=1) if count else live[:0]
        first, second = np.divmod(nearest, max(count, 1))
        # Sums in another order differ in the last place; a pair exactly at the cut is joined.
        within = apart[live, first, second] <= cut + 1e-9
        live, first, second = live[within], first[within], second[within]
        # argmin meets the upper triangle first, so `first` is the smaller number and stays.
        weights = size[live, first][:, None], size[live, second][:, None]
        joined = (apart[live, first] * weights[0] + apart[live, second] * weights[1]) / (
            weights[0] + weights[1]
        )
        joined[np.arange(len(live)), first] = np.inf
        apart[live, first] = apart[live, :, first] = joined
        apart[live, second] = apart[live, :, second] = np.inf
        size[live, first] += size[live, second]
        label[live] = np.where(label[live] == second[:, None], first[:, None], label[live])
    return label


def single_link(near: Flags) -> Ints:
    """Clusters of each set: whatever hangs together by near pairs.

    Parameters
    ----------
    near
        Shape (sets, n, n), symmetric.

    Returns
    -------
    Shape (sets, n): the smallest number of a member of the cluster of each thing.
    """
    count = near.shape[1]
    reach = near | np.eye(count, dtype=np.bool_)
    label = np.broadcast_to(np.arange(count), near.shape[:2])
    while True:
        lower = np.where(reach, label[:, None, :], count).min(axis=2, initial=count)
        if (lower == label).all():
            return np.asarray(lower, np.int64)
        label = lower
