"""The build: the same tables from any number of workers; one bad score costs itself alone."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

import collaparte
from collaparte.build import BuildSummary, _build, build
from collaparte.errors import StoreError, UsageError
from collaparte.manifest import SUFFIXES
from collaparte.movement import Movement
from collaparte.readers import read
from collaparte.reference import Reference
from collaparte.schema import Tables
from collaparte.settings import Settings
from collaparte.store import current

PIPELINE = Path(__file__).parents[1] / "pipeline"

SCORE = """<score-partwise version="4.0"><part-list>
<score-part id="P1"><part-name>Soprano</part-name></score-part>
<score-part id="P2"><part-name>Bassoon</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>{notes}</measure>
</part><part id="P2"><measure number="1"><attributes><divisions>1</divisions></attributes>{notes}
</measure></part></score-partwise>"""
NOTE = "<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>1</duration></note>"


def score(steps: str) -> str:
    return SCORE.format(notes="".join(NOTE.format(step=step) for step in steps))


@pytest.fixture
def corpus(tmp_path: Path) -> Path:
    """Two good scores and one that ends in the middle."""
    folder = tmp_path / "corpus"
    folder.mkdir()
    (folder / "good.musicxml").write_text(score("CDEFGABC"))
    (folder / "other.xml").write_text(score("GFEDC"))
    (folder / "torn.xml").write_text(score("CDE")[:300])
    return folder


def rows(store: Path, sql: str) -> list[tuple[object, ...]]:
    """The answer of the database that a build leaves for other programs."""
    with duckdb.connect(store / "collaparte.duckdb", read_only=True) as database:
        return database.sql(sql).fetchall()


def bytes_of(store: Path) -> dict[str, bytes]:
    paths = [store / "current.json", *(store / "objects").iterdir()]
    return {path.name: path.read_bytes() for path in paths}


def faulty(data: bytes, movement: Movement, reference: Reference, settings: Settings) -> Tables:
    """The reader, gone wrong on some names."""
    if movement.movement_id == "killed":
        os.kill(os.getpid(), signal.SIGKILL)
    if movement.movement_id == "fault":
        raise ZeroDivisionError("nothing to divide by")
    if movement.movement_id == "fill":
        np.ones(1 << 40)
    if movement.movement_id == "holed":
        tables = read(data, movement, reference, settings)
        position = tables["notes"].schema.get_field_index("staff")
        field = tables["notes"].schema.field("staff")
        nothing = pa.nulls(len(tables["notes"]), field.type)
        return {**tables, "notes": tables["notes"].set_column(position, field, nothing)}
    return read(data, movement, reference, settings)


def test_folder_to_tables(corpus: Path, tmp_path: Path) -> None:
    store = tmp_path / "store"
    calls: list[tuple[int, int]] = []
    summary = build(corpus, store, progress=lambda done, total: calls.append((done, total)))
    assert (summary.read, summary.failed, summary.skipped) == (2, 1, 0)
    assert summary.notes == 2 * 8 + 2 * 5
    assert summary.remarks["error"] == 1
    assert str(summary).startswith("movements: read 2, failed 1, skipped 0; notes: 26; remarks: ")
    assert calls == [(1, 3), (2, 3), (3, 3)]
    assert list(current(store).movements) == ["good", "other", "torn"]
    assert rows(store, "SELECT movement_id, state, counts FROM movements ORDER BY ALL") == [
        ("good", "read", True),
        ("other", "read", True),
        ("torn", "failed", True),
    ]
    assert rows(store, "SELECT movement_id, stage FROM remarks WHERE severity = 'error'") == [
        ("torn", "reading")
    ]
    assert rows(
        store, "SELECT movement_id, matched_notes FROM doublings WHERE kind = 'unison'"
    ) == [
        ("good", 8),
        ("other", 5),
    ]
    assert rows(store, "SELECT count(*) FROM settings WHERE name = 'matched_share'") == [(1,)]
    assert rows(store, "SELECT count(*) FROM instruments WHERE key = 'bassoon'") == [(1,)]


@pytest.mark.parametrize("workers", [2, 3])
def test_workers_and_repetition_change_nothing(corpus: Path, tmp_path: Path, workers: int) -> None:
    first = build(corpus, tmp_path / "1")
    assert build(corpus, tmp_path / "2", workers) == first
    assert bytes_of(tmp_path / "1") == bytes_of(tmp_path / "2")
    assert build(corpus, tmp_path / "2") == first
    assert bytes_of(tmp_path / "1") == bytes_of(tmp_path / "2")


def test_chance_is_the_same_from_any_number_of_workers(tmp_path: Path) -> None:
    invented = Path(collaparte.__file__).parent / "invented"
    corpus = tmp_path / "corpus"
    corpus.mkdir()
    for name in ("harbour_lamps.musicxml", "tide_table.mxl"):
        shutil.copy(invented / name, corpus)
    build(corpus, tmp_path / "1", chance=True)
    build(corpus, tmp_path / "2", workers=2, chance=True)
    assert bytes_of(tmp_path / "1") == bytes_of(tmp_path / "2")
    assert rows(
        tmp_path / "1", "SELECT DISTINCT movement_id, model FROM chance_doubled ORDER BY ALL"
    ) == [
        ("harbour_lamps", "harmony"),
        ("tide_table", "harmony"),
        ("tide_table", "shift"),
    ]
    assert rows(tmp_path / "1", "SELECT value FROM settings WHERE name = 'chance_draws'") == [
        ("19",)
    ]


def test_bad_scores_cost_themselves_alone(tmp_path: Path) -> None:
    corpus = tmp_path / "corpus"
    corpus.mkdir()
    for name in ("good", "killed", "fault", "fill", "holed", "well"):
        (corpus / f"{name}.xml").write_text(score("CDEFG"))
    store = tmp_path / "store"
    summary = _build(corpus, store, 2, None, faulty)
    assert (summary.read, summary.failed) == (2, 4)
    assert rows(store, "SELECT movement_id, code FROM remarks WHERE severity = 'error'") == [
        ("fault", "program_error"),
        ("fill", "memory_limit"),
        ("holed", "program_error"),
        ("killed", "worker_died"),
    ]
    messages = dict(rows(store, "SELECT movement_id, message FROM remarks"))
    assert "nothing to divide by" in str(messages["fault"])
    assert "notes: null in the required column staff" in str(messages["holed"])
    assert rows(store, "SELECT DISTINCT movement_id FROM notes ORDER BY 1") == [
        ("good",),
        ("well",),
    ]


def test_registers_by_another_scheme(corpus: Path, tmp_path: Path) -> None:
    store = tmp_path / "store"
    build(corpus / "good.musicxml", store, registers="vocal registers")
    schemes = "SELECT DISTINCT instrument, register_scheme FROM notes ORDER BY 1"
    assert rows(store, schemes) == [
        ("bassoon", "rimsky-korsakov"),
        ("voice-soprano-solo", "vocal registers"),
    ]
    assert rows(store, "SELECT value FROM settings WHERE name = 'register_scheme'") == [
        ("vocal registers",)
    ]


@pytest.mark.parametrize(("name", "hint"), [("stanly", "did you mean stanley"), ("x", "there are")])
def test_a_scheme_of_registers_that_nobody_knows(
    corpus: Path, tmp_path: Path, name: str, hint: str
) -> None:
    with pytest.raises(UsageError, match=f"no scheme of registers {name}; {hint}"):
        build(corpus, tmp_path / "store", registers=name)


def test_manifest_with_a_missing_file_and_a_missing_package(corpus: Path, tmp_path: Path) -> None:
    (corpus / "manifest.yaml").write_text("""
