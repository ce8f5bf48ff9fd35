"""Random small scores: the reader's events equal those of the plain reader, and keep sense."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from events import remarks, state, tables_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_against_plain_reader import plain_rows, table_rows

from scores import Bar, Part, attributes, backup, bar, forward, note, part, rest, score, transpose

DIVISIONS = (1, 2, 3, 4, 6, 10, 12, 30, 77, 840)
PITCHES = ("C4", "C#4", "Db4", "E4", "B4", "Cb5", "F##5")
SAME_SOUND = {"C#4": "Db4", "B4": "Cb5"}
TRANSPOSITIONS = (
    (0, 0, None),
    (-2, -1, None),
    (-3, -2, None),
    (-2, None, None),
    (-7, -4, None),
    (3, 2, None),
    (0, None, -1),
    (-2, -1, -1),
)
KINDS = ("note", "note", "held", "held", "tied", "chord", "rest", "cue", "unpitched")
TIES = ("", "", "", "start", "start", "stop", "stop start")

durations = st.integers(1, 6)
ties = st.sampled_from(TIES)


@st.composite
def sounds(draw: st.DrawFn, length: int, where: dict[str, Any]) -> str:
    """A note, a chord whose later notes may be shorter, a rest, a cue or an unpitched note."""
    kind = draw(st.sampled_from(KINDS))
    if kind == "held":
        tie = draw(st.sampled_from(("start", "stop start", "stop start", "stop")))
        return note(draw(st.sampled_from(("B4", "B4", "Cb5"))), length, tie=tie, **where)
    if kind == "tied" and length > 1:
        first_length = draw(st.integers(1, length - 1))
        return note("B4", first_length, tie="start", **where) + note(
            "Cb5", length - first_length, tie="stop", **where
        )
    if kind == "rest":
        return rest(length, **where)
    if kind == "unpitched":
        return note("unpitched E4", length, tie=draw(ties), **where)
    if kind == "cue":
        return note(draw(st.sampled_from(PITCHES)), length, cue=True, **where)
    pitches = draw(
        st.lists(
            st.sampled_from(PITCHES),
            min_size=1 if kind == "note" else 2,
            max_size=1 if kind == "note" else 3,
            unique_by=lambda name: SAME_SOUND.get(name, name),
        )
    )
    first, *others = pitches
    return note(first, length, tie=draw(ties), **where) + "".join(
        note(name, draw(st.integers(1, length)), chord=True, tie=draw(ties), **where)
        for name in others
    )


@st.composite
def voices(draw: st.DrawFn, number: int, scale: int) -> tuple[str, int]:
    """Content and length of one voice of one bar."""
    staff = draw(st.sampled_from((1, 1, 2)))
    where: dict[str, Any] = {"voice": number, "staff": staff}
    pieces: list[str] = []
    total = 0
    for count in draw(st.lists(durations, min_size=1, max_size=5)):
        length = count * draw(st.sampled_from((1, scale)))
        if draw(st.integers(0, 9)) == 0:
            pieces.append(note(draw(st.sampled_from(PITCHES)), grace="", **where))
        if number == 1 and draw(st.integers(0, 7)) == 0:
            pieces.append(draw(changes()))
        if draw(st.integers(0, 9)) == 0:
            pieces.append(forward(length, **where))
        else:
            pieces.append(draw(sounds(length, where)))
        total += length
    if draw(st.integers(0, 9)) == 0:
        pieces.append(note(draw(st.sampled_from(PITCHES)), grace="", **where))
    return "".join(pieces), total


@st.composite
def changes(draw: st.DrawFn) -> str:
    """A transposition, of the part or of one staff."""
    chromatic, diatonic, octave = draw(st.sampled_from(TRANSPOSITIONS))
    return attributes(
        transposes=transpose(
            chromatic,
            diatonic,
            octave,
            double=draw(st.sampled_from((None, None, None, "below", "above"))),
            number=draw(st.sampled_from((None, None, 1, 2))),
        )
    )


@st.composite
def bars(draw: st.DrawFn, divisions: int) -> Bar:
    pieces = []
    for number in range(1, draw(st.integers(1, 3)) + 1):
        content, total = draw(voices(number, divisions))
        pieces.append(content)
        pieces.append(backup(draw(st.sampled_from((total, total, 1, total + 7)))))
    if draw(st.booleans()):
        pieces.pop()
    return bar(*pieces)


@st.composite
def part_lists(draw: st.DrawFn) -> list[Part]:
    count = draw(st.integers(1, 3))
    parts: list[Part] = []
    for _ in range(draw(st.integers(1, 3))):
        divisions = draw(st.sampled_from(DIVISIONS))
        own = draw(st.lists(bars(divisions), min_size=count, max_size=count))
        own[0] = own[0]._replace(content=attributes(staves=2) + own[0].content)
        parts.append(part(*own, divisions=divisions, name="Organ"))
    return parts


scores = part_lists().map(lambda parts: score(*parts))

FEW = settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


@FEW
@given(scores)
def test_events_equal_those_of_the_plain_reader(data: bytes) -> None:
    tables = tables_of(data)
    assert state(tables) == "read", remarks(tables)
    assert table_rows(tables) == plain_rows(data)


@FEW
@given(scores)
def test_every_note_lies_where_its_bar_says(data: bytes) -> None:
    """Onsets lie in their bar, bars follow each other without gap, keys are unique and sorted."""
    tables = tables_of(data)
    found = tables["bars"].to_pylist()
    ends = [row["start_ticks"] + row["length_ticks"] for row in found]
    assert [row["start_ticks"] for row in found] == [0, *ends][:-1]
    for row in tables["notes"].to_pylist():
        start = found[row["bar_index"]]["start_ticks"]
        assert start <= row["onset_ticks"] <= ends[row["bar_index"]]
        assert row["duration_ticks"] >= 0
        assert (row["duration_ticks"] == 0) == row["is_grace"]
        assert row["source_notes"]
    keys = tables["notes"]["note_key"].to_pylist()
    assert keys == sorted(set(keys))


@FEW
@given(scores, st.integers(2, 5))
def test_finer_divisions_change_nothing(data: bytes, factor: int) -> None:
    """All divisions and durations times a number: the same notes."""
    assert table_rows(tables_of(_finer(data, factor))) == table_rows(tables_of(data))


@FEW
@given(part_lists())
def test_the_order_of_the_parts_changes_no_part(parts: list[Part]) -> None:
    last = len(parts) - 1
    turned = table_rows(tables_of(score(*reversed(parts))))
    assert {(last - row[0], *row[1:]) for row in turned} == table_rows(tables_of(score(*parts)))


def _finer(data: bytes, factor: int) -> bytes:
    text = data.decode()
    for name in ("divisions", "duration"):
        pieces = text.split(f"<{name}>")
        text = pieces[0] + "".join(
            f"<{name}>{Fraction(piece.split('<', 1)[0]) * factor}<{piece.split('<', 1)[1]}"
            for piece in pieces[1:]
        )
    return text.encode()
