"""The file of a question: a header in SQL comments, then one SELECT.

The comment lines at the head of the file are YAML once their `--` is taken off:

    -- title: Movements of the corpus
    -- for: whom the answer serves
    -- answers: what the table says, in a sentence or two
    -- parameters:
    --   - name: register
    --     type: text               text, words, integer, number, boolean, pitch,
    --                              instrument, movement, work or composer
    --     unit: class of register  optional
    --     default: low             null: may be left out, and is then NULL
    --     choices: [low, middle]   optional
    --     meaning: register of the wind's note
    -- columns:
    --   - {name: movement_id, meaning: short name of the movement}
    --   - {name: share, unit: share, meaning: doubled time over sung time}
    --   - {name: works, detail: true, meaning: …}     left out on the screen
    -- rates:
    --   - {name: share, numerator: doubled time, denominator: sung time}
    -- corpus:                      see `collaparte.questions.corpus_rows`
    --   by: [chorus]
    --   means: [share]

A parameter without `default` must be given. `parameters`, `rates` and `corpus` may be left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from pathlib import Path
from typing import Any, TypeVar

import yaml

from collaparte.errors import UsageError, did_you_mean

REQUIRED = object()
"""Default of a parameter that has none."""

TYPES = (
    "text", "words", "integer", "number", "boolean", "pitch", "instrument", "movement",
    "work", "composer",
)  # fmt: skip
"""What a parameter may be.

`words` is a list of text, `pitch` a name (C6) or a MIDI number, `instrument` a key of the table
`instruments`, a subfamily, a family or an ensemble, `movement` and `work` a movement_id
and a work_id, `composer` a composer_id or name of the store; these must be there.
"""


@dataclass(frozen=True)
class Parameter:
    """One value that a question can be asked with."""

    name: str
    type: str
    meaning: str
    unit: str = ""
    default: Any = REQUIRED
    choices: tuple[Any, ...] = ()


@dataclass(frozen=True)
class ResultColumn:
    """One column of the answer; one of `detail` is left out on the screen."""

    name: str
    meaning: str
    unit: str = ""
    detail: bool = False


@dataclass(frozen=True)
class Rate:
    """What one column of the answer divides by what."""

    name: str
    numerator: str
    denominator: str


@dataclass(frozen=True)
class CorpusRows:
    """What rows for the corpus are wanted: one for each value of `by`, with these means."""

    by: tuple[str, ...]
    means: tuple[str, ...]


@dataclass(frozen=True)
class Question:
    """One question: what its header says, and its SQL."""

    name: str
    title: str
    audience: str
    answers: str
    parameters: tuple[Parameter, ...]
    columns: tuple[ResultColumn, ...]
    rates: tuple[Rate, ...]
    header: str
    sql: str
    corpus: CorpusRows | None = None


def read_question(path: Path) -> Question:
    """The question in one file.

    Raises
    ------
    UsageError
        The header is not what this module's head describes.
    """
    header, sql = _split(path.read_text(encoding="utf-8"))
    try:
        stated = yaml.safe_load(header)
    except yaml.YAMLError as error:
        reason = " ".join(str(error).split())
        raise UsageError(f"{path.name}: the header is not YAML: {reason}") from None
    if not isinstance(stated, dict):
        raise UsageError(f"{path.name}: begins with no header; see another question's file")
    known = {"title", "for", "answers", "parameters", "columns", "rates", "corpus"}
    _only(path.name, stated, known, {"title", "for", "answers", "columns"})
    question = Question(
        name=path.stem,
        title=stated["title"],
        audience=stated["for"],
        answers=" ".join(stated["answers"].split()),
        parameters=_rows(path.name, stated, "parameters", Parameter),
        columns=_rows(path.name, stated, "columns", ResultColumn),
        rates=_rows(path.name, stated, "rates", Rate),
        corpus=_corpus(path.name, stated),
        header=header,
        sql=sql,
    )
    _consistent(path.name, question)
    return question


def _split(text: str) -> tuple[str, str]:
    """The header without its comment marks, and all that follows it."""
    lines = text.splitlines()
    length = next((at for at, line in enumerate(lines) if not line.startswith("--")), len(lines))
    header = [line.removeprefix("--").removeprefix(" ") for line in lines[:length]]
    return "\n".join(header), "\n".join(lines[length:]).strip()


_Row = TypeVar("_Row", Parameter, ResultColumn, Rate)


def _rows(file: str, stated: Mapping[str, Any], key: str, kind: type[_Row]) -> tuple[_Row, ...]:
    known = {item.name for item in fields(kind)}
    needed = {item.name for item in fields(kind) if item.default is MISSING}
    rows = []
    for row in stated.get(key) or ():
        if not isinstance(row, dict):
            raise UsageError(f"{file}: {key}: each begins with '- name:', not {row!r}")
        _only(f"{file}: {key}: {row.get('name', '?')}", row, known, needed)
        rows.append(kind(**{name: _frozen(value) for name, value in row.items()}))
    return tuple(rows)


def _corpus(file: str, stated: Mapping[str, Any]) -> CorpusRows | None:
    wanted = stated.get("corpus")
    if wanted is None:
        return None
    keys = {"by", "means"}
    if not isinstance(wanted, dict) or not all(isinstance(wanted.get(key), list) for key in keys):
        raise UsageError(f"{file}: corpus: has two lists, by and means")
    _only(f"{file}: corpus", wanted, keys, keys)
    return CorpusRows(tuple(wanted["by"]), tuple(wanted["means"]))


def _only(where: str, stated: Mapping[str, Any], known: set[str], needed: set[str]) -> None:
    for name in stated:
        if name not in known:
            raise UsageError(f"{where}: {name} is unknown{did_you_mean(str(name), sorted(known))}")
    missing = sorted(needed - set(stated))
    if missing:
        raise UsageError(f"{where}: lacks {', '.join(missing)}")


def _frozen(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _consistent(file: str, question: Question) -> None:
    for parameter in question.parameters:
        if parameter.type not in TYPES:
            raise UsageError(
                f"{file}: {parameter.name}: type {parameter.type} is none of {', '.join(TYPES)}"
            )
    columns = {column.name for column in question.columns}
    for rate in question.rates:
        if rate.name not in columns:
            raise UsageError(f"{file}: rates: {rate.name} is none of the columns")
    if question.corpus is None:
        return
    ends = ("mean", "low", "high")
    made = [f"{name}_{end}" for name in question.corpus.means for end in ends]
    needed = ("movement_id", "work_id", "composer", "counts", "works", "note")
    for name in (*needed, *question.corpus.by, *made):
        if name not in columns:
            raise UsageError(f"{file}: corpus: {name} is none of the columns")
    pooled = {rate.name for rate in question.rates if rate.denominator in columns}
    for name in question.corpus.means:
        if name not in pooled:
            raise UsageError(f"{file}: corpus: {name} has no rate whose denominator is a column")
