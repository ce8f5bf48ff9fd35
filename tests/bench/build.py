"""The whole build against a bare parse of the same bytes, stage by stage, and the questions.

    python tests/bench/build.py FOLDER [--json]

A build starts with the files as they lie in the folder and ends with the committed store, on
one and on two worker processes; the bare parse has its bytes unpacked in memory, on one and on
two processes at the same time. Reading and measures are also timed one by one on one core, and
so is a draw of the null models. Questions are asked of a store of all files five times over, each
copy a movement of its own, built with chance; all movements count.
"""

from __future__ import annotations

import os
import shutil
import statistics
import tempfile
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

from measuring import (
    MEGABYTE,
    REPETITIONS,
    ROUNDS,
    arguments,
    in_own_process,
    machine,
    musicxml_files,
    peak_memory,
    peak_memory_of_children,
    show,
    side_by_side,
)
from reading import bare_parse

ASKED = 7
COPIES = 5
DRAWS = 2
EXAMPLES = {
    "partners-at": {"instrument": "oboe", "pitch": "C6", "dynamic": "f"},
    "why-a-line-leads": {"bar": "1"},
}
"""Values for the questions that do not answer without."""

HEADLINE = "low-winds-double-chorus"
WORKERS = (1, 2)


def build_once(folder: Path, store: Path, workers: int) -> tuple[float, int]:
    """Seconds of one build, and bytes that the largest of its processes took."""
    from collaparte.build import build

    start = time.perf_counter()
    build(folder, store, workers=workers)
    seconds = time.perf_counter() - start
    return seconds, max(peak_memory(), peak_memory_of_children())


def stages(files: list[Path]) -> dict[str, float]:
    """Seconds of reading all files and of each measure, on one core; the least of several."""
    from collaparte import reference

    facts = reference.load()
    seconds: dict[str, float] = defaultdict(float)
    for file in files:
        passes = [stages_of(file, facts) for _ in range(REPETITIONS)]
        for name in passes[0]:
            seconds[name] += min(times[name] for times in passes)
    return dict(seconds)


def stages_of(file: Path, facts: Any) -> dict[str, float]:
    """Seconds of reading one file and of each measure."""
    from collaparte import measures, readers
    from collaparte.movement import Movement
    from collaparte.settings import Settings

    movement = Movement(file.stem, file.name, file.stem, file.stem)
    settings = Settings()
    data = file.read_bytes()
    start = time.perf_counter()
    tables = readers.read(data, movement, facts, settings)
    seconds = {"reading": time.perf_counter() - start}
    for measure in measures.MEASURES:
        needed = {name: tables[name] for name in measure.needs}
        start = time.perf_counter()
        tables |= measure.function(needed, facts, settings)
        seconds[measure.name] = time.perf_counter() - start
    return seconds


def null_draw(files: list[Path]) -> float:
    """Seconds of one draw of a null model for all files, on one core; the mean of both models."""
    from collaparte import readers, reference
    from collaparte.measures.doublings.chance import chance_doubled
    from collaparte.movement import Movement
    from collaparte.settings import Settings

    facts, settings, seconds = reference.load(), Settings(chance_draws=DRAWS), 0.0
    for file in files:
        movement = Movement(file.stem, file.name, file.stem, file.stem)
        tables = readers.read(file.read_bytes(), movement, facts, settings)
        long_enough = len(tables["bars"]) > 2 * settings.shift_margin_bars
        times = []
        for _ in range(REPETITIONS):
            start = time.perf_counter()
            chance_doubled(tables, facts, settings)
            times.append(time.perf_counter() - start)
        seconds += min(times) / (DRAWS * (1 + long_enough))
    return seconds


def copies_built(files: list[Path], folder: Path, store: Path) -> int:
    """Movements of a store of all files, `COPIES` times each, built with chance."""
    from collaparte.build import _build
    from collaparte.readers import read
    from collaparte.settings import CHANCE_DRAWS, Settings

    folder.mkdir()
    for file in files:
        for copy in range(COPIES):
            shutil.copy(file, folder / f"copy{copy}-{file.name}")
    nothing_is_alike = Settings(chance_draws=CHANCE_DRAWS, same_music_share=2.0)
    return _build(folder, store, os.cpu_count() or 1, None, read, nothing_is_alike).read


