"""What always holds of the measures of lines, pairs and bars, whatever the notes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_texture_measures import LINES, TUNE, analysed

from score_tables import Line, Note

notes = st.lists(
    st.tuples(st.sampled_from([0.5, 1, 1, 2]), st.integers(40, 80), st.booleans()),
    min_size=1,
    max_size=24,
)


def sequence(drawn: list[tuple[float, int, bool]]) -> list[Note]:
    found, at = [], 0.0
    for length, midi, silent in drawn:
        if not silent:
            found.append(Note(at, length, midi))
        at += length
    return found


lines_of_chance = st.lists(notes.map(sequence), min_size=2, max_size=4).filter(
    lambda lines: any(lines)
)


@given(lines_of_chance)
def test_octave_higher_is_the_same_but_for_pitch(drawn: list[list[Note]]) -> None:
    here = analysed([Line(line) for line in drawn])
    there = analysed(
        [Line([replace(note, midi=note.midi + 12) for note in line]) for line in drawn]
    )
    for name in here.lines.__dataclass_fields__:
        if name not in ("pitch", "low_pitch"):
            one, other = getattr(here.lines, name), getattr(there.lines, name)
            assert np.array_equal(one, other, equal_nan=True), name
    assert np.array_equal(here.pairs.distance, there.pairs.distance)
    assert np.array_equal(here.layers.layer, there.layers.layer)
    assert np.array_equal(here.layers.pitch_line, there.layers.pitch_line)


@given(lines_of_chance, st.integers(0, 4))
def test_silent_line_changes_nothing(drawn: list[list[Note]], place: int) -> None:
    lines = [Line(line) for line in drawn]
    here = analysed(lines)
    there = analysed([*lines[:place], Line([]), *lines[place:]])
    assert np.array_equal(here.six, there.six)
    assert np.array_equal(here.roles, there.roles)
    assert np.array_equal(here.lead_score, there.lead_score)
    assert np.array_equal(here.named.passage_texture, there.named.passage_texture)


@given(lines_of_chance)
def test_measures_keep_their_ranges(drawn: list[list[Note]]) -> None:
    found = analysed([Line(line) for line in drawn])
    shares = ("sounding", "held", "repeated", "figured", "leaps", "steps", "highest", "lowest",
              "kept_rhythm")  # fmt: skip
    for name in shares:
        values = getattr(found.lines, name)
        assert ((values >= 0) & (values <= 1 + 1e-12)).all(), name
    assert ((found.pairs.distance >= 0) & (found.pairs.distance <= 1)).all()
    assert ((found.six >= 0) & (found.six <= 1 + 1e-12)).all()
    assert ((found.named.margin >= 0) & (found.named.margin <= 1)).all()
    assert ((found.marked >= 0) & (found.marked <= 1)).all()
    here = found.lines.present
    for degrees in (found.lines.kinds, found.role_degrees.degrees):
        assert ((degrees >= -1e-12) & (degrees <= 1 + 1e-12)).all()
        assert np.allclose(degrees.sum(axis=2), here)
    assert np.allclose(found.company_measures.share.sum(axis=1), here.any(axis=1))


@given(st.integers(0, 4))
def test_doubling_the_tune_changes_concentration_as_the_formula_says(more: int) -> None:
    doubled = analysed([*LINES, *(Line(TUNE, "flute") for _ in range(more))])
    root = np.sqrt([8 + 4 * more, 4, 4])
    assert doubled.six[1, 0] == pytest.approx(((root / root.sum()) ** 2).sum())