works:
  - work_id: w
    work: W
    movements:
      - {movement_id: w.1, source: good.musicxml, voices: chorus, title: Stated}
      - {movement_id: w.2, source: nowhere.xml}
      - {movement_id: w.3, source: {package: not_installed_anywhere, path: x.xml}}
""")
    store = tmp_path / "store"
    summary = build(corpus / "manifest.yaml", store)
    assert (summary.read, summary.failed, summary.skipped) == (1, 1, 1)
    assert rows(store, "SELECT movement_id, state, title FROM movements ORDER BY 1") == [
        ("w.1", "read", "Stated"),
        ("w.2", "failed", None),
        ("w.3", "skipped", None),
    ]
    assert rows(store, "SELECT movement_id, code FROM remarks WHERE severity != 'note'") == [
        ("w.2", "no_file"),
        ("w.3", "package_not_installed"),
    ]
    assert rows(store, "SELECT DISTINCT ensemble FROM lines WHERE player = 'Soprano'") == [
        ("chorus",)
    ]


def test_build_that_cannot_begin_leaves_the_store_alone(corpus: Path, tmp_path: Path) -> None:
    store = tmp_path / "store"
    with pytest.raises(UsageError, match="no such file or folder"):
        build(tmp_path / "nowhere", store)
    assert not store.exists()
    build(corpus, store)
    before = bytes_of(store)
    (corpus / "manifest.yaml").write_text("works: []")
    with pytest.raises(UsageError, match="works: a list is expected"):
        build(corpus / "manifest.yaml", store)
    with pytest.raises(StoreError, match=r"is no store, it holds good\.musicxml"):
        build(corpus, corpus)
    assert bytes_of(store) == before


def interrupted(
    data: bytes, movement: Movement, reference: Reference, settings: Settings
) -> Tables:
    """A reader during which somebody stops the program."""
    if movement.movement_id == "other":
        raise KeyboardInterrupt
    return read(data, movement, reference, settings)


def on_a_full_disk(
    data: bytes, movement: Movement, reference: Reference, settings: Settings
) -> Tables:
    """The reader, where a table cannot be written; the system says it in this way."""
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("workers", [1, 2])
def test_fault_of_the_system_is_none_of_the_scores(
    corpus: Path, tmp_path: Path, workers: int
) -> None:
    store = tmp_path / "store"
    build(corpus, store)
    before = bytes_of(store)
    with pytest.raises(StoreError, match="store cannot be written: No space left on device"):
        _build(corpus, store, workers, None, on_a_full_disk)
    assert bytes_of(store) == before


def test_interrupt_leaves_the_last_state_and_nothing_else(corpus: Path, tmp_path: Path) -> None:
    store = tmp_path / "store"
    build(corpus, store)
    before = bytes_of(store)
    (corpus / "good.musicxml").write_text(score("CCCC"))
    with pytest.raises(KeyboardInterrupt):
        _build(corpus, store, 1, None, interrupted)
    assert bytes_of(store) == before
    assert not list(store.glob(".unfinished-*"))


def test_killed_build_leaves_the_last_state_and_the_next_one_clears_up(
    corpus: Path, tmp_path: Path
) -> None:
    store = tmp_path / "store"
    build(corpus, store)
    before = bytes_of(store)
    script = tmp_path / "script.py"
    script.write_text(f"""
