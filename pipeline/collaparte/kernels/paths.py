"""The cheapest way through choices that are costly to change."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.arrays import Ints, Reals


def cheapest_path(cost: Reals, change: float) -> Ints:
    """The choice at every place that makes costs and changes together least (Viterbi 1967).

    Parameters
    ----------
    cost
        Shape (places, choices): what each choice costs at each place.
    change
        What it costs to choose otherwise than at the place before.

    Returns
    -------
    Shape (places,). Of equals no change is made, and the choice of the lowest number taken.
    """
    places, choices = cost.shape
    came = np.zeros((places, choices), np.int64)
    stay = np.arange(choices)
    total = np.zeros(choices)
    for place in range(places):
        if place:
            best = int(total.argmin())
            came[place] = np.where(total[best] + change < total, best, stay)
            total = np.minimum(total, total[best] + change)
        total = total + cost[place]
    path = np.zeros(places, np.int64)
    if places:
        path[-1] = total.argmin()
    for place in range(places - 1, 0, -1):
        path[place - 1] = came[place, path[place]]
    return path
