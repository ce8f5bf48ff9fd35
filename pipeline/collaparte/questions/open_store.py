"""One state of a store, open for questions.

Answers are DuckDB relations that hold their rows: a statement runs once, when it is asked, under
limits of time and memory, on a cursor of its own, so that answers do not get in each other's way.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import duckdb

from collaparte.errors import RefusedSQL, UsageError, did_you_mean
from collaparte.questions.connection import Limits, connect, macro_names
from collaparte.questions.library import find, macro_files
from collaparte.questions.parameters import bound_values
from collaparte.questions.statement import check, message_of
from collaparte.schema import TABLES
from collaparte.settings import Settings
from collaparte.store import State

if TYPE_CHECKING:
    from collaparte.comparison import Comparison
    from collaparte.similar import Index

_NO_LIMITS_GIVEN = Limits()
_KNOWN = {
    "movement": "SELECT DISTINCT movement_id FROM movements",
    "work": "SELECT DISTINCT work_id FROM movements",
    "composer": "SELECT DISTINCT composer_id, composer FROM movements",
}
"""Names of movements, works and composers in a store."""


class OpenStore:
    """One state of a store; builds that come later do not change what it sees.

    Parameters
    ----------
    state
        From `collaparte.store.current`.
    limits
        Time and memory of one statement.
    """

    def __init__(self, state: State, limits: Limits = _NO_LIMITS_GIVEN) -> None:
        self._state = state
        self._limits = limits
        self._connection = connect(state.files, macro_files(), limits)
        self._macros = macro_names(self._connection)
        self._index: Index | None = None
        self._checked: set[str] = set()

    def ask(self, name: str, /, **parameters: Any) -> duckdb.DuckDBPyRelation:
        """The answer to the question `name`.

        Parameters
        ----------
        parameters
            As the question's header names them; those left out have its defaults.

        Raises
        ------
        UsageError
            The question or a parameter is unknown, or a value does not fit.
        """
        question = find(name)
        values = bound_values(question, parameters)
        named: dict[str, list[str]] = defaultdict(list)
        for parameter in question.parameters:
            if parameters.get(parameter.name) is not None:
                named[parameter.type].append(values[parameter.name])
        if named["instrument"]:
            from collaparte.comparison.amounts import check_words

            check_words(self._answer, named["instrument"])
        for kind in _KNOWN:
            self._check_known(kind, named[kind])
        answer = self._answer(question.sql, values)
        if question.corpus is None:
            return answer
        from collaparte.questions.corpus_rows import with_corpus_rows

        whole = with_corpus_rows(question, answer.to_arrow_table(), Settings())
        return self._connection.cursor().from_arrow(whole).materialize()

    def sql(self, text: str, /) -> duckdb.DuckDBPyRelation:
        """The answer to one SELECT.

        Raises
        ------
        RefusedSQL
            It is not exactly one SELECT, reaches outside the tables, is wrong, or takes too much
            time or memory; the message is one plain line.
        """
        return self._answer(text, {})

    def compare(
        self, line: str, partner: str | Sequence[str], /, by: str = "composer", **choices: Any
    ) -> Comparison:
        """How often lines of one instrument are doubled by another, by groups of works.

        Parameters
        ----------
        line, partner
            Instruments (a generic one such as clarinet stands for its sizes and keys),
            subfamilies, families or `chorus`; several partners make one family of tests.
        by
            composer, work, decade, collection, encoder or corpus (all works as one group).
        choices
            strict (true), kinds (unison, octave), against (the group that the others are set
            against; else the one with most works), collection, encoder, every_movement (false:
            those that do not count or lack parts are left out), half (explore or confirm, of a
            split by lot), seed.

        Raises
        ------
        UsageError
            An instrument, a group, a kind or a half is unknown, or no movement is left.
        """
        from collaparte.comparison import compare
        from collaparte.comparison.choice import Choice

        partners = (partner,) if isinstance(partner, str) else tuple(partner)
        if "kinds" in choices:
            choices["kinds"] = tuple(choices["kinds"])
        choice = Choice(line, partners, by, **choices)
        state = self._state
        return compare(self._answer, choice, state.settings, state.libraries, Settings())

    def audit(self, sample: int = 120, seed: int | None = None) -> duckdb.DuckDBPyRelation:
        """A sheet of pair-bars, doubled and not, to be coded by hand; see `collaparte.audit`.

        Raises
        ------
        UsageError
            In no bar of the store do two lines sound together.
        """
        from collaparte.audit import sheet

        return sheet(self._answer, sample, Settings().seed if seed is None else seed)

    def similar(self, movement: str, bars: str, rows: int = 10) -> duckdb.DuckDBPyRelation:
        """The passages of other works that are most like one passage; see `collaparte.similar`.

        The first call makes an index of all bars, which the others use.

        Parameters
        ----------
        movement
            Its movement_id.
        bars
            One bar, or the first and the last with a hyphen between them, as printed.
        rows
            Passages at most.

        Raises
        ------
        UsageError
            There is no such movement or bar.
        """
        from collaparte.similar import ROWS, make_index, similar

        if self._index is None:
            self._index = make_index(self._answer)
        found = similar(self._answer, self._index, movement, bars, rows)
        return self._answer(ROWS, {"rows": found})

    def tables(self) -> duckdb.DuckDBPyRelation:
        """One row a table: its name, what one of its rows is, and how many rows it has."""
        counts = (
            f"SELECT '{table.name}' AS name, $row_{table.name} AS one_row_is, count(*) AS rows "
            f"FROM {table.name}"
            for table in TABLES.values()
        )
        meanings = {f"row_{table.name}": table.row for table in TABLES.values()}
        return self._answer(" UNION ALL ".join(counts), meanings)

    def _check_known(self, kind: str, names: Sequence[str]) -> None:
        """Refuse names that the store does not have: no rows would read as never."""
        if not names:
            return
        rows = self._answer(_KNOWN[kind], {}).fetchall()
        known = sorted({name for row in rows for name in row if name is not None})
        for name in names:
            if name not in known:
                near = did_you_mean(name, known) or "; the question corpus-overview lists them"
                raise UsageError(f"there is no {kind} {name} in the store{near}")

    def _answer(self, text: str, values: Mapping[str, Any]) -> duckdb.DuckDBPyRelation:
        cursor = self._connection.cursor()
        if text not in self._checked:
            check(cursor, text, TABLES, self._macros)
            self._checked.add(text)
        try:
            return cursor.sql(text, params=dict(values) or None).materialize()
        except duckdb.InterruptException:
            took = f"takes more than {self._limits.seconds:g} seconds"
        except duckdb.OutOfMemoryException:
            took = f"needs more than {self._limits.megabytes} MB of memory"
        except duckdb.Error as error:
            raise RefusedSQL(f"SQL: {message_of(error)}") from None
        raise RefusedSQL(f"SQL: {took}; ask for less, one movement at a time for instance")
