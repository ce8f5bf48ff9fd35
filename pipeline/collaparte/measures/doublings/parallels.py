"""Parallel thirds and sixths: one generic interval, counted on letters, octaves left aside."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.runs import distinct_within
from collaparte.measures.doublings.matches import Matches, in_order, meetings
from collaparte.measures.doublings.melody import UNSPELLED, Melody
from collaparte.measures.doublings.stretches import (
    CHANGING,
    Runs,
    Stretches,
    bridged,
    passing,
    strict,
    sums,
    told,
)
from collaparte.measures.kinds import SIXTHS, THIRDS
from collaparte.settings import Settings

_LETTERS = 7


def parallels(source: Melody, settings: Settings) -> list[Stretches]:
    """`parallel_thirds` and `parallel_sixths`: both lines move at a third or sixth.

    The upper voice stays the upper one; thirds and sixths may be wider by octaves, and their
    size in semitones changes from note to note.
    """
    found = _thirds_and_sixths(source, settings)
    if not len(found):
        return []
    difference = source.degree[found.b] - source.degree[found.a]
    third = np.abs(difference) % _LETTERS == 2
    key = third + 2 * (difference > 0)
    all_runs = bridged(found, found.steps(), np.diff(key) == 0, settings)
    is_third = third[all_runs.first()]
    told_kinds = []
    for kind, thresholds, chosen in (
        (THIRDS, settings.parallel_thirds, is_third),
        (SIXTHS, settings.parallel_sixths, ~is_third),
    ):
        kept = passing(all_runs.keep(chosen), thresholds)
        kept = _phrased_alike(kept, settings)
        distinct = kept.distinct()
        passes = strict(kept, distinct, thresholds)
        told_kinds.append(told(kind, kept, distinct, passes, np.full(len(distinct), CHANGING)))
    return told_kinds


def _thirds_and_sixths(source: Melody, settings: Settings) -> Matches:
    """Onsets at which two lines begin notes whose letters are a third (or a sixth) apart."""
    place, letter = source.place * _LETTERS, source.degree % _LETTERS
    spelled = source.degree != UNSPELLED
    pairs = meetings(
        source,
        np.where(spelled, place + letter, -1),
        np.where(spelled, place + (letter + 2) % _LETTERS, -2),
    )
    fewest = min(settings.parallel_thirds.matched, settings.parallel_sixths.matched)
    return in_order(pairs, fewest)


def _phrased_alike(kept: Runs, settings: Settings) -> Runs:
    """Those whose notes mostly end together and are not all of one length."""
    melody, a, b = kept.matches.melody, kept.matches.a, kept.matches.b
    ends = sums((melody.end[a] == melody.end[b]).astype(np.int64), kept.first())
    overlap = np.minimum(melody.end[a], melody.end[b]) - melody.onset[a]
    lengths = distinct_within(kept.number, overlap, len(kept.matched))
    return kept.keep(
        (100 * ends >= settings.parallel_ends_percent * kept.matched)
        & (lengths >= settings.parallel_durations)
    )
