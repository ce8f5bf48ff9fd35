"""Fits of the centres on resampled movements, and how far their labels agree."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.errors import UsageError
from collaparte.kernels.arrays import Ints, Reals
from collaparte.kernels.seeds import generator

try:
    from sklearn.cluster import KMeans
    from sklearn.metrics import adjusted_rand_score
except ImportError:
    raise UsageError(
        "fits need scikit-learn, which is not installed; pip install 'collaparte[textures]' helps"
    ) from None


@dataclass(frozen=True)
class Bars:
    """The traits of bars, shape (bars, 6), and the movement of each, from 0."""

    marked: Reals
    movement: Ints


PULL = 0.25
"""Weight of the starts in a pulled fit, as a share of the bars of a cluster of mean size;
that of the trial."""


def centres(marked: Reals, start: Reals, pull: float = 0) -> tuple[Reals, Ints]:
    """Centres by k-means from the start on, all bars equal, and the label of each bar.

    Parameters
    ----------
    pull
        Each start counts as so many bars of a cluster of mean size.
    """
    points, weight = marked, np.ones(len(marked))
    if pull:
        points = np.concatenate([marked, start])
        weight = np.append(weight, np.full(len(start), pull * len(marked) / len(start)))
    fit = KMeans(len(start), init=start, n_init=1, max_iter=300, tol=1e-6)
    fit.fit(points, sample_weight=weight)
    labels = np.asarray(fit.labels_[: len(marked)], np.int64)
    return np.asarray(fit.cluster_centers_, np.float64), labels


def agreement(one: Ints, other: Ints) -> float:
    """The adjusted Rand index of two labellings."""
    return float(adjusted_rand_score(one, other))


def resampled_agreement(
    bars: Bars, start: Reals, pairs: int, seed: int, pull: float = 0
) -> list[float]:
    """Index over all bars between fits on two bootstrap resamples of movements, `pairs` times."""
    chance = generator(str(seed), "textures", "resampled movements")
    movements = int(bars.movement.max()) + 1
    return [
        _between(bars, start, pull, *chance.integers(movements, size=(2, movements)))
        for _ in range(pairs)
    ]


def split_agreement(
    bars: Bars, start: Reals, pairs: int, seed: int, pull: float = 0
) -> list[float]:
    """Index over all bars between fits on two disjoint halves of the movements."""
    chance = generator(str(seed), "textures", "halves of the movements")
    movements = int(bars.movement.max()) + 1
    found = []
    for _ in range(pairs):
        order = chance.permutation(movements)
        half = movements // 2
        found.append(_between(bars, start, pull, order[:half], order[half:]))
    return found


def _between(bars: Bars, start: Reals, pull: float, one: Ints, other: Ints) -> float:
    labels = []
    for movements in (one, other):
        rows = np.concatenate([np.flatnonzero(bars.movement == item) for item in movements])
        fitted, _ = centres(bars.marked[rows], start, pull)
        distance = ((bars.marked[:, None, :] - fitted) ** 2).sum(axis=2)
        labels.append(distance.argmin(axis=1))
    return agreement(labels[0], labels[1])
