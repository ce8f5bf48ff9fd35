"""How long it takes to find passages like a given one, in a store of many movements.

The scores of the folder are taken again and again under other names until there are as many
movements as asked for. Told are the first search of an open store, which makes the index of all
bars, and the least and the most of the later ones, for passages of several lengths from several
places of the longest movement.
"""

from __future__ import annotations

import json
import shutil
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


def measure(folder: Path, movements: int) -> dict[str, Any]:
    """Seconds of the searches, and how large the store is."""
    files = sorted(measuring.musicxml_files(folder))
    with tempfile.TemporaryDirectory() as temporary:
        scores = Path(temporary) / "scores"
        scores.mkdir()
        for number, file in enumerate(islice(cycle(files), movements)):
            shutil.copy(file, scores / f"{number:04}{file.suffix}")
        collaparte.build(scores, Path(temporary) / "store")
        store = collaparte.open(Path(temporary) / "store")
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
            "first_s": _seconds(lambda: store.similar(movement, names[0])),
        }
        for length in (length for length in LENGTHS if length <= bars):
            step = max(1, (bars - length) // PLACES)
            starts = range(0, bars - length + 1, step)[:PLACES]
            spent = [
                _search(store, movement, names[start], names[start + length - 1])
                for start in starts
            ]
            found[f"bars_{length}_s"] = [min(spent), max(spent)]
    return {**found, **measuring.machine()}


def _search(store: Any, movement: str, first: str, last: str) -> float:
    return _seconds(lambda: store.similar(movement, f"{first}-{last}"))


def _seconds(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def report(found: dict[str, Any], as_json: bool) -> None:
    """Print the times."""
    print(f"{found['movements']} movements, {found['bars']} bars")
    print(f"first search, with the index: {1000 * found['first_s']:.0f} ms")
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
