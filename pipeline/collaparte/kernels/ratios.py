"""Ratios of arrays where the whole may be nothing."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.kernels.arrays import Reals


def ratio(part: npt.NDArray[Any], whole: npt.NDArray[Any], nothing: float = 0.0) -> Reals:
    """Part ÷ whole, and `nothing` where the whole is not above 0; the part's shape."""
    out = np.full(np.broadcast_shapes(part.shape, whole.shape), nothing, np.float64)
    np.divide(part, whole, out=out, where=whole > 0)
    return out
