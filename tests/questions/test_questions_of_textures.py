"""Questions about textures, layers and meetings, each held to rows worked out by hand.

Layers and textures are written down here, not measured, so that the rows are those of the SQL
alone. All bars are of four quarters.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from collaparte.schema import TABLES, TICKS, keys
from score_store import TUNE, Piece, answer
from score_tables import Line, Note, melody

SUSTAINED = "melody_over_sustained_harmony"
OBOE = {"instrument": "oboe", "family": "woodwind"}
CHORUS: dict[str, Any] = {"instrument": "voice-alto-choir", "family": "voice", "ensemble": "chorus"}
LONG = [Line(melody([60] * 24))]
"""Six bars of one line, to hold what is written down."""
WRITTEN = {
    "texture": "one_block",
    "margin": 0.5,
    "passage_texture": None,
    "dynamic_degree": None,
    "chorus_present": False,
}


def key(movement: str, number: int) -> int:
    return int(keys(movement, np.array([number]))[0])


def bar(movement: str, index: int) -> dict[str, Any]:
    return {"bar_index": index, "bar_key": key(movement, index), "bar": str(index + 1)}


def textures(movement: str, rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """One row a bar, from what differs from `WRITTEN`."""
    return [{**bar(movement, index), **WRITTEN, **row} for index, row in enumerate(rows)]


def named(movement: str, *names: str) -> list[dict[str, Any]]:
    return textures(movement, [{"texture": name} for name in names])


def layer(movement: str, index: int, line: int, role: str, **columns: Any) -> dict[str, Any]:
    """One line in one bar, a layer by itself unless told."""
    return {
        **bar(movement, index),
        "line_key": key(movement, line),
        "layer": line,
        "pitch_line": 0,
        "role": role,
        "leads": False,
        "sounding_ticks": 4 * TICKS,
        "instrument": "flute",
        "family": "woodwind",
        "ensemble": "player",
        **columns,
    }


def passage(
    movement: str, number: int, first: int, last: int, texture: str, **columns: Any
) -> dict[str, Any]:
    return {
        "passage_key": key(movement, number),
        "start_bar_index": first,
        "end_bar_index": last,
        "start_bar_key": key(movement, first),
        "start_bar": str(first + 1),
        "end_bar": str(last + 1),
        "bars": last - first + 1,
        "texture": texture,
        "mean_margin": 0.25,
        "same_bars": last - first + 1,
        "leading_instruments": "flute; oboe",
        **columns,
    }


def test_textures_by_composer(tmp_path: Path) -> None:
    """Ann's works have 3/4 and 0 of their time in one block; one of those three bars is unclear."""
    ann = {"composer": "Ann"}
    first = named("first", *["one_block"] * 3, "two_lines")
    first[0]["margin"] = 0.05
    pieces = {
        "first": Piece(LONG, ann, written={"textures": first}),
        "second": Piece(LONG, ann, written={"textures": named("second", "two_lines", "two_lines")}),
        "other": Piece(LONG, {"composer": "Ben"}, written={"textures": named("other", "one_line")}),
    }
    rows = answer(tmp_path, pieces, "textures-by-composer")
    told = [(row["composer"], row["texture"], row["share"]) for row in rows]
    assert told == [
        ("Ann", "two_lines", (1 / 4 + 1) / 2),
        ("Ann", "one_block", (3 / 4 + 0) / 2),
        ("Ben", "one_line", 1),
    ]
    assert rows[1] == {
        "composer": "Ann",
        "texture": "one_block",
        "share": 0.375,
        "between": 1 / 3,
        "quarters": 12,
        "works": 2,
    }


