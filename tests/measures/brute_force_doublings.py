"""Doublings once more, by plain loops over lists of notes: slow, and meant to be read.

Written from the definitions alone; it shares no code with the pipeline. The chordal stretches
are found in `brute_force_chords` and handed in, since they outrank parallels.
"""

import itertools
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Set
from dataclasses import dataclass
from typing import Any

QUARTER = 11_531_520
LETTERS = "CDEFGAB"

# kind: (matched, changes), (strict matched, strict changes, strict pitches)
THRESHOLDS = {
    "unison": ((4, 3), (10, 7, 4)),
    "octave": ((4, 3), (10, 7, 4)),
    "octave_displaced": ((4, 3), (14, 10, 4)),
    "reiterated": ((4, 3), (6, 4, 1)),
    "main_notes": ((4, 3), (10, 7, 1)),
    "parallel_thirds": ((8, 6), (10, 8, 4)),
    "parallel_sixths": ((8, 6), (10, 8, 4)),
}


@dataclass
class Sound:
    """One note, or several repeated ones joined; `parts` are the single notes."""

    onset: int
    end: int
    pitch: int
    degree: int
    parts: list[tuple[int, int, int]]


@dataclass
class Stretch:
    """One stretch of one pair of lines; `pairs` are (note a, note b, start, end)."""

    kind: str
    interval: int | None
    start: int
    end: int
    matched: int
    changes: int
    distinct: int
    strict: bool
    pairs: list[tuple[int, int, int, int]]
    own: tuple[int, int]


Line = list[Sound]


def doublings(
    notes: Iterable[Mapping[str, Any]], chordal: Mapping[tuple[int, int], list[Stretch]]
) -> dict[tuple[int, int], list[Stretch]]:
    """All stretches by pair of line keys, from the rows of the table `notes`."""
    lines = lines_of(notes)
    found = {}
    ordered = sorted(lines)
    for place, key_a in enumerate(ordered):
        for key_b in ordered[place + 1 :]:
            stretches = of_pair(lines[key_a], lines[key_b], chordal.get((key_a, key_b), []))
            if stretches:
                found[key_a, key_b] = stretches
    return found


def lines_of(notes: Iterable[Mapping[str, Any]]) -> dict[int, Line]:
    """The top notes of each line, in order of time."""
    tops: dict[int, dict[int, Mapping[str, Any]]] = defaultdict(dict)
    for note in sorted(notes, key=lambda note: note["note_key"]):
        if note["is_grace"] or note["is_cue"] or note["is_unpitched"]:
            continue
        line = tops[note["line_key"]]
        other = line.get(note["onset_ticks"])
        if other is None or pitch(note) > pitch(other):
            line[note["onset_ticks"]] = note
    return {
        key: [sound(line[onset]) for onset in sorted(line)] for key, line in sorted(tops.items())
    }


def pitch(note: Mapping[str, Any]) -> int:
    return int(note["midi"]) * 100 + int(note["cents"])


def sound(note: Mapping[str, Any]) -> Sound:
    onset = note["onset_ticks"]
    end = onset + note["duration_ticks"]
    degree = note["octave"] * 7 + LETTERS.index(note["step"])
    return Sound(onset, end, pitch(note), degree, [(note["note_key"], onset, end)])


def of_pair(a: Line, b: Line, chordal: list[Stretch]) -> list[Stretch]:
    """The stretches of two lines, one story each, by kind."""
    kept: list[Stretch] = []
    for kind, candidates in (
        ("unison", steady(a, b, "unison")),
        ("octave", steady(a, b, "octave")),
        ("octave_displaced", displaced(a, b)),
        ("reiterated", reiterated(a, b)),
        ("main_notes", main_notes(a, b, 0) + main_notes(a, b, 1)),
        ("chordal", chordal),
        ("parallel_thirds", parallels(a, b, 2, "parallel_thirds")),
        ("parallel_sixths", parallels(a, b, 5, "parallel_sixths")),
    ):
        higher = [stretch for stretch in kept if stretch.kind != kind]
        kept += [stretch for stretch in candidates if 2 * told(stretch, higher) <= length(stretch)]
    return kept


def length(stretch: Stretch) -> int:
    return stretch.end - stretch.start


