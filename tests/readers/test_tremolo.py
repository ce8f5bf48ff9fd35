"""Tremolo, measured or not: by strokes, beams and tempo, worked out by hand.

A stroke or a beam halves the repeated notes: three strokes on a quarter are thirty-seconds,
eight of them a quarter. At 60 quarters a minute these are 8 notes a second, at 100 (where the
score states no tempo) 13.3; more than 11 a second are an effect.
"""

from __future__ import annotations

import pytest
from events import played, rows, tables_of

from collaparte.schema import Tables
from scores import attributes, backup, bar, note, part, score, tremolo


def read(
    strokes: object,
    type_: str | None = "quarter",
    tempo: int | None = 60,
    kind: str = "single",
    name: str = "Violin",
) -> Tables:
    sound = "" if tempo is None else f'<sound tempo="{tempo}"/>'
    shaken = note("C4", 1, type_=type_, notations=tremolo(strokes, kind))
    return tables_of(score(part(bar(sound, shaken, note("C4", 3)), name=name)))


@pytest.mark.parametrize(
    ("strokes", "type_", "tempo", "measured"),
    [
        (1, "quarter", 60, True),  # 2 a second
        (2, "quarter", 60, True),  # 4
        (3, "quarter", 60, True),  # 8
        (3, "quarter", 100, False),  # 13.3
        (2, "quarter", 160, True),  # 10.7
        (2, "quarter", 170, False),  # 11.3
        (2, "eighth", 60, True),  # a beam and two strokes: 8
        (2, "eighth", 100, False),  # 13.3
        (3, "eighth", 60, False),  # 16
        (3, "half", 60, True),  # values longer than a quarter have no beam: 8
        (3, "whole", 100, False),
        (4, "half", 60, False),  # 16
        (1, "16th", 60, True),  # two beams and a stroke: 8
        (1, "16th", 84, False),  # 11.2
        (2, None, 60, True),  # no written value: strokes alone, 4
        (2, "quarter", None, True),  # 6.7
        (3, "quarter", None, False),  # 13.3
    ],
)
def test_strokes_that_can_be_counted_are_measured(
    strokes: int, type_: str | None, tempo: int | None, measured: bool
) -> None:
    tables = read(strokes, type_, tempo)
    assert rows(tables, "notes", "tremolo_strokes", "tremolo_measured") == [
        (strokes, measured),
        (None, None),
    ]
    assert rows(tables, "notes", "techniques") == [[] if measured else ["tremolo"], []]
    assert played(tables) == {"Violin": "0:C4 1:C4"}


def test_what_the_file_calls_unmeasured_is() -> None:
    tables = read(0, "quarter", 40, kind="unmeasured")
    assert rows(tables, "notes", "tremolo_measured", "techniques")[0] == (False, ["tremolo"])


def test_no_strokes_are_no_tremolo() -> None:
    assert rows(read(0), "notes", "tremolo_measured", "techniques")[0] == (None, [])


def test_on_a_drum_it_is_a_roll() -> None:
    assert rows(read(3, tempo=100, name="Timpani"), "notes", "techniques")[0] == ["roll"]


def test_the_tempo_in_force_decides() -> None:
    def bar_at(tempo: int) -> object:
        shaken = note("C4", 4, type_="whole", notations=tremolo(3))
        return bar(f'<sound tempo="{tempo}"/>', shaken)

    tables = tables_of(score(part(bar_at(120), bar_at(60), bar_at(90), name="Violin")))
    assert rows(tables, "notes", "tremolo_measured") == [False, True, False]


def test_between_two_notes_both_sound_throughout_and_belong_together() -> None:
    first, second = (
        note(pitch, 4, type_="whole", ratio="2:1", notations=tremolo(3, kind))
        for pitch, kind in (("C4", "start"), ("E4", "stop"))
    )
    tables = tables_of(score(part(bar(first, second), name="Violin", divisions=2)))
    assert played(tables) == {"Violin, upper": "0:E4", "Violin, lower": "0:C4"}
    found = rows(tables, "notes", "duration_quarters", "tremolo_strokes", "tremolo_pair")
    assert [row[:2] for row in found] == [(4, 3), (4, 3)]
    assert len({row[2] for row in found}) == 1


def test_each_staff_has_its_own() -> None:
    shaken = note("C5", 4, type_="whole", staff=1, notations=tremolo(4))
    content = (attributes(staves=2), shaken, backup(4), note("C3", 4, staff=2))
    tables = tables_of(score(part(bar(*content), name="Piano")))
    assert rows(tables, "notes", "staff", "tremolo_measured") == [(1, False), (2, None)]
