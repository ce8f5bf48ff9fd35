"""The command line: what it prints, where, and its exit codes."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from collaparte.commands import NAMES, run
from collaparte.console import Exit
from collaparte.questions import Limits
from collaparte.schema import TABLES
from two_movements import BROKEN, CHORAL


def outcome(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    """Exit code, stdout, stderr."""
    code = run([str(argument) for argument in arguments])
    return code, *capsys.readouterr()


def complaint(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    """The one line of a command that was used wrongly."""
    code, out, err = outcome(capsys, *arguments)
    assert (code, out) == (Exit.WRONG_USAGE, "")
    assert err.startswith("collaparte: ")
    assert err.count("\n") == 1
    return err


def test_without_a_command_the_help_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = outcome(capsys)
    assert (code, err) == (Exit.DONE, "")
    assert [line.split()[0] for line in out.split("Commands:")[1].splitlines() if line] == list(
        NAMES
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_command_has_help(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, out, _ = outcome(capsys, name, "--help")
    assert code == Exit.DONE
    assert out.startswith(f"Usage: collaparte {name}")


def test_the_help_of_sql_names_the_limits(capsys: pytest.CaptureFixture[str]) -> None:
    assert Limits() == Limits(seconds=30, megabytes=4096)
    assert "30 seconds and 4 GB" in " ".join(outcome(capsys, "sql", "--help")[1].split())


def test_questions(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = outcome(capsys, "questions")
    assert code == Exit.DONE
    assert re.search("^low-winds-double-chorus +How often", out, re.MULTILINE)
    code, out, _ = outcome(capsys, "questions", "parts-and-lines")
    assert "choices: [certain, likely, guess]" in out


def test_tables(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = outcome(capsys, "tables")
    assert code == Exit.DONE
    assert [line.split()[0] for line in out.splitlines()[2:] if line[0] != " "] == list(TABLES)
    code, out, _ = outcome(capsys, "tables", "notes")
    assert out.startswith("One row of notes is one note of one line")
    assert {column.name for column in TABLES["notes"].columns} <= set(out.split())


def test_ask(capsys: pytest.CaptureFixture[str], small_store: Path) -> None:
    asked = ("ask", "parts-and-lines", "--store", small_store, "--with", "confidence=guess")
    code, out, err = outcome(capsys, *asked, "--format", "csv")
    assert (code, err) == (Exit.DONE, "")
    assert [row["player"] for row in csv.DictReader(io.StringIO(out))] == ["Alto"]


def test_ask_ends_a_table_with_what_its_rates_divide(
    capsys: pytest.CaptureFixture[str], small_store: Path
) -> None:
    asked = ("ask", "low-winds-double-chorus", "--store", small_store)
    assert "any_voice = doubled_quarters ÷ sung_quarters" in outcome(capsys, *asked)[1]
    assert "÷" not in outcome(capsys, *asked, "--format", "csv")[1]


def test_sql(capsys: pytest.CaptureFixture[str], small_store: Path) -> None:
    statement = "SELECT count(*) AS lines FROM lines"
    code, out, _ = outcome(capsys, "sql", statement, "--store", small_store, "--format", "json")
    assert (code, json.loads(out)) == (Exit.DONE, [{"lines": 3}])


def test_remarks(capsys: pytest.CaptureFixture[str], small_store: Path) -> None:
    code, out, _ = outcome(capsys, "remarks", "--store", small_store, "--format", "csv")
    assert code == Exit.DONE
    severities = [(row["severity"], row["movement_id"]) for row in csv.DictReader(io.StringIO(out))]
    assert severities == [("error", BROKEN), ("note", CHORAL)]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["buld"], "no command buld; did you mean build?"),
        (["zzz"], "no command zzz; collaparte --help lists them"),
        (["--hlp"], "see collaparte --help"),
        (["ask"], "missing argument 'NAME'; see collaparte ask --help"),
        (["ask", "remark"], "no question remark; did you mean remarks?"),
        (["questions", "remark"], "did you mean remarks?"),
        (["tables", "note"], "no table note; did you mean notes?"),
        (["ask", "remarks", "--with", "severity"], "--with severity: write key=value"),
        (["ask", "remarks", "--format", "xml"], "'xml' is not one of"),
        (["build", "--workers", "0"], "0 is not in the range"),
        (["ask", "remarks", "--store", "nowhere"], "nowhere: there is no store here"),
        (["sql", "SELECT 1", "--store", "nowhere"], "nowhere: there is no store here"),
        (["build", "nowhere.xml", "--store", "s"], "nowhere.xml"),
    ],
)
def test_wrong_usage(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    words: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert words in complaint(capsys, *arguments)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["sql", "COPY lines TO 'x'"], "COPY is refused"),
        (["ask", "remarks", "--with", "movment=x"], "did you mean movement?"),
        (["ask", "remarks", "--with", "severity=bad"], "one of error, warning, note"),
        (["sql", "SELECT 1", "--format", "parquet"], "add --output FILE"),
    ],
)
def test_wrong_usage_of_a_store(
    capsys: pytest.CaptureFixture[str], small_store: Path, arguments: list[str], words: str
) -> None:
    assert words in complaint(capsys, *arguments, "--store", small_store)


def test_a_reader_that_stops_early_is_no_error(small_store: Path) -> None:
    line = ["sql", "FROM range(1000000)", "--store", str(small_store), "--format", "csv"]
    with subprocess.Popen(
        [sys.executable, "-m", "collaparte", *line], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout
        assert process.stderr
        assert process.stdout.readline() == b"range\n"
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == Exit.DONE


def test_help_loads_no_library_of_tables() -> None:
    script = (
        "import sys, collaparte, collaparte.commands\n"
        "for line in ['--help'], ['ask', '--help'], ['build', '--help']:\n"
        "    assert collaparte.commands.run(line) == 0\n"
        "print('loaded:', {'music21', 'pandas', 'pyarrow', 'duckdb', 'numpy'} & set(sys.modules))\n"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.endswith("loaded: set()\n")
