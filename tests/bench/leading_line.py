"""Our leading line against the marks of people, beside plain baselines.

    python tests/bench/leading_line.py FOLDER [--write lead_weights.csv]

FOLDER holds MusicXML scores, each with a file `NAME.leading_line.csv` beside it: which part a
person marked as the carrier of the main line from each moment (`qstamp`, `part_num`) on. The
figure is the share of the marked time, in quarters, in which the leading line is the marked part
or doubles it there (same line). Baselines are judged by the same measure. `--write` fits the
weights on all movements of the folder and writes the file of the reference data.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from lead_model import EVIDENCE, Marked, fit, hit_quarters, left_out
from leading_marks import SUFFIX, Numbers, hits

from collaparte import reference
from collaparte.manifest import Entry, from_path
from collaparte.measures.doublings import doublings
from collaparte.measures.textures.analysis import Analysis, analyse
from collaparte.readers import read
from collaparte.settings import Settings
from collaparte.statistics import estimate, generator, observations

TRIAL = {"trial's logistic model": 0.67, "trial: highest sounding part": 0.53,
         "trial: always first violin": 0.44, "trial: most active part": 0.47}  # fmt: skip
"""Figures of the trial on 96 movements."""


def marked_movements(folder: Path, settings: Settings) -> tuple[list[Marked], list[Numbers]]:
    """The movements that have marks, and the lines that each baseline chooses in each."""
    # No evidence depends on the weights, so that weights of other evidence can be written anew.
    facts = replace(reference.load(), lead_weights={})
    movements, chosen = [], []
    for entry in from_path(folder):
        marks = _marks_of(entry)
        if marks is None:
            continue
        tables = read(entry.read_bytes(), entry.movement, facts, settings)
        tables |= doublings(tables, facts, settings)
        found = analyse(tables["notes"], tables["lines"], tables["bars"], facts, settings)
        name = marks.name.removesuffix(SUFFIX)
        composer, work = name.split("_")[:2]
        movements.append(Marked(name, f"{composer}_{work}", composer, found, hits(marks, tables)))
        chosen.append(baselines(found, tables["lines"]["instrument"].to_pylist()))
    if not movements:
        raise SystemExit(f"{folder}: no score with a file *{SUFFIX} beside it")
    return movements, chosen


def _marks_of(entry: Entry) -> Path | None:
    if entry.file is None:
        return None
    marks = entry.file.with_name(entry.file.stem + SUFFIX)
    return marks if marks.is_file() else None


def baselines(found: Analysis, instruments: Sequence[str | None]) -> dict[str, Numbers]:
    """The line that each baseline chooses in each bar."""
    lines = found.lines
    violin = instruments.index("violin") if "violin" in instruments else 0
    return {
        "highest": np.where(lines.present, lines.highest_in_bar, -1).argmax(axis=1),
        "first violin": np.full(found.grid.bars, violin),
        "most active": np.where(lines.present, lines.attacks, -1).argmax(axis=1),
    }


def figures(folder: Path, settings: Settings) -> tuple[list[Marked], dict[str, dict[str, float]]]:
    """Marked time hit in each movement, by way of choosing."""
    movements, chosen = marked_movements(folder, settings)
    weights = {name: row.weight for name, row in reference.load().lead_weights.items()}
    ways = {
        "ours, composer left out": left_out(movements, settings),
        "ours, frozen weights": {
            one.movement: hit_quarters(one, weights, settings) for one in movements
        },
    }
    for name in chosen[0]:
        ways[name] = {
            one.movement: float(one.hits.hit[np.arange(len(lines[name])), lines[name]].sum())
            for one, lines in zip(movements, chosen, strict=True)
        }
    ways["best line of each bar"] = {
        one.movement: float(one.hits.hit.max(axis=1).sum()) for one in movements
    }
    return movements, ways


def report(
    movements: Sequence[Marked], ways: Mapping[str, Mapping[str, float]], settings: Settings
) -> None:
    """Print the shares by composer and of all, with intervals where five works allow one."""
    composers = sorted({one.composer for one in movements})
    groups = {name: [one for one in movements if one.composer == name] for name in composers}
    groups["all"] = list(movements)
    width = max(map(len, ways))
    print(f"{'':<{width}}  " + "  ".join(f"{name:>10}" for name in groups))
    for way, found in ways.items():
        cells = []
        for group in groups.values():
            marked = sum(one.hits.marked.sum() for one in group)
            cells.append(f"{sum(found[one.movement] for one in group) / marked:10.3f}")
        print(f"{way:<{width}}  " + "  ".join(cells))
    print("\nmean over works, with its interval:")
    for name, group in groups.items():
        for way in list(ways)[:2]:
            told = estimate(
                observations(
                    [ways[way][one.movement] for one in group],
                    [one.hits.marked.sum() for one in group],
                    [one.work for one in group],
                    [one.composer for one in group],
                ),
                settings,
                generator(settings.seed, "leading line", name, way),
            )
            interval = (
                "no interval under five works"
                if told.interval is None
                else (f"{told.interval[0]:.3f} to {told.interval[1]:.3f}")
            )
            print(f"{name:>10}  {way:<{width}}  {told.mean:.3f}  {interval}  {told.works} works")
    print("\nthe trial on 96 movements: " + ", ".join(f"{k} {v:.2f}" for k, v in TRIAL.items()))


def write_weights(file: Path, movements: Sequence[Marked]) -> None:
    """Fit the weights on all movements and write them as reference data."""
    marked = sum(one.hits.marked.sum() for one in movements)
    composers = ", ".join(sorted({one.composer for one in movements}))
    source = (
        f"conditional logistic model fitted on {marked:.0f} quarters of {len(movements)} "
        f"movements ({composers}) whose leading part Mark Gotham and contributors marked "
        "(CC BY-SA 4.0)"
    )
    weights = fit(movements)
    with file.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(("evidence", "weight", "source"))
        writer.writerows((name, f"{weights[name]:.3f}", source) for name in EVIDENCE)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", type=Path, help="scores with files of marks beside them")
    parser.add_argument("--write", type=Path, metavar="FILE", help="fit anew and write the weights")
    given = parser.parse_args()
    if not given.folder.is_dir():
        parser.error(f"{given.folder}: there is no such folder")
    settings = Settings()
    if given.write:
        write_weights(given.write, marked_movements(given.folder, settings)[0])
        return
    report(*figures(given.folder, settings), settings)


if __name__ == "__main__":
    main()
