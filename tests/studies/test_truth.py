"""What was planted in the studies is found by the readers and the measures, and nothing else."""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from typing import Any

import pytest

import collaparte
from collaparte import manifest, measures, readers, reference
from collaparte.schema import TICKS
from collaparte.settings import Settings
from studies.found import named_lines
from studies.generate import SCORES
from studies.plain_score import STEMS, truth_of

MANIFEST = SCORES.parents[2] / "corpus_manifest.yaml"
Row = dict[str, Any]
each_study = pytest.mark.parametrize("stem", STEMS)


class Found:
    """The tables of one study as rows, and its lines by the names that the truth gives them."""

    def __init__(self, stem: str) -> None:
        movement_id = f"lantern-quay.{stem.replace('_', '-')}"
        entry = next(
            entry for entry in manifest.load(MANIFEST) if entry.movement.movement_id == movement_id
        )
        facts = reference.load()
        read = readers.read(entry.read_bytes(), entry.movement, facts, Settings())
        tables = measures.measure(read, facts, Settings())
        self.tables: dict[str, list[Row]] = {
            name: table.to_pylist() for name, table in tables.items()
        }
        self.parts = {row["part_id"]: row["part_index"] for row in self.tables["parts"]}
        self.names = named_lines(tables)
        self.player = {row["line_key"]: row["player_key"] for row in self.tables["lines"]}

    def key(self, line: Row) -> int:
        """Key of a line of the truth."""
        return next(key for key, name in self.names.items() if name == line)

    def notes(self, part: str, start: float, end: float) -> list[Row]:
        """The notes of a part that begin in a stretch, in quarters."""
        return [
            note
            for note in self.tables["notes"]
            if note["part_index"] == self.parts[part]
            and start * TICKS <= note["onset_ticks"] < end * TICKS
        ]

    def directions(self, part: str, quarter: float) -> list[Row]:
        """What is printed in a part at a time."""
        return [
            row
            for row in self.tables["directions"]
            if row["part_index"] == self.parts[part] and row["onset_ticks"] == quarter * TICKS
        ]


@cache
def found_in(stem: str) -> Found:
    return Found(stem)


def tells(row: Row, planted: Row, found: Found) -> bool:
    """The row of the pipeline is the planted stretch: it tells at least half of it."""
    start, end = planted["start_quarter"] * TICKS, planted["end_quarter"] * TICKS
    return (
        row["kind"] == planted["kind"]
        and found.names[row["line_a"]] == planted["line_a"]
        and found.names[row["line_b"]] == planted["line_b"]
        and planted["interval_semitones"] in (None, row["interval_semitones"])
        and 2 * (min(row["end_ticks"], end) - max(row["start_ticks"], start)) >= end - start
    )


@each_study
def test_the_score_is_read_without_a_fault(stem: str) -> None:
    found = found_in(stem)
    (movement,) = found.tables["movements"]
    assert movement["state"] == "read"
    assert movement["bars"] == truth_of(stem)["bars"]
    assert movement["licence_notes"] == "CC0-1.0"
    assert [row for row in found.tables["remarks"] if row["severity"] == "error"] == []
    assert {row["ensemble"] for row in found.tables["lines"] if row["family"] == "voice"} == {
        "chorus"
    }


@each_study
def test_every_planted_doubling_is_found_with_its_strictness(stem: str) -> None:
    found = found_in(stem)
    assert len(truth_of(stem)["doublings"]) > 50
    for planted in truth_of(stem)["doublings"]:
        rows = [row for row in found.tables["doublings"] if tells(row, planted, found)]
        assert rows, planted
        assert any(row["strict"] for row in rows) == planted["strict"], planted


@each_study
def test_planted_notes_are_doubled_from_end_to_end(stem: str) -> None:
    """In unison and octaves every planted note has its partner among the doubled notes."""
    found = found_in(stem)
    partners = {
        (row["line_key"], row["partner_line_key"], row["start_ticks"])
        for row in found.tables["doubled_notes"]
        if row["kind"] in ("unison", "octave")
    }
    onsets: dict[int, list[int]] = defaultdict(list)
    for note in found.tables["notes"]:
        onsets[note["line_key"]].append(note["onset_ticks"])
    for planted in truth_of(stem)["doublings"]:
        if planted["kind"] in ("unison", "octave"):
            a, b = found.key(planted["line_a"]), found.key(planted["line_b"])
            start, end = planted["start_quarter"] * TICKS, planted["end_quarter"] * TICKS
            inside = [onset for onset in onsets[a] if start <= onset < end]
            assert len(inside) >= 4
            assert all((a, b, onset) in partners for onset in inside), planted
            assert all((b, a, onset) in partners for onset in inside), planted


