"""Which work a movement belongs to."""

from __future__ import annotations

from pathlib import Path

import duckdb
import pytest

from collaparte.build import build
from collaparte.movement import Movement
from collaparte.readers.works import WorkNames, work_of

FOUND = Movement("file-1", "file-1.xml", work_id="file-1", work="file-1", work_stated=False)
OWN = {"work_id": "file-1", "work": "file-1"}


def test_the_file_names_a_work_and_a_movement_of_it() -> None:
    names = WorkNames("Op. 9", "Harbour Symphony No.2", "3", "Minuet")
    assert work_of(FOUND, "Quay, Éva", names) == {
        "work_id": "quay-eva.op-9.harbour-symphony-no-2",
        "work": "Harbour Symphony No.2, Op. 9",
    }
    other = WorkNames("Op.9", "Harbour Symphony No. 2", "4", None)
    assert work_of(FOUND, "Quay, Éva", other)["work_id"] == "quay-eva.op-9.harbour-symphony-no-2"


@pytest.mark.parametrize(
    "names",
    [
        WorkNames(None, None, None, None),
        WorkNames(None, None, "1", "Minuet"),
        WorkNames("Op. 9", "Untitled", None, None),
        WorkNames(None, "…", "1", None),
    ],
)
def test_a_file_that_does_not_name_both_is_a_work_of_its_own(names: WorkNames) -> None:
    assert work_of(FOUND, None, names) == OWN


def test_what_is_stated_counts() -> None:
    stated = Movement("a.1", "x.xml", work_id="a", work="A")
    names = WorkNames("Op. 9", "Symphony", "3", "Minuet")
    assert work_of(stated, "Quay", names) == {"work_id": "a", "work": "A"}


SCORE = """<score-partwise version="4.0">
<work><work-number>Op. 9</work-number><work-title>Symphony</work-title></work>
<movement-number>{number}</movement-number>
<identification><creator type="composer">Quay</creator></identification>
<part-list><score-part id="P1"><part-name>Oboe</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration></note></measure></part>
</score-partwise>"""


def test_two_files_of_a_folder_are_movements_of_one_work(tmp_path: Path) -> None:
    folder = tmp_path / "scores"
    folder.mkdir()
    for number in (1, 2):
        (folder / f"file-{number}.xml").write_text(SCORE.format(number=number))
    build(folder, tmp_path / "store")
    with duckdb.connect(tmp_path / "store" / "collaparte.duckdb", read_only=True) as database:
        rows = database.sql("SELECT movement_id, work_id, work FROM movements ORDER BY ALL")
        assert rows.fetchall() == [
            ("file-1", "quay.op-9.symphony", "Symphony, Op. 9"),
            ("file-2", "quay.op-9.symphony", "Symphony, Op. 9"),
        ]


def test_works_of_real_scores(scores: Path, tmp_path: Path) -> None:
    build(scores, tmp_path / "store", workers=2)
    with duckdb.connect(tmp_path / "store" / "collaparte.duckdb", read_only=True) as database:
        rows = database.sql(
            "SELECT composer, count(DISTINCT work_id) AS works FROM movements "
            "GROUP BY composer HAVING works >= 5"
        ).fetchall()
    assert rows == [("Beethoven, Ludwig van", 5)]
