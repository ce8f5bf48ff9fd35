"""Register of notes: bands, schemes, keys without bands."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte import reference
from collaparte.reference.registers import register_of, scheme_names

FACTS = reference.load()
KEYS = [None, *FACTS.instruments]
SCHEMES = ["default", *sorted({band.scheme for band in FACTS.registers if band.register_class})]


def one(key, midi, scheme="default"):
    found = register_of([key], np.array([0]), np.array([midi]), FACTS, scheme)
    return tuple(column[0].as_py() for column in found)


# The lowest notes of each are in its low band in Tables A, B and F of Rimsky-Korsakov 1922; the
# top of the flute is in its very high band there.
@pytest.mark.parametrize(
    ("key", "midi", "expected"),
    [
        ("flute", 60, "low"),
        ("flute", 96, "very_high"),
        ("violin", 55, "low"),
        ("voice-tenor-choir", 48, "low"),
        ("horn", 36, "low"),
        ("piano", 21, "low"),
        ("timpani", 45, None),
        ("strings", 60, None),
        (None, 60, None),
    ],
)
def test_class(key, midi, expected):
    assert one(key, midi)[0] == expected


def test_the_upper_of_two_bands_begins_at_its_own_bound():
    assert one("piccolo", 79) == ("low", "low", "rimsky-korsakov")
    assert one("piccolo", 80) == ("middle", "middle", "rimsky-korsakov")


def test_another_scheme_only_where_the_instrument_has_it():
    assert one("clarinet-bflat", 60, "modern division")[2] == "modern division"
    assert one("flute", 60, "modern division")[2] == "rimsky-korsakov"


def test_undecided_voices_keep_the_default_scheme_of_kind_tessitura():
    assert one("voice-soprano", 60)[2] == "transferred"
    assert one("voice-soprano", 60, "vocal registers")[2] == "vocal registers"
    for voice in ("soprano", "alto", "tenor", "bass"):
        for midi in range(36, 90):
            undecided, choir = one(f"voice-{voice}", midi), one(f"voice-{voice}-choir", midi)
            assert undecided[0] == choir[0]


def test_unknown_instrument_and_missing_pitch_are_null():
    found = register_of(["flute"], np.array([-1, 0, 0]), np.array([60, -1, 60]), FACTS)
    assert found.register_class.to_pylist() == [None, None, "low"]
    assert found.band.type == found.scheme.type == found.register_class.type


def test_no_notes():
    assert len(register_of([], np.array([], int), np.array([], int), FACTS).band) == 0


def of_generic_voice(key, scheme):
    generic = [row.generic for row in FACTS.sizes if row.key == key and key.startswith("voice-")]
    return [
        row
        for row in FACTS.registers
        if row.register_class and row.key in generic and row.scheme == scheme and not row.is_default
    ]


@given(
    st.lists(st.tuples(st.sampled_from(KEYS), st.integers(0, 140)), min_size=1, max_size=30),
    st.sampled_from(SCHEMES),
)
def test_every_note_of_an_instrument_with_bands_has_the_band_that_holds_it(notes, scheme):
    keys = sorted({key for key, _ in notes}, key=str)
    codes = np.array([keys.index(key) for key, _ in notes])
    found = register_of(keys, codes, np.array([midi for _, midi in notes]), FACTS, scheme)
    for (key, midi), name, band, of in zip(notes, *(c.to_pylist() for c in found), strict=True):
        rows = [row for row in FACTS.registers if row.register_class and row.key == key]
        own = [row for row in rows if row.scheme == scheme]
        own = own or of_generic_voice(key, scheme) or [row for row in rows if row.is_default]
        holding = [
            row
            for row in own
            if (row.low is None or row.low <= midi) and (row.high is None or midi <= row.high)
        ]
        expected = [(row.register_class, row.band, row.scheme) for row in holding]
        assert [(name, band, of)] == (expected or [(None, None, None)])


@pytest.mark.parametrize(
    ("key", "midi", "scheme", "expected"),
    [
        # Stanley puts the oboe's low register up to c'' (72), where Rimsky-Korsakov's ends earlier
        ("oboe", 72, "stanley", ("low", "low", "stanley")),
        ("clarinet-bflat", 66, "modern division", ("middle", "throat", "modern division")),
        ("horn-f", 73, "printed zones", ("high", "highest, little used", "printed zones")),
        ("voice-soprano-choir", 64, "vocal registers", ("low", "chest", "vocal registers")),
        ("voice-bass-solo", 61, "vocal registers", ("high", "upper/mixed", "vocal registers")),
    ],
)
def test_a_second_scheme_on_request(key, midi, scheme, expected):
    assert one(key, midi, scheme) == expected
    assert one(key, midi)[2] not in (None, scheme)


def test_an_instrument_without_the_scheme_keeps_its_own():
    assert one("flute", 60, "stanley") == one("flute", 60)


def test_schemes_that_may_be_asked_for():
    assert scheme_names(FACTS)[0] == "default"
    assert {"rimsky-korsakov", "stanley", "modern division"} <= set(scheme_names(FACTS))