def test_texture_passages_by_leader_and_dynamic(tmp_path: Path) -> None:
    """The oboe leads bars 1 and 2 of four, in bar 2 as the flute's double; mean degree 5."""
    flute = {"layer": 0, "leads": True}
    oboe = {**OBOE, "layer": 0}
    piece = Piece(
        [Line(melody([60] * 24)), Line(melody([60] * 24), "oboe")],
        written={
            "textures": textures("one", [{"dynamic_degree": degree} for degree in (4, 6, 5, None)]),
            "texture_passages": [
                passage("one", 0, 0, 3, SUSTAINED),
                passage("one", 1, 4, 5, SUSTAINED),
            ],
            "layers": [
                layer("one", 0, 1, "leading_line", **oboe, leads=True),
                layer("one", 1, 0, "leading_line", **flute),
                layer("one", 1, 1, "leading_line", **oboe),
                layer("one", 2, 0, "leading_line", **flute),
                layer("one", 2, 1, "leading_line", **oboe, pitch_line=1),
                layer("one", 3, 0, "figuration", **flute),
            ],
        },
    )

    def found(**values: Any) -> list[dict[str, Any]]:
        folder = tmp_path / str(len(list(tmp_path.iterdir())))
        return answer(folder, {"one": piece}, "texture-passages", texture=SUSTAINED, **values)

    (row,) = found(leader="oboe")
    assert row == {
        "movement_id": "one",
        "bars": "1–4",
        "texture": SUSTAINED,
        "length": 4,
        "led": 2 / 4,
        "leaders": "flute; oboe",
        "dynamic_degree": 5,
        "mean_margin": 0.25,
    }
    assert [row["led"] for row in found()] == [3 / 4, 0]
    assert found(leader="clarinet") == []
    assert len(found(softest="mp", loudest="mp")) == 1
    assert found(softest="mf") == found(loudest="p") == []


def test_longest_passages_of_a_texture(tmp_path: Path) -> None:
    written = {
        "texture_passages": [
            passage("one", 0, 0, 1, "two_lines"),
            passage("one", 1, 2, 4, "two_lines", same_bars=2),
            passage("one", 2, 5, 5, "one_line"),
        ]
    }
    rows = answer(
        tmp_path, {"one": Piece(LONG, written=written)}, "longest-passages-of-a-texture", of_each=1
    )
    assert [(row["texture"], row["bars"]) for row in rows] == [
        ("one_line", "6"),
        ("two_lines", "3–5"),
    ]
    assert rows[1] == {
        "texture": "two_lines",
        "movement_id": "one",
        "bars": "3–5",
        "quarters": 12,
        "length": 3,
        "own": 2 / 3,
        "leaders": "flute; oboe",
    }


def test_rarest_textures(tmp_path: Path) -> None:
    """One line takes 2 of 5 bars of a work and none of the other."""
    names = ["one_line", "one_block", "one_block", "one_line", "one_block"]
    pieces = {
        "first": Piece(LONG, written={"textures": named("first", *names)}),
        "second": Piece(LONG, written={"textures": named("second", "one_block")}),
    }
    (row,) = answer(tmp_path, pieces, "rarest-textures", at_most=0.4)
    assert row == {
        "work_id": "first",
        "texture": "one_line",
        "share": 2 / 5,
        "usual_share": (2 / 5 + 0) / 2,
        "quarters": 8,
        "bars": "first 1, 4",
    }


def test_textures_by_dynamic(tmp_path: Path) -> None:
    """Piano is degree 4: in the first work one bar of two is a block, in the second none of one."""
    first: list[dict[str, Any]] = [
        {"dynamic_degree": 4.4, "texture": "one_block"},
        {"dynamic_degree": 3.6, "texture": "two_lines"},
        {"dynamic_degree": 7, "texture": "two_lines"},
        {"texture": "one_line"},
    ]
    second: list[dict[str, Any]] = [{"dynamic_degree": 4, "texture": "two_lines"}]
    pieces = {
        "first": Piece(LONG, written={"textures": textures("first", first)}),
        "second": Piece(LONG, written={"textures": textures("second", second)}),
    }
    rows = answer(tmp_path, pieces, "textures-by-dynamic")
    assert rows[0] == {
        "dynamic": "p",
        "texture": "two_lines",
        "share": (1 / 2 + 1) / 2,
        "quarters": 8,
        "works": 2,
    }
    told = [(row["dynamic"], row["texture"], row["share"], row["works"]) for row in rows[1:]]
    assert told == [("p", "one_block", 1 / 4, 2), ("f", "two_lines", 1, 1)]


