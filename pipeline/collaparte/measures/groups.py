"""Unison groups: three or more lines that are one line, in unison or octaves.

Between changes of membership, a group is a connected component of at least three lines under
the same-line doublings that are active. A row is the longest run with the same members in
which, at the onsets that all of them share, the inclusive thresholds of a unison are passed.
Definitions of the project.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints
from collaparte.kernels.joins import positions_within
from collaparte.kernels.runs import count_within, distinct_within
from collaparte.measures.sounding import sounding
from collaparte.reference import Reference
from collaparte.schema import TICKS, Tables, empty, keys, table_of
from collaparte.settings import Settings

_FEWEST_LINES = 3
_LINE = ("line_key", "instrument", "family", "ensemble")


def unison_groups(
    tables: Mapping[str, pa.Table], reference: Reference, settings: Settings
) -> Tables:
    """The tables `unison_groups` and `group_members` from `doublings`, `notes` and `lines`."""
    lines, notes = tables["lines"], tables["notes"]
    doublings = tables["doublings"]
    in_notes = pc.equal(doublings["basis"].cast(pa.string()), "notes")
    doublings = doublings.filter(pc.and_(doublings["same_line"], in_notes))
    if not len(doublings):
        return {name: empty(name) for name in ("unison_groups", "group_members")}
    runs = _runs(*_components(doublings, lines["line_key"].to_numpy()))
    if not len(runs.start):
        return {name: empty(name) for name in ("unison_groups", "group_members")}
    onsets = _common_onsets(runs, notes, lines["line_key"].to_numpy())
    changes = count_within(onsets.run, onsets.changes, len(runs.start))
    enough = np.bincount(onsets.run, minlength=len(runs.start)) >= settings.unison.matched
    kept = np.flatnonzero(enough & (changes >= settings.unison.changes))
    if not len(kept):
        return {name: empty(name) for name in ("unison_groups", "group_members")}
    return _told(runs, onsets, changes, kept, notes, lines)


@dataclass(frozen=True)
class _Runs:
    """Runs of one membership; `run` and `line` have one row a member, by run, then line."""

    start: Ints
    end: Ints
    run: Ints
    line: Ints


@dataclass(frozen=True)
class _Onsets:
    """The onsets that all lines of a run share, by run, then time, then line.

    The first two arrays have one row an onset, the others one row a note.
    """

    run: Ints
    changes: Flags
    """Between an onset and the next: the pitch of the run's first line changes."""
    note_run: Ints
    line: Ints
    note: Ints
    above_lowest: Ints
    """Semitones above the lowest note of the onset."""


def _components(doublings: pa.Table, line_keys: Ints) -> tuple[Ints, Ints]:
    """The moments between which membership does not change, and who belongs together.

    Returns
    -------
    moments
        Shape (spans + 1,).
    leader
        Shape (spans, lines): the first line of the component of each line, or −1.
    """
    start, end = (doublings[name].to_numpy() for name in ("start_ticks", "end_ticks"))
    a, b = (np.searchsorted(line_keys, doublings[name].to_numpy()) for name in ("line_a", "line_b"))
    moments = np.unique(np.concatenate([start, end]))
    first = np.searchsorted(moments, start)
    counts = np.searchsorted(moments, end) - first
    row = np.repeat(np.arange(len(a)), counts)
    span = np.repeat(first, counts) + positions_within(counts)
    lines = len(line_keys)
    one, other = span * lines + a[row], span * lines + b[row]
    leader = np.arange((len(moments) - 1) * lines)
    before = np.zeros(0, np.int64)
    # The smaller number spreads along the doublings until nothing changes.
    while not np.array_equal(before, leader):
        before = leader.copy()
        smaller = np.minimum(leader[one], leader[other])
        np.minimum.at(leader, one, smaller)
        np.minimum.at(leader, other, smaller)
    alone = np.ones(len(leader), np.bool_)
    alone[one] = alone[other] = False
    leader = np.where(alone, -1, leader % lines)
    return moments, leader.reshape(len(moments) - 1, lines)


