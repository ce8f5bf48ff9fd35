"""What a person gives for a parameter, checked and made the value that is bound."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Any

from collaparte.errors import UsageError, did_you_mean
from collaparte.questions.header import REQUIRED, Parameter, Question

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ALTERATIONS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1, "##": 2, "x": 2, "bb": -2}
_PITCH = re.compile(r"([A-Ga-g])(##|bb|[#♯b♭x]?)(-?\d)")


def bound_values(question: Question, given: Mapping[str, Any]) -> dict[str, Any]:
    """The value of every parameter of the question: as given, else its default.

    Raises
    ------
    UsageError
        A parameter is unknown or missing, or a value is of another type or not among the choices.
    """
    names = [parameter.name for parameter in question.parameters]
    for name in given:
        if name not in names:
            raise UsageError(f"{question.name}: {_unknown(name, names)}")
    return {
        parameter.name: _value(
            question.name, parameter, given.get(parameter.name, parameter.default)
        )
        for parameter in question.parameters
    }


def _unknown(name: str, names: list[str]) -> str:
    takes = f"it takes {', '.join(names)}" if names else "it takes none"
    near = did_you_mean(name, names)
    return f"there is no parameter {name}; {takes}{near}"


def _value(question: str, parameter: Parameter, given: Any) -> Any:
    where = f"{question}: {parameter.name}"
    if given is REQUIRED:
        raise UsageError(f"{where} must be given: {parameter.meaning}")
    if given is None:
        if parameter.default is None:
            return None
        raise UsageError(f"{where} must have a value")
    try:
        value = _READ[parameter.type](given)
    except (KeyError, TypeError, ValueError):
        kind = _KINDS[parameter.type]
        raise UsageError(f"{where} is {kind}, not {given!r}") from None
    for chosen in value if isinstance(value, list) else [value]:
        if parameter.choices and chosen not in parameter.choices:
            choices = [str(choice) for choice in parameter.choices]
            near = did_you_mean(str(chosen), choices)
            raise UsageError(f"{where} is one of {', '.join(choices)}, not {chosen!r}{near}")
    return value


def midi_number(given: str | int) -> int:
    """The MIDI number of a pitch name (C4 is middle C, 60), or the number itself.

    Raises
    ------
    ValueError
        It is neither, or lies outside 0 to 127.
    """
    named = _PITCH.fullmatch(given.strip()) if isinstance(given, str) else None
    if named:
        letter, alteration, octave = named.groups()
        number = 12 * (int(octave) + 1) + _SEMITONES[letter.upper()] + _ALTERATIONS[alteration]
    else:
        number = _integer(given)
    if not 0 <= number <= 127:
        raise ValueError(given)
    return number


def _integer(given: Any) -> int:
    if isinstance(given, bool | float):
        raise TypeError(given)
    return int(given)


def _number(given: Any) -> float:
    if isinstance(given, bool):
        raise TypeError(given)
    number = float(given)
    if not math.isfinite(number):
        raise ValueError(given)
    return number


def _text(given: Any) -> str:
    if not isinstance(given, str):
        raise TypeError(given)
    return given.strip()


def _words(given: Any) -> list[str]:
    words = given.split(",") if isinstance(given, str) else given
    return [text for text in map(_text, words) if text]


def _boolean(given: Any) -> bool:
    if isinstance(given, bool):
        return given
    return {"yes": True, "true": True, "no": False, "false": False}[_text(given).lower()]


_READ: Mapping[str, Callable[[Any], Any]] = {
    "text": _text,
    "words": _words,
    "integer": _integer,
    "number": _number,
    "boolean": _boolean,
    "pitch": midi_number,
    "instrument": _text,
    "movement": _text,
    "work": _text,
    "composer": _text,
}
_KINDS = {
    "text": "a text",
    "words": "a list of words with commas between them",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "yes or no",
    "pitch": "a pitch such as C6 or F#3, or a MIDI number from 0 to 127",
    "instrument": "an instrument, a subfamily, a family or chorus",
    "movement": "a movement_id of the store",
    "work": "a work_id of the store",
    "composer": "a composer_id or name of the store",
}
