"""The way of the data: manifest, readers, measures, measures of the corpus, store."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pyarrow as pa

from collaparte import manifest, reference, resources
from collaparte.corpus_measures import measure_corpus
from collaparte.errors import ScoreError, UsageError, did_you_mean
from collaparte.manifest import Entry
from collaparte.measures import measure
from collaparte.movement import Movement
from collaparte.readers import read
from collaparte.readers.unread import unread
from collaparte.reference import Reference
from collaparte.reference.registers import scheme_names
from collaparte.remarks import SEVERITIES, Remark
from collaparte.schema import Tables
from collaparte.settings import CHANCE_DRAWS, Settings, settings_table
from collaparte.store import Draft, commit, locked, private_folder
from collaparte.workers import Lost, Progress, run

Read = Callable[[bytes, Movement, Reference, Settings], Tables]


@dataclass(frozen=True)
class BuildSummary:
    """What came of a build: movements by state, kinds of remarks by severity, notes."""

    read: int
    failed: int
    skipped: int
    remarks: Mapping[str, int]
    notes: int

    def __str__(self) -> str:
        remarks = ", ".join(f"{severity} {count}" for severity, count in self.remarks.items())
        return (
            f"movements: read {self.read}, failed {self.failed}, skipped {self.skipped}; "
            f"notes: {self.notes}; remarks: {remarks}"
        )


def build(
    source: Path | None,
    store: Path,
    workers: int = 1,
    progress: Progress | None = None,
    chance: bool = False,
    registers: str = "default",
) -> BuildSummary:
    """Read and measure every movement of a source; the tables become the state of a store.

    Parameters
    ----------
    source
        A manifest, a score, or a folder of scores; None is the default manifest.
    store
        Folder of the store.
    workers
        Processes; with 1 everything is done in this one.
    progress
        Called with the movements done so far and all movements.
    chance
        Also what doublings chance would give, which takes longer than all the rest.
    registers
        Scheme of registers, taken for the instruments that have it.

    Raises
    ------
    UsageError
        The source or the store cannot be used, or no scheme is called so. A score that cannot be
        read is no error: its row in `movements` and its remark say so.
    """
    known = scheme_names(reference.load())
    if registers not in known:
        near = did_you_mean(registers, known) or f"; there are {', '.join(known)}"
        raise UsageError(f"there is no scheme of registers {registers}{near}")
    settings = Settings(chance_draws=CHANCE_DRAWS if chance else 0, register_scheme=registers)
    return _build(source, store, workers, progress, read, settings)


_DEFAULTS = Settings()


def _build(
    source: Path | None,
    store: Path,
    workers: int,
    progress: Progress | None,
    read: Read,
    settings: Settings = _DEFAULTS,
) -> BuildSummary:
    entries = manifest.from_path(source or resources.default_manifest())
    with locked(store), private_folder(store) as folder:
        # The largest first, so that no worker is left with it in the end.
        tasks = sorted(entries, key=lambda entry: entry.size, reverse=True)
        one = partial(_read_and_measure, folder=folder, settings=settings, read=read)
        outcomes = zip(tasks, run(one, tasks, workers, progress=progress), strict=True)
        tallies = [_tally_of(entry, outcome, folder) for entry, outcome in outcomes]
        drafts = {name: Draft(folder, name) for name in (e.movement.movement_id for e in entries)}
        corpus = measure_corpus(drafts, settings)
        commit(store, corpus.items(), _common(settings), settings, threads=workers)
        return _summary(tallies, corpus)


@dataclass(frozen=True)
class _Tally:
    """What is counted of one movement."""

    state: str
    notes: int


def _read_and_measure(entry: Entry, folder: Path, settings: Settings, read: Read) -> _Tally:
    """One movement, from its bytes to a draft of its tables."""
    facts = reference.load()
    movement = entry.movement
    if entry.out_of_reach is not None:
        return _put(unread(movement, "skipped", entry.out_of_reach), movement, folder)
    try:
        data = entry.read_bytes()
    except ScoreError as error:
        return _put(unread(movement, "failed", _failure(error.code, str(error))), movement, folder)
    tables = read(data, movement, facts, settings)
    if tables["movements"]["state"].to_pylist() == ["read"]:
        tables = measure(tables, facts, settings)
    return _put(tables, movement, folder)


def _tally_of(entry: Entry, outcome: _Tally | Lost, folder: Path) -> _Tally:
    """The tally; a movement that was lost on the way is put down as failed."""
    if isinstance(outcome, _Tally):
        return outcome
    remark = _failure(outcome.code, outcome.message)
    return _put(unread(entry.movement, "failed", remark), entry.movement, folder)


def _failure(code: str, message: str) -> Remark:
    return Remark(code, message, "The score was left out.", "error")


def _put(tables: Tables, movement: Movement, folder: Path) -> _Tally:
    Draft(folder, movement.movement_id).put(tables)
    return _Tally(
        tables["movements"]["state"].to_pylist()[0],
        len(tables["notes"]) if "notes" in tables else 0,
    )


def _common(settings: Settings) -> dict[str, pa.Table]:
    """The tables that belong to no movement."""
    return {**reference.load().tables(), "settings": settings_table(settings)}


def _summary(
    tallies: Sequence[_Tally], corpus: Mapping[str, Mapping[str, pa.Table]]
) -> BuildSummary:
    states = Counter(tally.state for tally in tallies)
    told = (tables["remarks"] for tables in corpus.values() if "remarks" in tables)
    remarks = Counter(severity for table in told for severity in table["severity"].to_pylist())
    return BuildSummary(
        states["read"],
        states["failed"],
        states["skipped"],
        {severity: remarks[severity] for severity in SEVERITIES},
        sum(tally.notes for tally in tallies),
    )
