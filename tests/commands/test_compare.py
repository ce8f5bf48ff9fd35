"""The command compare: tables for reading, one table for programs, plain refusals."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from collaparte.commands import run
from collaparte.console import Exit
from simulated_corpus import Doubling, Piece, Player, store_of


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    players = [Player("oboe", 0, 40), Player("clarinet-a", 0, 40)]
    pieces = [
        Piece(f"{composer}.{work}", players, [Doubling(0, 1, 0, 10 + work)], {"composer": composer})
        for composer, works in (("Adam", 6), ("Bela", 2))
        for work in range(works)
    ]
    return store_of(tmp_path_factory.mktemp("compare"), pieces)


def asked(capsys: pytest.CaptureFixture[str], store: Path, *arguments: str) -> tuple[int, str, str]:
    code = run(["compare", *arguments, "--store", str(store)])
    return code, *capsys.readouterr()


def test_on_the_screen(
    capsys: pytest.CaptureFixture[str], store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    code, out, err = asked(capsys, store, "oboe", "clarinet", "--by", "composer")
    assert (code, err) == (Exit.DONE, "")
    assert "F1 = doubled time ÷ time in which the line sounds\ncomposer  kind" in out
    adam = next(line for line in out.splitlines() if line.startswith("Adam") and "unison" in line)
    assert adam.split()[:3] == ["Adam", "unison", "31.2"]
    assert "no contrast with Adam: 2 works here, each side needs 5" in out
    assert "What the encodings lack" in out
    assert "Doubling of oboe by clarinet was measured in 8 movements of 8 works" in out
    assert "collaparte build --chance" in out


def test_for_a_paper(capsys: pytest.CaptureFixture[str], store: Path, tmp_path: Path) -> None:
    file = tmp_path / "paper.md"
    wanted = ("oboe", "clarinet", "--format", "markdown", "--output", str(file))
    code, out, err = asked(capsys, store, *wanted)
    assert (code, out, err) == (Exit.DONE, "", f"collaparte: wrote {file}\n")
    text = file.read_text("utf-8")
    assert text.startswith("**F1 = doubled time ÷ time in which the line sounds**\n\n| composer |")
    assert text.splitlines()[-1].startswith("Doubling of oboe by clarinet")


def test_for_programs(capsys: pytest.CaptureFixture[str], store: Path) -> None:
    wanted = ("oboe", "clarinet,bassoon", "--kinds", "unison,reiterated", "--inclusive")
    code, out, _ = asked(capsys, store, *wanted, "--format", "csv")
    assert code == Exit.DONE
    rows = list(csv.DictReader(io.StringIO(out)))
    assert len(rows) == 3 * 3 * 2  # rates, kinds and all together, composers; no bassoon
    assert {row["kind"] for row in rows} == {"unison", "reiterated", "any of these"}
    assert float(rows[0]["numerator"]) == sum(range(10, 16))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["oboe"], "missing argument 'PARTNER'"),
        (["obo", "clarinet"], "no instrument obo; did you mean oboe?"),
        (["oboe", "clarinet", "--by", "compser"], "did you mean composer?"),
        (["oboe", ","], "name at least one partner"),
        (["oboe", "clarinet", "--format", "parquet"], "add --output FILE"),
    ],
)
def test_wrong_usage(
    capsys: pytest.CaptureFixture[str], store: Path, arguments: list[str], words: str
) -> None:
    code, out, err = asked(capsys, store, *arguments)
    assert (code, out, err.count("\n")) == (Exit.WRONG_USAGE, "", 1)
    assert words in err
