"""Both benches run on a tiny folder and print what they promise; no number is judged."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import build
import pytest
import reading
import searching

SCORE = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0">
  <part-list><score-part id="P1"><part-name>Soprano</part-name></score-part></part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>1</divisions></attributes>
      <note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration></note>
    </measure>
  </part>
</score-partwise>
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("one", "two"):
        (tmp_path / f"{name}.musicxml").write_text(SCORE, encoding="utf-8")
    return tmp_path


def last_line(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(capsys.readouterr().out.splitlines()[-1])
    return found


def test_reading(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("music21")
    reading.report(reading.measure(folder, rounds=1), as_json=True)
    found = last_line(capsys)
    assert found["files"] == found["sample_files"] == 2
    assert found["ratio_to_bare_parse"] == found["reader_s"] / found["bare_parse_s"]
    assert found["music21_ratio"] > 0
    assert found["reader_peak_mb"] >= 0


def test_build(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    build.report(build.measure(folder, rounds=1), as_json=True)
    found = last_line(capsys)
    assert found["files"] == 2
    assert found["build_1_s"] > found["bare_parse_1_s"] > 0
    assert found["build_2_ratio"] > 0
    assert "reading" in found["stages_s"]
    assert found["headline_s"] == found["questions_s"]["low-winds-double-chorus"]


def test_searching(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    searching.report(searching.measure(folder, movements=3), as_json=True)
    found = last_line(capsys)
    assert (found["movements"], found["bars"]) == (3, 3)
    assert found["first_s"] > 0
    assert found["bars_1_s"][0] <= found["bars_1_s"][1]
    assert "bars_4_s" not in found


@pytest.mark.parametrize("script", ["reading.py", "build.py", "searching.py"])
def test_folder_without_a_score(script: str, tmp_path: Path) -> None:
    (tmp_path / "a.musicxml").write_text("X:1\nK:C\n")
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name(script)), str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode != 0
    assert "no MusicXML score in this folder" in done.stderr
