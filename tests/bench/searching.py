"""How long it takes to find passages like a given one, in a store of many movements.

The scores of the folder are taken again and again under other names until there are as many
movements as asked for. Told are the whole command; in new processes, without their start and
imports, the opening of the store and the first search; and the least and the most of the later
ones, for passages of several lengths from several places of the longest movement.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import cycle, islice
from pathlib import Path
from typing import Any

import measuring

import collaparte

LENGTHS = (1, 4, 16, 64)
"""Bars of the passages; those longer than the longest movement are left out."""

PLACES = 5

FIRST_BARS = 16
"""Of the passage that is searched first."""


def measure(folder: Path, movements: int) -> dict[str, Any]:
    """Seconds of the searches, and how large the store is."""
    files = sorted(measuring.musicxml_files(folder))
    with tempfile.TemporaryDirectory() as temporary:
        scores, root = Path(temporary) / "scores", Path(temporary) / "store"
        scores.mkdir()
        for number, file in enumerate(islice(cycle(files), movements)):
            shutil.copy(file, scores / f"{number:04}{file.suffix}")
        collaparte.build(scores, root)
        store = collaparte.open(root)
        ((movement, bars),) = store.sql(
            "SELECT any_value(movement_id), count(*) FROM bars GROUP BY movement_key "
            "ORDER BY count(*) DESC, min(movement_id) LIMIT 1"
        ).fetchall()
        ((count, all_bars),) = store.sql(
            "SELECT count(DISTINCT movement_key), count(*) FROM bars"
        ).fetchall()
        printed = store.sql(
            f"SELECT bar FROM bars WHERE movement_id = '{movement}' ORDER BY bar_index"
        ).fetchall()
        names = [bar for (bar,) in printed]
        found: dict[str, Any] = {
            "movements": count,
            "bars": all_bars,
            **_fresh(root, movement, f"{names[0]}-{names[min(bars, FIRST_BARS) - 1]}"),
        }
        store.similar(movement, names[0])
        for length in (length for length in LENGTHS if length <= bars):
            step = max(1, (bars - length) // PLACES)
            starts = range(0, bars - length + 1, step)[:PLACES]
            spent = [
                _search(store, movement, names[start], names[start + length - 1])
                for start in starts
            ]
            found[f"bars_{length}_s"] = [min(spent), max(spent)]
    return {**found, **measuring.machine()}


def _fresh(root: Path, movement: str, bars: str) -> dict[str, float]:
    """Least seconds of the whole command, and of opening and first search in a new process."""
    command = [sys.executable, "-m", "collaparte", "similar", movement, bars, "--store", str(root)]
    rounds = range(measuring.ROUNDS)
    opened = [measuring.in_own_process(_first_search, root, movement, bars) for _ in rounds]
    whole = [
        _seconds(lambda: subprocess.run(command, check=True, capture_output=True)) for _ in rounds
    ]
    opening, first = map(min, zip(*opened, strict=True))
    return {"command_s": min(whole), "opening_s": opening, "first_s": first}


def _first_search(root: Path, movement: str, bars: str) -> tuple[float, float]:
    """Seconds of opening and of the first search, all that they import being there."""
    import collaparte.questions
    import collaparte.similar

    started = time.perf_counter()
    store = collaparte.open(root)
    opened = time.perf_counter()
    store.similar(movement, bars)
    return opened - started, time.perf_counter() - opened


def _search(store: Any, movement: str, first: str, last: str) -> float:
    return _seconds(lambda: store.similar(movement, f"{first}-{last}"))


def _seconds(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def report(found: dict[str, Any], as_json: bool) -> None:
    """Print the times."""
    print(f"{found['movements']} movements, {found['bars']} bars")
    print(f"the whole command: {1000 * found['command_s']:.0f} ms")
    print(f"opening of the store: {1000 * found['opening_s']:.0f} ms")
    print(f"first search: {1000 * found['first_s']:.0f} ms")
    for name in (name for name in found if name.startswith("bars_")):
        least, most = (1000 * seconds for seconds in found[name])
        print(f"passages of {name.split('_')[1]} bars: {least:.0f} to {most:.0f} ms")
    if as_json:
        print(json.dumps(found))


def main() -> None:
    parser = measuring.parser(__doc__)
    parser.add_argument("--movements", type=int, default=110, metavar="N", help="in the store")
    asked = measuring.parsed(parser)
    report(measure(asked.folder, asked.movements), asked.json)


if __name__ == "__main__":
    main()
