"""Values for parameters: types, choices, defaults."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.errors import UsageError
from collaparte.questions.header import REQUIRED, Parameter, Question
from collaparte.questions.parameters import bound_values, midi_number


def question(*parameters: Parameter) -> Question:
    return Question("q", "title", "audience", "answers", parameters, (), (), "", "SELECT 1")


def one(kind: str, value: Any, default: Any = REQUIRED, choices: tuple[Any, ...] = ()) -> Any:
    asked = question(Parameter("p", kind, "what it is", default=default, choices=choices))
    return bound_values(asked, {} if value is REQUIRED else {"p": value})["p"]


@pytest.mark.parametrize(
    ("kind", "value", "bound"),
    [
        ("text", " low ", "low"),
        ("words", "oboe, flute", ["oboe", "flute"]),
        ("words", ["oboe"], ["oboe"]),
        ("words", "", []),
        ("integer", "-12", -12),
        ("integer", 7, 7),
        ("number", "0.5", 0.5),
        ("number", 1, 1.0),
        ("boolean", "yes", True),
        ("boolean", "No", False),
        ("boolean", True, True),
        ("pitch", "C6", 84),
        ("pitch", "c4", 60),
        ("pitch", "F#3", 54),
        ("pitch", "B♭2", 46),
        ("pitch", "Cb4", 59),
        ("pitch", "C-1", 0),
        ("pitch", "84", 84),
        ("pitch", 84, 84),
    ],
)
def test_values_that_fit(kind: str, value: Any, bound: Any) -> None:
    result = one(kind, value)
    assert (result, type(result)) == (bound, type(bound))


@pytest.mark.parametrize(
    ("kind", "value", "complaint"),
    [
        ("text", 3, "p is a text, not 3"),
        ("words", [1], "p is a list of words"),
        ("integer", "1.5", "p is a whole number, not '1.5'"),
        ("integer", 1.5, "p is a whole number"),
        ("integer", True, "p is a whole number"),
        ("number", "much", "p is a number, not 'much'"),
        ("number", "nan", "p is a number"),
        ("number", False, "p is a number"),
        ("boolean", "maybe", "p is yes or no, not 'maybe'"),
        ("boolean", 1, "p is yes or no"),
        ("pitch", "H4", "p is a pitch such as C6"),
        ("pitch", "C10", "p is a pitch"),
        ("pitch", 128, "p is a pitch"),
        ("pitch", 60.0, "p is a pitch"),
        ("text", None, "p must have a value"),
        ("text", REQUIRED, "p must be given: what it is"),
    ],
)
def test_values_that_do_not_fit(kind: str, value: Any, complaint: str) -> None:
    with pytest.raises(UsageError, match=complaint) as raised:
        one(kind, value)
    assert str(raised.value).startswith("q: p ")


def test_a_default_is_read_like_a_value() -> None:
    assert one("pitch", REQUIRED, default="C6") == 84
    assert one("words", REQUIRED, default=("a", "b")) == ["a", "b"]


def test_a_default_of_null_may_be_left_out_or_given() -> None:
    assert one("text", REQUIRED, default=None, choices=("a",)) is None
    assert one("text", None, default=None) is None


def test_choices() -> None:
    assert one("text", "low", choices=("low", "high")) == "low"
    assert one("words", "low,high", choices=("low", "high")) == ["low", "high"]
    complaint = r"p is one of low, high, not 'lwo'; did you mean low\?"
    with pytest.raises(UsageError, match=complaint):
        one("words", "high,lwo", choices=("low", "high"))


def test_an_unknown_parameter_names_the_known_ones() -> None:
    asked = question(Parameter("register", "text", "m", default="low"))
    complaint = r"no parameter regster; it takes register; did you mean register\?"
    with pytest.raises(UsageError, match=complaint):
        bound_values(asked, {"regster": "low"})
    with pytest.raises(UsageError, match="no parameter x; it takes none"):
        bound_values(question(), {"x": 1})


@given(st.integers(0, 127))
def test_every_midi_number_has_the_name_that_leads_back_to_it(number: int) -> None:
    names = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    assert midi_number(f"{names[number % 12]}{number // 12 - 1}") == number
