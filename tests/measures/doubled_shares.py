"""Strict doubled shares of three pairs, beside an independent count by plain loops.

    python tests/measures/doubled_shares.py FOLDER

One row a pair and direction: the share of the time of the first instrument's lines in which a
line of the second plays the same line, as the question rate-of-a-pair answers it on a store of
each score, and as the loops of `brute_force_doublings` count it from the notes. Ends with 1 where
the two differ by a tick in any movement.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from brute_force_chords import chordal
from brute_force_doublings import QUARTER, doublings

import collaparte
from collaparte.manifest import from_path

PAIRS = (("flute", "oboe"), ("bassoon", "violoncello"), ("violoncello", "double-bass"))
SAME_LINE = ["unison", "octave", "octave_displaced", "reiterated"]

Ticks = dict[tuple[str, str, str], tuple[int, int]]
"""Doubled and sounding ticks by first instrument, second instrument and movement."""


@dataclass(frozen=True)
class Counts:
    """The same counted twice, over the movements that have a line of each instrument."""

    asked: Ticks
    counted: Ticks


def both(folder: Path, pairs: Iterable[tuple[str, str]] = PAIRS) -> Counts:
    """Every pair in both directions: from a store of each score, and by plain loops."""
    directions = [way for one, other in pairs for way in ((one, other), (other, one))]
    counts = Counts({}, {})
    for entry in from_path(folder):
        with tempfile.TemporaryDirectory() as store:
            collaparte.build(entry.file, Path(store))
            opened = collaparte.open(Path(store))
            counts.asked.update(asked(opened, directions))
            counts.counted.update(counted(opened, directions))
    return counts


def asked(opened: Any, directions: Iterable[tuple[str, str]]) -> Ticks:
    """What the question answers on a store of one movement; nothing where a line is missing."""
    ((movement,),) = opened.sql("SELECT movement_id FROM movements").fetchall()
    found = {}
    for own, partner in directions:
        rows = opened.ask(
            "rate-of-a-pair",
            instrument=own,
            partner=partner,
            kinds=SAME_LINE,
            every_movement=True,
        )
        columns = "work_id, doubled_quarters, sounding_quarters"
        for work, doubled, sounding in rows.project(columns).fetchall():
            if work is not None:
                found[own, partner, movement] = round(doubled * QUARTER), round(sounding * QUARTER)
    return found


def counted(opened: Any, directions: Iterable[tuple[str, str]]) -> Ticks:
    """What loops over the notes of the movement count."""
    ((movement,),) = opened.sql("SELECT movement_id FROM movements").fetchall()
    notes, lines = (
        opened.sql(f"SELECT * FROM {table} ORDER BY {key}").to_arrow_table().to_pylist()
        for table, key in (("notes", "note_key"), ("lines", "line_key"))
    )
    instruments = {line["line_key"]: line["instrument"] for line in lines}
    there = [way for way in directions if set(way) <= set(instruments.values())]
    spans = strict_spans(notes, lines) if there else {}
    found = {}
    for own, partner in there:
        mine = [key for key, instrument in instruments.items() if instrument == own]
        doubled = sum(
            length(
                span
                for (line, other), overlaps in spans.items()
                if line == key and instruments[other] == partner
                for span in overlaps
            )
            for key in mine
        )
        found[own, partner, movement] = doubled, sum(sounding(notes, key) for key in mine)
    return found


def strict_spans(
    notes: list[dict[str, Any]], lines: list[dict[str, Any]]
) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """Overlaps of matched notes by line and partner, told from both sides."""
    spans: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for (a, b), stretches in doublings(notes, chordal(notes, lines)).items():
        for stretch in stretches:
            if stretch.strict and stretch.kind in SAME_LINE:
                overlaps = [(start, end) for _, _, start, end in stretch.pairs]
                spans.setdefault((a, b), []).extend(overlaps)
                spans.setdefault((b, a), []).extend(overlaps)
    return spans


def sounding(notes: Iterable[Mapping[str, Any]], line: int) -> int:
    return length(
        (note["onset_ticks"], note["onset_ticks"] + note["duration_ticks"])
        for note in notes
        if note["line_key"] == line and not note["is_grace"] and not note["is_cue"]
    )


def length(spans: Iterable[tuple[int, int]]) -> int:
    """Length of the union."""
    total = 0
    reached: int | None = None
    for start, end in sorted(spans):
        begin = start if reached is None else max(start, reached)
        if end > begin:
            total += end - begin
            reached = end
    return total


def report(counts: Counts) -> str:
    """One line a pair and direction, all movements pooled."""
    lines = [f"{'pair':<28}{'movements':>10}{'asked':>12}{'counted':>12}   equal"]
    ways = dict.fromkeys((own, partner) for own, partner, _ in counts.counted)
    for own, partner in ways:
        of_way = [key for key in counts.counted if key[:2] == (own, partner)]
        shares = [
            sum(ticks[key][0] for key in of_way) / sum(ticks[key][1] for key in of_way)
            for ticks in (counts.asked, counts.counted)
        ]
        equal = all(counts.asked[key] == counts.counted[key] for key in of_way)
        lines.append(
            f"{own + ' by ' + partner:<28}{len(of_way):>10}{shares[0]:>12.6f}{shares[1]:>12.6f}"
            f"   {'tick for tick' if equal else 'NO'}"
        )
    return "\n".join(lines)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", type=Path, help="a folder of scores")
    counts = both(parser.parse_args().folder)
    print(report(counts))
    return int(counts.asked != counts.counted)


if __name__ == "__main__":
    sys.exit(main())
