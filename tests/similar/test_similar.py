"""More like this: planted copies come first, transpositions next; works, bars, lengths, values."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from collaparte.commands import run
from collaparte.console import Exit
from collaparte.errors import UsageError
from collaparte.questions import OpenStore
from collaparte.similar.index import _filled
from collaparte.similar.measures import MEASURES, BarMeasure
from collaparte.similar.melody import Melody
from collaparte.similar.search import _at, _slices
from score_store import Piece, opened
from score_tables import Line, Note

BARS, FIRST, LAST = 12, 4, 8
"""Bars of each movement; the passage takes those from FIRST to before LAST, from 0."""

RHYTHMS = ((1, 1, 1, 1), (2, 1, 1), (1, 0.5, 0.5, 2), (3, 1), (0.5, 0.5, 1, 2), (1, 1, 2))
PLAYERS = (
    ("flute", "woodwind"),
    ("violin", "string"),
    ("horn", "brass"),
    ("double-bass", "string"),
)

Bar = list[list[tuple[float, float, int]]]
"""Of each player the notes: onset in the bar, length, pitch."""


def music(seed: int) -> list[Bar]:
    """A melody, a figure in quavers, held notes and a bass, by lot."""
    lot = random.Random(seed)
    bars, pitch = [], 76
    for _ in range(BARS):
        melody, at = [], 0.0
        for length in lot.choice(RHYTHMS):
            pitch = min(88, max(68, pitch + lot.choice((-5, -4, -2, -1, 1, 2, 3, 5))))
            melody.append((at, length, pitch))
            at += length
        root = lot.choice((48, 50, 52, 53, 55, 57))
        figure = [(step / 2, 0.5, root + 12 + (0, 7, 4, 7)[step % 4]) for step in range(8)]
        held = [(0.0, 4.0, root + 7)] if lot.random() < 0.7 else []
        bass = [(0.0, 2.0, root - 12), (2.0, 2.0, root - 5)]
        bars.append([melody, figure if lot.random() < 0.6 else figure[::4], held, bass])
    return bars


def moved(bars: list[Bar], semitones: int) -> list[Bar]:
    return [
        [[(at, length, midi + semitones) for at, length, midi in part] for part in bar]
        for bar in bars
    ]


def piece(bars: list[Bar], **facts: Any) -> Piece:
    lines = [
        Line(
            [
                Note(4 * place + at, length, midi)
                for place, bar in enumerate(bars)
                for at, length, midi in bar[player]
            ],
            *names,
        )
        for player, names in enumerate(PLAYERS)
    ]
    return Piece(lines, facts)


def planted(seed: int) -> dict[str, Piece]:
    """One work, a copy of its passage in a second, its transposition in a third; three others."""
    own, host, other = (music(10 * seed + number) for number in range(3))
    passage = own[FIRST:LAST]
    return {
        "one": piece(own),
        "copy": piece([*host[:2], *passage, *host[6:]]),
        "transposed": piece([*other[:6], *moved(passage, 4), *other[10:]]),
        **{f"free-{number}": piece(music(10 * seed + 3 + number)) for number in range(3)},
    }


def asked(store: OpenStore, *values: Any) -> list[dict[str, Any]]:
    answer = store.similar(*values)
    return [dict(zip(answer.columns, row, strict=True)) for row in answer.fetchall()]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> OpenStore:
    return opened(tmp_path_factory.mktemp("similar"), planted(0))


@pytest.mark.parametrize("seed", range(8))
def test_a_copy_comes_first_and_its_transposition_second(tmp_path: Path, seed: int) -> None:
    rows = asked(opened(tmp_path, planted(seed)), "one", f"{FIRST + 1}-{LAST}")
    assert [(row["movement_id"], row["bars"]) for row in rows[:2]] == [
        ("copy", "3–6"), ("transposed", "7–10"),
    ]  # fmt: skip
    distances = [row["distance"] for row in rows]
    assert distances == sorted(distances)
    assert distances[2] > distances[1]


def test_the_melody_is_known_at_any_height(store: OpenStore) -> None:
    rows = asked(store, "one", "5-8")
    assert [row["melody"] for row in rows[:2]] == pytest.approx([1, 1])
    assert [row["melody_at_pitch"] for row in rows[:2]] == pytest.approx([1, 0])
    assert max(row["melody"] for row in rows[2:]) < 0.5


def test_measures_that_a_transposition_moves_are_its_farthest(store: OpenStore) -> None:
    (_, row) = asked(store, "one", "5-8", 2)
    assert any(text.startswith(("lowest", "highest")) for text in row["farthest"])
    assert all(not text.startswith(("lowest", "highest")) for text in row["nearest"])
    assert len(row["nearest"]) == 3
    assert len(row["farthest"]) == 2


def test_told_values_are_means_of_the_tables_in_their_units(store: OpenStore) -> None:
    """One bar against one bar: what is told is what `textures` says of the two."""
    (row,) = asked(store, "one", "6", 1)
    first = row["bars"].split("–")[0]
    if first != row["bars"]:
        pytest.fail("a copy of one bar is one bar")
    units = {item.column: item.unit for item in MEASURES}
    for text in row["nearest"] + row["farthest"]:
        column, there, here, unit = text.split(" ", 3)
        assert unit == units[column]
        for told, movement, bar in (
            (there, row["movement_id"], first),
            (here.strip("()"), "one", "6"),
        ):
            ((value,),) = store.sql(
                f"SELECT {column} FROM textures WHERE movement_id = '{movement}' AND bar = '{bar}'"
            ).fetchall()  # fmt: skip
            assert float(told) == pytest.approx(value, abs=0.005)


def test_passages_do_not_overlap_and_stay_within_their_movements(store: OpenStore) -> None:
    rows = asked(store, "one", "5-8", 100)
    assert len(rows) > 10
    seen: set[tuple[str, int]] = set()
    for row in rows:
        ends = [int(text) for text in row["bars"].split("–")]
        bars = {(row["movement_id"], bar) for bar in range(ends[0], ends[-1] + 1)}
        assert 2 <= len(bars) <= 8
        assert ends[-1] <= BARS
        assert not bars & seen
        seen |= bars


def test_without_a_melody_the_measures_alone_count(tmp_path: Path) -> None:
    """Held chords: of two others the same chord is alike in all, the wider one is not."""

    def chord(*pitches: int) -> Piece:
        return Piece([Line([Note(0, 16, midi)], "horn", "brass") for midi in pitches])

    pieces = {"one": chord(60, 55), "same": chord(60, 55), "wider": chord(72, 49)}
    rows = asked(opened(tmp_path, pieces), "one", "1-4")
    assert (rows[0]["movement_id"], rows[0]["bars"], rows[0]["distance"]) == ("same", "1–4", 0)
    assert {(row["melody"], row["melody_at_pitch"]) for row in rows} == {(None, None)}
    wider = next(row for row in rows if row["movement_id"] == "wider")
    assert wider["farthest"][0] == "spread_semitones 23.00 (5.00) semitones"


def test_the_own_work_is_left_out(tmp_path: Path) -> None:
    bars = music(5)
    store = opened(
        tmp_path,
        {
            "first": piece(bars, work_id="work"),
            "second": piece(bars, work_id="work"),
            "other": piece(music(6)),
        },
    )
    assert {row["movement_id"] for row in asked(store, "first", "2-4")} == {"other"}


def test_a_copy_in_notes_twice_as_long_is_among_the_nearest(tmp_path: Path) -> None:
    """Four bars become eight; of all passages of the other works none is nearer."""
    pieces = planted(1)
    slow = [
        [
            [
                (2 * at - 4 * half, 2 * length, midi)
                for at, length, midi in part
                if 2 * half <= at < 2 * half + 2
            ]
            for part in bar
        ]
        for bar in music(10)[FIRST:LAST]
        for half in (0, 1)
    ]
    del pieces["copy"], pieces["transposed"]
    host = music(999)
    pieces["slow"] = piece([*host[:2], *slow, *host[10:]])
    rows = asked(opened(tmp_path, pieces), "one", "5-8")
    assert rows[0]["movement_id"] == "slow"
    first, last = (int(text) for text in rows[0]["bars"].split("–"))
    assert min(last, 10) - max(first, 3) >= 5


@pytest.mark.parametrize(
    ("movement", "bars", "message"),
    [
        ("on", "1", "there is no movement on .*one"),
        ("one", "1-99", "one has no bar 99; its bars are 1 to 12"),
        ("one", "7-5", "bar 5 stands before bar 7"),
    ],
)
def test_places_that_are_not_there(
    store: OpenStore, movement: str, bars: str, message: str
) -> None:
    with pytest.raises(UsageError, match=message):
        store.similar(movement, bars)


def test_scales_of_measures() -> None:
    plain = BarMeasure("x", "", 24, 96)
    assert plain.scaled(np.array([24.0, 60.0, 120.0])).tolist() == [0, 0.5, 1]
    ratio = BarMeasure("x", "", 1, 16, by_ratio=True)
    assert ratio.scaled(np.array([0.5, 2.0, 4.0, 16.0])).tolist() == [0, 0.25, 0.5, 1]
    for item in MEASURES:
        values = np.linspace(item.low, item.high, 5)
        assert item.unscaled(item.scaled(values)) == pytest.approx(values)


def test_bars_in_which_nothing_sounds_have_the_value_beside_them() -> None:
    """Two movements: the second opens in silence, which is not that of the end of the first."""
    nothing = np.nan
    values = np.array([1.0, nothing, 3.0, nothing, nothing, 5.0, nothing])
    movement = np.array([0, 0, 0, 0, 1, 1, 1])
    assert _filled(values, movement).tolist() == [1, 1, 3, 3, 5, 5, 5]
    assert _filled(np.full(2, nothing), movement[:2]).tolist() == [0, 0]


def test_slices_of_three_bars_in_two_parts() -> None:
    """Bars of 2, 4 and 9: the first half is (2 + 4/2) ÷ 1.5, the second (4/2 + 9) ÷ 1.5."""
    sums = np.array([[0.0, 2.0, 6.0, 15.0]])
    assert _slices(sums, 0, 3, 2)[0] == pytest.approx([4 / 1.5, 11 / 1.5])
    assert _at(sums[0], 1.5, 2) == pytest.approx([4, 10.5])


def test_a_pattern_is_found_or_not_however_often_it_stands() -> None:
    """Bars 3 and 4 hold patterns 0 (twice) and 2 of three, one at its own height; 1 ends later."""
    melody = Melody(
        intervals=3,
        patterns=4,
        first=np.array([1, 3, 3, 4, 4]),
        last=np.array([1, 3, 4, 4, 5]),
        interval=np.array([1, 0, 0, 2, 1]),
        pattern=np.array([1, -1, 0, -1, 3]),
    )
    assert melody.within(3, 5) == (2 / 3, 1 / 4)
    assert melody.within(1, 2) == (1 / 3, 1 / 4)
    assert melody.within(5, 9) == (0, 0)


def test_the_command_prints_what_the_store_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    opened(tmp_path, planted(0))
    arguments = ["similar", "one", "5-8", "--rows", "2", "--format", "json"]
    assert run([*arguments, "--store", str(tmp_path / "store")]) == Exit.DONE
    rows = json.loads(capsys.readouterr().out)
    assert [row["movement_id"] for row in rows] == ["copy", "transposed"]
    assert run(["similar", "two", "5-8", "--store", str(tmp_path / "store")]) == Exit.WRONG_USAGE
