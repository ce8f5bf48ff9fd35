"""What the tables say of 200 notes against labels written by hand from the files' own lines.

`notes.csv` was written before the program was asked about these notes. The notes are those of
`draw.py`. Beside every label stands the line of the unzipped score that it rests on, or the line
before which there is nothing; `corrected_because` is for the reason of a later change, if any.

How the labels were made, where the definitions leave a choice:

- `dynamic` is as printed, brackets and words included; compared are the mark and its modifier.
- `degree_low`, `degree_high`: between the levels before and after where a hairpin or word leads
  from one to the other, else both are the level in force. After fp the level is p, on its own
  note too.
- cresc. and dim. in words hold to the next level or wedge or for four bars from where they
  stand; dashes that reach no further than the note under the word shorten nothing.
- `techniques` are how it is played, `players` the words of who plays: ids of terms.csv, those of
  the groups division, section, prominence and players apart. Default states are not named. A
  word of players holds until the next such word; Solo in winds (`solo_prominent`) ends with the
  next rest of a bar or more; `sul_string` holds for its own phrase; spiccato ends with a word
  for a longer stroke.
- A tremolo of one or two strokes that spells out eighths or sixteenths is no technique.
- `line` is the rank on the staff, from the top, where at least 5% of the onsets of the staff
  carry more than one pitch; ranks below the last line belong to it. Else none.
- `player` is the number in the part's name.
- `instrument`: the name, narrowed by the transposition, narrowed by the sound id.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import draw
import pytest

from collaparte import manifest, readers, reference
from collaparte.schema import Tables
from collaparte.settings import Settings

Label = dict[str, str]

LEAST = 0.98
"""Share of the notes on which labels and tables agree, column by column."""

NONE = "none"
LABELS = Path(__file__).with_name("notes.csv")
TERMS = Path(reference.__file__).with_name("terms.csv")
GROUPS_OF_PLAYERS = {"division", "section", "prominence", "players"}
COLUMNS = (
    "dynamic",
    "degree",
    "accent",
    "hairpin",
    "techniques",
    "players",
    "line",
    "player",
    "instrument",
    "ensemble",
)
ASSERTED = ("dynamic", "degree", "hairpin", "techniques", "instrument", "line")

_MARK = re.compile(r"(?<!\w)(più|piu|meno|poco|p{1,5}|m[pf]|f{1,5}|fp|sfp|sfpp|mfp|ffp)(?!\w)")


@cache
def labels() -> tuple[Label, ...]:
    with LABELS.open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@cache
def _terms_of_players() -> frozenset[str]:
    with TERMS.open(encoding="utf-8", newline="") as file:
        return frozenset(
            row["id"] for row in csv.DictReader(file) if row["group"] in GROUPS_OF_PLAYERS
        )


def _mark(text: str | None) -> str:
    """The mark and its modifier, without brackets and words of expression."""
    return " ".join(_MARK.findall(text or "")) or NONE


def _joined(ids: Iterable[str]) -> str:
    return ";".join(sorted(ids)) or NONE


def _told(tables: Tables) -> Mapping[tuple[str, int], list[dict[str, str]]]:
    """What the tables say, by part and `note` element: one row for each line of a note."""
    part_ids = dict(zip(*_columns(tables, "parts", "part_index", "part_id"), strict=True))
    players = dict(zip(*_columns(tables, "lines", "line_key", "player"), strict=True))
    lines: dict[tuple[int, int], set[int]] = {}
    rows = tables["notes"].to_pylist()
    for row in rows:
        lines.setdefault((row["part_index"], row["staff"]), set()).add(row["line_key"])
    told: dict[tuple[str, int], list[dict[str, str]]] = {}
    for row in rows:
        on_staff = sorted(lines[row["part_index"], row["staff"]])
        number = re.search(r"(?<!\w)(?<!staff )\d(?!\w)", players[row["line_key"]])
        of_players = _terms_of_players() & set(row["players_stated"])
        one = {
            "dynamic": _mark(row["dynamic"]),
            "degree": NONE if row["dynamic_degree"] is None else f"{row['dynamic_degree']:.6g}",
            "accent": row["dynamic_accent"] or NONE,
            "hairpin": row["hairpin"] or NONE,
            "techniques": _joined(set(row["techniques"])),
            "players": _joined(of_players),
            "line": str(on_staff.index(row["line_key"]) + 1) if len(on_staff) > 1 else NONE,
            "player": number[0] if number else NONE,
            "instrument": row["instrument"] or NONE,
            "ensemble": row["ensemble"],
        }
        for source in row["source_notes"]:
            told.setdefault((part_ids[row["part_index"]], source), []).append(one)
    return told


def _columns(tables: Tables, table: str, *names: str) -> list[list[Any]]:
    return [tables[table][name].to_pylist() for name in names]


def _labelled(label: Label, column: str) -> str:
    if column == "dynamic":
        return _mark(label["dynamic"])
    if column == "degree":
        low, high = label["degree_low"], label["degree_high"]
        return low if low == high else f"{low} to {high}"
    return label[column]


def _agrees(label: Label, column: str, value: str) -> bool:
    if column == "degree" and NONE not in (value, label["degree_low"]):
        low, high = float(label["degree_low"]), float(label["degree_high"])
        return low - 1e-3 <= float(value) <= high + 1e-3
    if column == "degree":
        return value == label["degree_low"]
    return value == _labelled(label, column)


@pytest.fixture(scope="module")
def differences(scores: Path) -> Mapping[str, list[str]]:
    """A sentence for every label that the tables do not agree with, by column."""
    found: dict[str, list[str]] = {column: [] for column in COLUMNS}
    for movement in dict.fromkeys(label["movement"] for label in labels()):
        (entry,) = manifest.from_path(scores / f"{movement}.mxl")
        tables = readers.read(entry.read_bytes(), entry.movement, reference.load(), Settings())
        told = _told(tables)
        for label in labels():
            if label["movement"] != movement:
                continue
            rows = told.get((label["part_id"], int(label["note_index"])), [])
            for column in COLUMNS:
                values = sorted({row[column] for row in rows})
                if not values or not all(_agrees(label, column, value) for value in values):
                    place = "{movement} {part_id} note {note_index} bar {bar} {written_pitch}"
                    found[column].append(
                        f"{column}: {place.format_map(label)}: "
                        f"by hand {_labelled(label, column)}, table {' and '.join(values) or '-'}"
                    )
    return found


def test_labels_are_of_the_notes_drawn(scores: Path) -> None:
    drawn = [tuple(map(str, note.row)) for note in draw.draw(draw.movements(scores))]
    address = ("movement", "part_id", "note_index", "bar", "written_pitch")
    assert [tuple(label[name] for name in address) for label in labels()] == drawn


def test_labels_are_complete_and_each_rests_on_a_line() -> None:
    assert len({(x["movement"], x["part_id"], x["note_index"]) for x in labels()}) == 200
    assert len({label["movement"] for label in labels()}) == 22
    grounds = [name for name in labels()[0] if "rest" in name]
    assert len(grounds) == len(COLUMNS)
    for label in labels():
        assert all(re.search(r"\d", label[name]) for name in grounds), label
        assert all(value for name, value in label.items() if name != "corrected_because"), label


def test_tables_agree_with_the_labels(differences: Mapping[str, list[str]]) -> None:
    count = len(labels())
    for column, unlike in differences.items():
        print(f"{column}: {count - len(unlike)} of {count}")
    total = count * len(differences)
    print(f"all: {total - sum(map(len, differences.values()))} of {total}")
    for unlike in differences.values():
        print(*unlike, sep="\n")
    most = (1 - LEAST) * count + 1e-9
    low = {name: differences[name] for name in ASSERTED if len(differences[name]) > most}
    assert not low, low
