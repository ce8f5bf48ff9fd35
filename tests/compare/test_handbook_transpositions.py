"""Sounding pitch by the examples of the MusicXML standard and by the handbook tables.

Each check is a score of one or two notes, written here or made from one row of the reference
data; the source stands beside it.
"""

from __future__ import annotations

import csv
import re
from importlib import resources

import pytest

from collaparte import readers, reference
from collaparte.movement import Movement
from collaparte.settings import Settings

STANDARD = "MusicXML 4.0, W3C community group report, page of the example of "
LETTERS = "CDEFGAB"
NATURAL = (0, 2, 4, 5, 7, 9, 11)
ALTERATION = {"": 0, "-flat": -1, "-sharp": 1, "-natural": 0}
SPELLED = ("C", "D-flat", "D", "E-flat", "E", "F", "F-sharp", "G", "A-flat", "A", "B-flat", "B")
NAMED_KEY = re.compile(r"\b([A-G])(-flat|-sharp|-natural)?(?![a-z])")


def _sounding(attributes: str, *notes: str) -> list[str]:
    """Pitches as they sound, lowest first, of quarter notes written like `C4` or `B-1 4`."""
    music = "".join(
        f"<note><pitch><step>{note[0]}</step><octave>{note[1]}</octave></pitch>"
        f"<duration>1</duration>{note[2:]}</note>"
        for note in notes
    )
    data = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        '</part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>'
        f"{attributes}</attributes>{music}</measure></part></score-partwise>"
    )
    movement = Movement(movement_id="t", file_name="t.musicxml", work_id="t", work="t")
    tables = readers.read(data.encode(), movement, reference.load(), Settings())
    assert tables["movements"]["state"].to_pylist() == ["read"]
    rows = sorted(tables["notes"].to_pylist(), key=lambda row: (row["onset_ticks"], row["midi"]))
    for row in rows:
        spelled = 12 * (row["octave"] + 1) + NATURAL[LETTERS.index(row["step"])] + row["alter"]
        assert spelled == row["midi"]
    return [_name(row["step"], row["alter"], row["octave"]) for row in rows]


def _name(step: str, alter: float, octave: int) -> str:
    return step + {-1: "b", 0: "", 1: "#"}[int(alter)] + str(octave)


@pytest.mark.parametrize(
    ("transposition", "written", "sounding", "source"),
    [
        (
            "<transpose><diatonic>-4</diatonic><chromatic>-7</chromatic></transpose>",
            ["C5"],
            ["F4"],
            STANDARD + "transpose: a fifth lower",
        ),
        (
            "<transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
            "<octave-change>-1</octave-change></transpose>",
            ["E4"],
            ["E3"],
            STANDARD + "octave-change: guitar, written an octave above its sound",
        ),
        (
            "<transpose><chromatic>0</chromatic><double/></transpose>",
            ["G2"],
            ["G1", "G2"],
            STANDARD + "double: cello and double bass on one staff",
        ),
        (
            '<transpose><chromatic>0</chromatic><double above="yes"/></transpose>',
            ["G2"],
            ["G2", "G3"],
            "MusicXML 4.0, page of the element double, attribute above",
        ),
        (
            "<transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
            "<octave-change>1</octave-change></transpose>",
            ["C5"],
            ["C6"],
            STANDARD + "concert-score and for-part: piccolo in a score at concert pitch",
        ),
        (
            "<for-part><part-transpose><diatonic>-1</diatonic><chromatic>-2</chromatic>"
            "<octave-change>-1</octave-change></part-transpose></for-part>",
            ["C3"],
            ["C3"],
            STANDARD + "concert-score and for-part: bass clarinet in a score at concert pitch",
        ),
        (
            "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>",
            ["C5"],
            ["Bb4"],
            STANDARD + "instrument-change: clarinet in B flat",
        ),
        (
            "<transpose><diatonic>-5</diatonic><chromatic>-9</chromatic></transpose>",
            ["C5"],
            ["Eb4"],
            STANDARD + "instrument-change: alto saxophone",
        ),
        (
            "<staves>2</staves><staff-details number='2'><staff-type>alternate</staff-type>"
            "</staff-details><transpose number='1'><diatonic>0</diatonic>"
            "<chromatic>0</chromatic><octave-change>-1</octave-change></transpose>",
            ["E4<staff>1</staff>"],
            ["E3"],
            STANDARD + "staff-type: guitar over its tablature",
        ),
    ],
)
def test_examples_of_the_standard(
    transposition: str, written: list[str], sounding: list[str], source: str
) -> None:
    assert _sounding(transposition, *written) == sounding, source


