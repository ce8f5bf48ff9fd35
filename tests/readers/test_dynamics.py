"""Dynamics: marks, accents and steps, from the element `dynamics` and from words alike."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte import reference
from collaparte.readers.dynamics import DynamicMark, combine, parse, text_of
from collaparte.readers.vocabulary import vocabulary_of
from collaparte.readers.words import understand

FACTS = reference.load()
VOCABULARY = vocabulary_of(FACTS)


def parsed(*children):
    """Children as "f" for a mark and "=text" for other-dynamics."""
    pairs = [
        ("other-dynamics", child[1:]) if child.startswith("=") else (child, "")
        for child in children
    ]
    return parse(pairs, VOCABULARY)


@pytest.mark.parametrize("row", FACTS.dynamics.values(), ids=lambda row: row.mark)
def test_every_mark_of_the_scale_has_its_degree(row):
    mark = parsed(row.mark)
    assert (mark.degree, mark.changes_level, mark.accent) == (row.degree, True, None)
    assert mark.lasts == "until_next"


@pytest.mark.parametrize(
    ("mark", "degree", "accent", "lasts"),
    [
        ("sf", None, "sf", "note"),
        ("sfz", None, "sfz", "note"),
        ("fz", None, "fz", "note"),
        ("=sff", None, "sff", "note"),
        ("sffz", None, "sffz", "note"),
        ("rf", None, "rf", "phrase"),
        ("rfz", None, "rfz", "phrase"),
        ("=rinf.", None, "rinf.", "phrase"),
        ("fp", 4, "fp", "until_next"),
        ("=mfp", 4, "mfp", "until_next"),
        ("=ffp", 4, "ffp", "until_next"),
        ("sfp", 4, "sfp", "until_next"),
        ("sfpp", 3, "sfpp", "until_next"),
        ("sfzp", 4, "sfp", "until_next"),
        ("pf", None, None, "until_next"),
        ("=poco f", 6.5, None, "until_next"),
        ("=poco p", 4.5, None, "until_next"),
        ("=mezza voce", 4, None, "until_next"),
        ("=sotto voce", 4, None, "until_next"),
        ("n", 0, None, "until_next"),
        ("pppppp", 1, None, "until_next"),
        ("fffff", 10, None, "until_next"),
    ],
)
def test_accents_and_other_marks(mark, degree, accent, lasts):
    found = parsed(mark)
    assert (found.degree, found.accent, found.lasts) == (degree, accent, lasts)
    assert found.changes_level == (degree is not None)


def test_every_accent_of_the_reference_is_read():
    for row in FACTS.dynamic_accents.values():
        if row.degrees is None or row.kind != "modifier":
            assert parsed(f"={row.mark}").mark == row.mark


def test_a_gain_over_a_phrase_leaves_the_level():
    mark = parsed("rf")
    assert (mark.change, mark.changes_level, mark.after(5, VOCABULARY)) == (1, False, 5)


@pytest.mark.parametrize(
    ("children", "change", "hairpin"),
    [
        (["=più ", "f"], 1, None),
        (["=più ", "p"], -1, None),
        (["=meno ", "f"], -1, None),
        (["=meno ", "p"], 1, None),
        (["=piu", "ff"], 1, None),
        (["=poco più ", "mf"], 1, None),
        (["=sempre più ", "f"], 1, "crescendo"),
        (["=sempre più ", "p"], -1, "diminuendo"),
        (["=poco a poco meno ", "f"], -1, "diminuendo"),
    ],
)
def test_steps_move_the_level_in_force(children, change, hairpin):
    mark = parsed(*children)
    assert (mark.change, mark.hairpin, mark.degree) == (change, hairpin, None)
    assert mark.changes_level
    assert mark.after(5.0, VOCABULARY) == 5.0 + change


def test_a_step_without_a_level_starts_from_its_mark():
    assert parsed("=più ", "f").after(None, VOCABULARY) == 8
    assert parsed("=più ", "p").after(None, VOCABULARY) == 3


def test_a_step_stays_on_the_scale():
    assert parsed("=più ", "f").after(10, VOCABULARY) == 10
    assert parsed("=più ", "p").after(1, VOCABULARY) == 1


@pytest.mark.parametrize(
    ("children", "printed", "degree", "modifiers", "rest"),
    [
        (["=sempre ", "ff"], "sempre ff", 8, ("sempre",), ""),
        (["ff", "= sempre"], "ff sempre", 8, ("sempre",), ""),
        (["p", "= dolce"], "p dolce", 4, (), "dolce"),
        (["p", "=dolce"], "p dolce", 4, (), "dolce"),
        (["=[ ", "f", "= ]"], "[ f ]", 7, (), ""),
        (["=( ", "p", "=) sanft"], "( p ) sanft", 4, (), "sanft"),
        (["=sempre div. e ", "ppp"], "sempre div. e ppp", 2, ("sempre",), "div. e"),
        (["=subito ", "p"], "subito p", 4, ("subito",), ""),
        (["=poco ", "f"], "poco f", 6.5, (), ""),
        (["=un poco ", "f"], "un poco f", 6.5, (), ""),
        (["=s", "=anft"], "sanft", None, (), "sanft"),
        (["f", "p"], "fp", 4, (), ""),
        (["sf", "p"], "sfp", 4, (), ""),
        ([], "", None, (), ""),
    ],
)
def test_several_children_are_one_dynamic(children, printed, degree, modifiers, rest):
    mark = parsed(*children)
    assert (mark.printed, mark.degree, mark.modifiers) == (printed, degree, modifiers)
    assert mark.rest == rest


def test_marks_of_two_directions_at_one_place_are_combined():
    more, piano, sf = parsed("=più"), parsed("p"), parsed("sf")
    assert not more.changes_level
    assert combine([more, piano], VOCABULARY).change == -1
    together = combine([piano, sf], VOCABULARY)
    assert (together.degree, together.accent) == (4, "sf")
    assert combine([sf, piano], VOCABULARY).mark == "sfp"


@pytest.mark.parametrize(
    ("children", "words"),
    [
        (["=più ", "f"], "più f"),
        (["=sempre ", "pp"], "sempre pp"),
        (["pp", "= sempre"], "pp sempre"),
        (["=poco ", "f"], "poco f"),
        (["=meno ", "p"], "meno p"),
        (["fp"], "fp"),
        (["=mezza voce"], "mezza voce"),
        (["=sempre più ", "f"], "sempre più f"),
        (["=più"], "più"),
    ],
)
def test_words_and_dynamics_agree(children, words):
    (meaning,) = understand(words, "string", "violins", VOCABULARY).meanings
    assert meaning.dynamic == parsed(*children)


@pytest.mark.parametrize(
    ("words", "degree"),
    [("piano", 4), ("fortissimo", 8), ("sehr leise", 3), ("très doux", 3), ("mezzo forte", 6)],
)
def test_dynamics_spelled_out(words, degree):
    (meaning,) = understand(words, "string", "violins", VOCABULARY).meanings
    assert meaning.kind == "dynamic"
    assert meaning.dynamic is not None
    assert meaning.dynamic.degree == degree


def test_dynamics_in_german_and_french_words_take_modifiers():
    (meaning,) = understand("plus fort", "string", "violins", VOCABULARY).meanings
    assert meaning.dynamic is not None
    assert meaning.dynamic.change == 1


CHILDREN = st.lists(
    st.one_of(
        st.tuples(st.sampled_from([*FACTS.dynamics, "sf", "fp", "n", "rfz", "pf"]), st.just("")),
        st.tuples(st.just("other-dynamics"), st.text(max_size=12)),
        st.tuples(
            st.just("other-dynamics"),
            st.sampled_from(["più ", "sempre ", " dolce", "[", "poco a poco "]),
        ),
    ),
    max_size=5,
)


@given(CHILDREN)
def test_any_children_give_a_mark_on_the_scale(children):
    mark = parse(children, VOCABULARY)
    assert isinstance(mark, DynamicMark)
    assert mark.printed == text_of(children)
    assert mark.degree is None or 0 <= mark.degree <= 10
    assert mark.after(5.0, VOCABULARY) is not None
