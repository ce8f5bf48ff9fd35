"""Chords that go with chords, counted by plain loops over the attacks of parts and groups."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from studies.lines import NEEDS, CountedLine, LineName, Stretch, breaks_of, covered
from studies.melody import Note


@dataclass
class _Unit:
    lines: list[CountedLine]
    group: bool
    attacks: dict[int, list[Note]]


def chordal(lines: list[CountedLine]) -> list[Stretch]:
    """Units (parts, and groups of one subfamily or the chorus) whose chords are in another's."""
    units = _units(lines)
    candidates: list[tuple[int, Stretch]] = []
    for inner in units:
        for outer in units:
            names = {line.name for line in inner.lines}
            if names & {line.name for line in outer.lines}:
                continue
            tops = sorted((inner.lines[0].name, outer.lines[0].name))
            rank = 2 * (inner.group or outer.group) + (inner.lines[0].name > outer.lines[0].name)
            for run in _contained(inner.attacks, outer.attacks):
                stretch = _chords_told(run, inner.attacks, outer.attacks, tops[0], tops[1])
                if stretch:
                    candidates.append((rank, stretch))
    found: list[Stretch] = []
    for rank in range(4):
        higher = list(found)
        found += [
            item
            for its_rank, item in candidates
            if its_rank == rank
            and 2 * covered(item, [x for x in higher if (x.a, x.b) == (item.a, item.b)])
            <= item.end - item.start
        ]
    return found


def _units(lines: list[CountedLine]) -> list[_Unit]:
    all_notes: dict[LineName, list[Note]] = {line.name: line.notes for line in lines}
    groups: dict[str, list[CountedLine]] = {}
    parts: dict[str, list[CountedLine]] = {}
    for line in lines:
        groups.setdefault(line.unit, []).append(line)
        parts.setdefault(line.name.part_id, []).append(line)
    chosen = [
        (members, True)
        for members in groups.values()
        if len({line.name.part_id for line in members}) > 1
    ]
    chosen += [(members, False) for members in parts.values()]
    units = []
    for members, group in chosen:
        attacks: dict[int, list[Note]] = {}
        for line in members:
            for note in all_notes[line.name]:
                attacks.setdefault(note.onset, []).append(note)
        units.append(_Unit(members, group, dict(sorted(attacks.items()))))
    return units


def _classes(notes: list[Note]) -> frozenset[int]:
    return frozenset(note.pitch.midi % 12 for note in notes)


def _is_chord(notes: list[Note]) -> bool:
    return len({note.pitch.midi for note in notes}) >= 3 and len(_classes(notes)) >= 2


def _contained(inner: dict[int, list[Note]], outer: dict[int, list[Note]]) -> list[list[int]]:
    """Runs of attacks of the one whose chords are contained in those of the other."""
    moments = list(inner)
    both = [note for attacks in (inner, outer) for notes in attacks.values() for note in notes]
    own = [note for notes in inner.values() for note in notes]
    breaks, own_breaks = breaks_of(both, []), breaks_of(own, [])
    fits = [
        time in outer
        and _is_chord(inner[time])
        and _is_chord(outer[time])
        and _classes(inner[time]) <= _classes(outer[time])
        for time in moments
    ]
    blocks: list[list[int]] = []
    for place, fit in enumerate(fits):
        if not fit:
            continue
        last = blocks[-1] if blocks else []
        since = moments[place - 1] if place else 0
        quiet = any(since < time <= moments[place] for time in breaks)
        if last and last[-1] == place - 1 and not quiet:
            last.append(place)
        else:
            blocks.append([place])
    chains: list[list[list[int]]] = []
    for block in blocks:
        last = chains[-1][-1] if chains else []
        if (
            len(last) >= 2
            and len(block) >= 2
            and block[0] == last[-1] + 2
            and not {moments[block[0] - 1], moments[block[0]]} & own_breaks
        ):
            chains[-1].append(block)
        else:
            chains.append([block])
    found = []
    for chain in chains:
        matched = sum(len(block) for block in chain)
        whole = 4 * matched >= 3 * (matched + len(chain) - 1)
        pieces = [list(itertools.chain(*chain))] if whole else chain
        found += [[moments[place] for place in piece] for piece in pieces]
    return found


def _chords_told(
    run: list[int],
    inner: dict[int, list[Note]],
    outer: dict[int, list[Note]],
    a: LineName,
    b: LineName,
) -> Stretch | None:
    chords = len({_classes(inner[time]) for time in run})
    pitches = min(
        len({max(note.pitch.midi for note in unit[time]) for time in run})
        for unit in (inner, outer)
    )
    inclusive, strict = NEEDS["chordal"]
    sizes = (len(run), chords, pitches)
    if any(size < need for size, need in zip(sizes, inclusive, strict=True)):
        return None
    end = 0
    for time in run:
        for note in inner[time]:
            same = [x for x in outer[time] if (x.pitch.midi - note.pitch.midi) % 12 == 0]
            near = min(same, key=lambda x: (abs(x.pitch.midi - note.pitch.midi), x.pitch.midi))
            end = max(end, min(note.end, near.end))
    return Stretch(
        a, b, "chordal", None, run[0], end,
        all(size >= need for size, need in zip(sizes, strict, strict=True)),
    )  # fmt: skip
