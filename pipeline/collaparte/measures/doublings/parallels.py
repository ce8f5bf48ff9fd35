"""Parallel thirds and sixths: one generic interval, counted on letters, octaves left aside."""

from __future__ import annotations

import numpy as np
import pyarrow as pa

from collaparte.kernels.arrays import Ints
from collaparte.kernels.joins import matching_pairs
from collaparte.kernels.runs import distinct_within
from collaparte.measures.doublings.matches import Matches, in_order
from collaparte.measures.doublings.melody import Melody
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

_LETTERS = "CDEFGAB"


def parallels(source: Melody, notes: pa.Table, settings: Settings) -> list[Stretches]:
    """`parallel_thirds` and `parallel_sixths`: both lines move at a third or sixth.

    The upper voice stays the upper one; thirds and sixths may be wider by octaves, and their
    size in semitones changes from note to note.
    """
    degree, spelled = _degrees(source, notes)
    found = _thirds_and_sixths(source, degree, spelled, settings)
    if not len(found):
        return []
    difference = degree[found.b] - degree[found.a]
    third = np.abs(difference) % 7 == 2
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


def _degrees(source: Melody, notes: pa.Table) -> tuple[Ints, Ints]:
    """Steps of the staff above C0 of each note, and the positions of the notes that have one."""
    step = (
        notes["step"].combine_chunks() if notes["step"].num_chunks != 1 else notes["step"].chunk(0)
    )
    letters = np.array([_LETTERS.find(text or "-") for text in step.dictionary.to_pylist()] + [-1])
    index = step.indices.fill_null(len(letters) - 1).to_numpy(zero_copy_only=False)
    letter = letters[index[source.note]]
    octave = notes["octave"].cast(pa.int64()).fill_null(0).to_numpy()[source.note]
    return octave * 7 + letter, np.flatnonzero(letter >= 0)


def _thirds_and_sixths(source: Melody, degree: Ints, spelled: Ints, settings: Settings) -> Matches:
    """Onsets at which two lines begin notes whose letters are a third (or a sixth) apart."""
    place = source.place[spelled] * 7
    higher, lower = matching_pairs(place + degree[spelled] % 7, place + (degree[spelled] + 2) % 7)
    one, other = spelled[higher], spelled[lower]
    pairs = Matches(source, np.minimum(one, other), np.maximum(one, other))
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