def test_textures_at_rehearsal_marks(tmp_path: Path) -> None:
    """Marks at bars 3 and 5; bars 2, 4 and 6 carry none, and nothing stands before bar 1."""
    names = ["one_line", "one_line", "one_block", "one_block", "one_block", "two_lines"]
    written = {
        "textures": textures("one", [{"passage_texture": name} for name in names]),
        "bars": [
            {
                **bar("one", index),
                "start_ticks": index * 4 * TICKS,
                "length_ticks": 4 * TICKS,
                "rehearsal": {2: "A", 4: "B"}.get(index),
            }
            for index in range(6)
        ],
    }
    plain = Piece(LONG, written={"textures": textures("plain", [{"passage_texture": "one_line"}])})
    pieces = {"one": Piece(LONG, written=written), "plain": plain}
    rows = answer(tmp_path, pieces, "textures-at-rehearsal-marks")
    assert rows == [
        {
            "before": "one_block",
            "after": "one_block",
            "changes": False,
            "marks": 1,
            "share": 1 / 2,
            "elsewhere": 1 / 3,
            "places": "one 5",
        },
        {
            "before": "one_line",
            "after": "one_block",
            "changes": True,
            "marks": 1,
            "share": 1 / 2,
            "elsewhere": 0,
            "places": "one 3",
        },
    ]


def test_winds_behind_voices(tmp_path: Path) -> None:
    """The horn holds over bars 1 to 3, low in 9 of these 12 quarters; bar 4 is unsung."""
    low, high = {"register_class": "low"}, {"register_class": "high"}
    horn = Line([Note(0, 9, 48, low), Note(9, 3, 72, high), Note(12, 4, 48, low)], "horn", "brass")
    alto = Line(melody([60, 62, 64, 65] * 3), **CHORUS)
    held = {"instrument": "horn", "family": "brass"}
    written = {
        "layers": [
            *(layer("one", index, 0, "sustained_harmony", **held) for index in (0, 2, 3)),
            layer("one", 1, 0, "pedal_point", **held),
            *(layer("one", index, 1, "leading_line", **CHORUS) for index in range(3)),
        ]
    }
    pieces = {"one": Piece([horn, alto], written=written)}
    (row,) = answer(tmp_path, pieces, "winds-behind-voices")
    assert row == {
        "movement_id": "one",
        "bars": "1–3",
        "wind": "line 0",
        "instrument": "horn",
        "roles": "pedal_point, sustained_harmony",
        "length": 3,
        "held_quarters": 12,
        "lowest": 48,
        "highest": 72,
        "voices": "leading_line",
    }
    assert not answer(tmp_path / "high", pieces, "winds-behind-voices", register="high")
    assert not answer(tmp_path / "long", pieces, "winds-behind-voices", least_bars=4)


def test_techniques_by_role(tmp_path: Path) -> None:
    """In figuration one quarter of four is pizzicato and with a mute, elsewhere none of four."""
    marks: list[dict[str, Any]] = [
        {"techniques": ["mute_on", "pizzicato"]},
        *[{"techniques": []}] * 7,
    ]
    notes = [Note(index, 1, 60, mark) for index, mark in enumerate(marks)]
    written = {
        "layers": [layer("one", 0, 0, "figuration"), layer("one", 1, 0, "leading_line")],
    }
    rows = answer(tmp_path, {"one": Piece([Line(notes)], written=written)}, "techniques-by-role")
    assert rows[0] == {
        "family": "woodwind",
        "technique": "ordinary",
        "share": 3 / 4,
        "elsewhere": 1,
        "quarters": 3,
        "notes": 3,
        "works": 1,
    }
    told = [(row["technique"], row["share"], row["elsewhere"]) for row in rows[1:]]
    assert told == [("mute_on", 1 / 4, 0), ("pizzicato", 1 / 4, 0)]


