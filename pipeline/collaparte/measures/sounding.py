"""The notes that measures count."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints


def sounding(notes: pa.Table) -> Ints:
    """Rows of `notes` that count: pitched, neither grace nor cue notes."""
    silent = pc.or_(pc.or_(notes["is_grace"], notes["is_cue"]), notes["is_unpitched"])
    counts = pc.and_(pc.invert(silent), pc.is_valid(notes["midi"]))
    counts = pc.and_(counts, pc.greater(notes["duration_ticks"], 0))
    return np.flatnonzero(counts.to_numpy())
