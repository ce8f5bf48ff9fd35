"""Doublings that the score only says in words: the line that is meant, and how far it goes.

The staff of the horn is left empty under the words in bars 2 and 3 and goes on in bar 4.
"""

from __future__ import annotations

import pytest
from events import quarters, rows, tables_of

from collaparte.schema import Tables
from scores import bar, direction, note, part, rest, score, words

UPPER = (
    "Flute", "Oboe 1", "Oboe 2", "Bassoon", "Soprano", "Tenor",
    "Violin 1", "Violin 2", "Viola", "Violoncello", "Contrabass",
)  # fmt: skip


def notated(name: str, bars: int = 4, pitch: str = "C4") -> object:
    return part(*(bar(note(pitch, 4)) for _ in range(bars)), name=name)


def read(text: str, *after: object, names: tuple[str, ...] = UPPER) -> Tables:
    """The horn with words over its empty second bar, below the other parts."""
    empty = bar(rest(4, measure=True))
    words_over_empty = bar(direction(words(text)), rest(4, measure=True))
    bars = after or (bar(note("C4", 4)), words_over_empty, empty, bar(note("C4", 4)))
    horn = part(*bars, name="Horn in F")
    return tables_of(score(*(notated(name) for name in names), horn))


def target(tables: Tables) -> str | None:
    """Label of the line that the first words of doubling mean."""
    labels = dict(rows(tables, "lines", "line_key", "player"))
    return labels.get(rows(tables, "directions", "target_line_key", kind="doubling")[0])


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("col Basso", "Contrabass"),
        ("coi Bassi", "Contrabass"),
        ("coi Soprani", "Soprano"),
        ("colla Viola", "Viola"),
        ("col Ob. I", "Oboe 1"),
        ("col Oboe II", "Oboe 2"),
        ("Col Violino Primo", "Violin 1"),
        ("unis. coi Violini II", "Violin 2"),
        ("all'ottava col Basso", "Contrabass"),
        ("col canto", "Soprano"),
        ("col Coro", "Soprano"),
        ("cogli archi", "Violin 1"),
        ("avec le basson", "Bassoon"),
        ("à l'unisson des 1ers violons", "Violin 1"),
        ("à l'octave du hautbois", "Oboe 1"),
        ("comme les 2ds Violons", "Violin 2"),
        ("avec les Altos", "Viola"),
        ("avec la voix", "Soprano"),
        ("mit den Bässen", "Contrabass"),
        ("unis. mit Viol. I", "Violin 1"),
        ("mit den 2. Violinen", "Violin 2"),
        ("wie die Bratschen", "Viola"),
        ("mit der Flöte", "Flute"),
        ("with the cellos", "Violoncello"),
        ("in unison with the 1st violins", "Violin 1"),
        ("doubling the flute", "Flute"),
        ("same as bassoon", "Bassoon"),
        ("with Ob. 2", "Oboe 2"),
    ],
)
def test_words_name_a_line(text: str, line: str) -> None:
    tables = read(text)
    assert target(tables) == line
    start, end = rows(tables, "directions", "onset_ticks", "end_ticks", kind="doubling")[0]
    assert (quarters(start), quarters(end)) == (4, 12)
    assert rows(tables, "directions", "not_understood") == [None]


@pytest.mark.parametrize("text", ["come sopra", "comme ci-dessus", "wie oben", "as above"])
def test_as_above_over_empty_bars_is_the_part_above(text: str) -> None:
    assert target(read(text)) == "Contrabass"
    assert target(read(text, names=("Flute", "Oboe 1"))) == "Oboe 1"


def test_as_above_over_notes_names_no_line() -> None:
    said = bar(direction(words("come sopra")), note("C4", 4))
    tables = read("", said, bar(note("C4", 4)))
    assert target(tables) is None
    assert rows(tables, "directions", "end_ticks", kind="doubling") == [None]


def test_altos_are_singers_where_there_are_some() -> None:
    assert target(read("coi Alti", names=("Alto", "Viola"))) == "Alto"


def test_a_shared_staff_has_the_player_that_is_named() -> None:
    oboes = part(*(bar(note("E5", 4), note("C5", 4, chord=True)) for _ in range(2)), name="2 Oboes")
    horn = part(bar(note("C4", 4)), bar(direction(words("col Ob. II")), rest(4)), name="Horn in F")
    assert target(tables_of(score(oboes, horn))) == "2 Oboes, player 2"


def test_a_line_that_the_score_does_not_have_is_none_but_the_bars_are_still_not_notated() -> None:
    tables = read("coi Tromboni")
    assert target(tables) is None
    assert rows(tables, "remarks", "code", "count", severity="warning")[0] == ("not_notated", 2)


def test_empty_bars_under_the_words_are_a_remark() -> None:
    (found,) = rows(
        read("col Basso"), "remarks", "count", "bar", "part", "message", code="not_notated"
    )
    assert found[:3] == (2, "2", "Horn in F")
    assert "col Basso" in found[3]


def test_words_over_notes_leave_nothing_out() -> None:
    said = bar(direction(words("col Basso")), note("C4", 4))
    tables = read("", said, bar(note("C4", 4)))
    assert target(tables) == "Contrabass"
    assert rows(tables, "directions", "end_ticks", kind="doubling") == [None]
    assert rows(tables, "remarks", "code", code="not_notated") == []


def test_the_next_words_end_the_first() -> None:
    first, second = (
        bar(direction(words(text)), rest(4, measure=True)) for text in ("col Basso", "colla Viola")
    )
    tables = read("", bar(note("C4", 4)), first, second, bar(rest(4, measure=True)))
    spans = rows(tables, "directions", "onset_ticks", "end_ticks", kind="doubling")
    assert [tuple(map(quarters, span)) for span in spans] == [(4, 8), (8, 16)]
    assert rows(tables, "remarks", "count", code="not_notated") == [3]


def test_a_rest_before_the_notes_that_follow_is_a_rest() -> None:
    tables = read(
        "",
        bar(direction(words("col Basso")), rest(4, measure=True)),
        bar(rest(2), note("C4", 2)),
    )
    (end,) = rows(tables, "directions", "end_ticks", kind="doubling")
    assert quarters(end) == 4
    assert rows(tables, "remarks", "count", code="not_notated") == [1]


def test_two_lines_named_at_once_mean_the_first() -> None:
    assert target(read("col Ob. I e Fl.")) == "Oboe 1"
