"""Degrees of truth between 0 and 1, where a yes or no would turn over at the least change.

"Not" is 1 minus the degree, "or" the greater of two (Zadeh 1965, from memory). "And" is the
product, or the lesser of two (Zadeh again) where a yes or no is taken at half of it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from collaparte.kernels.arrays import Flags, Ints, Reals

Values = Reals | Ints | Flags


def rising(values: Values, start: float, end: float) -> Reals:
    """0 up to the start, 1 from the end on, and a straight line between."""
    return np.clip((np.asarray(values, np.float64) - start) / (end - start), 0, 1)


def reaching(
    values: Values, threshold: npt.ArrayLike, spread: float, most: float = np.inf
) -> Reals:
    """How far values reach a threshold: ½ at it, rising for `spread` of it on either side.

    A threshold of 0 is reached by every value from 0 on.

    Parameters
    ----------
    threshold
        0 and more; a number or of the shape of the values.
    spread
        Share of the threshold.
    most
        The greatest value there can be; the rise ends there at the latest, and is as long below.
    """
    middle = np.asarray(threshold, np.float64)
    half = np.minimum(spread * middle, most - middle)
    above = np.asarray(values, np.float64) - middle
    degree = 0.5 + above / np.where(half > 0, 2 * half, 1)
    return np.clip(np.where(half > 0, degree, above >= 0), 0, 1)
