"""What SQL is let through: one SELECT that asks the tables and reaches nothing else.

DuckDB's own lock (`collaparte.questions.connection`) keeps files and settings out of reach. This
check comes before it and says in plain words what is wrong. It reads the statement's syntax tree:
tables must be those of the store or named in a WITH; of the functions that stand in FROM only a
few make rows of nothing but their arguments, and those are let through.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from typing import Any

import duckdb

from collaparte.errors import RefusedSQL, did_you_mean

ROW_FUNCTIONS = frozenset(
    {"generate_series", "json_each", "json_tree", "range", "repeat", "repeat_row", "unnest"}
)
"""Functions in FROM that reach nothing."""

STATEFUL_FUNCTIONS = frozenset(
    {
        "current_setting",
        "currval",
        "getenv",
        "getvariable",
        "nextval",
        "setseed",
        "setval",
        "sleep_ms",
        "write_log",
    }
)
"""Functions elsewhere that wait, or touch what is not a table."""

_HINT = "ask only the tables that `collaparte tables` lists"


def check(
    connection: duckdb.DuckDBPyConnection,
    text: str,
    tables: Collection[str],
    macros: Collection[str] = (),
) -> str:
    """The statement itself, if it may run.

    Parameters
    ----------
    connection
        Any connection; it parses, and runs nothing of the statement.
    text
        SQL from a person.
    tables
        Names of the tables that may be asked.
    macros
        Names of the project's own functions that may stand in FROM.

    Raises
    ------
    RefusedSQL
        With one plain line.
    """
    try:
        statements = connection.extract_statements(text)
    except duckdb.Error as error:
        raise RefusedSQL(f"SQL: {message_of(error)}") from None
    if len(statements) != 1:
        count = len(statements) or "no"
        raise RefusedSQL(f"SQL: {count} statements; give exactly one SELECT")
    kind = statements[0].type
    if kind == duckdb.StatementType.MULTI:
        raise RefusedSQL("SQL: PIVOT needs its values written out: PIVOT … ON column IN (…)")
    if kind != duckdb.StatementType.SELECT:
        first = text.split(maxsplit=1)[0].upper()
        raise RefusedSQL(
            f"SQL: {first if first.isalpha() else kind.name} is refused; give one SELECT"
        )
    _check_names(_syntax_tree(connection, text), set(tables), set(macros))
    return text


def message_of(error: duckdb.Error) -> str:
    """What the database says in its first line, and the columns there are where one is unknown."""
    first, *others = str(error).splitlines()
    kind, colon, rest = first.partition(" Error: ")
    message = (rest if colon else kind).strip()
    candidates = [line.strip() for line in others if line.startswith("Candidate bindings:")]
    return "; ".join([message, *candidates])


def _syntax_tree(connection: duckdb.DuckDBPyConnection, text: str) -> Any:
    try:
        asked = connection.sql("SELECT json_serialize_sql($text)", params={"text": text})
        tree = json.loads(asked.fetchall()[0][0])
    except (duckdb.Error, RecursionError):
        raise RefusedSQL("SQL: the statement is nested too deeply") from None
    if tree.get("error", True):
        raise RefusedSQL(f"SQL: {tree.get('error_message', 'not one plain SELECT')}")
    return tree


def _check_names(tree: Any, tables: set[str], macros: set[str]) -> None:
    nodes = list(_nodes(tree))
    named = {entry["key"].lower() for node in nodes for entry in _with_names(node)}
    for node in nodes:
        if node.get("type") == "BASE_TABLE":
            _check_table(node, tables | named)
        elif node.get("type") == "SHOW_REF":
            _check_shown(node)
        elif node.get("type") == "TABLE_FUNCTION":
            function = node["function"]["function_name"].lower()
            if function not in ROW_FUNCTIONS | macros:
                raise RefusedSQL(f"SQL: {function} reaches outside the tables; {_HINT}")
        elif node.get("function_name", "").lower() in STATEFUL_FUNCTIONS:
            raise RefusedSQL(f"SQL: {node['function_name']} is refused; {_HINT}")


def _check_table(node: dict[str, Any], known: set[str]) -> None:
    name = node["table_name"]
    plain = node.get("schema_name") in ("", "main") and not node.get("catalog_name")
    if not plain or name.lower() not in known:
        full = ".".join(filter(None, (node.get("catalog_name"), node.get("schema_name"), name)))
        near = did_you_mean(name, sorted(known)) or f"; {_HINT}"
        raise RefusedSQL(f"SQL: there is no table {full}{near}")


def _check_shown(node: dict[str, Any]) -> None:
    """DESCRIBE and SUMMARIZE of a table are a SELECT in all but name; SHOW lists are not."""
    if node.get("query") is None:
        raise RefusedSQL("SQL: SHOW is refused; `collaparte tables` lists the tables")


def _with_names(node: dict[str, Any]) -> list[dict[str, Any]]:
    names = node.get("cte_map")
    return names["map"] if isinstance(names, dict) else []


def _nodes(tree: Any) -> Iterator[dict[str, Any]]:
    """Every object of the tree, each before those within it."""
    waiting = [tree]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            yield value
            waiting.extend(value.values())
        elif isinstance(value, list):
            waiting.extend(value)
