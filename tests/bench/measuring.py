"""Time and memory of one way to do a thing, each way in processes of its own.

What is measured must not share a process: lxml frees a tree late, so whatever runs after it
pays for it (seen: twice the time). Ways take turns, so that a busy machine troubles all alike,
and the least of several times is taken, for trouble only ever adds.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import platform
import resource
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Barrier
from pathlib import Path
from typing import Any

from collaparte.manifest import from_path
from collaparte.readers.container import unpack

Prepared = Callable[[bytes], object]
Way = Callable[[], Prepared]
"""Loads its libraries and gives what is to be measured; a function of a module."""

ROUNDS = 3
REPETITIONS = 3
MEGABYTE = 1 << 20
_RSS_UNIT = 1 if sys.platform == "darwin" else 1 << 10
_CONTEXT = multiprocessing.get_context("spawn")

# One core a process: inherited by all that are started, and read when a library is loaded.
os.environ.update(dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1"))


@dataclass(frozen=True)
class Measured:
    """Least seconds of each file, in the order of the files, and the most memory.

    `peak_bytes` is what the process took at most above what it took with all files loaded.
    """

    seconds: tuple[float, ...]
    peak_bytes: int

    @property
    def total(self) -> float:
        """Seconds for all files."""
        return sum(self.seconds)


def arguments(description: str | None) -> argparse.Namespace:
    """The arguments of a bench: `folder`, and `json` where the numbers are wanted as JSON."""
    return parsed(parser(description))


def parser(description: str | None) -> argparse.ArgumentParser:
    """A parser of these arguments, for a bench that takes more."""
    made = argparse.ArgumentParser(description=(description or "").splitlines()[0])
    made.add_argument("folder", type=Path, help="a folder of MusicXML scores")
    made.add_argument("--json", action="store_true", help="the numbers as the last line")
    return made


def parsed(parser: argparse.ArgumentParser) -> argparse.Namespace:
    """The arguments given, their folder being there."""
    found = parser.parse_args()
    if not found.folder.is_dir():
        parser.error(f"{found.folder}: there is no such folder")
    return found


def musicxml_files(folder: Path) -> dict[Path, int]:
    """The MusicXML scores of a folder, each with the size of its document in bytes."""
    sizes = {}
    for entry in from_path(folder):
        if entry.file is None:
            continue
        unpacked = unpack(entry.read_bytes(), entry.file.name)
        if unpacked.format == "musicxml":
            sizes[entry.file] = len(unpacked.data)
    if not sizes:
        raise SystemExit(f"{folder}: no MusicXML score in this folder")
    return sizes


def taking_turns(
    ways: Mapping[str, tuple[Way, Sequence[Path]]],
    rounds: int,
    repetitions: int = REPETITIONS,
) -> dict[str, Measured]:
    """Each way over its files: the least time of each file, the least of the peaks."""
    runs: dict[str, list[Measured]] = {name: [] for name in ways}
    for _ in range(rounds):
        for name, (way, files) in ways.items():
            runs[name].append(in_own_process(_over_files, way, tuple(files), repetitions))
    return {
        name: Measured(
            tuple(map(min, zip(*(run.seconds for run in found), strict=True))),
            min(run.peak_bytes for run in found),
        )
        for name, found in runs.items()
    }


def side_by_side(way: Way, sizes: Mapping[Path, int], processes: int) -> float:
    """Seconds in which processes do their shares of the files at the same time."""
    barrier = _CONTEXT.Barrier(processes)
    running = [_start(_share, way, share, barrier) for share in _shares(sizes, processes)]
    spans = [_result(*each) for each in running]
    return float(max(end for _, end in spans) - min(start for start, _ in spans))


def in_own_process(function: Callable[..., Any], *arguments: object) -> Any:
    """The result of a function, called in a new process that ends with it."""
    return _result(*_start(function, *arguments))


def peak_memory() -> int:
    """Bytes that this process took at most."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * _RSS_UNIT


def peak_memory_of_children() -> int:
    """Bytes that the largest of its ended children took at most."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * _RSS_UNIT


def machine() -> dict[str, Any]:
    """When and on what a measurement was made."""
    return {
        "date": date.today().isoformat(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
        "system": f"{platform.system()} {platform.machine()}",
    }


def show(rows: Sequence[tuple[str, str]], result: Mapping[str, Any], as_json: bool) -> None:
    """Lines for people, headed by the corpus; with `as_json` the result as the last line."""
    corpus = (
        "{files}, {document_mb:.1f} MB of XML; {date}, {cores} cores, Python {python}, {system}"
    )
    width = max(len(label) for label, _ in rows)
    for label, value in (("scores", corpus.format(**result)), *rows):
        print(f"{label:<{width}}  {value}")
    if as_json:
        print(json.dumps(result))


def _over_files(way: Way, files: Sequence[Path], repetitions: int) -> Measured:
    prepared, documents = way(), [_document(file) for file in files]
    before = peak_memory()
    seconds = [
        min(_timed(prepared, document) for _ in range(repetitions)) for document in documents
    ]
    return Measured(tuple(seconds), peak_memory() - before)


def _share(way: Way, files: Sequence[Path], barrier: Barrier) -> tuple[float, float]:
    prepared, documents = way(), [_document(file) for file in files]
    barrier.wait()
    start = time.time()
    for document in documents:
        prepared(document)
    return start, time.time()


def _shares(sizes: Mapping[Path, int], processes: int) -> list[tuple[Path, ...]]:
    """Files dealt out from the largest on, each to who has least."""
    shares: list[list[Path]] = [[] for _ in range(processes)]
    loads = [0] * processes
    for file in sorted(sizes, key=lambda file: -sizes[file]):
        least = loads.index(min(loads))
        shares[least].append(file)
        loads[least] += sizes[file]
    return [tuple(share) for share in shares]


def _document(file: Path) -> bytes:
    return unpack(file.read_bytes(), file.name).data


def _timed(function: Prepared, document: bytes) -> float:
    start = time.perf_counter()
    function(document)
    return time.perf_counter() - start


def _start(function: Callable[..., Any], *arguments: object) -> tuple[Any, Connection]:
    ours, theirs = _CONTEXT.Pipe(duplex=False)
    process = _CONTEXT.Process(target=_answer, args=(theirs, function, *arguments))
    process.start()
    theirs.close()
    return process, ours


def _answer(connection: Connection, function: Callable[..., Any], *arguments: object) -> None:
    connection.send(function(*arguments))


def _result(process: Any, connection: Connection) -> Any:
    try:
        return connection.recv()
    except EOFError:
        raise SystemExit("a measured process died; its error stands above") from None
    finally:
        process.join()