def questions(store: Path) -> dict[str, float]:
    """Median seconds of every shipped question, with default values and `EXAMPLES`."""
    import collaparte
    from collaparte.questions import REQUIRED, available

    opened = collaparte.open(store)
    seconds = {}
    ((movement,),) = opened.sql("SELECT min(movement_id) FROM bars").fetchall()
    for question in available():
        values = EXAMPLES.get(question.name, {})
        wanted = [each.name for each in question.parameters if each.default is REQUIRED]
        if "movement" in wanted:
            values = {**values, "movement": movement}
        times = []
        for _ in range(ASKED):
            start = time.perf_counter()
            opened.ask(question.name, **values).fetchall()
            times.append(time.perf_counter() - start)
        seconds[question.name] = statistics.median(times)
    return seconds


def measure(folder: Path, rounds: int = ROUNDS) -> dict[str, Any]:
    """The numbers of the bench by name; `_s` seconds, `_mb` millions of bytes by 2²⁰."""
    sizes = in_own_process(musicxml_files, folder)
    bare: dict[int, list[float]] = {workers: [] for workers in WORKERS}
    built: dict[int, list[float]] = {workers: [] for workers in WORKERS}
    peaks: dict[int, int] = {}
    with tempfile.TemporaryDirectory() as temporary:
        for turn in range(rounds):
            for workers in WORKERS:
                bare[workers].append(side_by_side(bare_parse, sizes, workers))
                store = Path(temporary) / f"store-{turn}-{workers}"
                seconds, peaks[workers] = in_own_process(build_once, folder, store, workers)
                built[workers].append(seconds)
        by_stage = in_own_process(stages, list(sizes))
        one_draw = in_own_process(null_draw, list(sizes))
        store = Path(temporary) / "store-of-copies"
        movements = in_own_process(copies_built, list(sizes), Path(temporary) / "copies", store)
        asked = in_own_process(questions, store)
    reading = by_stage["reading"]
    result: dict[str, Any] = {
        **machine(),
        "files": len(sizes),
        "document_mb": sum(sizes.values()) / MEGABYTE,
    }
    for workers in WORKERS:
        result |= {
            f"bare_parse_{workers}_s": min(bare[workers]),
            f"build_{workers}_s": min(built[workers]),
            f"build_{workers}_ratio": min(built[workers]) / min(bare[workers]),
            f"build_{workers}_peak_mb": peaks[workers] / MEGABYTE,
        }
    return result | {
        "stages_s": by_stage,
        "measures_to_reading": (sum(by_stage.values()) - reading) / reading,
        "null_draw_s": one_draw,
        "null_draw_to_doublings": one_draw / by_stage["doublings"],
        "movements_asked": movements,
        "headline_s": asked[HEADLINE],
        "questions_s": asked,
    }


def report(found: dict[str, Any], as_json: bool) -> None:
    """Print what was measured."""
    rows = [
        (
            f"build on {workers}",
            f"{found[f'build_{workers}_s']:.2f} s, {found[f'build_{workers}_peak_mb']:.0f} MB "
            f"in its largest process: {found[f'build_{workers}_ratio']:.1f} times the bare "
            f"parse on {workers} ({found[f'bare_parse_{workers}_s']:.2f} s)",
        )
        for workers in WORKERS
    ]
    reading = found["stages_s"]["reading"]
    rows += [
        (name, f"{seconds:.3f} s: {seconds / reading:.2f} times the reading")
        for name, seconds in found["stages_s"].items()
    ]
    rows.append(("all measures", f"{found['measures_to_reading']:.2f} times the reading"))
    rows.append(
        (
            "one null draw",
            f"{found['null_draw_s']:.3f} s: {found['null_draw_to_doublings']:.2f} times the "
            "doublings",
        )
    )
    rows.append(("questions", f"median of {ASKED}, {found['movements_asked']} movements"))
    rows += [
        (f"question {name}", f"{seconds * 1000:.1f} ms")
        for name, seconds in found["questions_s"].items()
    ]
    show(rows, found, as_json)


def main() -> None:
    asked = arguments(__doc__)
    report(measure(asked.folder), asked.json)


if __name__ == "__main__":
    main()
