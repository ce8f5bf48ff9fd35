"""What is in force at a time: the last event before it on the same track."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Integers = npt.NDArray[np.integer[Any]]


def last_before(
    event_track: Integers, event_time: Integers, track: Integers, time: Integers
) -> npt.NDArray[np.int64]:
    """The last event at or before each time on the same track; -1 where there is none.

    Of events at one time the one that stands last in the arrays counts.
    """
    none = np.full(len(track), -1, np.int64)
    if not len(event_track) or not len(track):
        return none
    span = int(max(event_time.max(), time.max())) + 2
    known = event_track.astype(np.int64) * span + event_time
    order = np.argsort(known, kind="stable")
    known = known[order]
    wanted = track.astype(np.int64) * span + time
    at = np.searchsorted(known, wanted, "right") - 1
    found = order[np.maximum(at, 0)]
    return np.where((at >= 0) & (event_track[found] == track), found, none)
