"""The listing of bars says what stands in the score, sign by sign."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from listed_bars import listing

import collaparte
from collaparte.questions import OpenStore
from score_store import Piece, opened
from score_tables import Line, Note, melody

LAMPS = Path(collaparte.__file__).parent / "invented" / "harbour_lamps.musicxml"


def listed(folder: Path, *lines: Line, bars: int = 1, first: int = 0) -> list[str]:
    """The lines of text of the first bars of a movement of these lines."""
    return text_of(opened(folder, {"piece": Piece(lines)}), first, bars)


def text_of(store: OpenStore, first: int, bars: int) -> list[str]:
    ((key,),) = store.sql("SELECT movement_key FROM movements").fetchall()
    return listing(store, key, first, bars).splitlines()


def notes_of(text: list[str]) -> list[str]:
    return text[text.index("Notes") + 1 :]


def marked(onset: float, length: float, midi: int, **marks: Any) -> Note:
    return Note(onset, length, midi, marks)


@pytest.mark.parametrize(
    ("notes", "rhythm", "told"),
    [
        (melody([60, 61, 62, 64]), "xxxx", "1: C4 C#4 D4 E4"),
        ([Note(1, 0.5, 60), Note(2.5, 1, 58)], "..x..x-.", "1: – ½: C4 1: – Bb3 ½: –"),
        ([Note(0, 2, 60), Note(0, 2, 64), Note(2, 2, 62)], "x-x-", "2: [C4 E4] D4"),
        ([Note(0, 4, 60), Note(0, 2, 64), Note(2, 2, 65)], "x-x-", "2: E4 F4 & 4: C4"),
        (melody([60] * 4), "xxxx", "1: C4×4"),
        (melody([60, 64, 67, 64] * 2, 0.5), "xxxxxxxx", "½: (C4 E4 G4 E4)×2"),
        ([marked(0, 4, 60, tremolo_strokes=3)], "x≈≈≈", "4: C4///"),
        ([marked(0, 4, 60, ornament="trill")], "x---", "4: C4tr"),
        ([marked(0, 4, 60, techniques=["roll"])], "x≈≈≈", "4: C4≈"),
        ([Note(0, 1, 60), marked(1, 3, 62, is_cue=True)], "x...", "1: C4 3: –"),
    ],
)
def test_one_bar(tmp_path: Path, notes: list[Note], rhythm: str, told: str) -> None:
    text = listed(tmp_path, Line(notes))
    assert f"line 0 |{rhythm}" in text
    assert notes_of(text) == [f"line 0: {told}"]


def test_rhythm_too_fine_for_the_width_is_counted(tmp_path: Path) -> None:
    """Thirty-seconds of eight bars need 256 places: two are drawn in one."""
    text = listed(tmp_path, Line(melody([60, 62] * 128, 0.125)), bars=8)
    assert "line 0 " + f"|{'2' * 16}" * 8 in text


def test_ties_over_bar_lines_and_bars_that_come_again(tmp_path: Path) -> None:
    tune = [*melody([60, 62, 64, 65]), *melody([60, 62, 64, 65], start=4), Note(8, 8, 67)]
    text = listed(tmp_path, Line(tune), bars=4)
    assert notes_of(text) == ["line 0: 1: C4 D4 E4 F4 | % | 4: G4~ | 4: ~G4"]
    assert "line 0 |xxxx|xxxx|x---|----" in text
    assert notes_of(listed(tmp_path / "later", Line(tune), first=3)) == ["line 0: 4: ~G4"]


def test_lines_that_play_the_same_notes_share_a_row(tmp_path: Path) -> None:
    tune = [60, 62, 64, 65]
    text = listed(
        tmp_path,
        Line(melody(tune)),
        Line(melody([each - 12 for each in tune])),
        Line(melody([each + 24 for each in tune])),
        Line(melody([each + 4 for each in tune])),
        Line([]),
    )
    assert notes_of(text) == [
        "line 0 + line 1 (8ve lower) + line 2 (2 8ves higher): 1: C4 D4 E4 F4",
        "line 3: 1: E4 F#4 G#4 A4",
    ]
    assert "line 0 +2 |xxxx" in text
    assert not [line for line in text if "line 4" in line], "it rests throughout"


def test_a_bar_that_another_row_has_is_named(tmp_path: Path) -> None:
    tune = [60, 62, 64, 65, 67, 65, 64, 62]
    text = listed(
        tmp_path,
        Line([*melody(tune, 0.5), *melody([60, 62, 64, 65], start=4)]),
        Line([*melody([each - 12 for each in tune], 0.5), Note(4, 4, 55)]),
        bars=2,
    )
    assert notes_of(text)[1] == "line 1: =line 0 (8ve lower) | 4: G3"


def test_what_is_plucked_is_told_from_what_is_bowed(tmp_path: Path) -> None:
    plucked = [marked(0, 1, 60, techniques=["pizz"]), Note(1, 3, 60)]
    bowed = [Note(0, 1, 60), Note(1, 3, 60)]
    text = listed(tmp_path, Line(plucked), Line(bowed))
    assert notes_of(text) == ["line 0 <pizz.>: 1: C4 3: <no word> C4", "line 1: 1: C4 3: C4"]


def test_names_metre_and_key_are_as_printed(tmp_path: Path) -> None:
    """Bars 3 and 4 of the invented score: the bassoon an octave below the bass (README)."""
    collaparte.build(LAMPS, tmp_path / "store")
    text = text_of(collaparte.open(tmp_path / "store"), 2, 2)
    assert text[0] == (
        "bars 3-4, 4/4, key signature (concert) 1 flat, Andante (76 quarters a minute)"
    )
    assert notes_of(text)[0] == (
        "Bn. + B. (8ve higher) + Vc. (8ve higher) + Db. <p>: 1: F2 G2 A2 F2 | 1: Bb1 D2 2: C2"
    )
