"""Every note of real scores, as this project reads it and as music21 does.

    python tests/compare/compare.py [FOLDER] [--workers N]

Without a folder: the MusicXML files of music21's bundled corpus. An onset is a bar and a place
in it; where bars begin is compared bar by bar, so that a bar of another length is one difference
and not one for every note after it. Exit code 1 where a difference is in no class.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import music21_events
import source_notes
from classes import CLASSES
from music21_events import Event, PartEvents
from source_notes import NoteId, SourceScore
from tie_pairs import Ties

from collaparte import readers, reference
from collaparte.movement import Movement
from collaparte.readers.container import unpack
from collaparte.schema import TICKS
from collaparte.settings import Settings

SUFFIXES = (".musicxml", ".xml", ".mxl")
ROUNDING_TICKS = 2
SHOWN = 20


@dataclass
class Tally:
    """What was counted in one file or in many.

    `holds` and `differ` count notes (of a class of bars: bars) by class, `held_notes` the notes
    in them; `unclassified` and `unread` are lines for people.
    """

    files: int = 0
    notes: int = 0
    bars: int = 0
    differences: int = 0
    holds: Counter[str] = field(default_factory=Counter)
    differ: Counter[str] = field(default_factory=Counter)
    held_notes: Counter[str] = field(default_factory=Counter)
    unclassified: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        """Count what the other counted."""
        self.files += other.files
        self.notes += other.notes
        self.bars += other.bars
        self.differences += other.differences
        self.holds += other.holds
        self.differ += other.differ
        self.held_notes += other.held_notes
        self.unclassified += other.unclassified
        self.unread += other.unread


@dataclass(frozen=True)
class Ours:
    """One note of ours, with the `note` elements that it stands for."""

    event: Event
    sources: tuple[NoteId, ...]


def compare_file(path: Path) -> Tally:
    """The differences of one file, each with its class."""
    data = path.read_bytes()
    try:
        theirs = music21_events.read(path)
    except Exception as error:  # whatever music21 raises
        return Tally(files=1, unread=[f"{path.name}: music21 fails with {type(error).__name__}"])
    notes, bar_starts = _read_here(data, path.name)
    score = source_notes.read(unpack(data, path.name).data)
    return _compared(path.name, score, notes, bar_starts, theirs)


def compare_files(paths: Sequence[Path], workers: int) -> Tally:
    """The differences of many files, counted together."""
    total = Tally()
    # A copy of a process with threads in it may hang; a fresh one does not.
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        for number, tally in enumerate(pool.map(compare_file, paths), 1):
            total.add(tally)
            if sys.stderr.isatty():
                print(f"\r{number} of {len(paths)} files", end="", file=sys.stderr)
    return total


def bundled() -> list[Path]:
    """The MusicXML files of music21's corpus, in order of path."""
    from music21.corpus.corpora import CoreCorpus

    return sorted(path for path in map(Path, CoreCorpus().getPaths()) if path.suffix in SUFFIXES)


def scores_in(folder: Path) -> list[Path]:
    """The MusicXML files of a folder and of those in it, in order of path."""
    return sorted(path for path in folder.rglob("*") if path.suffix in SUFFIXES)


def table(total: Tally) -> Iterator[str]:
    """The lines that people read: each class with its counts, then why its side is right."""
    yield f"{total.files} files, {total.notes} notes, {total.bars} bars of parts"
    yield f"{'class':26}{'right':12}{'of':>6}{'holds':>7}{'differ':>8}{'share':>8}{'its notes':>11}"
    for kind in CLASSES:
        unit, base = ("notes", total.notes) if kind.notes else ("bars", total.bars)
        holds, differ = total.holds[kind.name], total.differ[kind.name]
        share = differ / base if base else 0
        held = total.held_notes[kind.name]
        yield f"{kind.name:26}{kind.right:12}{unit:>6}{holds:7}{differ:8}{share:8.3%}{held:11}"
    yield f"{total.differences} differences, {len(total.unclassified)} in no class"
    yield from total.unclassified[:SHOWN]
    yield from total.unread
    yield from (f"{kind.name}: {kind.why}" for kind in CLASSES)


def _compared(
    name: str,
    score: SourceScore,
    notes: Mapping[str, list[Ours]],
    bar_starts: Mapping[int, Fraction],
    theirs: Mapping[str, PartEvents],
) -> Tally:
    ties = Ties(score)
    of_notes = {kind.name: kind.notes(ties) for kind in CLASSES if kind.notes}
    of_bars = {kind.name: kind.bars(score) for kind in CLASSES if kind.bars}
    tally = Tally(files=1)
    for kind, members in (of_notes | of_bars).items():
        tally.holds[kind] = len(members)
    tally.held_notes.update({kind: len(members) for kind, members in of_notes.items()})
    for kind, bars in of_bars.items():
        held = (note for note in score.notes() if (note.part_id, note.bar_index) in bars)
        tally.held_notes[kind] = sum(1 for _ in held)
    differing: dict[str, set[Any]] = {kind: set() for kind in tally.holds}
    here = _places(score)
    for part_id in score.parts.keys() | notes.keys() | theirs.keys():
        their_part = theirs.get(part_id, PartEvents((), ()))
        tally.notes += len(notes.get(part_id, ()))
        tally.bars += len(score.parts.get(part_id, ()))
        for side, event, sources in _unlike(notes.get(part_id, []), their_part.events, bar_starts):
            sources = sources or here.get((part_id, event.bar_index, event.onset), ())
            if not _explained(sources, of_notes, differing):
                tally.unclassified.append(f"{name} {part_id} {side} {_told(event)}")
            tally.differences += 1
        for bar_index in _bars_of_other_length(bar_starts, their_part.bar_starts):
            if not _explained([(part_id, bar_index)], of_bars, differing):
                tally.unclassified.append(f"{name} {part_id} bar {bar_index} ends elsewhere")
            tally.differences += 1
    for kind, members in differing.items():
        tally.differ[kind] = len(members)
    return tally