@each_study
def test_every_strict_row_is_planted_or_listed_as_a_by_product(stem: str) -> None:
    found = found_in(stem)
    known = truth_of(stem)["doublings"] + truth_of(stem)["by_products"]
    strict = [row for row in found.tables["doublings"] if row["strict"]]
    assert strict
    for row in strict:
        if row["basis"] == "notes":
            assert any(tells(row, item, found) for item in known), (
                row["kind"], found.names[row["line_a"]], found.names[row["line_b"]],
                row["start_bar"], row["end_bar"],
            )  # fmt: skip


@each_study
def test_every_by_product_is_a_strict_row(stem: str) -> None:
    found = found_in(stem)
    for item in truth_of(stem)["by_products"]:
        rows = [row for row in found.tables["doublings"] if tells(row, item, found)]
        assert any(row["strict"] for row in rows), item


@each_study
def test_chordal_doublings_list_what_one_side_adds(stem: str) -> None:
    found = found_in(stem)
    planted = [row for row in truth_of(stem)["doublings"] if row["kind"] == "chordal"]
    assert planted
    for item in planted:
        row = next(row for row in found.tables["doublings"] if tells(row, item, found))
        assert row["added_notes"] == []
        assert not row["same_line"]
        voices = {name["part"] for name in item["chords_of"]}
        assert {found.names[row[side]]["part"] for side in ("line_a", "line_b")} & voices


@each_study
def test_every_planted_group_is_found(stem: str) -> None:
    found = found_in(stem)
    members: dict[int, set[int]] = defaultdict(set)
    for row in found.tables["group_members"]:
        members[row["group_key"]].add(row["line_key"])
    assert truth_of(stem)["groups"]
    for planted in truth_of(stem)["groups"]:
        lines = {found.key(line) for line in planted["lines"]}
        start, end = planted["start_quarter"] * TICKS, planted["end_quarter"] * TICKS
        told = [
            max(min(row["end_ticks"], end) - max(row["start_ticks"], start), 0)
            for row in found.tables["unison_groups"]
            if lines <= members[row["group_key"]]
        ]
        # Another line that joins for a while cuts the rows; together they tell the whole.
        assert sum(told) >= 0.75 * (end - start), planted


@each_study
def test_every_planted_joining_and_parting_is_found_at_its_beat(stem: str) -> None:
    found = found_in(stem)
    told = {
        (row["kind"], row["line_key"], row["partner_line_key"], row["start_ticks"]): row
        for row in found.tables["line_meetings"]
    }
    for planted in truth_of(stem)["meetings"]:
        line, partner = found.key(planted["line"]), found.key(planted["partner"])
        place = planted["kind"], line, partner, planted["quarter"] * TICKS
        assert place in told, planted
        assert told[place]["bar"] == str(planted["bar"])
        assert min(told[place]["bars_free"], told[place]["bars_together"]) >= 3


def test_joinings_and_partings_are_planted() -> None:
    kinds = [row["kind"] for stem in STEMS for row in truth_of(stem)["meetings"]]
    assert min(kinds.count("join"), kinds.count("part")) >= 10


@each_study
def test_winds_with_the_chorus_lie_in_the_planted_register(stem: str) -> None:
    found = found_in(stem)
    low = 0
    for planted in truth_of(stem)["registers"]:
        key = found.key(planted["line"])
        notes = [
            note
            for note in found.notes(
                planted["line"]["part"], planted["start_quarter"], planted["end_quarter"]
            )
            if note["line_key"] == key
        ]
        assert len(notes) == planted["notes"], planted
        assert min(note["midi"] for note in notes) == planted["lowest_midi"]
        assert max(note["midi"] for note in notes) == planted["highest_midi"]
        in_low = sum(note["register_class"] == "low" for note in notes)
        assert in_low == planted["low_notes"], planted
        low += in_low
    assert low >= 10


