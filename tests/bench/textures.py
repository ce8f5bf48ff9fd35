"""Seconds of the textures of a folder of scores, for 1,000 bars, on one core after reading.

python tests/bench/textures.py FOLDER
"""

from __future__ import annotations

import time
from pathlib import Path

from measuring import REPETITIONS, arguments

from collaparte import reference
from collaparte.manifest import from_path
from collaparte.measures.textures import textures
from collaparte.readers import read
from collaparte.schema import Tables
from collaparte.settings import Settings

GOAL = 1.5


def seconds_and_bars(folder: Path) -> tuple[float, int]:
    """Least seconds for all movements, added up, and their bars."""
    facts, settings = reference.load(), Settings()
    seconds, bars = 0.0, 0
    for entry in from_path(folder):
        tables = read(entry.read_bytes(), entry.movement, facts, settings)
        seconds += min(_timed(tables, facts, settings) for _ in range(REPETITIONS))
        bars += len(tables["bars"])
    return seconds, bars


def _timed(tables: Tables, facts: reference.Reference, settings: Settings) -> float:
    start = time.perf_counter()
    textures(tables, facts, settings)
    return time.perf_counter() - start


def main() -> None:
    seconds, bars = seconds_and_bars(arguments(__doc__).folder)
    print(
        f"textures: {1000 * seconds / bars:.2f} s for 1,000 bars ({seconds:.2f} s, {bars} bars); "
        f"goal {GOAL} s"
    )


if __name__ == "__main__":
    main()
