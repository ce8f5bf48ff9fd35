"""The transposition in force against custom, and the range of the instrument."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte import reference
from collaparte.readers.instruments import Evidence, context_of, identify
from collaparte.readers.transpositions import customary, pitch_name, transposition_remark

FACTS = reference.load()


def codes(instrument, transposition, lowest=None, highest=None, **more):
    found = transposition_remark(instrument, transposition, lowest, highest, FACTS, **more)
    return [finding.code for finding in found]


def message(instrument, transposition, lowest=None, highest=None):
    (found,) = transposition_remark(instrument, transposition, lowest, highest, FACTS)
    return found.message


# Examples of the MusicXML 4.0 reference (w3c/musicxml, docs/musicxml-reference/examples).
@pytest.mark.parametrize(
    ("instrument", "semitones", "example"),
    [
        ("horn-f", -7, "transpose-element: diatonic -4, chromatic -7"),
        ("english-horn", -7, "transpose-element: diatonic -4, chromatic -7"),
        ("guitar", -12, "octave-change-element: an octave below written pitch"),
        ("clarinet-bflat", -2, "instrument-change-element: Clarinet in Bb, chromatic -2"),
        ("piccolo", 12, "concert-score-and-for-part-elements: octave-change 1"),
        ("cello-and-bass", 0, "double-element: chromatic 0, the double an octave below"),
    ],
)
def test_transpositions_of_the_standard(instrument, semitones, example):
    assert codes(instrument, semitones) == [], example


# Rimsky-Korsakov, Principles of Orchestration (1922), tables A to C; Grove, Dictionary of Music
# and Musicians, article Horn (crooks); Alder and Wikipedia, List of transposing instruments
# (bass clarinet); Johnstone, Instruments of the Modern Symphony Orchestra (1917) (piccolo).
@pytest.mark.parametrize(
    ("instrument", "semitones"),
    [
        ("horn-f", -7),  # Rimsky-Korsakov: a perfect fifth lower
        ("horn-f", 5),  # old notation in the bass clef: a fourth HIGHER
        ("horn", -14),  # Grove: B flat basso, the usual end of the series
        ("horn", -13),  # Grove: B natural basso, Brahms, Second Symphony
        ("horn", -2),  # B flat alto
        ("natural-horn", -12),
        ("trumpet", 5),
        ("trumpet", -1),
        ("natural-trumpet", 2),
        ("bass-clarinet", -14),  # treble clef, French and Russian use: a major ninth lower
        ("bass-clarinet", -2),  # bass clef, German and Russian use: a major second lower
        ("piccolo", 12),
        ("celesta", 12),
        ("glockenspiel", 24),
        ("double-bass", -12),
        ("contrabassoon", -12),
        ("clarinet", -3),
        ("cornet", -3),
        ("alto-flute", -5),
        ("oboe-damore", -3),
    ],
)
def test_customs_of_the_handbooks(instrument, semitones):
    assert codes(instrument, semitones) == []
    assert semitones in customary(instrument, FACTS)


@pytest.mark.parametrize("row", FACTS.transposition_rules, ids=lambda row: f"{row.key} {row.rule}")
def test_every_rule_is_custom(row):
    assert codes(row.key, row.semitones) == []


@pytest.mark.parametrize("row", FACTS.crooks, ids=lambda row: f"{row.keys[0]} {row.crook}")
def test_every_crook_is_custom_in_both_clefs(row):
    for key in row.keys:
        assert codes(key, row.treble_clef) == []
        if row.old_bass_clef is not None:
            assert codes(key, row.old_bass_clef) == []


def test_what_no_custom_has_names_both_readings():
    assert codes("horn-f", -9) == ["transposition_against_custom"]
    assert codes("violin", -12) == ["transposition_against_custom"]
    assert message("piccolo", None) == (
        "piccolo has no transposition stated and sounds as written, which no custom of the "
        "instrument has; the other reading is 12 semitones above written pitch"
    )


def test_a_missing_octave_is_told_from_notes_written_where_they_sound():
    """The double bass of Brahms op. 73/iii goes down to E1 as written: nothing is missing."""
    assert codes("double-bass", None, 40, 62) == ["octave_unstated"]
    assert codes("double-bass", None, 28, 50) == []
    assert codes("double-bass", None, 40, 62, octave_clef=True) == []
    assert codes("double-bass", 0, 40, 62) == []
    assert codes("contrabassoon", None, 36, 55) == ["octave_unstated"]
    assert codes("piccolo", None, octave_clef=True) == []


def test_a_concert_score_states_octaves_alone():
    assert codes("clarinet-bflat", None) == ["transposition_against_custom"]
    assert codes("clarinet-bflat", None, concert_score=True) == []
    assert codes("horn-f", None, concert_score=True) == []
    assert codes("bass-clarinet", None, concert_score=True) == []
    assert codes("piccolo", None, concert_score=True) == ["transposition_against_custom"]


def test_notes_outside_the_range_name_the_reading_that_brings_them_inside():
    assert codes("horn-f", -7, 29, 67) == ["out_of_range"]
    assert "5 semitones above written pitch would bring" in message("horn-f", -7, 29, 67)
    assert "12 semitones below written pitch would bring" in message("violoncello", 0, 38, 87)
    assert "2 semitones below written pitch would bring" in message("bass-clarinet", -14, 28, 50)
    assert "no customary transposition would keep" in message("oboe", 0, 50, 60)
    assert "Bb3" in message("oboe", 0, 50, 60)


def test_a_tone_below_and_a_fourth_above_are_no_remark():
    assert codes("oboe", 0, 56, 98) == []
    assert codes("oboe", 0, 55, 98) == ["out_of_range"]
    assert codes("oboe", 0, 56, 99) == ["out_of_range"]


def test_voices_are_measured_by_their_range_alone():
    assert codes("voice-tenor", None, 48, 69) == []
    assert codes("voice-tenor", 0, 48, 69) == []
    assert codes("voice-tenor", None, 60, 84) == ["out_of_range"]


@pytest.mark.parametrize("instrument", [None, "strings", "percussion"])
def test_groups_and_the_unknown_have_no_custom(instrument):
    assert codes(instrument, 7, 0, 127) == []


def test_no_part_of_22_movements_disagrees_with_custom():
    """24 horns and 10 trumpets there have crooks that the rules alone do not hold."""
    with (Path(__file__).parent / "part_names.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    context = context_of([row["name"] for row in rows], FACTS)
    rules_alone = 0
    for row in rows:
        used = int(row["transposition"]) if row["transposition"] else None
        evidence = Evidence(name=row["name"], transposition=used, sound_id=row["sound_id"] or None)
        key = identify(evidence, FACTS, context).identities[0].instrument
        assert codes(key, used) == [], row["name"]
        rules = [rule.semitones for rule in FACTS.transposition_rules if rule.key == key]
        rules_alone += (used or 0) not in rules
    assert rules_alone > 10


def test_pitch_names():
    assert [pitch_name(midi) for midi in (60, 70, 23)] == ["C4", "Bb4", "B0"]


@given(
    st.sampled_from([None, *FACTS.instruments]),
    st.none() | st.integers(-40, 40),
    st.tuples(st.integers(0, 127), st.integers(0, 127)).map(sorted),
)
def test_at_most_one_remark_and_never_one_for_the_usual_reading_in_range(key, used, notes):
    found = transposition_remark(key, used, notes[0], notes[1], FACTS)
    assert len(found) <= 1
    if key and FACTS.instruments[key].printed_transposition == used and used is not None:
        assert [finding.code for finding in found] in ([], ["out_of_range"])
