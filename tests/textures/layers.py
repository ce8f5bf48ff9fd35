"""Layers found against layers told by a person who read the score first.

    python tests/textures/layers.py FOLDER

annotations.csv: 16 bars of four movements, annotated from the score before the program's layers
were seen. `lines` are names of lines, or beginnings of such; a line that is only the end of the
passage before is left out and not counted. The figure is the F1 of the question "same layer or
not" over all pairs of annotated lines of a bar that the program has too.
"""

from __future__ import annotations

import csv
import sys
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from collaparte import reference
from collaparte.manifest import from_path
from collaparte.measures.textures.analysis import Analysis, analyse
from collaparte.readers import read
from collaparte.settings import Settings

ANNOTATIONS = Path(__file__).with_name("annotations.csv")
Told = Mapping[tuple[str, str], str]
"""Layer by bar and line."""


@dataclass
class Agreement:
    """Pairs of lines in one layer: for both, for the program alone, for the person alone."""

    both: int = 0
    ours: int = 0
    theirs: int = 0

    @property
    def f1(self) -> float:
        """Harmonic mean of precision and recall."""
        return 2 * self.both / max(2 * self.both + self.ours + self.theirs, 1)

    def __add__(self, other: Agreement) -> Agreement:
        return Agreement(self.both + other.both, self.ours + other.ours, self.theirs + other.theirs)


def annotations() -> dict[str, list[dict[str, str]]]:
    """The rows of the file by movement."""
    found = defaultdict(list)
    with ANNOTATIONS.open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            found[row["movement"]].append(row)
    return found


def told_layers(rows: list[dict[str, str]], players: list[str]) -> dict[int, dict[int, str]]:
    """The layer of each annotated line (its number) by printed bar."""
    told: dict[int, dict[int, str]] = defaultdict(dict)
    for row in rows:
        for name in row["lines"].split("; "):
            lines = [place for place, player in enumerate(players) if player.startswith(name)]
            if not lines:
                raise ValueError(f"{row['movement']}: no line is called {name}")
            for bar in range(int(row["first_bar"]), int(row["last_bar"]) + 1):
                told[bar] |= dict.fromkeys(lines, row["layer"])
    return told


def agreement(found: Analysis, bars: list[str], told: dict[int, dict[int, str]]) -> Agreement:
    """How far the layers found agree with those told."""
    result = Agreement()
    for bar, theirs in told.items():
        place = found.layers.bar == bars.index(str(bar))
        ours = dict(zip(found.layers.line[place], found.layers.layer[place], strict=True))
        for one, other in combinations(sorted(ours.keys() & theirs.keys()), 2):
            same, said = ours[one] == ours[other], theirs[one] == theirs[other]
            result.both += int(same and said)
            result.ours += int(same and not said)
            result.theirs += int(said and not same)
    return result


def measured(folder: Path, settings: Settings) -> Iterator[tuple[str, Agreement]]:
    """The agreement in each annotated movement of a folder."""
    facts, rows = reference.load(), annotations()
    for entry in from_path(folder):
        name = entry.file.stem if entry.file else ""
        if name not in rows:
            continue
        tables = read(entry.read_bytes(), entry.movement, facts, settings)
        found = analyse(tables["notes"], tables["lines"], tables["bars"], facts, settings)
        told = told_layers(rows[name], tables["lines"]["player"].to_pylist())
        yield name, agreement(found, tables["bars"]["bar"].to_pylist(), told)


def main() -> None:
    total = Agreement()
    for name, found in measured(Path(sys.argv[1]), Settings()):
        print(f"{name:<20} F1 {found.f1:.3f}  {found}")
        total += found
    print(f"{'all':<20} F1 {total.f1:.3f}  {total}")


if __name__ == "__main__":
    main()
