"""SQL from a stranger: what is refused, each time with one plain line."""

from __future__ import annotations

from pathlib import Path

import duckdb
import pytest

import collaparte
from collaparte.errors import RefusedSQL
from collaparte.questions import Limits, OpenStore
from collaparte.questions.connection import connect
from collaparte.questions.statement import check
from collaparte.store import State, current

DEEP = "SELECT " + "(" * 5000 + "1" + ")" * 5000


@pytest.fixture(scope="module")
def state(small_store: Path) -> State:
    return current(small_store)


@pytest.fixture(scope="module")
def store(state: State) -> OpenStore:
    return OpenStore(state)


def refusal(store: OpenStore, text: str) -> str:
    with pytest.raises(RefusedSQL) as raised:
        store.sql(text)
    message = str(raised.value)
    assert message.startswith("SQL: ")
    assert "\n" not in message
    return message


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("COPY (SELECT 1) TO 'x.csv'", "COPY is refused; give one SELECT"),
        ("ATTACH 'x.db'", "ATTACH is refused"),
        ("SET threads = 1", "SET is refused"),
        ("RESET threads", "RESET is refused"),
        ("PRAGMA version", "PRAGMA is refused"),
        ("INSTALL spatial", "INSTALL is refused"),
        ("LOAD spatial", "LOAD is refused"),
        ("CALL pragma_version()", "CALL is refused"),
        ("EXPORT DATABASE 'x'", "EXPORT is refused"),
        ("DROP VIEW lines", "DROP is refused"),
        ("CREATE TABLE x AS SELECT 1", "CREATE is refused"),
        ("DELETE FROM lines", "DELETE is refused"),
        ("EXPLAIN ANALYZE SELECT 1", "EXPLAIN is refused"),
        ("/* harmless */ SET threads = 1", "SET is refused"),
        ("SELECT 1; SELECT 2", "2 statements; give exactly one SELECT"),
        ("SELECT 1; COPY lines TO 'x'", "2 statements"),
        ("", "no statements"),
        ("-- nothing", "no statements"),
        ("SELEC 1", 'syntax error at or near "SELEC"'),
        (DEEP, "nested|depth|expression"),
        ("PIVOT lines ON family USING count(*)", "PIVOT needs its values written out"),
        ("SHOW TABLES", "SHOW is refused"),
        ("SELECT note FROM lines", 'column "note" not found.*Candidate bindings: "notes"'),
        ("FROM lnes", r"no table lnes; did you mean lines\?"),
        ("SELECT $movement", "not provided"),
    ],
)
def test_not_one_plain_select(store: OpenStore, text: str, complaint: str) -> None:
    with pytest.raises(RefusedSQL, match=complaint):
        store.sql(text)
    refusal(store, text)


@pytest.mark.parametrize(
    "text",
    [
        "SELECT * FROM read_csv('/etc/passwd')",
        "SELECT * FROM read_text('/etc/passwd')",
        "SELECT * FROM read_blob('{store}/../secret.csv')",
        "SELECT * FROM read_parquet('{object}')",
        "SELECT * FROM parquet_schema('{object}')",
        "SELECT * FROM glob('/etc/*')",
        "SELECT * FROM sniff_csv('/etc/passwd')",
        "FROM '/etc/passwd'",
        "FROM '{store}/../secret.csv'",
        "FROM '{store}/link.csv'",
        "FROM '{object}'",
        "FROM system.main.read_csv('/etc/passwd')",
        "FROM query('SELECT 1')",
        "FROM query_table('lines')",
        "FROM json_execute_serialized_sql('{{}}')",
        "FROM duckdb_settings()",
        "FROM duckdb_views",
        "FROM pragma_database_size()",
        "FROM enable_logging(storage := 'file', storage_path := 'x')",
        "FROM checkpoint()",
        "FROM information_schema.tables",
        "FROM other.main.lines",
        "SELECT (SELECT count(*) FROM read_csv('/etc/passwd')) FROM lines",
        "WITH a AS (FROM read_csv('/etc/passwd')) FROM a",
        "SELECT 1 UNION ALL SELECT content FROM read_text('/etc/passwd')",
        "SELECT getenv('HOME')",
        "SELECT current_setting('allowed_paths')",
        "SELECT sleep_ms(60000)",
        "SELECT write_log('x')",
    ],
)
def test_reaching_outside_the_tables(store: OpenStore, state: State, text: str) -> None:
    places = {"store": state.root, "object": state.files["lines"][0]}
    message = refusal(store, text.format(**places))
    assert "reaches outside" in message or "no table" in message or "is refused" in message