def told(stretch: Stretch, others: list[Stretch]) -> int:
    """How much of the time of a stretch the others cover."""
    covered, reached = 0, stretch.start
    for other in sorted(others, key=lambda other: other.start):
        begin, end = max(other.start, reached), min(other.end, stretch.end)
        if end > begin:
            covered += end - begin
            reached = end
    return covered


def steady(a: Line, b: Line, kind: str) -> list[Stretch]:
    def key(one: Sound, other: Sound) -> object:
        interval = other.pitch - one.pitch
        return interval if interval % 1200 == 0 else None

    runs = []
    for run in runs_of(a, b, key):
        one, other = run[0]
        if (one.pitch == other.pitch) == (kind == "unison"):
            runs.append(run)
    return passing(kind, runs)


def displaced(a: Line, b: Line) -> list[Stretch]:
    def key(one: Sound, other: Sound) -> object:
        return True if (other.pitch - one.pitch) % 1200 == 0 else None

    runs = [
        run
        for run in runs_of(a, b, key)
        if len({other.pitch - one.pitch for one, other in run}) > 1
    ]
    return passing("octave_displaced", runs)


def reiterated(a: Line, b: Line) -> list[Stretch]:
    def key(one: Sound, other: Sound) -> object:
        interval = other.pitch - one.pitch
        return interval if interval % 1200 == 0 else None

    runs = []
    for run in runs_of(joined(a), joined(b), key):
        onsets_a = sum(len(one.parts) for one, _ in run)
        onsets_b = sum(len(other.parts) for _, other in run)
        if max(onsets_a, onsets_b) * 5 > min(onsets_a, onsets_b) * 6:
            runs.append(run)
    return passing("reiterated", runs)


def joined(line: Line) -> Line:
    """The line with repeated notes joined."""
    result: Line = []
    for note in line:
        before = result[-1] if result else None
        if (
            before is not None
            and before.pitch == note.pitch
            and note.onset - before.parts[-1][2] <= QUARTER
        ):
            before.parts.append(note.parts[0])
            before.end = max(before.end, note.end)
        else:
            result.append(Sound(note.onset, note.end, note.pitch, note.degree, list(note.parts)))
    return result


def main_notes(a: Line, b: Line, sparser: int) -> list[Stretch]:
    """Each onset of the sparser line (0: a, 1: b) stands on an onset of the fuller one."""
    sparse, full = (a, b) if sparser == 0 else (b, a)
    at = {note.onset: note for note in full}
    quiet = silences(a, b)
    runs: list[list[tuple[Sound, Sound]]] = []
    for place, note in enumerate(sparse):
        other = at.get(note.onset)
        if other is None or (other.pitch - note.pitch) % 1200 != 0:
            continue
        row = (note, other) if sparser == 0 else (other, note)
        last = runs[-1][-1] if runs else None
        if (
            last is not None
            and place > 0
            and last[sparser] is sparse[place - 1]
            and last[1].pitch - last[0].pitch == row[1].pitch - row[0].pitch
            and not silent_between(quiet, last[0].onset, note.onset)
        ):
            runs[-1].append(row)
        else:
            runs.append([row])
    kept = []
    for run in runs:
        begin, end = run[0][0].onset, run[-1][0].onset
        onsets = sum(1 for note in full if begin <= note.onset <= end)
        if onsets * 4 >= len(run) * 5:
            kept.append(run)
    return passing("main_notes", kept)


def parallels(a: Line, b: Line, steps: int, kind: str) -> list[Stretch]:
    def key(one: Sound, other: Sound) -> object:
        """Third or sixth, and which line is the upper one."""
        distance = abs(other.degree - one.degree) % 7
        return (distance, other.degree > one.degree) if distance in (2, 5) else None

    runs = []
    for run in runs_of(a, b, key):
        if abs(run[0][0].degree - run[0][1].degree) % 7 != steps:
            continue
        ends = sum(one.end == other.end for one, other in run)
        lengths = {min(one.end, other.end) - one.onset for one, other in run}
        if ends * 5 >= len(run) * 4 and len(lengths) >= 2:
            runs.append(run)
    return passing(kind, runs)