@each_study
def test_low_winds_that_double_the_chorus_are_doubled_notes(stem: str) -> None:
    """The headline's own rows: a chorus note, a low wind, in unison or in octaves."""
    found = found_in(stem)
    rows = [
        row
        for row in found.tables["doubled_notes"]
        if row["ensemble"] == "chorus"
        and row["partner_family"] in ("woodwind", "brass")
        and row["partner_register_class"] == "low"
        and row["kind"] in ("unison", "octave")
    ]
    wanted: dict[int, int] = defaultdict(int)
    for planted in truth_of(stem)["registers"]:
        wanted[found.key(planted["line"])] += planted["low_notes"]
    for key, low_notes in wanted.items():
        doubled = {row["partner_note_key"] for row in rows if row["partner_line_key"] == key}
        assert len(doubled) >= low_notes, found.names[key]


@pytest.fixture(scope="module")
def headlines(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Row]:
    """The answers to the headline question for the studies, by movement."""
    store = tmp_path_factory.mktemp("studies")
    collaparte.build(SCORES, store)
    answer = collaparte.open(store).ask("low-winds-double-chorus")
    rows = [dict(zip(answer.columns, row, strict=True)) for row in answer.fetchall()]
    return {row["movement_id"]: row for row in rows}


@each_study
def test_the_headline_is_what_a_plain_count_gives(stem: str, headlines: dict[str, Row]) -> None:
    row, planted = headlines[stem], truth_of(stem)["headline"]
    assert row["sung_quarters"] == planted["sung_quarters"]
    assert row["doubled_quarters"] == planted["doubled_quarters"]
    assert row["any_voice_strict"] == pytest.approx(
        planted["doubled_quarters"] / planted["sung_quarters"]
    )
    assert row["voice_time_strict"] == pytest.approx(
        planted["doubled_voice_quarters"] / planted["sung_voice_quarters"]
    )
    assert 0 < row["voice_time_strict"] < row["any_voice_strict"] < 1


@each_study
def test_spreads_of_sonorities_at_stated_places(stem: str) -> None:
    found = found_in(stem)
    assert len(truth_of(stem)["spreads"]) >= 10
    for planted in truth_of(stem)["spreads"]:
        tick = planted["quarter"] * TICKS
        row = next(
            row
            for row in found.tables["sonorities"]
            if row["start_ticks"] <= tick < row["start_ticks"] + row["ticks"]
        )
        wanted = (
            planted["lowest_midi"],
            planted["highest_midi"],
            planted["spread_semitones"],
            planted["distinct_pitches"],
        )
        assert (
            row["lowest"], row["highest"], row["spread_semitones"], row["distinct_pitches"]
        ) == wanted, planted  # fmt: skip


@each_study
def test_changes_of_instrument_open_a_line_of_the_same_player(stem: str) -> None:
    found = found_in(stem)
    quarters = truth_of(stem)["quarters_per_bar"]
    assert truth_of(stem)["instrument_changes"]
    for planted in truth_of(stem)["instrument_changes"]:
        words = [
            row["understood_as"]
            for row in found.tables["directions"]
            if row["part_index"] == found.parts[planted["part"]] and row["text"] == planted["words"]
        ]
        assert words in (["change_inst"], ["change_crook"]), planted
        at = (planted["bar"] - 1) * quarters
        before = found.notes(planted["part"], 0, at)
        after = found.notes(planted["part"], at, 10_000)
        assert {note["instrument"] for note in before} == {planted["from"]}
        assert {note["instrument"] for note in after} == {planted["to"]}
        for notes, semitones in (
            (before, planted["semitones_from"]),
            (after, planted["semitones_to"]),
        ):
            assert {note["midi"] - note["written_midi"] for note in notes} == {semitones}
        assert len({found.player[note["line_key"]] for note in before + after}) == 1


