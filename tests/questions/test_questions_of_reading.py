"""Questions about what a score calls for and how it was read, on one small score of our own.

Two bars of four quarters:

- 2 Flutes: both on two notes (a 2), then a chord; forte throughout.
- Harp: two staves, a chord of two above.
- Violin 1: pizzicato for bar 1, arco for bar 2; p, crescendo through bar 2, no level after it.
- Zinkophon: a name that nobody knows.
- Timpani: one note; no table has registers for it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import collaparte
from scores import (
    attributes,
    backup,
    bar,
    chord,
    direction,
    dynamics,
    note,
    part,
    rest,
    score,
    wedge,
    words,
)


def says(text: str) -> str:
    return direction(words(text))


def small_score() -> bytes:
    loud = direction(dynamics("f"))
    return score(
        part(
            bar(loud, says("a 2"), note("C5", 2), note("D5", 2)),
            bar(chord("F5", "A4", duration=4)),
            name="2 Flutes",
        ),
        part(
            bar(
                attributes(staves=2), chord("C5", "A4", duration=4, staff=1), backup(4),
                note("C3", 4, staff=2),
            ),
            bar(rest(4, staff=1)),
            name="Harp",
        ),
        part(
            bar(direction(dynamics("p")), says("pizz."), note("G4", 4)),
            bar(
                says("arco"), direction(wedge("crescendo")), says("dolce"), note("A4", 2),
                says("wie Sternenlicht"), note("B4", 2), direction(wedge("stop")),
            ),
            name="Violin 1",
        ),
        part(bar(says("Allegro"), note("C4", 2), rest(2)), bar(rest(4)), name="Zinkophon"),
        part(bar(note("C3", 1), rest(3)), bar(rest(4)), name="Timpani"),
    )  # fmt: skip


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("reading")
    (folder / "small.musicxml").write_bytes(small_score())
    collaparte.build(folder / "small.musicxml", folder / "store")
    return folder / "store"


def asked(store: Path, question: str, **values: Any) -> list[dict[str, Any]]:
    answer = collaparte.open(store).ask(question, **values)
    return [dict(zip(answer.columns, row, strict=True)) for row in answer.fetchall()]


def test_scoring_counts_players_once(store: Path) -> None:
    """Flutes: 4 + 4 quarters each; the harp has three lines of one player."""
    found = asked(store, "scoring")
    told = [
        (row["instrument"], row["parts"], row["lines"], row["players"], row["sounding_quarters"])
        for row in found
    ]
    assert told == [
        ("flute", 1, 2, 2, 16),
        ("harp", 1, 3, 1, 12),
        ("violin", 1, 1, None, 8),
        ("Zinkophon", 1, 1, 1, 2),
        ("timpani", 1, 1, 1, 1),
    ]
    assert (found[0]["lowest"], found[0]["highest"]) == (69, 77)
    assert [row["ensemble"] for row in found] == ["player", "player", "section"] + ["player"] * 2


def test_techniques_by_instrument(store: Path) -> None:
    """One whole note of the violins is plucked, of eight quarters."""
    assert asked(store, "techniques-by-instrument") == [
        {
            "instrument": "violin",
            "technique": "pizz",
            "share": 0.5,
            "quarters": 4,
            "works": 1,
            "movement_id": "small",
            "bar": "1",
        }
    ]
    assert asked(store, "techniques-by-instrument", instrument="flute") == []


def test_dynamics_by_family(store: Path) -> None:
    """Flutes: 7 (f); strings: 4 (p), for no level follows the crescendo; the harp has none."""
    found = {row["family"]: row for row in asked(store, "dynamics-by-family")}
    assert found["string"] == {
        "family": "string",
        "lower_quartile": 4,
        "median": 4,
        "upper_quartile": 4,
        "in_hairpins": 0.5,
        "unknown": 0,
        "quarters": 8,
    }
    assert (found["woodwind"]["median"], found["woodwind"]["quarters"]) == (7, 16)
    assert (found["plucked"]["median"], found["plucked"]["unknown"]) == (None, 1)


def test_doubtful_parts(store: Path) -> None:
    """The unknown instrument and the drum without registers, the longer sounding first."""
    found = asked(store, "doubtful-parts")
    assert [(row["line"], row["instrument"], row["has_registers"]) for row in found] == [
        ("Zinkophon", None, False),
        ("Timpani", "timpani", False),
    ]
    assert [row["quarters"] for row in found] == [2, 1]
    likely = asked(store, "doubtful-parts", likely=True)
    assert {"2 Flutes, player 1", "Violin 1"} <= {row["line"] for row in likely}


def test_words_not_understood(store: Path) -> None:
    """Of six texts three are ours (a 2, pizz., arco), two not (dolce, Allegro), one unknown."""
    assert asked(store, "words-not-understood") == [
        {
            "text": "wie Sternenlicht",
            "not_understood": "wie Sternenlicht",
            "times": 1,
            "movement_id": "small",
            "bar": "2",
            "part": "Violin 1",
            "understood": None,
            "not_our_business": None,
        },
        {
            "text": "all texts",
            "not_understood": None,
            "times": 6,
            "movement_id": None,
            "bar": None,
            "part": None,
            "understood": 3 / 6,
            "not_our_business": 2 / 6,
        },
    ]


def test_parts_and_lines(store: Path) -> None:
    (row,) = [row for row in asked(store, "parts-and-lines") if row["player"] == "Violin 1"]
    assert row == {
        "movement_id": "small",
        "part": "Violin 1",
        "player": "Violin 1",
        "instrument": "violin",
        "instrument_basis": "name",
        "instrument_confidence": "certain",
        "ensemble": "section",
        "ensemble_basis": "instrument",
        "ensemble_confidence": "likely",
        "notes": 3,
        "lowest": 67,
        "highest": 71,
    }
