"""Answers: relations that hold their rows, each on a cursor of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

import collaparte
from collaparte import questions, resources
from collaparte.errors import StoreError, UsageError
from collaparte.questions import OpenStore
from collaparte.schema import TABLES
from collaparte.store import current
from two_movements import BROKEN, CHORAL


@pytest.fixture(scope="module")
def store(small_store: Path) -> OpenStore:
    return collaparte.open(small_store)


def test_ask(store: OpenStore) -> None:
    answer = store.ask("corpus-overview", state="read")
    row = dict(zip(answer.columns, answer.fetchall()[0], strict=True))
    assert (row["movement_id"], row["lines"], row["chorus_lines"]) == (CHORAL, 3, 2)
    assert len(answer) == 1


def test_defaults_and_values_select_rows(store: OpenStore) -> None:
    assert len(store.ask("parts-and-lines")) == 3
    assert len(store.ask("parts-and-lines", confidence="guess")) == 1
    assert len(store.ask("parts-and-lines", movement=BROKEN)) == 0
    assert store.ask("remarks").fetchall()[0][:2] == ("error", BROKEN)
    assert len(store.ask("remarks", severity="warning,note")) == 1


def test_values_are_bound_and_never_part_of_the_statement(store: OpenStore) -> None:
    assert len(store.ask("two-techniques-on-one-line", technique="x' OR '1' = '1")) == 0


def test_a_movement_or_composer_that_is_not_there_is_refused(store: OpenStore) -> None:
    """No rows would read as “never”."""
    with pytest.raises(UsageError, match=r"no movement x' OR .* in the store; the question"):
        store.ask("parts-and-lines", movement="x' OR '1' = '1")
    with pytest.raises(UsageError, match="no composer nobody in the store"):
        store.ask("textures-by-composer", composer="nobody")


def test_an_unknown_question_names_the_nearest(store: OpenStore) -> None:
    with pytest.raises(UsageError, match=r"no question corpus-overvew; did you mean corpus-over"):
        store.ask("corpus-overvew")
    with pytest.raises(UsageError, match="`collaparte questions` lists them"):
        store.ask("zzz")
    with pytest.raises(UsageError, match=r"no question \.\./README"):
        store.ask("../README")


def test_answers_do_not_get_in_each_others_way(store: OpenStore) -> None:
    first, second = store.sql("FROM range(5000)"), store.sql("SELECT count(*) FROM lines")
    reader = first.arrow()
    assert second.fetchall() == [(3,)]
    assert store.sql("SELECT 1").fetchall() == [(1,)]
    assert reader.read_all().num_rows == 5000
    assert first.fetchall() == first.fetchall()
    assert first.filter("range < 3").order("range DESC").fetchall() == [(2,), (1,), (0,)]


def test_an_answer_outlives_its_store(small_store: Path) -> None:
    answer = collaparte.open(small_store).sql("SELECT count(*) FROM lines")
    assert answer.fetchall() == [(3,)]


def test_tables(store: OpenStore) -> None:
    rows = {name: (row, count) for name, row, count in store.tables().fetchall()}
    assert list(rows) == list(TABLES)
    assert rows["lines"] == (TABLES["lines"].row, 3)
    assert rows["notes"][1] == 0


def test_a_relation_as_a_data_frame(store: OpenStore) -> None:
    frame = store.sql("SELECT player, notes FROM lines ORDER BY line_key").df()
    assert frame["player"].tolist() == ["Oboe", "Soprano", "Alto"]


def test_asking_a_state(small_store: Path) -> None:
    state = current(small_store)
    assert len(questions.ask(state, "corpus-overview", {"state": "failed"})) == 1
    assert questions.sql(state, "SELECT 1").fetchall() == [(1,)]


def test_macros_of_the_project_may_stand_in_a_statement(
    small_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "macros").mkdir()
    (tmp_path / "macros" / "lines_of.sql").write_text(
        "CREATE MACRO lines_of(wanted) AS TABLE SELECT * FROM lines WHERE ensemble = wanted;\n"
        "CREATE MACRO twice(number) AS 2 * number;"
    )
    monkeypatch.setattr(resources, "queries", lambda: tmp_path)
    store = collaparte.open(small_store)
    answer = store.sql("SELECT twice(count(*))::INTEGER FROM lines_of('chorus')")
    assert answer.fetchall() == [(4,)]


def test_no_store(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="no store here"):
        collaparte.open(tmp_path)
