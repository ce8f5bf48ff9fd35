"""Percussion, instruments, alterations: items 31 to 36 of the list of reading pitfalls."""

from __future__ import annotations

from fractions import Fraction

import pytest
from events import assert_events, assert_remark, events, rows, tables_of

from scores import (
    attributes,
    bar,
    direction,
    element,
    instrument,
    key,
    midi_instrument,
    note,
    part,
    score,
    transpose,
    words,
)

DRUM_AND_CYMBAL = (
    instrument("P1-I36", "Bass Drum")
    + instrument("P1-I50", "Cymbal")
    + midi_instrument("P1-I36", midi_channel=10, midi_unpitched=36)
    + midi_instrument("P1-I50", midi_channel=10, midi_unpitched=50)
)


def test_pitfall_31_an_unpitched_note_has_a_place_and_no_pitch() -> None:
    drum = instrument("P1-I1", "Snare Drum") + midi_instrument(
        "P1-I1", midi_channel=10, midi_unpitched=39
    )
    data = score(
        part(
            bar(note("unpitched E4", 3), note("unpitched", 1)),
            name="Snare Drum",
            entry=drum,
        )
    )
    tables = assert_events(data, [(0, 3, None, None, "unpitched"), (3, 1, None, None, "unpitched")])
    assert rows(tables, "notes", "display_pitch", "gm_key", "written_midi") == [
        ("E4", 38, None),
        (None, 38, None),
    ]


def test_pitfall_31_an_unpitched_note_is_not_transposed() -> None:
    data = score(
        part(
            bar(attributes(transposes=transpose(0, 0, -1)), note("unpitched C5", 4)),
            name="Triangle",
        )
    )
    tables = assert_events(data, [(0, 4, None, None, "unpitched")])
    assert rows(tables, "notes", "display_pitch", "step", "octave") == [("C5", None, None)]


def test_pitfall_32_a_pitch_on_a_percussion_clef_is_kept_as_it_stands() -> None:
    """It is kept, and marked as uncertain with a remark."""
    data = score(
        part(
            bar(
                attributes(clefs="<clef><sign>percussion</sign></clef>"),
                note("F4", 4),
            ),
            name="Percussion",
        )
    )
    tables = assert_events(data, [(0, 4, 65, "F4", "uncertain")], plain=False)
    assert_remark(tables, "percussion")


def test_pitfall_33_each_note_its_own_instrument() -> None:
    """The percussion keys tell the two apart; that each is a line comes with the players."""
    data = score(
        part(
            bar(
                note("unpitched E4", 2, instrument="P1-I36"),
                note("unpitched A5", 1, instrument="P1-I50"),
                note("unpitched E4", 1, instrument="P1-I36"),
            ),
            name="Percussion",
            entry=DRUM_AND_CYMBAL,
        )
    )
    tables = assert_events(
        data,
        [
            (0, 2, None, None, "unpitched"),
            (2, 1, None, None, "unpitched"),
            (3, 1, None, None, "unpitched"),
        ],
    )
    assert sorted(rows(tables, "notes", "onset_quarters", "gm_key", "display_pitch")) == [
        (0.0, 35, "E4"),
        (2.0, 49, "A5"),
        (3.0, 35, "E4"),
    ]


def test_pitfall_34_a_change_of_instrument_is_kept_as_a_direction() -> None:
    """Raw values only: the sound element and the words; what they mean comes with the players."""
    change = element(
        "sound",
        element(
            "instrument-change",
            element("instrument-sound", "wind.flutes.flute.piccolo"),
            id="P1-I1",
        ),
    )
    data = score(
        part(
            bar(note("C5", 4), direction(words("muta in Picc."))),
            bar(change, note("D5", 4)),
            entry=instrument("P1-I1", "Flute"),
        )
    )
    tables = assert_events(data, [(0, 4, 72, "C5"), (4, 4, 74, "D5")])
    assert rows(tables, "directions", "onset_quarters", "text", is_printed=True) == [
        (4.0, "muta in Picc.")
    ]
    assert rows(tables, "directions", "onset_quarters", "bar_index", is_printed=False) == [(4.0, 1)]


def test_pitfall_35_the_key_signature_changes_no_pitch() -> None:
    data = score(
        part(
            bar(
                attributes(keys=key(2)),
                note("F4", 1),
                note("F#4", 1, accidental="sharp"),
                note("F4", 1),
                note("F#4", 1),
            )
        )
    )
    assert_events(data, [(0, 1, 65, "F4"), (1, 1, 66, "F#4"), (2, 1, 65, "F4"), (3, 1, 66, "F#4")])


def test_pitfall_36_the_printed_accidental_changes_no_pitch() -> None:
    data = score(
        part(
            bar(
                note("F4", 1, alter="0", accidental="sharp"),
                note("C4", 1, accidental="sharp"),
                note("Bb4", 1, accidental="natural"),
                note("Bb4", 1, alter="-1.0"),
            )
        )
    )
    assert_events(data, [(0, 1, 65, "F4"), (1, 1, 60, "C4"), (2, 1, 70, "Bb4"), (3, 1, 70, "Bb4")])


@pytest.mark.parametrize(
    ("alter", "midi", "cents"), [("0.25", 60, 25), ("-0.33", 60, -33), ("1.25", 61, 25)]
)
def test_pitfall_36_fractions_of_a_semitone(alter: str, midi: int, cents: int) -> None:
    data = score(part(bar(note("C4", 4, alter=alter))))
    tables = tables_of(data)
    assert rows(tables, "notes", "midi", "cents", "step", "octave") == [(midi, cents, "C", 4)]
    assert rows(tables, "notes", "alter") == [pytest.approx(float(alter), abs=1e-6)]


@pytest.mark.parametrize("alter", ["0.5", "-0.5", "1.5"])
def test_pitfall_36_quarter_tones(alter: str) -> None:
    """A quarter tone is as near to the semitone below as to the one above."""
    data = score(part(bar(attributes(transposes=transpose(-2, -1)), note("D4", 4, alter=alter))))
    tables = assert_events(
        data, [(0, 4, 60 + Fraction(alter), f"C({float(alter):+g})4")], plain=True
    )
    assert events(tables)


def test_pitfall_36_ties_between_quarter_tones() -> None:
    data = score(
        part(
            bar(note("C4", 4, alter="0.25", tie="start")),
            bar(note("C4", 4, alter="0.25", tie="stop start")),
            bar(note("C4", 4, alter="0.5", tie="stop")),
        )
    )
    assert_events(
        data,
        [
            (0, 8, 60 + Fraction(1, 4), "C(+0.25)4"),
            (8, 4, 60 + Fraction(1, 2), "C(+0.5)4", "tie_in"),
        ],
    )
