"""What a question's file must say about itself."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

import pytest

from collaparte.errors import UsageError
from collaparte.questions.header import REQUIRED, Rate, ResultColumn, read_question

WHOLE = """\
-- title: Notes of a register
-- for: a test
-- answers: >
--   One row
--   a movement.
-- parameters:
--   - name: register
--     type: text
--     default: low
--     choices: [low, high]
--     meaning: register of the note
--   - {name: movement, type: text, meaning: one movement}
-- columns:
--   - {name: share, unit: share, meaning: "these notes, of all"}
-- rates:
--   - {name: share, numerator: these, denominator: all}

SELECT 1 AS share -- of all
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "some-notes.sql"
    path.write_text(dedent(text), encoding="utf-8")
    return path


def test_a_whole_header(tmp_path: Path) -> None:
    question = read_question(written(tmp_path, WHOLE))
    assert (question.name, question.title) == ("some-notes", "Notes of a register")
    assert (question.audience, question.answers) == ("a test", "One row a movement.")
    register, movement = question.parameters
    assert (register.default, register.choices) == ("low", ("low", "high"))
    assert movement.default is REQUIRED
    assert question.columns == (ResultColumn("share", "these notes, of all", "share"),)
    assert question.rates == (Rate("share", "these", "all"),)
    assert question.sql == "SELECT 1 AS share -- of all"


@pytest.mark.parametrize(
    ("before", "after", "complaint"),
    [
        ("-- title: Notes of a register\n", "", "lacks title"),
        ("-- for:", "-- fro:", "fro is unknown; did you mean for?"),
        ("meaning: one movement", "default: 1", "parameters: movement: lacks meaning"),
        ("type: text\n", "type: txt\n", "register: type txt is none of text, words"),
        ("name: share, numerator", "name: shares, numerator", "shares is none of the columns"),
        ("- {name: share, unit: share, meaning", '- ["share", "', "the header is not YAML"),
        ("- {name: movement, type: text, meaning: one movement}", "- movement", "begins with"),
    ],
)
def test_a_wrong_header_is_told_in_one_line(
    tmp_path: Path, before: str, after: str, complaint: str
) -> None:
    assert before in WHOLE
    with pytest.raises(UsageError, match=complaint) as raised:
        read_question(written(tmp_path, WHOLE.replace(before, after, 1)))
    assert str(raised.value).startswith("some-notes.sql: ")
    assert "\n" not in str(raised.value)


def test_sql_without_a_header(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="begins with no header"):
        read_question(written(tmp_path, "SELECT 1"))


CORPUS = """\
-- rates:
--   - {name: share, numerator: these, denominator: all}
-- corpus:
--   by: []
--   means: [share]
"""


@pytest.mark.parametrize(
    ("corpus", "complaint"),
    [
        (CORPUS, "corpus: movement_id is none of the columns"),
        (CORPUS.replace("by: []", "by: chorus"), "corpus: has two lists, by and means"),
        (CORPUS.replace("by: []", "bye: []"), "corpus: has two lists, by and means"),
    ],
)
def test_what_rows_for_the_corpus_lack(tmp_path: Path, corpus: str, complaint: str) -> None:
    rates = WHOLE[WHOLE.index("-- rates:") : WHOLE.index("\nSELECT")]
    with pytest.raises(UsageError, match=complaint):
        read_question(written(tmp_path, WHOLE.replace(rates, corpus)))


def test_a_mean_needs_a_rate_over_a_column(tmp_path: Path) -> None:
    needed = (
        "movement_id", "work_id", "composer", "counts", "works", "note",
        "share_mean", "share_low", "share_high",
    )  # fmt: skip
    columns = "".join(f"--   - {{name: {name}, meaning: a column}}\n" for name in needed)
    text = WHOLE.replace("-- rates:", f"{columns}-- rates:")
    text = text.replace("\nSELECT", "-- corpus: {by: [movement_id], means: [share]}\n\nSELECT")
    with pytest.raises(UsageError, match="share has no rate whose denominator is a column"):
        read_question(written(tmp_path, text))
    question = read_question(
        written(tmp_path, text.replace("denominator: all", "denominator: works"))
    )
    assert question.corpus is not None
    assert (question.corpus.by, question.corpus.means) == (("movement_id",), ("share",))
