"""Questions about registers, spacing and passages, each held to rows worked out by hand.

All scores here go in quarters, four to a bar. TUNE has twelve notes, so it fills bars 1 to 3 and
passes the strict thresholds.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from score_store import TUNE, Piece, answer
from score_tables import Line, Note

STRING = {"instrument": "violin", "family": "string", "subfamily": "violins"}
CHORUS = {"instrument": "voice-alto-choir", "family": "voice", "ensemble": "chorus"}


def tune(shift: int = 0, start: float = 0, **marks: Any) -> list[Note]:
    """TUNE, so many semitones higher, from a quarter on."""
    return [Note(start + at, 1, midi + shift, marks or None) for at, midi in enumerate(TUNE)]


def one(
    folder: Path, lines: Sequence[Line], question: str, /, **values: Any
) -> list[dict[str, Any]]:
    return answer(folder, {"one": Piece(lines)}, question, **values)


def test_registers_by_composer(tmp_path: Path) -> None:
    """Ann's first work: 3 of 4 quarters low, all of one line; her second: 12 quarters, none low.

    Each work once: (3/4 + 0/12) / 2 low, though of all sixteen quarters 3 are.
    """
    low, middle = {"register_class": "low"}, {"register_class": "middle"}
    ann = {"composer": "Ann"}
    pieces = {
        "first": Piece([Line([Note(0, 3, 60, low), Note(3, 1, 70, middle)], "oboe")], ann),
        "second": Piece([Line([Note(0, 12, 70, middle)], "oboe")], ann),
        "other": Piece([Line([Note(0, 1, 60, low)], "oboe")], {"composer": "Ben"}),
    }
    rows = answer(tmp_path, pieces, "registers-by-composer", instrument="oboe")
    assert rows[0] == {
        "composer": "Ann",
        "instrument": "oboe",
        "register_class": "low",
        "band": "low",
        "scheme": "rimsky-korsakov",
        "share": (3 / 4 + 0 / 12) / 2,
        "quarters": 3,
        "works": 2,
    }
    told = [(row["composer"], row["register_class"], row["share"]) for row in rows]
    assert told == [("Ann", "low", 0.375), ("Ann", "middle", 0.625), ("Ben", "low", 1)]


def test_spread_of_sonorities(tmp_path: Path) -> None:
    """First work: spread 4 for one quarter, 12 for three; second: 7 for four. One pitch is none.

    Lower quartiles 4 and 7, medians 12 and 7: the means are 5.5 and 9.5.
    """
    pieces = {
        "first": Piece(
            [Line([Note(0, 5, 48)]), Line([Note(0, 1, 52), Note(1, 3, 60), Note(4, 1, 48)])]
        ),
        "second": Piece([Line([Note(0, 4, 60)]), Line([Note(0, 4, 67)])]),
    }
    (row,) = answer(tmp_path, pieces, "spread-of-sonorities")
    assert row == {
        "of": "all works",
        "pitches": "2–3",
        "lower_quartile": (4 + 7) / 2,
        "median": (12 + 7) / 2,
        "upper_quartile": (12 + 7) / 2,
        "widest": 12,
        "quarters": 8,
        "works": 2,
    }
    works = answer(tmp_path / "works", pieces, "spread-of-sonorities", by="work")
    assert [(row["of"], row["median"]) for row in works] == [("first", 12), ("second", 7)]


def test_spread_goes_by_the_number_of_pitches(tmp_path: Path) -> None:
    for pitches, name in ((3, "2–3"), (4, "4–6"), (6, "4–6"), (7, "7–10"), (11, "11 and more")):
        chord = [Line([Note(0, 1, 40 + 3 * at)]) for at in range(pitches)]
        (row,) = one(tmp_path / str(pitches), chord, "spread-of-sonorities")
        assert (row["pitches"], row["median"]) == (name, 3 * (pitches - 1))


def test_widest_gaps(tmp_path: Path) -> None:
    """40 to 60 lasts four quarters, though above it notes change; then 40 to 62, one quarter.

    Middle C (60) bounds the first gap from above, and lies within the second.
    """
    lines = [
        Line([Note(at, 1, 76 + at % 2) for at in range(4)]),
        Line([Note(0, 4, 60), Note(4, 1, 62)]),
        Line([Note(0, 5, 40)]),
        Line([Note(2, 2, 40)]),
    ]
    rows = one(tmp_path, lines, "widest-gaps", at_least=20)
    assert rows == [
        {
            "movement_id": "one",
            "bars": "2",
            "gap": 22,
            "lower_pitch": 40,
            "upper_pitch": 62,
            "lies": "across",
            "below": "line 2",
            "above": "line 1",
            "pitches": 2,
            "quarters": 1,
        },
        {
            "movement_id": "one",
            "bars": "1",
            "gap": 20,
            "lower_pitch": 40,
            "upper_pitch": 60,
            "lies": "below",
            "below": "line 2",
            "above": "line 1",
            "pitches": 3,
            "quarters": 4,
        },
    ]
    assert len(one(tmp_path / "few", lines, "widest-gaps", at_least=20, rows=1)) == 1


def test_longest_unisons_between_families(tmp_path: Path) -> None:
    """Oboe and violin play TUNE for 12 quarters; the flutes double each other in one family."""
    lines = [Line(tune(12)), Line(tune(12)), Line(tune(5), "oboe"), Line(tune(5), **STRING)]
    (row,) = one(tmp_path, lines, "longest-unisons-between-families")
    assert row == {
        "movement_id": "one",
        "bars": "1–3",
        "line": "line 2",
        "family": "woodwind",
        "partner": "line 3",
        "partner_family": "string",
        "interval_semitones": 0,
        "quarters": 12,
        "matched_notes": 12,
        "strict": True,
    }
    brass = one(
        tmp_path / "b", lines, "longest-unisons-between-families", families=["brass", "string"]
    )
    assert brass == []


def test_muted_and_not(tmp_path: Path) -> None:
    """The violin is muted from its fifth note on: eight notes, bars 2 to 3, with the open flute.

    The second violin is muted all the while: with the first it is so for four notes, bar 1.
    """
    muted = {"techniques": ["mute_on"]}
    lines = [
        Line(tune()),
        Line([*tune()[:4], *tune(techniques=["mute_on"])[4:]], **STRING),
        Line([Note(at, 1, midi - 12, muted) for at, midi in enumerate(TUNE)], **STRING),
    ]
    rows = one(tmp_path, lines, "muted-and-not")
    assert [(row["muted"], row["open"], row["quarters"]) for row in rows] == [
        ("line 2", "line 0", 12),
        ("line 1", "line 0", 8),
        ("line 2", "line 1", 4),
    ]
    assert rows[1] == {
        "movement_id": "one",
        "bars": "2–3",
        "muted": "line 1",
        "techniques": ["mute_on"],
        "open": "line 0",
        "kind": "unison",
        "intervals": "0",
        "notes": 8,
        "quarters": 8,
    }
    strings = one(tmp_path / "s", lines, "muted-and-not", same_family=True)
    assert [row["bars"] for row in strings] == ["1"]


def test_two_techniques_on_one_line(tmp_path: Path) -> None:
    """Violins: one plucks TUNE, one bows it, muted in bar 3. The flute is of another family."""
    lines = [
        Line(tune()),
        Line(tune(techniques=["pizz"]), **STRING),
        Line([*tune()[:8], *tune(techniques=["mute_on"])[8:]], **STRING),
    ]
    rows = one(tmp_path, lines, "two-techniques-on-one-line")
    assert rows[0] == {
        "movement_id": "one",
        "bars": "1–2",
        "line": "line 1",
        "techniques": ["pizz"],
        "partner": "line 2",
        "partner_techniques": [],
        "kind": "unison",
        "notes": 8,
        "quarters": 8,
    }
    assert [(row["partner_techniques"], row["bars"]) for row in rows[1:]] == [(["mute_on"], "3")]
    muted = one(tmp_path / "m", lines, "two-techniques-on-one-line", technique="mute_on")
    assert [row["quarters"] for row in muted] == [4]
    families = one(tmp_path / "f", lines, "two-techniques-on-one-line", same_family=False)
    assert {row["line"] for row in families} == {"line 0", "line 1"}


def test_many_lines_in_unison(tmp_path: Path) -> None:
    """Five lines on TUNE: three on one pitch, one an octave above, one two octaves above.

    The soprano's third is no unison.
    """
    lines = [
        Line(tune(24)),
        Line(tune(12), **STRING),
        Line(tune(), **STRING),
        Line(tune(), "oboe"),
        Line(tune(), **CHORUS),
        Line(tune(4), **CHORUS),
    ]
    (row,) = one(tmp_path, lines, "many-lines-in-unison")
    assert row == {
        "movement_id": "one",
        "bars": "1–3",
        "lines": 5,
        "of_one_pitch": 3,
        "families": 3,
        "has_chorus": True,
        "quarters": 12,
        "common_onsets": 12,
        "members": "line 0 (24), line 1 (12), line 2 (0), line 3 (0), line 4 (0)",
    }
    assert one(tmp_path / "a", lines, "many-lines-in-unison", octaves=False) == []
    assert len(one(tmp_path / "b", lines, "many-lines-in-unison", octaves=False, lines=3)) == 1


def test_what_doubles_the_bass(tmp_path: Path) -> None:
    """Basses play TUNE, cellos and violas an octave higher; then the basses alone, four quarters.

    The cellos double 12 of the basses' 16 quarters; then the violas go below them for a quarter.
    """
    basses = {"instrument": "double-bass", "family": "string", "subfamily": "double basses"}
    cellos = {"instrument": "violoncello", "family": "string", "subfamily": "violoncellos"}
    violas = {"instrument": "viola", "family": "string", "subfamily": "violas"}
    lines = [
        Line([*tune(), Note(16, 1, 41)], **violas),
        Line(tune(), **cellos),
        Line([*tune(-12), Note(12, 5, 43)], **basses),
    ]
    rows = one(tmp_path, lines, "what-doubles-the-bass")
    assert rows[0] == {
        "instrument": "double-bass",
        "partner": "viola",
        "interval_semitones": 12,
        "share": 12 / 16,
        "quarters": 12,
        "bass_quarters": 16,
        "works_doubled": 1,
        "works": 1,
    }
    assert [(row["instrument"], row["partner"]) for row in rows[1:]] == [
        ("double-bass", "violoncello")
    ]


def test_two_lines_of_a_partner_double_the_bass_once(tmp_path: Path) -> None:
    basses = {"instrument": "double-bass", "family": "string", "subfamily": "double basses"}
    lines = [Line(tune(), **STRING), Line(tune(), **STRING), Line(tune(-12), **basses)]
    (row,) = one(tmp_path, lines, "what-doubles-the-bass", instrument="double-bass")
    assert (row["share"], row["quarters"], row["bass_quarters"]) == (1, 12, 12)


def test_only_the_time_in_which_a_doubled_note_is_lowest_counts(tmp_path: Path) -> None:
    """A cello below the basses in bar 2: of the 12 doubled quarters 8 remain, of 8."""
    basses = {"instrument": "double-bass", "family": "string", "subfamily": "double basses"}
    cellos = {"instrument": "violoncello", "family": "string", "subfamily": "violoncellos"}
    lines = [Line(tune(), **STRING), Line([Note(4, 4, 30)], **cellos), Line(tune(-12), **basses)]
    rows = one(tmp_path, lines, "what-doubles-the-bass")
    assert [(row["instrument"], row["quarters"], row["bass_quarters"]) for row in rows] == [
        ("double-bass", 8, 8)
    ]


def test_doubling_passages(tmp_path: Path) -> None:
    """TUNE from quarter 0 and from 15: three apart, so one passage; again from 31: four apart.

    The flute doubles an octave above, an oboe joins in the second stretch, low.
    """
    low = {"register_class": "low"}
    sung = [*tune(), *tune(start=15), *tune(start=31)]
    lines = [
        Line([Note(note.onset, 1, note.midi + 12) for note in sung]),
        Line([Note(note.onset, 1, note.midi, low) for note in sung[12:24]], "oboe"),
        Line(sung, **CHORUS),
    ]
    rows = one(tmp_path, lines, "doubling-passages")
    assert rows == [
        {
            "movement_id": "one",
            "first_bar": "1",
            "last_bar": "7",
            "start_quarters": 0,
            "doubled_quarters": 24,
            "lines": "line 2",
            "partners": "line 0, line 1",
            "intervals": "0, 12",
        },
        {
            "movement_id": "one",
            "first_bar": "8",
            "last_bar": "11",
            "start_quarters": 31,
            "doubled_quarters": 12,
            "lines": "line 2",
            "partners": "line 0",
            "intervals": "12",
        },
    ]
    (row,) = one(tmp_path / "low", lines, "doubling-passages", register="low")
    assert (row["first_bar"], row["last_bar"], row["partners"]) == ("4", "7", "line 1")
