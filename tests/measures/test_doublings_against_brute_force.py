"""The measure and a second implementation by plain loops tell the same of any score."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pyarrow as pa
from brute_force_chords import chordal
from brute_force_doublings import doublings as plain_doublings
from hypothesis import given, settings
from hypothesis import strategies as st

from collaparte import reference
from collaparte.measures.doublings import doublings
from collaparte.movement import Movement
from collaparte.readers import read
from collaparte.settings import Settings
from score_tables import Line, Note, score

LENGTHS = (0.5, 1, 1, 1, 2)
OPERATIONS = ("same", "octave", "lower octave", "left out", "split", "third", "sixth", "other")


@st.composite
def tunes(draw: st.DrawFn) -> list[Note]:
    """A tune of few pitches, with rests, some of them long, and some overlaps."""
    notes, onset = [], 0.0
    for _ in range(draw(st.integers(4, 30))):
        length = draw(st.sampled_from(LENGTHS))
        midi = draw(st.sampled_from((60, 60, 62, 64, 65, 67)))
        sounds = length * draw(st.sampled_from((1, 1, 1, 1, 0.5, 1.5)))
        notes.append(Note(onset, sounds, midi))
        onset += length + draw(st.sampled_from((0,) * 12 + (0.5, 1, 4, 5)))
    return notes


def partner(draw: st.DrawFn, tune: Sequence[Note]) -> list[Note]:
    """A line made from a tune by one operation, with exceptions here and there."""
    usual = draw(st.sampled_from(OPERATIONS))
    notes = []
    for note in tune:
        often = draw(st.integers(0, 9)) < 8
        operation = usual if often else draw(st.sampled_from(OPERATIONS))
        shift = {"octave": 12, "lower octave": -12, "third": 4, "sixth": -9, "other": 1}
        midi = note.midi + shift.get(operation, 0)
        if operation == "split":
            half = note.length / 2
            notes += [Note(note.onset, half, midi), Note(note.onset + half, half, midi)]
        elif operation != "left out":
            notes.append(Note(note.onset, note.length, midi))
        if draw(st.integers(0, 30)) == 0:
            notes.append(Note(note.onset, note.length, midi - 5))
    return notes


@st.composite
def line_lists(draw: st.DrawFn) -> list[list[Note]]:
    tune = draw(tunes())
    lines = [tune, *(partner(draw, tune) for _ in range(draw(st.integers(1, 3))))]
    return draw(st.permutations(lines))


def tables(lines: Sequence[Sequence[Note]]) -> dict[str, pa.Table]:
    return score([Line(notes) for notes in lines])


def measured(given_tables: dict[str, pa.Table]) -> list[tuple[Any, ...]]:
    """Every stretch with all that is said of it, and its pairs of notes."""
    made = doublings(given_tables, None, Settings())
    pairs: dict[int, list[tuple[int, int, int, int]]] = {}
    for row in made["doubled_notes"].to_pylist():
        if row["line_key"] < row["partner_line_key"]:
            start = row["start_ticks"]
            pairs.setdefault(row["doubling_key"], []).append(
                (row["note_key"], row["partner_note_key"], start, start + row["ticks"])
            )
    assert 2 * sum(map(len, pairs.values())) == made["doubled_notes"].num_rows
    return sorted(
        (
            row["line_a"],
            row["line_b"],
            row["start_ticks"],
            row["kind"],
            row["end_ticks"],
            "" if row["interval_semitones"] is None else row["interval_semitones"],
            row["matched_notes"],
            row["pitch_changes"],
            row["distinct_pitches"],
            row["strict"],
            row["share_a"],
            row["share_b"],
            sorted(pairs[row["doubling_key"]]),
        )
        for row in made["doublings"].to_pylist()
    )


def plain(given_tables: dict[str, pa.Table]) -> list[tuple[Any, ...]]:
    notes = given_tables["notes"].to_pylist()
    chords = chordal(notes, given_tables["lines"].to_pylist())
    return sorted(
        (
            line_a,
            line_b,
            item.start,
            item.kind,
            item.end,
            "" if item.interval is None else item.interval,
            item.matched,
            item.changes,
            item.distinct,
            item.strict,
            sum(end - start for *_, start, end in item.pairs) / item.own[0],
            sum(end - start for *_, start, end in item.pairs) / item.own[1],
            item.pairs,
        )
        for (line_a, line_b), stretches in plain_doublings(notes, chords).items()
        for item in stretches
    )


@given(line_lists())
@settings(max_examples=300, deadline=None)
def test_both_implementations_agree(lines: list[list[Note]]) -> None:
    given_tables = tables(lines)
    assert measured(given_tables) == plain(given_tables)


@st.composite
def chord_scores(draw: st.DrawFn) -> list[Line]:
    """Two or three parts of several lines, or groups of parts, that mostly share their chords."""
    number, lines = 0, []
    length = draw(st.integers(3, 14))
    roots = draw(st.lists(st.sampled_from((0, 2, 5)), min_size=length, max_size=length))
    rests = [draw(st.sampled_from((0,) * 9 + (1, 5))) for _ in roots]
    for unit in range(draw(st.integers(2, 3))):
        is_group = draw(st.booleans())
        size = draw(st.integers(3, 4))
        ranks: list[list[Note]] = [[] for _ in range(size)]
        onset = 0.0
        for root, rest in zip(roots, rests, strict=True):
            own = draw(st.sampled_from((root,) * 9 + (7, None)))
            shift = draw(st.sampled_from((0,) * 9 + (0.5,)))
            for rank, interval in enumerate((0, 4, 7, 10)[:size]):
                octave = draw(st.sampled_from((48, 60)))
                if own is not None and draw(st.integers(0, 30)):
                    midi = octave + own + interval
                    ranks[rank].append(Note(onset + shift, draw(st.sampled_from((0.5, 1))), midi))
            onset += 1 + rest
        for notes in ranks:
            lines.append(Line(notes, subfamily=f"family {unit}", part=number))
            number += is_group
        number += 1
    return lines


@given(chord_scores())
@settings(max_examples=150, deadline=None)
def test_both_implementations_agree_on_chords(lines: list[Line]) -> None:
    given_tables = score(lines)
    assert measured(given_tables) == plain(given_tables)


def in_lines(stretches: Sequence[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Lines as numbers in the score, and no keys of notes."""
    return sorted((row[0] & 0xFFFFFF, row[1] & 0xFFFFFF, *row[2:10]) for row in stretches)


