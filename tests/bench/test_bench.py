"""Both benches run on a tiny folder and print what they promise; no number is judged."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import build
import chance
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
    assert found["null_draw_s"] > 0
    assert found["movements_asked"] == 5 * 2
    assert "partners-at" in found["questions_s"]
    assert found["headline_s"] == found["questions_s"]["low-winds-double-chorus"]


def test_searching(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    searching.report(searching.measure(folder, movements=3), as_json=True)
    found = last_line(capsys)
    assert (found["movements"], found["bars"]) == (3, 3)
    assert found["command_s"] > found["opening_s"] > 0
    assert found["first_s"] > 0
    assert found["bars_1_s"][0] <= found["bars_1_s"][1]
    assert "bars_4_s" not in found


def bars_of(pitches: Sequence[str], bars: int) -> str:
    """Parts of a score: these quarter notes in every bar."""
    note = "<note><pitch><step>{}</step><octave>4</octave></pitch><duration>1</duration></note>"
    music = "".join(map(note.format, pitches))
    numbers = range(1, bars + 1)
    first = "<attributes><divisions>1</divisions></attributes>"
    return "".join(
        f'<measure number="{number}">{first if number == 1 else ""}{music}</measure>'
        for number in numbers
    )


def two_parts(upper: str, lower: str) -> str:
    names = "".join(
        f'<score-part id="{part}"><part-name>{name}</part-name></score-part>'
        for part, name in (("P1", "Flute"), ("P2", "Oboe"))
    )
    return (
        f'<score-partwise version="4.0"><part-list>{names}</part-list>'
        f'<part id="P1">{upper}</part><part id="P2">{lower}</part></score-partwise>'
    )


@pytest.mark.parametrize(
    ("lower", "code"), [(bars_of("CDEF", 20), 1), (bars_of("GABG", 20), 0)], ids=["same", "other"]
)
def test_chance_exits_1_where_it_gives_too_much(tmp_path: Path, lower: str, code: int) -> None:
    """The same bar 20 times over in both parts comes again under every shift."""
    score = two_parts(bars_of("CDEF", 20), lower)
    (tmp_path / "score.musicxml").write_text(score, encoding="utf-8")
    script = Path(__file__).with_name("chance.py")
    done = subprocess.run(
        [sys.executable, str(script), str(tmp_path), "--draws", "2", "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == code, done.stderr
    found = json.loads(done.stdout.splitlines()[-1])
    (all_strict,) = (row for row in found["rows"] if row["strict"] and row["kind"] == chance.ALL)
    assert all_strict["shift_share"] == (1 if code else None)
    assert ("the shift null gives 100.0%, more than 1%" in done.stderr) == bool(code)


@pytest.mark.parametrize(
    ("share", "doubled", "too_much"),
    [(0.0299, 100, False), (0.031, 100, True), (None, 0, False)],
)
def test_bound_of_a_kind(share: float | None, doubled: float, too_much: bool) -> None:
    row = {
        "kind": "octave",
        "strict": True,
        "doubled_quarters": doubled,
        "shift_share": share,
        "shift_quarters": (share or 0) * doubled,
        "harmony_share": None,
        "harmony_quarters": None,
    }
    assert bool(chance.beyond([row])) == too_much
    assert chance.beyond([row | {"strict": False}]) == []


def test_chance_exits_2_where_a_score_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "a.musicxml").write_text("X:1\nK:C\n")
    script = Path(__file__).with_name("chance.py")
    done = subprocess.run([sys.executable, str(script), str(tmp_path)], check=False)
    assert done.returncode == 2


def test_chance_of_what_is_never_doubled_is_too_much() -> None:
    row = {"kind": "chordal", "strict": True, "doubled_quarters": 0.0}
    row |= {"shift_share": None, "shift_quarters": 2.0}
    row |= {"harmony_share": None, "harmony_quarters": 0.0}
    assert len(chance.beyond([row])) == 1


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
