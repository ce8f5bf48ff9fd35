"""The command audit: from a sheet, coded, to its score."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from collaparte.commands import run
from collaparte.console import Exit
from simulated_corpus import Doubling, Piece, Player, store_of

HEAD = b"detected,kind,strictness,sampling_rate,coder_1,coder_2\n"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    players = [Player("oboe", 0, 80), Player("bassoon", 0, 80)]
    piece = Piece("one", players, [Doubling(0, 1, 0, 40)])
    return store_of(tmp_path_factory.mktemp("audit"), [piece])


def test_from_the_sheet_to_the_score(
    capsys: pytest.CaptureFixture[str], store: Path, tmp_path: Path
) -> None:
    asked = ["audit", "doublings", "--sample", "8", "--seed", "7", "--store", str(store)]
    assert run(asked) == Exit.DONE
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert len(rows) == 8
    for row in rows:
        row["coder_1"] = row["coder_2"] = row["detected"]
    file = tmp_path / "coded.csv"
    with file.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    assert run(["audit", "doublings", "--score", str(file), "--format", "csv"]) == Exit.DONE
    scored = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert {(row["figure"], row["value"]) for row in scored} == {
        ("precision", "1.0"),
        ("recall", "1.0"),
        ("kappa", "1.0"),
    }


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (None, "coded.csv cannot be read: No such file"),
        (b"\xff\xfe\x00", "coded.csv is no text in UTF-8"),
        (HEAD, "nothing is coded"),
        (HEAD + b"yes,unison,strict,0.5,oui,\n", "line 2: coder_1 is yes or no, not oui"),
    ],
)
def test_bad_sheets_give_one_plain_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, data: bytes | None, words: str
) -> None:
    file = tmp_path / "coded.csv"
    if data is not None:
        file.write_bytes(data)
    assert run(["audit", "doublings", "--score", str(file)]) == Exit.WRONG_USAGE
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert words in err


def test_only_doublings_are_audited(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["audit", "textures"]) == Exit.WRONG_USAGE
    assert "'textures' is not 'doublings'" in capsys.readouterr().err
