"""Stretches of one kind: matches that follow each other and pass the thresholds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from collaparte.kernels.arrays import Flags, Ints
from collaparte.kernels.runs import bridged_runs, count_within, distinct_within
from collaparte.measures.doublings.matches import Matches, Steps, unbroken
from collaparte.schema import TICKS
from collaparte.settings import DoublingThresholds, Settings

CHANGING = np.iinfo(np.int64).min
"""Stands for the interval of a stretch in which it changes."""


@dataclass(frozen=True)
class Stretches:
    """Stretches in which two lines go together, and their pairs of notes.

    The first arrays have one row a stretch, those from `stretch` on one row a pair of notes, the
    last two one row a note that a chord adds.
    """

    kind: Ints
    """Position in `KINDS`."""
    line_a: Ints
    line_b: Ints
    interval: Ints
    """Sounding b minus a in cents, or `CHANGING`."""
    start: Ints
    end: Ints
    matched: Ints
    changes: Ints
    distinct: Ints
    strict: Flags
    own_a: Ints
    own_b: Ints
    """Length of all matched notes of the line."""
    stretch: Ints
    """Position of the stretch that the pair of notes belongs to; never falls."""
    note_a: Ints
    note_b: Ints
    """Rows of the table `notes`."""
    pair_start: Ints
    pair_end: Ints
    """The span in which both notes sound, in ticks."""
    added_to: Ints
    """Position of the stretch that an added note belongs to; never falls."""
    added: Ints
    """Row of the note that a chord adds to the other's."""

    def __len__(self) -> int:
        return len(self.kind)

    @staticmethod
    def none() -> Stretches:
        """No stretch at all."""
        values: dict[str, Any] = {item.name: np.zeros(0, np.int64) for item in fields(Stretches)}
        return Stretches(**values | {"strict": np.zeros(0, np.bool_)})

    def take(self, order: Ints) -> Stretches:
        """These stretches in this order, each at most once."""
        position = np.full(len(self), -1, np.int64)
        position[order] = np.arange(len(order))
        values = {
            item.name: getattr(self, item.name)[order]
            for item in fields(self)
            if item.name not in _OF_PAIRS + _OF_ADDED
        }
        for names in (_OF_PAIRS, _OF_ADDED):
            number = position[getattr(self, names[0])]
            rows = np.argsort(number, kind="stable")[np.count_nonzero(number < 0) :]
            values |= {name: getattr(self, name)[rows] for name in names}
            values[names[0]] = number[rows]
        return Stretches(**values)


_OF_PAIRS = ("stretch", "note_a", "note_b", "pair_start", "pair_end")
_OF_ADDED = ("added_to", "added")


def together(kinds: Sequence[Stretches]) -> Stretches:
    """Stretches of several kinds in one."""
    before = np.cumsum([0] + [len(item) for item in kinds])
    values = {
        item.name: np.concatenate([getattr(kind, item.name) for kind in kinds])
        for item in fields(Stretches)
    }
    for name in ("stretch", "added_to"):
        values[name] = np.concatenate(
            [getattr(kind, name) + start for kind, start in zip(kinds, before[:-1], strict=True)]
        )
    return Stretches(**values)


@dataclass(frozen=True)
class Runs:
    """Matches with the number of the stretch that each stands in, and counts by stretch."""

    matches: Matches
    number: Ints
    matched: Ints
    changes: Ints
    """Steps within the stretch at which both lines change their pitch."""

    def first(self) -> Ints:
        """Row of the first match of each stretch."""
        return np.searchsorted(self.number, np.arange(len(self.matched)))

    def last(self) -> Ints:
        """Row of the last match of each stretch."""
        return np.searchsorted(self.number, np.arange(len(self.matched)), side="right") - 1

    def keep(self, wanted: Flags) -> Runs:
        """These stretches alone."""
        rows = wanted[self.number]
        number = np.cumsum(wanted) - 1
        return Runs(
            self.matches.take(rows),
            number[self.number[rows]],
            self.matched[wanted],
            self.changes[wanted],
        )

    def distinct(self) -> Ints:
        """Different pitches of each stretch, in the line that has fewer."""
        pitch = self.matches.melody.pitch
        return np.minimum(
            distinct_within(self.number, pitch[self.matches.a], len(self.matched)),
            distinct_within(self.number, pitch[self.matches.b], len(self.matched)),
        )


def bridged(matches: Matches, between: Steps, same_key: Flags, settings: Settings) -> Runs:
    """Runs of matches of one key in which every onset, but for bridged ones, is matched."""
    silence = settings.joint_silence_quarters * TICKS
    near = between.same_pair & same_key
    direct = unbroken(matches, near & (between.a == 1) & (between.b == 1), silence)
    bridge = unbroken(matches, near & (between.a + between.b == 3), silence)
    return counted(matches, bridged_runs(direct, bridge, settings.matched_share))


def counted(matches: Matches, number: Ints) -> Runs:
    """The counts of runs that are numbered."""
    pitch = matches.melody.pitch
    moves = (np.diff(pitch[matches.a]) != 0) & (np.diff(pitch[matches.b]) != 0)
    matched = np.bincount(number)
    return Runs(matches, number, matched, count_within(number, moves, len(matched)))


def told(kind: int, runs: Runs, distinct: Ints, passes: Flags, interval: Ints) -> Stretches:
    """The stretches of runs in which every match is one pair of notes.

    Parameters
    ----------
    interval
        Of each run, in cents, or `CHANGING`.
    """
    matches = runs.matches
    melody, a, b = matches.melody, matches.a, matches.b
    first = runs.first()
    end = np.minimum(melody.end[a], melody.end[b])
    length = melody.end - melody.onset
    return Stretches(
        kind=np.full(len(first), kind, np.int64),
        line_a=melody.line[a[first]],
        line_b=melody.line[b[first]],
        interval=interval,
        start=melody.onset[a[first]],
        end=np.maximum.reduceat(end, first) if len(first) else end,
        matched=runs.matched,
        changes=runs.changes,
        distinct=distinct,
        strict=passes,
        own_a=sums(length[a], first),
        own_b=sums(length[b], first),
        stretch=runs.number,
        note_a=melody.note[a],
        note_b=melody.note[b],
        pair_start=melody.onset[a],
        pair_end=end,
        added_to=np.zeros(0, np.int64),
        added=np.zeros(0, np.int64),
    )


def sums(values: Ints, first: Ints) -> Ints:
    """Sums of the values of each stretch, given its first row."""
    return np.add.reduceat(values, first) if len(first) else np.zeros(0, np.int64)


def passing(runs: Runs, thresholds: DoublingThresholds) -> Runs:
    """The runs that pass the inclusive thresholds."""
    return runs.keep((runs.matched >= thresholds.matched) & (runs.changes >= thresholds.changes))


def strict(runs: Runs, distinct: Ints, thresholds: DoublingThresholds) -> Flags:
    """Which runs pass the strict thresholds."""
    return (
        (runs.matched >= thresholds.strict_matched)
        & (runs.changes >= thresholds.strict_changes)
        & (distinct >= thresholds.strict_pitches)
    )
