"""The types of arrays that the kernels and measures speak of."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Reals = npt.NDArray[np.float64]