def runs_of(
    a: Line, b: Line, key: Callable[[Sound, Sound], object]
) -> list[list[tuple[Sound, Sound]]]:
    """Runs of matched onsets of one key; single unmatched onsets are bridged."""
    in_a, in_b = {note.onset: note for note in a}, {note.onset: note for note in b}
    onsets = sorted(in_a.keys() | in_b.keys())
    quiet = silences(a, b)
    # Pieces without any gap: their key, the matched notes, place of the first and last onset.
    pieces: list[tuple[object, list[tuple[Sound, Sound]], int, int]] = []
    for place, onset in enumerate(onsets):
        if onset not in in_a or onset not in in_b:
            continue
        row = (in_a[onset], in_b[onset])
        its_key = key(*row)
        if its_key is None:
            continue
        if pieces:
            last_key, rows, first, last = pieces[-1]
            if (
                last == place - 1
                and last_key == its_key
                and not silent_between(quiet, onsets[last], onset)
            ):
                rows.append(row)
                pieces[-1] = (last_key, rows, first, place)
                continue
        pieces.append((its_key, [row], place, place))
    return [
        run
        for chain in chains(pieces, in_a.keys() ^ in_b.keys(), quiet, onsets)
        for run in broken_if_thin(chain)
    ]


def chains(
    pieces: list[tuple[object, list[tuple[Sound, Sound]], int, int]],
    unmatched: Set[int],
    quiet: list[tuple[int, int]],
    onsets: list[int],
) -> list[list[list[tuple[Sound, Sound]]]]:
    """Pieces that are bridged to each other."""
    result: list[list[list[tuple[Sound, Sound]]]] = []
    for number, (its_key, rows, first, _) in enumerate(pieces):
        if number > 0:
            last_key, last_rows, _, last = pieces[number - 1]
            gap = onsets[last + 1] if first == last + 2 else -1
            if (
                gap in unmatched
                and last_key == its_key
                and len(last_rows) >= 2
                and len(rows) >= 2
                and not silent_between(quiet, onsets[last], onsets[first])
            ):
                result[-1].append(rows)
                continue
        result.append([rows])
    return result


def broken_if_thin(
    chain: list[list[tuple[Sound, Sound]]],
) -> list[list[tuple[Sound, Sound]]]:
    """One run, or each piece for itself where fewer than three quarters are matched."""
    rows = [row for piece in chain for row in piece]
    bridges = len(chain) - 1
    return [rows] if 4 * len(rows) >= 3 * (len(rows) + bridges) else chain


def silences(a: Line, b: Line) -> list[tuple[int, int]]:
    """The stretches of more than four quarters in which neither line sounds."""
    found, reached = [], None
    for note in sorted(a + b, key=lambda note: note.onset):
        if reached is not None and note.onset - reached > 4 * QUARTER:
            found.append((reached, note.onset))
        reached = note.end if reached is None else max(reached, note.end)
    return found


def silent_between(quiet: list[tuple[int, int]], start: int, end: int) -> bool:
    return any(start <= begin and finish <= end for begin, finish in quiet)


def passing(kind: str, runs: list[list[tuple[Sound, Sound]]]) -> list[Stretch]:
    """The runs that pass the inclusive thresholds, told as stretches."""
    found = []
    (matched, changes), (strict_matched, strict_changes, strict_pitches) = THRESHOLDS[kind]
    for run in runs:
        moves = sum(
            now[0].pitch != before[0].pitch and now[1].pitch != before[1].pitch
            for before, now in itertools.pairwise(run)
        )
        if len(run) < matched or moves < changes:
            continue
        distinct = min(len({row[side].pitch for row in run}) for side in (0, 1))
        intervals = {other.pitch - one.pitch for one, other in run}
        pairs = [
            (key_a, key_b, max(onset_a, onset_b), min(end_a, end_b))
            for one, other in run
            for key_a, onset_a, end_a in one.parts
            for key_b, onset_b, end_b in other.parts
            if min(end_a, end_b) > max(onset_a, onset_b)
        ]
        changing = kind == "octave_displaced" or kind.startswith("parallel")
        found.append(
            Stretch(
                kind=kind,
                interval=None if changing else intervals.pop() // 100,
                start=run[0][0].onset,
                end=max(min(one.end, other.end) for one, other in run),
                matched=len(run),
                changes=moves,
                distinct=distinct,
                strict=len(run) >= strict_matched
                and moves >= strict_changes
                and distinct >= strict_pitches,
                pairs=sorted(pairs),
                own=(
                    sum(end - onset for one, _ in run for _, onset, end in one.parts),
                    sum(end - onset for _, other in run for _, onset, end in other.parts),
                ),
            )
        )
    return found
