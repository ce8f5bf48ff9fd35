"""Answers on stdout and in files, in every format."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import duckdb
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from collaparte import console
from collaparte.errors import UsageError

ANSWER = """
SELECT * FROM (VALUES
    ('kyrie', 0.25::DOUBLE, ['oboe', 'horn'], true, sum_of_ints, 1.5::DECIMAL(9, 2)),
    ('gloria, „a"b“', 'nan'::DOUBLE, [], NULL, NULL, NULL)
) AS t (movement, share, instruments, strict, ticks, mean)
"""


@pytest.fixture
def answer() -> duckdb.DuckDBPyRelation:
    connection = duckdb.connect()
    return connection.sql(ANSWER.replace("sum_of_ints", "12::HUGEINT")).materialize()


def printed(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    console.print_answer(*arguments)  # type: ignore[arg-type]
    captured = capsys.readouterr()
    assert captured.err == ""
    return captured.out


def test_csv_has_raw_values(
    answer: duckdb.DuckDBPyRelation, capsys: pytest.CaptureFixture[str]
) -> None:
    assert printed(capsys, answer, "csv", None, {"share": "share"}) == (
        "movement,share,instruments,strict,ticks,mean\n"
        'kyrie,0.25,"[""oboe"", ""horn""]",true,12,1.50\n'
        '"gloria, „a""b“",nan,[],,,\n'
    )


def test_json_is_one_array_of_raw_values(
    answer: duckdb.DuckDBPyRelation, capsys: pytest.CaptureFixture[str]
) -> None:
    text = printed(capsys, answer, "json", None, {"share": "share"})
    assert "NaN" not in text
    first, second = json.loads(text)
    assert first == {
        "movement": "kyrie",
        "share": 0.25,
        "instruments": ["oboe", "horn"],
        "strict": True,
        "ticks": 12,
        "mean": 1.5,
    }
    assert second["share"] is None
    assert second["instruments"] == []


@pytest.mark.parametrize("output_format", ["table", "markdown"])
def test_formats_for_reading_show_percent(
    answer: duckdb.DuckDBPyRelation, capsys: pytest.CaptureFixture[str], output_format: str
) -> None:
    text = printed(capsys, answer, output_format, None, {"share": "share"})
    assert "25.0 %" in text
    assert "oboe, horn" in text


def test_no_rows(capsys: pytest.CaptureFixture[str]) -> None:
    nothing = duckdb.connect().sql("SELECT 1 AS a WHERE false").materialize()
    assert printed(capsys, nothing, "table") == "a\n0 rows\n"
    assert printed(capsys, nothing, "csv") == "a\n"
    assert json.loads(printed(capsys, nothing, "json")) == []


def test_parquet_has_the_types_that_other_programs_know(
    answer: duckdb.DuckDBPyRelation, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "answer.parquet"
    console.print_answer(answer, "parquet", path)
    assert capsys.readouterr().err == f"collaparte: wrote {path}\n"
    table = pq.read_table(path)
    assert table["ticks"].type == pa.int64()
    assert table["instruments"].to_pylist() == [["oboe", "horn"], []]


def test_a_file_holds_what_the_screen_would_show(
    answer: duckdb.DuckDBPyRelation, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    console.print_answer(answer, "csv", tmp_path / "answer.csv")
    capsys.readouterr()
    assert (tmp_path / "answer.csv").read_text("utf-8") == printed(capsys, answer, "csv")


def test_parquet_needs_a_file(answer: duckdb.DuckDBPyRelation) -> None:
    with pytest.raises(UsageError, match="add --output FILE"):
        console.print_answer(answer, "parquet")


@pytest.mark.parametrize("output_format", ["csv", "parquet"])
def test_a_file_that_cannot_be_written(
    answer: duckdb.DuckDBPyRelation, tmp_path: Path, output_format: str
) -> None:
    with pytest.raises(UsageError, match=r"nowhere.* cannot be written: No such file"):
        console.print_answer(answer, output_format, tmp_path / "nowhere" / "x")


def test_progress_is_silent_where_stderr_is_no_terminal(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with console.progress("movements") as report:
        assert report is None
    assert capsys.readouterr() == ("", "")


def test_progress_on_a_terminal_leaves_nothing_behind(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with console.progress("movements") as report:
        assert report is not None
        report(2, 14)
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err == "\r2 of 14 movements\r\x1b[K"
