"""Chords that double chords once more, by plain loops; written from the definitions alone."""

import itertools
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from brute_force_doublings import QUARTER, Stretch, length, pitch, told

Note = Mapping[str, Any]
Attacks = dict[int, list[Note]]
Match = tuple[int, list[Note], list[Note]]


def chordal(notes: Iterable[Note], lines: Iterable[Note]) -> dict[tuple[int, int], list[Stretch]]:
    """Chordal stretches by pair of the top lines of two units, one story each."""
    sounding = [
        note for note in notes if not (note["is_grace"] or note["is_cue"] or note["is_unpitched"])
    ]
    found: dict[tuple[int, int], list[tuple[int, Stretch]]] = defaultdict(list)
    units = [
        (unit_lines, is_group, attacks_of(sounding, unit_lines))
        for unit_lines, is_group in units_of(list(lines))
    ]
    for x_lines, x_is_group, x in units:
        for y_lines, y_is_group, y in units:
            if set(x_lines) & set(y_lines):
                continue
            rank = 2 * (x_is_group or y_is_group) + (x_lines[0] > y_lines[0])
            pair = min(x_lines[0], y_lines[0]), max(x_lines[0], y_lines[0])
            for run in runs_of(x, y):
                stretch = passing(run, turned=x_lines[0] > y_lines[0])
                if stretch:
                    found[pair].append((rank, stretch))
    kept: dict[tuple[int, int], list[Stretch]] = {}
    for pair, candidates in found.items():
        stays: list[tuple[int, Stretch]] = []
        for rank in range(4):
            higher = [stretch for _, stretch in stays]
            stays += [
                (rank, stretch)
                for its_rank, stretch in candidates
                if its_rank == rank and 2 * told(stretch, higher) <= length(stretch)
            ]
        kept[pair] = [stretch for _, stretch in stays]
    return kept


def units_of(lines: list[Note]) -> list[tuple[list[int], bool]]:
    """The lines of each group of two parts or more, and of each part; true for groups."""
    groups, parts = defaultdict(list), defaultdict(list)
    for line in sorted(lines, key=lambda line: line["line_key"]):
        kind = "chorus" if line["ensemble"] == "chorus" else line["subfamily"]
        if kind is not None:
            groups[kind].append(line)
        parts[line["part_index"]].append(line)
    found = [
        ([line["line_key"] for line in group], True)
        for group in groups.values()
        if len({line["part_index"] for line in group}) > 1
    ]
    return found + [([line["line_key"] for line in part], False) for part in parts.values()]


def attacks_of(notes: list[Note], lines: list[int]) -> Attacks:
    attacks: Attacks = defaultdict(list)
    for note in notes:
        if note["line_key"] in lines:
            attacks[note["onset_ticks"]].append(note)
    return dict(sorted(attacks.items()))


def is_chord(notes: list[Note]) -> bool:
    return len({pitch(note) for note in notes}) >= 3 and len(classes(notes)) >= 2


def classes(notes: list[Note]) -> frozenset[int]:
    return frozenset(note["midi"] % 12 for note in notes)


def end(note: Note) -> int:
    return int(note["onset_ticks"] + note["duration_ticks"])


def runs_of(x: Attacks, y: Attacks) -> list[list[Match]]:
    """Runs over the attacks of x whose chords are contained in those of y."""
    onsets = list(x)
    pieces: list[list[int]] = []
    for place, onset in enumerate(onsets):
        if not (
            onset in y
            and is_chord(x[onset])
            and is_chord(y[onset])
            and classes(x[onset]) <= classes(y[onset])
        ):
            continue
        if pieces and pieces[-1][-1] == place - 1 and not silent(onsets[place - 1], onset, x, y):
            pieces[-1].append(place)
        else:
            pieces.append([place])
    chains: list[list[list[int]]] = []
    for piece in pieces:
        last = chains[-1][-1] if chains else []
        if (
            len(last) >= 2
            and len(piece) >= 2
            and piece[0] == last[-1] + 2
            and not silent(onsets[last[-1]], onsets[last[-1] + 1], x, {})
            and not silent(onsets[last[-1] + 1], onsets[piece[0]], x, {})
        ):
            chains[-1].append(piece)
        else:
            chains.append([piece])
    runs = []
    for chain in chains:
        matched = sum(map(len, chain))
        whole = 4 * matched >= 3 * (matched + len(chain) - 1)
        runs += [[place for piece in chain for place in piece]] if whole else chain
    return [[(onsets[place], x[onsets[place]], y[onsets[place]]) for place in run] for run in runs]


def silent(start: int, stop: int, x: Attacks, y: Attacks) -> bool:
    """Do x and y both rest for more than four quarters between these two onsets?"""
    notes = [note for unit in (x, y) for attack in unit.values() for note in attack]
    reached = max(end(note) for note in notes if note["onset_ticks"] <= start)
    for onset in sorted({note["onset_ticks"] for note in notes}):
        if start < onset <= stop:
            if onset - reached > 4 * QUARTER:
                return True
            begun = [end(note) for note in notes if note["onset_ticks"] == onset]
            reached = max(reached, *begun)
    return False


def passing(run: list[Match], turned: bool) -> Stretch | None:
    chords = [classes(inner) for _, inner, _ in run]
    if len(run) < 3 or len(set(chords)) < 2:
        return None
    tops = [{max(map(pitch, match[side])) for match in run} for side in (1, 2)]
    pairs = []
    own = [0, 0]
    for _, inner, outer in run:
        for note in inner:
            same = [other for other in outer if other["midi"] % 12 == note["midi"] % 12]
            near = min(same, key=lambda other: (abs(pitch(other) - pitch(note)), pitch(other)))
            both = (near, note) if turned else (note, near)
            own = [total + side["duration_ticks"] for total, side in zip(own, both, strict=True)]
            pairs.append(
                (
                    both[0]["note_key"],
                    both[1]["note_key"],
                    note["onset_ticks"],
                    min(end(note), end(near)),
                )
            )
    distinct = min(map(len, tops))
    return Stretch(
        kind="chordal",
        interval=None,
        start=run[0][0],
        end=max(stop for *_, stop in pairs),
        matched=len(run),
        changes=sum(before != now for before, now in itertools.pairwise(chords)),
        distinct=distinct,
        strict=len(run) >= 12 and len(set(chords)) >= 4 and distinct >= 2,
        pairs=sorted(pairs),
        own=(own[0], own[1]),
    )