@given(line_lists())
@settings(max_examples=60, deadline=None)
def test_an_octave_higher_all_stays_as_it_is(lines: list[list[Note]]) -> None:
    higher = [[Note(note.onset, note.length, note.midi + 12) for note in line] for line in lines]
    assert in_lines(measured(tables(lines))) == in_lines(measured(tables(higher)))


@given(line_lists())
@settings(max_examples=60, deadline=None)
def test_turning_the_score_upside_down_turns_the_signs(lines: list[list[Note]]) -> None:
    last = len(lines) - 1
    turned = sorted(
        (last - row[1], last - row[0], *row[2:5], -row[5] if row[5] != "" else "", *row[6:])
        for row in in_lines(measured(tables(lines[::-1])))
    )
    assert in_lines(measured(tables(lines))) == turned


@given(line_lists(), st.integers(0, 4))
@settings(max_examples=60, deadline=None)
def test_a_silent_line_changes_nothing(lines: list[list[Note]], place: int) -> None:
    place = min(place, len(lines))
    more = [*lines[:place], [], *lines[place:]]
    without = [
        (row[0] - (row[0] > place), row[1] - (row[1] > place), *row[2:])
        for row in in_lines(measured(tables(more)))
    ]
    assert in_lines(measured(tables(lines))) == without


def test_real_movements_agree_tick_for_tick(scores: Path) -> None:
    files = sorted(scores.glob("*.mxl"))
    assert files
    for path in files:
        movement = Movement(path.stem, path.name, path.stem, path.stem)
        tables = read(path.read_bytes(), movement, reference.load(), Settings())
        assert measured(tables) == plain(tables), path.name