@pytest.mark.parametrize(
    ("semitones", "written", "sounding", "source"),
    [
        (-7, "C5", "F4", "horn in F, a fifth lower: Grove vol. 1 p. 750 (crooks.csv)"),
        (5, "C3", "F3", "horn in F, old bass clef, a fourth higher: transposition_rules.csv"),
        (-14, "C5", "Bb3", "bass clarinet, treble clef, a ninth lower: Britannica 1911"),
        (-2, "C3", "Bb2", "bass clarinet, German bass clef, a second lower: Britannica 1911"),
        (12, "C5", "C6", "piccolo, an octave higher: Johnstone 1917"),
        (12, "C4", "C5", "celesta, an octave higher: transposition_rules.csv"),
        (24, "C4", "C6", "glockenspiel, two octaves higher: transposition_rules.csv"),
        (-12, "C3", "C2", "double bass, an octave lower: transposition_rules.csv"),
        (-12, "C3", "C2", "contrabassoon, an octave lower: Johnstone 1917"),
    ],
)
def test_what_the_trade_agrees_on(semitones: int, written: str, sounding: str, source: str) -> None:
    assert _sounding(_transpose(semitones, sounding[0]), written) == [sounding], source


def _rows(file_name: str) -> list[dict[str, str]]:
    text = (resources.files(reference) / file_name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _printed_conventions() -> list[object]:
    """Each row of the handbook tables: words of the key, semitones, source."""
    conventions = [
        (row["key"], row["rule"], row["semitones_sounding_minus_written"], row["source"])
        for row in _rows("transposition_rules.csv")
    ] + [
        (row["key"], f"{row['crook']}{clef}", row[column], row["source"])
        for row in _rows("crooks.csv")
        for column, clef in (("treble_clef", ""), ("old_bass_clef", ", old bass clef"))
        if row[column]
    ]
    return [
        pytest.param(rule, int(semitones), source, id=f"{key}: {rule}")
        for key, rule, semitones, source in conventions
    ]


@pytest.mark.parametrize(("rule", "semitones", "source"), _printed_conventions())
def test_handbook_tables(rule: str, semitones: int, source: str) -> None:
    """A written C sounds the note that the instrument is named after, at the height stated."""
    named = NAMED_KEY.search(rule.rpartition("tuning ")[2])
    spelled = named.group().removesuffix("-natural") if named else SPELLED[semitones % 12]
    letter, _, sign = spelled.partition("-")
    alter = ALTERATION[f"-{sign}" if sign else ""]
    octave, rest = divmod(60 + semitones - alter - NATURAL[LETTERS.index(letter)], 12)
    assert rest == 0, f"{rule}: {semitones} semitones do not make a C sound {spelled} ({source})"
    expected = _name(letter, alter, octave - 1)
    assert _sounding(_transpose(semitones, letter), "C4") == [expected], source


def _transpose(semitones: int, letter: str) -> str:
    """The element that a program writes for an instrument on which a C sounds `letter`."""
    octaves = int(semitones / 12)
    rest = semitones - 12 * octaves
    steps = LETTERS.index(letter) - (7 if rest < 0 else 0)
    return (
        f"<transpose><diatonic>{steps}</diatonic><chromatic>{rest}</chromatic>"
        f"<octave-change>{octaves}</octave-change></transpose>"
    )


def test_every_row_of_the_tables_is_checked() -> None:
    crooks = _rows("crooks.csv")
    expected = len(_rows("transposition_rules.csv")) + sum(
        bool(row[column]) for row in crooks for column in ("treble_clef", "old_bass_clef")
    )
    assert len(_printed_conventions()) == expected >= 240