def _places(score: SourceScore) -> dict[tuple[str, int, Fraction], tuple[NoteId, ...]]:
    """The notes that begin at one place of one part."""
    found: dict[tuple[str, int, Fraction], tuple[NoteId, ...]] = {}
    for note in score.notes():
        place = (note.part_id, note.bar_index, note.onset)
        found[place] = (*found.get(place, ()), note.id)
    return found


def _unlike(
    ours: Iterable[Ours], theirs: Iterable[Event], bar_starts: Mapping[int, Fraction]
) -> Iterator[tuple[str, Event, tuple[NoteId, ...]]]:
    """The notes of either side that have no like on the other."""
    left: dict[tuple[Any, ...], list[tuple[int, int, Event]]] = defaultdict(list)
    for event in theirs:
        left[event.spelling].append((*_in_ticks(event, bar_starts), event))
    of_time = {key: Counter(entry[:2] for entry in entries) for key, entries in left.items()}
    unmet = []
    for note in ours:
        spelling, times = note.event.spelling, _in_ticks(note.event, bar_starts)
        if of_time.get(spelling, Counter())[times]:
            of_time[spelling][times] -= 1
        else:
            unmet.append((note, times))
    for note, (onset, duration) in unmet:
        # A length that no number of ticks fits may have been rounded twice.
        near = [
            other
            for other, count in of_time.get(note.event.spelling, Counter()).items()
            if count
            and abs(other[0] - onset) <= ROUNDING_TICKS
            and abs(other[1] - duration) <= ROUNDING_TICKS
        ]
        if near:
            of_time[note.event.spelling][near[0]] -= 1
        else:
            yield "collaparte", note.event, note.sources
    for spelling, entries in left.items():
        for onset, duration, event in entries:
            if of_time[spelling][onset, duration]:
                of_time[spelling][onset, duration] -= 1
                yield "music21", event, ()


def _explained(
    members: Iterable[Any],
    classes: Mapping[str, set[Any]],
    differing: Mapping[str, set[Any]],
) -> bool:
    for kind, of_kind in classes.items():
        found = of_kind.intersection(members)
        if found:
            differing[kind].update(found)
            return True
    return False


def _bars_of_other_length(
    ours: Mapping[int, Fraction], theirs: Sequence[Fraction]
) -> Iterator[int]:
    """Bars after which the two sides are farther apart, or nearer, than before."""
    moved = Fraction(0)
    for bar_index, start in enumerate(theirs):
        now = start - ours[bar_index]
        if abs(now - moved) * TICKS > ROUNDING_TICKS:
            yield bar_index - 1
            moved = now


@cache
def _reference() -> reference.Reference:
    return reference.load()


def _read_here(data: bytes, file_name: str) -> tuple[dict[str, list[Ours]], dict[int, Fraction]]:
    """Our notes by part id, those of several lines once, and where our bars begin."""
    movement = Movement(movement_id="compared", file_name=file_name, work_id="", work="")
    tables = readers.read(data, movement, _reference(), Settings())
    part_ids = dict(
        zip(tables["parts"]["part_index"].to_pylist(), tables["parts"]["part_id"].to_pylist(),
            strict=True)
    )  # fmt: skip
    starts = dict(
        zip(tables["bars"]["bar_index"].to_pylist(), tables["bars"]["start_ticks"].to_pylist(),
            strict=True)
    )  # fmt: skip
    wanted = ("part_index", "bar_index", "onset_ticks", "duration_ticks", "step", "alter", "octave",
              "derived", "source_notes")  # fmt: skip
    notes: dict[str, list[Ours]] = {part_id: [] for part_id in part_ids.values()}
    seen: set[tuple[Any, ...]] = set()
    for row in tables["notes"].select(list(wanted)).to_pylist():
        key = (row["part_index"], row["derived"], *row["source_notes"])
        if key in seen:
            continue
        seen.add(key)
        part_id = part_ids[row["part_index"]]
        event = Event(
            row["bar_index"],
            Fraction(row["onset_ticks"] - starts[row["bar_index"]], TICKS),
            Fraction(row["duration_ticks"], TICKS),
            row["step"],
            None if row["alter"] is None else Fraction(row["alter"]),
            row["octave"],
        )
        notes[part_id].append(Ours(event, tuple((part_id, note) for note in row["source_notes"])))
    return notes, {bar: Fraction(start, TICKS) for bar, start in starts.items()}


def _in_ticks(event: Event, bar_starts: Mapping[int, Fraction]) -> tuple[int, int]:
    """Onset on our bar lines, and duration."""
    onset = bar_starts[event.bar_index] + event.onset
    return round(onset * TICKS), round(event.duration * TICKS)


def _told(event: Event) -> str:
    return (
        f"bar {event.bar_index} at {event.onset} for {event.duration}: "
        f"{event.step}{event.alter}{event.octave}"
    )


def main() -> int:
    """Compare, print the table, and say by the exit code whether every difference has a class."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("folder", type=Path, nargs="?", help="scores; without it music21's own")
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    paths = scores_in(arguments.folder) if arguments.folder else bundled()
    total = compare_files(paths, arguments.workers)
    print("\n".join(table(total)))
    return 1 if total.unclassified else 0


if __name__ == "__main__":
    sys.exit(main())