def test_roles_with_chorus(tmp_path: Path) -> None:
    """The chorus sings in bars 1 and 2; it leads in both, the flute with it in the second only."""
    written = {
        "textures": textures("one", [{"chorus_present": index < 2} for index in range(3)]),
        "layers": [
            layer("one", 0, 0, "leading_line", **CHORUS),
            layer("one", 0, 1, "bass", sounding_ticks=3 * TICKS),
            layer("one", 1, 0, "leading_line", **CHORUS),
            layer("one", 1, 1, "leading_line", sounding_ticks=2 * TICKS),
            layer("one", 2, 1, "leading_line"),
        ],
    }
    rows = answer(tmp_path, {"one": Piece(LONG, written=written)}, "roles-with-chorus")
    assert [(row["role"], row["lines"]) for row in rows] == [
        ("leading_line", "chorus"), ("leading_line", "woodwind"), ("bass", "woodwind"),
    ]  # fmt: skip
    assert rows[1] == {
        "role": "leading_line",
        "lines": "woodwind",
        "share": 2 / 10,
        "own_share": 2 / 5,
        "bars_share": 1 / 2,
        "quarters": 2,
        "works": 1,
    }


def test_lines_that_join(tmp_path: Path) -> None:
    """Oboe and violin go their own ways for four bars, then play TUNE together for three."""
    own = [55, 52, 55, 59, 60, 57, 53, 50, 48, 52, 49, 47, 45, 49, 52, 50]
    other = [72, 74, 70, 67, 69, 71, 73, 74, 75, 74, 72, 70, 69, 68, 66, 65]
    pieces = {
        "one": Piece(
            [
                Line(melody([*other, *TUNE]), "oboe"),
                Line(melody([*own, *TUNE]), "violin", "string"),
            ]
        )
    }
    (row,) = answer(tmp_path, pieces, "lines-that-join", line="violin", partner="woodwind")
    assert row["line_roles"].endswith("→ leading_line")
    assert {**row, "line_roles": "", "partner_roles": ""} == {
        "movement_id": "one",
        "bar": "5",
        "beat_quarters": 0,
        "line": "line 0",
        "partner": "line 1",
        "bars_free": 4,
        "bars_together": 3,
        "line_roles": "",
        "partner_roles": "",
    }
    assert answer(tmp_path / "5", pieces, "lines-that-join", least_free=5) == []
    assert answer(tmp_path / "part", pieces, "lines-that-join", kind="part") == []


def test_lines_of_few_pitches(tmp_path: Path) -> None:
    """Pitch 60 alone in bars 1 and 2, 62 in bar 3, 64 in bar 4, held over into bar 5; two at most.

    Of bars 1 to 3 the pitches are 60 and 62, of bars 3 to 5 62 and 64; nothing else is as long
    as three bars.
    """
    notes = [Note(0, 4, 60), Note(4, 2, 60), Note(8, 4, 62), Note(12, 6, 64)]
    pieces = {"one": Piece([Line(notes, "viola"), Line(melody([60, 62, 64, 65] * 5))])}
    rows = answer(tmp_path, pieces, "lines-of-few-pitches", pitches=2, bars=3)
    assert rows[0] == {
        "movement_id": "one",
        "bars": "1–3",
        "line": "line 0",
        "instrument": "viola",
        "length": 3,
        "pitches": 2,
        "inventory": [60, 62],
    }
    assert [(row["bars"], row["inventory"]) for row in rows[1:]] == [("3–5", [62, 64])]


def test_why_a_line_leads(tmp_path: Path) -> None:
    """Two lines of bar 2: what each has more than the mean of both, from half a tenth on."""
    columns = [column.name for column in TABLES["layers"].columns]
    points = {name: 0.0 for name in columns if name.startswith("lead_by_")}
    flute = {**points, "lead_by_upper": 2.0, "lead_by_steps": 1.0, "lead_by_busy": -0.4}
    oboe = {**points, "lead_by_upper": 1.0, "lead_by_steps": 0.96, "lead_by_busy": 0.2}
    piece = Piece(
        [Line(melody([60] * 8)), Line(melody([60] * 8), "oboe")],
        written={
            "layers": [
                layer("one", 1, 0, "leading_line", leads=True, lead_score=0.0, **flute),
                layer("one", 1, 1, "filling", **OBOE, lead_score=-0.5, **oboe),
            ]
        },
    )
    rows = answer(tmp_path, {"one": piece}, "why-a-line-leads", movement="one", bar="2")
    told = [(row["line"], row["leads"], row["for_it"], row["against_it"]) for row in rows]
    assert told == [
        ("line 0", True, ["upper +0.5"], ["busy -0.3"]),
        ("line 1", False, ["busy +0.3"], ["upper -0.5"]),
    ]
