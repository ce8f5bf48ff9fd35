"""`collaparte build`: what it says, and its exit code when a score cannot be read."""

from __future__ import annotations

from pathlib import Path

import pytest

import collaparte
from collaparte.commands import run
from collaparte.console import Exit

SCORE = """\
<score-partwise version="4.0">
  <part-list><score-part id="P1"><part-name>Oboe</part-name></score-part></part-list>
  <part id="P1"><measure number="1">
    <attributes><divisions>1</divisions><time><beats>1</beats><beat-type>4</beat-type></time>
    </attributes>
    <note><pitch><step>A</step><octave>4</octave></pitch><duration>1</duration></note>
  </measure></part>
</score-partwise>
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one score, and the current folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "scores").mkdir()
    (tmp_path / "scores" / "one.musicxml").write_text(SCORE)
    return tmp_path / "scores"


def build(folder: Path) -> int:
    return run(["build", str(folder), "--workers", "1"])


def test_a_folder_goes_into_the_store_of_the_current_folder(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert build(folder) == Exit.DONE
    out, err = capsys.readouterr()
    assert "read 1, failed 0" in out
    assert err == ""
    pitches = collaparte.open(folder.parent / "collaparte-store").sql("SELECT midi FROM notes")
    assert pitches.fetchall() == [(69,)]


def test_a_broken_score_does_not_stop_the_others(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "two.musicxml").write_text(SCORE[:200])
    assert build(folder) == Exit.SOME_SCORES_FAILED
    out, err = capsys.readouterr()
    assert "read 1, failed 1" in out
    assert err == "collaparte: some scores could not be read; collaparte remarks says why\n"
    assert run(["remarks", "--format", "csv"]) == Exit.DONE
    assert "\nerror,two," in capsys.readouterr().out


def test_the_public_door_builds_too(folder: Path) -> None:
    summary = collaparte.build(folder, folder.parent / "other")
    assert (summary.read, summary.failed) == (1, 0)