@each_study
def test_techniques_hold_over_the_planted_bars(stem: str) -> None:
    found = found_in(stem)
    terms = reference.load().terms
    for planted in truth_of(stem)["techniques"]:
        part, start, end = planted["part"], planted["start_quarter"], planted["end_quarter"]
        notes = [
            note for note in found.notes(part, start, end) if note["staff"] == planted["staff"]
        ]
        term = terms[planted["term"]]
        if planted["term"] == "octave_up":
            continue  # a bracket, no technique: the sounding pitch is told elsewhere
        here = [row for row in found.directions(part, start) if row["text"] == planted["text"]]
        assert [row["understood_as"] for row in here] == [planted["term"]], planted
        assert notes, planted
        if term.group == "section":
            alone = {found.names[note["line_key"]]["alone"] for note in notes}
            assert alone == {planted["term"] == "solo"}
        for note in notes:
            marked = term.group != "note" or note["onset_ticks"] == start * TICKS
            in_force = note["techniques"] + note["players_stated"]
            assert (planted["term"] in in_force) == marked, (planted, note["bar"])
        if planted["ended_by"]:
            for note in found.notes(part, end, 10_000):
                in_force = note["techniques"] + note["players_stated"]
                assert planted["term"] not in in_force, (planted, note["bar"])


def test_short_chords_after_the_beat_are_marked_short() -> None:
    marked = 0
    for stem in STEMS:
        found = found_in(stem)
        for scene in truth_of(stem)["scenes"]:
            for layer in scene["layers"]:
                keys = {found.key(line) for line in layer["lines"]}
                notes = [
                    note
                    for line in layer["lines"]
                    for note in found.notes(
                        line["part"], layer["start_quarter"], layer["end_quarter"]
                    )
                    if note["line_key"] in keys
                ]
                short = ["staccato" in note["articulations"] for note in notes]
                assert all(short) if layer["role"] == "short_chords" else not any(short)
                marked += sum(short)
    assert marked > 50


@each_study
def test_words_for_two_players_of_a_staff(stem: str) -> None:
    found = found_in(stem)
    for planted in truth_of(stem)["players"]:
        here = found.directions(planted["part"], planted["quarter"])
        assert planted["term"] in [row["understood_as"] for row in here], planted
        notes = [
            note
            for note in found.notes(planted["part"], planted["quarter"], planted["quarter"] + 1)
            if note["onset_ticks"] == planted["quarter"] * TICKS
        ]
        lines = {found.names[note["line_key"]]["line"] for note in notes}
        if planted["text"] == "a 2":
            assert lines == {1, 2}, planted
            assert len({note["midi"] for note in notes}) == 1
        elif planted["text"] == "1.":
            assert lines == {1}, planted


@each_study
def test_dynamics_are_in_force_where_they_stand(stem: str) -> None:
    found = found_in(stem)
    for planted in truth_of(stem)["dynamics"]:
        notes = [
            note
            for note in found.notes(planted["part"], planted["quarter"], planted["quarter"] + 1)
            if note["onset_ticks"] == planted["quarter"] * TICKS
        ]
        if notes:
            assert {note["dynamic"] for note in notes} == {planted["mark"]}, planted


@each_study
def test_notes_know_the_hairpin_that_they_stand_in(stem: str) -> None:
    found = found_in(stem)
    assert truth_of(stem)["hairpins"]
    for planted in truth_of(stem)["hairpins"]:
        notes = [
            note
            for note in found.notes(
                planted["part"], planted["start_quarter"], planted["end_quarter"]
            )
            if note["staff"] == planted["staff"]
        ]
        assert notes
        assert {note["hairpin"] for note in notes} == {planted["kind"]}, planted


@each_study
def test_doublings_in_words_name_their_line(stem: str) -> None:
    found = found_in(stem)
    for planted in truth_of(stem)["worded_doublings"]:
        part = planted["line"]["part"]
        here = found.directions(part, planted["start_quarter"])
        (row,) = (row for row in here if row["kind"] == "doubling")
        assert row["text"] == planted["text"]
        assert row["target_line_key"] == found.key(planted["with"])
        assert found.notes(part, planted["start_quarter"], planted["end_quarter"]) == []


@each_study
def test_doublings_in_words_are_rows_where_a_measure_makes_them(stem: str) -> None:
    found = found_in(stem)
    worded = [row for row in found.tables["doublings"] if row["basis"] == "words"]
    makes = any(
        "doublings" in item.makes and "directions" in item.needs for item in measures.MEASURES
    )
    if not makes:
        assert worded == []
        return
    for planted in truth_of(stem)["worded_doublings"]:
        target = found.key(planted["with"])
        start = planted["start_quarter"] * TICKS
        assert any(
            target in (row["line_a"], row["line_b"]) and row["start_ticks"] == start
            for row in worded
        ), planted
