"""Every question of `queries/`: its header and its SQL say the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import duckdb
import pytest

import collaparte
from collaparte.errors import UsageError
from collaparte.questions import REQUIRED, Question, available
from collaparte.questions.parameters import bound_values
from two_movements import CHORAL

QUESTIONS = {question.name: question for question in available()}

EXAMPLES = {
    "partners-at": {"instrument": "oboe", "pitch": "C5", "dynamic": "f"},
    "doubtful-parts": {"likely": True},
    "textures-by-dynamic": {"every_movement": True},
    "why-a-line-leads": {"movement": "lantern-quay.tide-table", "bar": "9"},
}
"""Values that the default corpus has rows for where the defaults, or no values, do not do."""


def test_the_questions_that_the_readme_names_are_there() -> None:
    assert {"corpus-overview", "low-winds-double-chorus", "parts-and-lines"} <= set(QUESTIONS)


@pytest.mark.parametrize("name", QUESTIONS)
def test_columns_of_header_and_answer_are_the_same(small_store: Path, name: str) -> None:
    there = {"instrument": "chorus", "movement": CHORAL}
    required = {
        parameter.name: there.get(parameter.type) or (parameter.choices or ("1",))[0]
        for parameter in QUESTIONS[name].parameters
        if parameter.default is REQUIRED
    }
    answer = collaparte.open(small_store).ask(name, **required)
    assert answer.columns == [column.name for column in QUESTIONS[name].columns]


@pytest.mark.parametrize("name", QUESTIONS)
def test_the_default_corpus_has_rows_for_every_question(default_store: Path, name: str) -> None:
    assert collaparte.open(default_store).ask(name, **EXAMPLES.get(name, {})).fetchall()


def test_an_instrument_that_is_not_there_is_refused(small_store: Path) -> None:
    """No rows would read as “never”."""
    with pytest.raises(UsageError, match="there is no instrument cello; "):
        collaparte.open(small_store).ask("registers-by-composer", instrument="cello")


@pytest.mark.parametrize("name", QUESTIONS)
def test_parameters_of_header_and_sql_are_the_same(name: str) -> None:
    (statement,) = duckdb.extract_statements(QUESTIONS[name].sql)
    stated = {parameter.name for parameter in QUESTIONS[name].parameters}
    assert statement.named_parameters == stated


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_default_and_choice_fits(name: str) -> None:
    question = QUESTIONS[name]
    for parameter in question.parameters:
        for value in (*parameter.choices, parameter.default):
            if value is not REQUIRED:
                bound_values(only(question, parameter.name), {parameter.name: value})


def only(question: Question, name: str) -> Question:
    kept = tuple(parameter for parameter in question.parameters if parameter.name == name)
    return replace(question, parameters=kept)


@pytest.mark.parametrize("name", QUESTIONS)
def test_shares_name_what_they_divide(name: str) -> None:
    shares = {column.name for column in QUESTIONS[name].columns if column.unit == "share"}
    assert shares <= {rate.name for rate in QUESTIONS[name].rates}
