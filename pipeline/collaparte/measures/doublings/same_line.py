"""Unison, octave, octave_displaced, reiterated and main_notes: lines of the same pitch classes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from collaparte.kernels.arrays import Ints
from collaparte.kernels.joins import positions_within
from collaparte.kernels.runs import count_within, runs
from collaparte.measures.doublings.matches import Matches, Steps, same_pitch_class, unbroken
from collaparte.measures.doublings.melody import Melody, joined
from collaparte.measures.doublings.stretches import (
    CHANGING,
    Runs,
    Stretches,
    bridged,
    counted,
    passing,
    strict,
    sums,
    told,
)
from collaparte.measures.kinds import DISPLACED, MAIN_NOTES, OCTAVE, REITERATED, UNISON
from collaparte.schema import TICKS
from collaparte.settings import Settings


def steady(matches: Matches, between: Steps, settings: Settings) -> list[Stretches]:
    """`unison` and `octave`: one interval at every onset of both lines."""
    same = np.diff(matches.interval) == 0
    runs = bridged(matches, between, same, settings)
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


def displaced(matches: Matches, between: Steps, settings: Settings) -> list[Stretches]:
    """`octave_displaced`: any octaves at every onset of both lines, not always the same."""
    changes = np.diff(matches.interval) != 0
    runs = bridged(matches, between, np.ones(len(changes), np.bool_), settings)
    changing = count_within(runs.number, changes, len(runs.matched)) > 0
    kept = passing(runs.keep(changing), settings.octave_displaced)
    distinct = kept.distinct()
    passes = strict(kept, distinct, settings.octave_displaced)
    return [told(DISPLACED, kept, distinct, passes, np.full(len(distinct), CHANGING))]


def main_notes(matches: Matches, between: Steps, settings: Settings) -> list[Stretches]:
    """`main_notes`: every onset of one line falls on an onset of the other, which has more."""
    near = between.same_pair & (np.diff(matches.interval) == 0)
    silence = settings.joint_silence_quarters * TICKS
    found = []
    for step, fuller in ((between.a, matches.b), (between.b, matches.a)):
        direct = unbroken(matches, near & (step == 1), silence)
        all_runs = counted(matches, runs(direct))
        onsets = fuller[all_runs.last()] - fuller[all_runs.first()] + 1
        enough = 100 * onsets >= settings.fuller_line_percent * all_runs.matched
        kept = passing(all_runs.keep(enough), settings.main_notes)
        distinct = kept.distinct()
        passes = strict(kept, distinct, settings.main_notes)
        interval = kept.matches.interval[kept.first()]
        found.append(told(MAIN_NOTES, kept, distinct, passes, interval))
    return found


def reiterated(source: Melody, settings: Settings) -> list[Stretches]:
    """`reiterated`: the same lines once repeated notes are joined, where one repeats more."""
    held = joined(source, settings.repeat_gap_quarters * TICKS)
    matches = same_pitch_class(held, settings.reiterated.matched)
    if not len(matches):
        return []
    same = np.diff(matches.interval) == 0
    kept = passing(bridged(matches, matches.steps(), same, settings), settings.reiterated)
    onsets = np.diff(np.append(held.first, len(source)))
    onsets_a = sums(onsets[kept.matches.a], kept.first())
    onsets_b = sums(onsets[kept.matches.b], kept.first())
    fewer, more = np.minimum(onsets_a, onsets_b), np.maximum(onsets_a, onsets_b)
    kept = kept.keep(100 * (more - fewer) > settings.reiterated_excess_percent * fewer)
    distinct = kept.distinct()
    passes = strict(kept, distinct, settings.reiterated)
    interval = kept.matches.interval[kept.first()]
    return [
        _told_note_by_note(source, onsets, kept, told(REITERATED, kept, distinct, passes, interval))
    ]


def _told_note_by_note(source: Melody, onsets: Ints, kept: Runs, held: Stretches) -> Stretches:
    """The stretches of joined notes with the pairs of single notes that sound together."""
    a, b, first = kept.matches.a, kept.matches.b, kept.matches.melody.first
    row = np.repeat(np.arange(len(a)), onsets[a])
    note_a = first[a[row]] + positions_within(onsets[a])
    # Notes of line b that end after note a begins and begin before it ends.
    width = int(source.until.max()) + 1
    line = source.line * width
    line_b = source.line[first[b[row]]] * width
    begin = np.searchsorted(line + source.until, line_b + source.onset[note_a], side="right")
    end = np.searchsorted(line + source.onset, line_b + source.end[note_a], side="left")
    begin = np.maximum(begin, first[b[row]])
    counts = np.maximum(np.minimum(end, first[b[row]] + onsets[b[row]]) - begin, 0)
    note_b = np.repeat(begin, counts) + positions_within(counts)
    note_a, row = np.repeat(note_a, counts), np.repeat(row, counts)
    pair_start = np.maximum(source.onset[note_a], source.onset[note_b])
    pair_end = np.minimum(source.end[note_a], source.end[note_b])
    sounds = pair_end > pair_start
    length = np.append(0, np.cumsum(source.end - source.onset))
    own = [length[first[x] + onsets[x]] - length[first[x]] for x in (a, b)]
    return replace(
        held,
        own_a=sums(own[0], kept.first()),
        own_b=sums(own[1], kept.first()),
        stretch=kept.number[row[sounds]],
        note_a=source.note[note_a[sounds]],
        note_b=source.note[note_b[sounds]],
        pair_start=pair_start[sounds],
        pair_end=pair_end[sounds],
    )