@pytest.mark.parametrize(
    "text",
    [
        "SELECT * FROM read_csv('/etc/passwd')",
        "SELECT * FROM read_text('{store}/../secret.csv')",
        "SELECT * FROM read_text('{store}/objects/../../secret.csv')",
        "SELECT * FROM read_text('{store}/link.csv')",
        "SELECT * FROM read_text('{store}/current.json')",
        "SELECT * FROM glob('{store}/*')",
        "COPY (SELECT 1) TO '{store}/x.csv'",
        "COPY (SELECT 1 AS a) TO '{object}'",
        "ATTACH '{store}/x.db'",
        "INSTALL spatial",
        "SET threads = 1",
        "SET lock_configuration = false",
    ],
)
def test_the_lock_holds_without_the_check(state: State, text: str) -> None:
    (state.root.parent / "secret.csv").write_text("a\n1\n")
    link = state.root / "link.csv"
    if not link.is_symlink():
        link.symlink_to(state.root.parent / "secret.csv")
    connection = connect(state.files, (), Limits()).cursor()
    places = {"store": state.root, "object": state.files["lines"][0]}
    with pytest.raises((duckdb.PermissionException, duckdb.InvalidInputException)):
        connection.execute(text.format(**places))
    assert connection.sql("SELECT count(*) FROM lines").fetchall() == [(3,)]


def test_python_variables_are_no_tables(store: OpenStore) -> None:
    secret = {"a": [1]}  # noqa: F841  what a replacement scan would find
    assert "no table secret" in refusal(store, "FROM secret")


def test_endless_recursion_ends(state: State) -> None:
    store = OpenStore(state, Limits(seconds=0.3))
    endless = "WITH RECURSIVE t(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM t) SELECT max(i) FROM t"
    assert "takes more than 0.3 seconds" in refusal(store, endless)
    assert store.sql("SELECT count(*) FROM lines").fetchall() == [(3,)]


def test_memory_is_limited(state: State) -> None:
    store = OpenStore(state, Limits(megabytes=64))
    assert "needs more than 64 MB" in refusal(store, "SELECT list(range) FROM range(100000000)")


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("SELECT count(*) FROM lines", [(3,)]),
        ("FROM lines SELECT max(notes)", [(4,)]),
        ("VALUES (1), (2);", [(1,), (2,)]),
        ("SELECT count(*) FROM main.lines", [(3,)]),
        ("WITH a AS (SELECT notes FROM lines) SELECT sum(notes)::BIGINT FROM a", [(11,)]),
        ("SELECT count(*) FROM (PIVOT lines ON family IN ('voice') USING count(*))", [(3,)]),
        ("SELECT count(*) FROM lines, unnest([1, 2])", [(6,)]),
        ("SELECT list_transform([1], lambda n: n + 1)", [([2],)]),
        ("SELECT count(*) FROM (SUMMARIZE lines) WHERE column_name = 'notes'", [(1,)]),
        (
            "WITH RECURSIVE t(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM t WHERE i < 9) "
            "SELECT count(*) FROM t",
            [(9,)],
        ),
        ("SELECT 'COPY; read_csv' -- ; ATTACH", [("COPY; read_csv",)]),
    ],
)
def test_what_a_select_may_do(store: OpenStore, text: str, rows: list[tuple[object, ...]]) -> None:
    assert store.sql(text).fetchall() == rows


def test_describe(store: OpenStore) -> None:
    assert ("notes", "INTEGER") in [row[:2] for row in store.sql("DESCRIBE lines").fetchall()]


def test_the_check_runs_nothing() -> None:
    connection = duckdb.connect()
    with pytest.raises(RefusedSQL):
        check(connection, "CREATE TABLE x (a INTEGER)", ())
    assert connection.sql("SHOW TABLES").fetchall() == []


def test_the_same_through_the_public_door(small_store: Path) -> None:
    with pytest.raises(RefusedSQL, match="COPY is refused"):
        collaparte.open(small_store).sql("COPY lines TO 'x'")
