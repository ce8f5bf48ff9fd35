"""Unison, octave, octave_displaced, reiterated and main_notes: the same pitch classes."""

from __future__ import annotations

import numpy as np

from collaparte.measures.doublings.kinds import OCTAVE, UNISON
from collaparte.measures.doublings.matches import Matches, steps
from collaparte.measures.doublings.stretches import Stretches, bridged, passing, strict, told
from collaparte.schema import TICKS
from collaparte.settings import Settings


def steady(matches: Matches, settings: Settings) -> list[Stretches]:
    """`unison` and `octave`: one interval at every onset of both lines."""
    if not len(matches):
        return []
    silence = settings.joint_silence_quarters * TICKS
    same = np.diff(matches.interval) == 0
    runs = bridged(matches, steps(matches), same, settings, silence)
    interval = matches.interval[runs.first()]
    found = []
    for kind, thresholds, chosen in (
        (UNISON, settings.unison, interval == 0),
        (OCTAVE, settings.octave, interval != 0),
    ):
        kept = passing(runs.keep(chosen), thresholds)
        distinct = kept.distinct()
        passes = strict(kept, distinct, thresholds)
        found.append(told(kind, kept, distinct, passes, kept.matches.interval[kept.first()]))
    return found
