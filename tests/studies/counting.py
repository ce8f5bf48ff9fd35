"""What goes with what, counted by plain loops over the lists of notes.

Written from the definitions of doubling alone; it shares nothing with the pipeline. It
finds what was not planted: a by-product of the composing.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass

from studies.melody import QUARTER, Note
from studies.score import Score, instrument_in, key_in

KINDS = (
    "unison", "octave", "octave_displaced", "reiterated", "main_notes", "chordal",
    "parallel_thirds", "parallel_sixths",
)  # fmt: skip
# Matched notes, changes of pitch, distinct pitches: inclusive, then strict.
_NEEDS = {
    "unison": ((4, 3, 1), (10, 7, 4)),
    "octave": ((4, 3, 1), (10, 7, 4)),
    "octave_displaced": ((4, 3, 1), (14, 10, 4)),
    "reiterated": ((4, 3, 1), (6, 4, 1)),
    "main_notes": ((4, 3, 1), (10, 7, 1)),
    "chordal": ((3, 2, 1), (8, 4, 1)),
    "parallel_thirds": ((8, 6, 1), (10, 8, 4)),
    "parallel_sixths": ((8, 6, 1), (10, 8, 4)),
}
_SILENCE = 4 * QUARTER
_SHARE_OF_ONSETS = 20
"""A further line of a staff exists from one onset in so many on."""


@dataclass(frozen=True, order=True)
class LineName:
    """A line: part, staff, its place on the staff from the top, instrument, one player alone."""

    place: int
    part_id: str
    staff: int
    rank: int
    instrument: str
    alone: bool = False


@dataclass
class CountedLine:
    """One line and its notes, one an onset: the top one."""

    name: LineName
    unit: str
    """Subfamily, or `chorus`: what it is in a group with."""
    notes: list[Note]


@dataclass(frozen=True)
class Stretch:
    """One stretch in which two lines go together."""

    a: LineName
    b: LineName
    kind: str
    interval: int | None
    start: int
    end: int
    strict: bool


Pair = tuple[Note, Note]
Run = list[Pair]


def lines_of(score: Score) -> list[CountedLine]:
    """The lines of a score in its order."""
    lines: list[CountedLine] = []
    for place, part in enumerate(score.study.parts):
        found: dict[tuple[int, int, str, bool], dict[int, Note]] = {}
        units: dict[str, str] = {}
        for staff, seats in enumerate(part.seats, 1):
            ranked: list[tuple[int, Note]] = []
            for first, seat in enumerate(seats):
                at: dict[int, list[Note]] = {}
                for item in score.seats.get(seat, ()):
                    at.setdefault(item.note.onset, []).append(item.note)
                for notes in at.values():
                    notes.sort(key=lambda note: -note.pitch.midi)
                    ranked += [(first + rank, note) for rank, note in enumerate(notes)]
            onsets = {note.onset for _, note in ranked}
            ranks = max((rank for rank, _ in ranked), default=0)
            while ranks and _SHARE_OF_ONSETS * len(
                {note.onset for rank, note in ranked if rank >= ranks}
            ) < len(onsets):
                ranks -= 1
            for rank, note in ranked:
                number = score.scene_at(note.onset)
                instrument, name = instrument_in(part, number), key_in(part, number)
                units[name] = "chorus" if instrument.family == "voice" else instrument.subfamily
                alone = score.alone(seats[0], note.onset)
                key = staff, min(rank, ranks), name, alone
                line = found.setdefault(key, {})
                other = line.get(note.onset)
                if other is None or note.pitch.midi > other.pitch.midi:
                    line[note.onset] = note
        lines += [
            CountedLine(
                LineName(place, part.part_id, staff, rank, instrument_key, alone),
                units[instrument_key],
                [line[onset] for onset in sorted(line)],
            )
            for (staff, rank, instrument_key, alone), line in sorted(found.items())
        ]
    return lines


def stretches(score: Score) -> list[Stretch]:
    """All stretches of all pairs of lines that pass the inclusive thresholds."""
    lines = lines_of(score)
    chordal = _chordal(score, lines)
    found: list[Stretch] = []
    for place, a in enumerate(lines):
        for b in lines[place + 1 :]:
            told: list[Stretch] = []
            for kind in KINDS:
                if kind == "chordal":
                    candidates = [item for item in chordal if (item.a, item.b) == (a.name, b.name)]
                else:
                    runs = _of_kind(kind, a.notes, b.notes)
                    candidates = [
                        stretch for run in runs if (stretch := _told(kind, run, a.name, b.name))
                    ]
                higher = list(told)
                told += [
                    item
                    for item in candidates
                    if 2 * _covered(item, higher) <= item.end - item.start
                ]
            found += told
    return found


def _covered(stretch: Stretch, others: Iterable[Stretch]) -> int:
    return sum(
        any(other.start <= time < other.end for other in others)
        for time in range(stretch.start, stretch.end)
    )


def _of_kind(kind: str, a: list[Note], b: list[Note]) -> list[Run]:
    if kind in ("unison", "octave"):
        runs = _runs(a, b, _octaves)
        return [run for run in runs if (_octaves(*run[0]) == 0) == (kind == "unison")]
    if kind == "octave_displaced":
        runs = _runs(a, b, lambda x, y: None if _octaves(x, y) is None else "same")
        return [run for run in runs if len({_octaves(*pair) for pair in run}) > 1]
    if kind == "reiterated":
        found = []
        for run in _runs(_joined(a), _joined(b), _octaves):
            start, end = run[0][0].onset, max(max(x.end, y.end) for x, y in run)
            raw = [sum(start <= note.onset < end for note in line) for line in (a, b)]
            if 10 * max(raw) > 12 * min(raw):
                found.append(run)
        return found
    if kind == "main_notes":
        turned = [[(x, y) for y, x in run] for run in _main_notes(b, a)]
        return _main_notes(a, b) + turned
    steps = 2 if kind == "parallel_thirds" else 5

    def side(x: Note, y: Note) -> Hashable:
        """Third or sixth with octaves, and who is above."""
        distance = abs(y.pitch.degree - x.pitch.degree) % 7
        return (distance, y.pitch.degree > x.pitch.degree) if distance in (2, 5) else None

    return [
        run
        for run in _runs(a, b, side)
        if abs(run[0][1].pitch.degree - run[0][0].pitch.degree) % 7 == steps
        and 10 * sum(x.end == y.end for x, y in run) >= 8 * len(run)
        and len({min(x.end, y.end) - x.onset for x, y in run}) >= 2
    ]


def _octaves(x: Note, y: Note) -> int | None:
    interval = y.pitch.midi - x.pitch.midi
    return interval if interval % 12 == 0 else None


def _runs(a: list[Note], b: list[Note], key: Callable[[Note, Note], Hashable]) -> list[Run]:
    """Runs of matched onsets of one key, single unmatched onsets bridged."""
    at_a, at_b = {note.onset: note for note in a}, {note.onset: note for note in b}
    moments = sorted({*at_a, *at_b})
    breaks = _breaks(a, b)
    keys = [
        key(at_a[time], at_b[time]) if time in at_a and time in at_b else None for time in moments
    ]
    lone = [time not in at_a or time not in at_b for time in moments]
    blocks: list[list[int]] = []
    for place, value in enumerate(keys):
        if value is None:
            continue
        last = blocks[-1] if blocks else []
        if (
            last
            and last[-1] == place - 1
            and keys[last[0]] == value
            and moments[place] not in breaks
        ):
            last.append(place)
        else:
            blocks.append([place])
    chains: list[list[list[int]]] = []
    for block in blocks:
        last = chains[-1][-1] if chains else []
        bridged = (
            len(last) >= 2
            and len(block) >= 2
            and block[0] == last[-1] + 2
            and lone[block[0] - 1]
            and keys[block[0]] == keys[last[0]]
            and not {moments[block[0] - 1], moments[block[0]]} & breaks
        )
        if bridged:
            chains[-1].append(block)
        else:
            chains.append([block])
    found = []
    for chain in chains:
        matched = sum(len(block) for block in chain)
        whole = 4 * matched >= 3 * (matched + len(chain) - 1)
        for places in [list(itertools.chain(*chain))] if whole else chain:
            times = [moments[place] for place in places]
            found.append([(at_a[time], at_b[time]) for time in times])
    return found


def _breaks(a: list[Note], b: list[Note]) -> set[int]:
    """Onsets before which both lines are silent for more than four quarters."""
    found: set[int] = set()
    reached = None
    for note in sorted(a + b, key=lambda note: note.onset):
        if reached is not None and note.onset - reached > _SILENCE:
            found.add(note.onset)
        reached = max(reached or 0, note.end)
    return found


def _joined(line: list[Note]) -> list[Note]:
    found: list[Note] = []
    for note in line:
        last = found[-1] if found else None
        if last and last.pitch.midi == note.pitch.midi and note.onset - last.end <= QUARTER:
            found[-1] = Note(last.onset, note.end - last.onset, last.pitch)
        else:
            found.append(note)
    return found


def _main_notes(sparse: list[Note], full: list[Note]) -> list[Run]:
    at = {note.onset: note for note in full}
    breaks = _breaks(sparse, full)
    runs: list[Run] = []
    going = None
    for note in sparse:
        other = at.get(note.onset)
        interval = None if other is None else _octaves(note, other)
        if other is None or interval is None:
            going = None
            continue
        quiet = runs and any(runs[-1][-1][0].onset < time <= note.onset for time in breaks)
        if going == interval and not quiet:
            runs[-1].append((note, other))
        else:
            runs.append([(note, other)])
        going = interval
    return [
        run
        for run in runs
        if 4 * sum(run[0][0].onset <= note.onset <= run[-1][0].onset for note in full)
        >= 5 * len(run)
    ]


def _told(kind: str, run: Run, a: LineName, b: LineName) -> Stretch | None:
    changes = sum(
        one[0].pitch.midi != two[0].pitch.midi and one[1].pitch.midi != two[1].pitch.midi
        for one, two in itertools.pairwise(run)
    )
    pitches = min(len({pair[side].pitch.midi for pair in run}) for side in (0, 1))
    sizes = (len(run), changes, pitches)
    inclusive, strict = _NEEDS[kind]
    if any(size < need for size, need in zip(sizes, inclusive, strict=True)):
        return None
    steady = kind in ("unison", "octave", "reiterated", "main_notes")
    return Stretch(
        a,
        b,
        kind,
        _octaves(*run[0]) if steady else None,
        run[0][0].onset,
        max(min(x.end, y.end) for x, y in run),
        all(size >= need for size, need in zip(sizes, strict, strict=True)),
    )


@dataclass
class _Unit:
    lines: list[CountedLine]
    group: bool
    attacks: dict[int, list[Note]]


def _chordal(score: Score, lines: list[CountedLine]) -> list[Stretch]:
    """Units (parts, and groups of one subfamily or the chorus) whose chords are in another's."""
    units = _units(score, lines)
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
            and 2 * _covered(item, [x for x in higher if (x.a, x.b) == (item.a, item.b)])
            <= item.end - item.start
        ]
    return found


def _units(score: Score, lines: list[CountedLine]) -> list[_Unit]:
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
    breaks, own_breaks = _breaks(both, []), _breaks(own, [])
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
    inclusive, strict = _NEEDS["chordal"]
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
