"""Doubling on real music: chorales by Bach with instruments, out of music21's corpus.

What doubles what was read off the scores: in BWV 190/7 first oboe and first violin double the
soprano, second violin the alto, viola the tenor, all at the unison and throughout, the continuo
the bass at the unison or the octave; in BWV 175/7 the first recorder doubles the soprano an
octave above throughout. The files are read where the package has them.
"""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc
import pytest

from collaparte import measures, readers, reference
from collaparte.movement import Movement
from collaparte.schema import Tables
from collaparte.settings import Settings


@cache
def _measured(file_name: str) -> Tables:
    package = importlib.util.find_spec("music21")
    if package is None or package.origin is None:
        pytest.skip("needs music21 for its corpus: pip install collaparte[corpus]")
    data = (Path(package.origin).parent / "corpus" / "bach" / file_name).read_bytes()
    movement = Movement(
        movement_id="bach", file_name=file_name, work_id="bach", work="Bach", voices="chorus"
    )
    facts = reference.load()
    return measures.measure(readers.read(data, movement, facts, Settings()), facts, Settings())


def _line(tables: Tables, player: str) -> int:
    lines = tables["lines"]
    (key,) = lines.filter(pc.equal(lines["player"], player))["line_key"].to_pylist()
    assert isinstance(key, int)
    return key


def _stretches(tables: Tables, upper: str, lower: str) -> pa.Table:
    doublings = tables["doublings"]
    return doublings.filter(
        pc.and_(
            pc.equal(doublings["line_a"], _line(tables, upper)),
            pc.equal(doublings["line_b"], _line(tables, lower)),
        )
    )


@pytest.mark.parametrize(
    ("file_name", "upper", "lower", "kind", "interval", "notes"),
    [
        ("bwv190.7-inst.mxl", "Oboe 1", "Soprano", "unison", 0, 105),
        ("bwv190.7-inst.mxl", "Violin 1", "Soprano", "unison", 0, 105),
        ("bwv190.7-inst.mxl", "Violin 2", "Alto", "unison", 0, 114),
        ("bwv190.7-inst.mxl", "Viola", "Tenor", "unison", 0, 117),
        ("bwv175.7.mxl", "Recorder 1", "Soprano", "octave", -12, 95),
    ],
)
def test_doubled_throughout(
    file_name: str, upper: str, lower: str, kind: str, interval: int, notes: int
) -> None:
    tables = _measured(file_name)
    (stretch,) = _stretches(tables, upper, lower).to_pylist()
    assert (stretch["kind"], stretch["interval_semitones"]) == (kind, interval)
    assert (stretch["same_line"], stretch["strict"]) == (True, True)
    assert stretch["matched_notes"] == notes
    assert (stretch["share_a"], stretch["share_b"]) == (1.0, 1.0)
    bars = tables["movements"]["bars"].to_pylist()[0]
    assert (stretch["start_bar_index"], stretch["end_bar_index"]) == (0, bars - 1)
    lines = tables["lines"]
    for player in (upper, lower):
        of_player = lines.filter(pc.equal(lines["player"], player)).to_pylist()[0]
        assert of_player["notes"] == notes
        doubled = tables["doubled_notes"]
        doubled = doubled.filter(
            pc.and_(
                pc.equal(doubled["line_key"], of_player["line_key"]),
                pc.equal(doubled["doubling_key"], stretch["doubling_key"]),
            )
        )
        assert pc.sum(doubled["ticks"]).as_py() == of_player["sounding_ticks"]


def test_continuo_doubles_the_bass_at_unison_or_octave() -> None:
    tables = _measured("bwv190.7-inst.mxl")
    notes = tables["notes"]
    bass, continuo = (
        {
            row["onset_ticks"]: row["midi"]
            for row in notes.filter(pc.equal(notes["line_key"], _line(tables, player))).to_pylist()
        }
        for player in ("Bass", "Continuo")
    )
    assert {continuo[onset] - pitch for onset, pitch in bass.items()} == {-12, 0, 12}
    stretches = _stretches(tables, "Bass", "Continuo")
    same_line = stretches.filter(stretches["same_line"])
    assert set(same_line["kind"].to_pylist()) == {"unison", "octave"}
    assert pc.sum(same_line["matched_notes"]).as_py() >= 0.95 * len(bass)


def test_one_staff_of_soprano_oboes_and_violin_is_a_line_of_each() -> None:
    """BWV 171/6: the fifth staff is headed "Soprano, Oboe 1,2, Violin1"; 107 notes, no rest."""
    tables = _measured("bwv171.6.mxl")
    lines = tables["lines"]
    shared = lines.filter(pc.equal(lines["part_index"], 4)).to_pylist()
    assert [
        (line["player"], line["instrument"], line["ensemble"], line["players"], line["notes"])
        for line in shared
    ] == [
        ("Soprano", "voice-soprano-choir", "chorus", None, 107),
        ("Oboe 1,2", "oboe", "player", 2, 107),
        ("Violin1", "violin", "section", None, 107),
    ]
    assert {line["line_basis"] for line in shared} == {"name"}
    assert len({line["player_key"] for line in shared}) == 3
    for upper, lower in (("Soprano", "Oboe 1,2"), ("Soprano", "Violin1"), ("Oboe 1,2", "Violin1")):
        (stretch,) = _stretches(tables, upper, lower).to_pylist()
        assert (stretch["kind"], stretch["interval_semitones"]) == ("unison", 0)
        assert (stretch["strict"], stretch["matched_notes"]) == (True, 107)
        assert (stretch["share_a"], stretch["share_b"]) == (1.0, 1.0)
    (group,) = (
        row
        for row in tables["unison_groups"].to_pylist()
        if {"voice-soprano-choir", "oboe", "violin"}
        <= {
            member["instrument"]
            for member in tables["group_members"].to_pylist()
            if member["group_key"] == row["group_key"]
        }
    )
    assert group["lines"] == 3