import sys, time
sys.path.insert(0, {str(PIPELINE)!r})
from pathlib import Path
from collaparte import build, readers

def slow(*given):
    print("reading", flush=True)
    time.sleep(600)

if __name__ == "__main__":
    from collaparte.build import _build
    _build(Path({str(corpus)!r}), Path({str(store)!r}), 1, None, slow)
""")
    process = subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    with process.stdout:
        assert process.stdout.readline() == "reading\n"
        with pytest.raises(StoreError, match="another build is writing"):
            build(corpus, store)
        process.kill()
    process.wait()
    assert bytes_of(store) == before
    assert list(store.glob(".unfinished-*"))
    build(corpus, store)
    assert bytes_of(store) == before
    assert not list(store.glob(".unfinished-*"))


def test_default_source_is_a_manifest_that_reads(tmp_path: Path) -> None:
    summary = build(None, tmp_path / "store")
    assert summary.failed == 0
    assert summary.read >= 1
    assert rows(
        tmp_path / "store",
        "SELECT count(*) FROM movements WHERE invented AND state = 'read' AND may_show_notation",
    ) == [(9,)]


def test_real_scores_with_one_and_two_workers(scores: Path, tmp_path: Path) -> None:
    count = sum(path.suffix.lower() in SUFFIXES for path in scores.rglob("*"))
    first = build(scores, tmp_path / "1")
    assert isinstance(first, BuildSummary)
    assert (first.read, first.failed) == (count, 0)
    assert build(scores, tmp_path / "2", 2) == first
    assert bytes_of(tmp_path / "1") == bytes_of(tmp_path / "2")
    for paths in current(tmp_path / "1").files.values():
        for path in paths:
            keys = pq.ParquetFile(path).schema_arrow
            assert keys.names[0] == "movement_id" or "movement_id" not in keys.names