def _runs(moments: Ints, leader: Ints) -> _Runs:
    spans, lines = leader.shape
    span, line = np.nonzero(leader >= 0)
    spot = span * lines + leader[span, line]
    size = np.bincount(spot, minlength=spans * lines)
    stays = np.zeros((spans, lines), np.bool_)
    stays[1:] = (leader[1:] == leader[:-1]) & (leader[1:] >= 0)
    staying = np.bincount(spot[stays[span, line]], minlength=spans * lines)
    # A component goes on where all its lines were in one of the same size and leader.
    goes_on = (staying == size) & (size == np.append(np.zeros(lines, np.int64), size[:-lines]))
    groups = np.flatnonzero(size >= _FEWEST_LINES)
    opens = groups[~goes_on[groups]]
    if not len(groups):
        return _Runs(*(np.zeros(0, np.int64) for _ in range(4)))
    order = np.lexsort((groups // lines, groups % lines))
    ordered = groups[order]
    opening = np.isin(ordered, opens)
    begin = ordered[opening]
    last = ordered[np.append(np.flatnonzero(opening)[1:], len(ordered)) - 1]
    start, end = moments[begin // lines], moments[last // lines + 1]
    at_opening = np.full(spans * lines, -1)
    at_opening[begin] = np.arange(len(begin))
    member = at_opening[spot] >= 0
    run, line = at_opening[spot[member]], line[member]
    by_time = np.lexsort((begin % lines, end, start))
    place = np.argsort(by_time)
    order = np.lexsort((line, place[run]))
    return _Runs(start[by_time], end[by_time], place[run][order], line[order])


def _common_onsets(runs: _Runs, notes: pa.Table, line_keys: Ints) -> _Onsets:
    rows = sounding(notes)
    line = np.searchsorted(line_keys, notes["line_key"].to_numpy()[rows])
    onset = notes["onset_ticks"].to_numpy()[rows]
    midi = notes["midi"].cast(pa.int64()).fill_null(0).to_numpy()
    width = max(int(onset.max()), int(runs.end.max())) + 1
    spot = line * width + onset
    order = np.lexsort((-midi[rows], spot))
    top = order[np.diff(spot[order], prepend=-1) > 0]
    spot, rows = spot[top], rows[top]
    # The notes of each member while its run lasts.
    begin = np.searchsorted(spot, runs.line * width + runs.start[runs.run])
    counts = np.searchsorted(spot, runs.line * width + runs.end[runs.run]) - begin
    member = np.repeat(np.arange(len(runs.run)), counts)
    at = np.repeat(begin, counts) + positions_within(counts)
    order = np.lexsort((runs.line[member], spot[at] % width, runs.run[member]))
    member, at = member[order], at[order]
    moment = runs.run[member] * width + spot[at] % width
    _, first, count = np.unique(moment, return_index=True, return_counts=True)
    size = np.bincount(runs.run, minlength=len(runs.start))
    common = count == size[runs.run[member[first]]]
    shared = np.repeat(common, count)
    member, note = member[shared], rows[at[shared]]
    run = runs.run[member]
    opens = np.cumsum(count[common]) - count[common]
    lowest = np.minimum.reduceat(midi[note], opens) if len(opens) else opens
    return _Onsets(
        run=run[opens],
        changes=np.diff(midi[note[opens]]) != 0,
        note_run=run,
        line=runs.line[member],
        note=note,
        above_lowest=midi[note] - np.repeat(lowest, count[common]),
    )


def _told(
    runs: _Runs, onsets: _Onsets, changes: Ints, kept: Ints, notes: pa.Table, lines: pa.Table
) -> Tables:
    movement_id = notes["movement_id"][0].as_py()
    numbers = keys(movement_id, np.arange(len(kept), dtype=np.int64))
    members = np.isin(runs.run, kept)
    run, line = np.searchsorted(kept, runs.run[members]), runs.line[members]
    first = np.searchsorted(onsets.note_run, kept)
    last = np.searchsorted(onsets.note_run, kept, side="right") - 1
    families = lines["family"].cast(pa.string()).combine_chunks().dictionary_encode().indices
    family = families.cast(pa.int64()).fill_null(-1).to_numpy()
    chorus = pc.equal(lines["ensemble"].cast(pa.string()), "chorus").to_numpy()
    groups: dict[str, Any] = {
        "group_key": numbers,
        "start_ticks": runs.start[kept],
        "end_ticks": runs.end[kept],
        "start_quarters": runs.start[kept] / TICKS,
        "end_quarters": runs.end[kept] / TICKS,
        "start_bar_index": pc.take(notes["bar_index"], onsets.note[first]),
        "end_bar_index": pc.take(notes["bar_index"], onsets.note[last]),
        "start_bar": pc.take(notes["bar"], onsets.note[first]),
        "end_bar": pc.take(notes["bar"], onsets.note[last]),
        "lines": np.bincount(run),
        "families": distinct_within(run, family[line], len(kept)),
        "has_chorus": np.bincount(run[chorus[line]], minlength=len(kept)) > 0,
        "common_onsets": np.bincount(onsets.run, minlength=len(runs.start))[kept],
        "pitch_changes": changes[kept],
    }
    return {
        "unison_groups": table_of("unison_groups", movement_id, groups),
        "group_members": table_of(
            "group_members",
            movement_id,
            {
                "group_key": numbers[run],
                "interval_to_lowest": _constant_intervals(runs, onsets, members, len(lines)),
                **{name: pc.take(lines[name], line) for name in _LINE},
            },
        ),
    }


def _constant_intervals(runs: _Runs, onsets: _Onsets, members: Flags, lines: int) -> pa.Array:
    """Of each member its distance above the lowest note, null where it changes."""
    spot = onsets.note_run * lines + onsets.line
    order = np.argsort(spot, kind="stable")
    first = np.searchsorted(spot[order], runs.run[members] * lines + runs.line[members])
    last = np.searchsorted(
        spot[order], runs.run[members] * lines + runs.line[members], side="right"
    )
    above = onsets.above_lowest[order]
    changed = np.append(0, np.cumsum(np.append(False, np.diff(above) != 0)))
    return pa.array(above[first], mask=changed[last] != changed[first + 1])
