"""The bench of the leading line on marks of two bars made up here."""

from __future__ import annotations

from pathlib import Path

import leading_line
import pytest

from collaparte.settings import Settings


def part(number: int, notes: str) -> str:
    return f'<part id="P{number}">{notes}</part>'


def bar(number: int, pitches: list[tuple[str, int]]) -> str:
    head = "<attributes><divisions>1</divisions></attributes>" if number == 1 else ""
    notes = "".join(
        f"<note><pitch><step>{step}</step><octave>{octave}</octave></pitch>"
        "<duration>1</duration></note>"
        for step, octave in pitches
    )
    return f'<measure number="{number}">{head}{notes}</measure>'


def tune(octave: int) -> str:
    return "".join(
        bar(number, [("C", octave), ("D", octave), ("E", octave), ("F", octave)])
        for number in (1, 2)
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Flute and oboe have a tune in octaves, the bassoon four equal notes a bar."""
    names = "".join(
        f'<score-part id="P{number}"><part-name>{name}</part-name></score-part>'
        for number, name in enumerate(("Flute", "Oboe", "Bassoon"), 1)
    )
    still = "".join(bar(number, [("C", 3)] * 4) for number in (1, 2))
    parts = part(1, tune(6)) + part(2, tune(5)) + part(3, still)
    (tmp_path / "Anna_One_1.musicxml").write_text(
        f'<score-partwise version="4.0"><part-list>{names}</part-list>{parts}</score-partwise>'
    )
    # The oboe carries the line for six quarters, the bassoon for two.
    (tmp_path / "Anna_One_1.leading_line.csv").write_text("qstamp,part_num\n0.0,1\n6.0,2\n")
    return tmp_path


def test_a_line_hits_its_own_part_and_what_it_doubles(folder: Path) -> None:
    (marked,), (chosen,) = leading_line.marked_movements(folder, Settings())
    assert marked.hits.marked.tolist() == [4, 4]
    # The flute doubles the oboe, an octave apart, for the whole of the oboe's time.
    assert marked.hits.hit.tolist() == [[4, 4, 0], [2, 2, 2]]
    assert chosen["highest"].tolist() == [0, 0]
    assert (marked.composer, marked.work) == ("Anna", "Anna_One")


def test_report(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = {".musicxml": "Berta_Two_1.musicxml", ".csv": "Berta_Two_1.leading_line.csv"}
    for file in sorted(folder.iterdir()):
        (folder / other[file.suffix]).write_bytes(file.read_bytes())
    settings = Settings()
    leading_line.report(*leading_line.figures(folder, settings), settings)
    told = capsys.readouterr().out
    for way in ("ours, composer left out", "ours, frozen weights", "highest", "first violin"):
        assert way in told
    assert "best line of each bar         0.750" in told
    leading_line.write_weights(folder / "w.csv", leading_line.marked_movements(folder, settings)[0])
    written = (folder / "w.csv").read_text().splitlines()
    assert len(written) == 1 + len(leading_line.EVIDENCE)


def test_folder_without_marks(folder: Path) -> None:
    (folder / "Anna_One_1.leading_line.csv").unlink()
    with pytest.raises(SystemExit, match=r"no score with a file \*\.leading_line\.csv beside it"):
        leading_line.marked_movements(folder, Settings())
