"""What goes with what, counted by plain loops over the lists of notes.

Written from the definitions of doubling alone; it shares nothing with the pipeline. It
finds what was not planted: a by-product of the composing.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable

from studies.chords import chordal
from studies.lines import KINDS, NEEDS, LineName, Stretch, breaks_of, covered, lines_of
from studies.melody import QUARTER, Note
from studies.score import Score

Pair = tuple[Note, Note]
Run = list[Pair]


def stretches(score: Score) -> list[Stretch]:
    """All stretches of all pairs of lines that pass the inclusive thresholds."""
    lines = lines_of(score)
    by_chords = chordal(lines)
    found: list[Stretch] = []
    for place, a in enumerate(lines):
        for b in lines[place + 1 :]:
            told: list[Stretch] = []
            for kind in KINDS:
                if kind == "chordal":
                    candidates = [
                        item for item in by_chords if (item.a, item.b) == (a.name, b.name)
                    ]
                else:
                    runs = _of_kind(kind, a.notes, b.notes)
                    candidates = [
                        stretch for run in runs if (stretch := _told(kind, run, a.name, b.name))
                    ]
                higher = list(told)
                told += [
                    item
                    for item in candidates
                    if 2 * covered(item, higher) <= item.end - item.start
                ]
            found += told
    return found


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
    breaks = breaks_of(a, b)
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
    breaks = breaks_of(sparse, full)
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
    inclusive, strict = NEEDS[kind]
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
        tuple(run),
    )
