"""Doublings in scores small enough to see through."""

from typing import Any

import pytest

from collaparte.measures.doublings import doublings
from collaparte.schema import TICKS
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score

TUNE = [60, 62, 64, 65, 67, 65, 64, 62, 60, 59, 60]


def found(*lines: Line) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = doublings(score(lines), None, Settings())["doublings"].to_pylist()
    return rows


def brief(*lines: Line) -> list[tuple[Any, ...]]:
    return [
        (
            row["kind"],
            row["interval_semitones"],
            row["strict"],
            row["matched_notes"],
            row["start_ticks"] / TICKS,
            row["end_ticks"] / TICKS,
        )
        for row in found(*lines)
    ]


def up(notes: list[Note], semitones: int) -> list[Note]:
    return [Note(note.onset, note.length, note.midi + semitones) for note in notes]


def test_a_unison_of_eleven_notes_is_strict() -> None:
    (row,) = found(Line(melody(TUNE)), Line(melody(TUNE)))
    assert (row["kind"], row["interval_semitones"], row["strict"]) == ("unison", 0, True)
    assert (row["matched_notes"], row["pitch_changes"], row["distinct_pitches"]) == (11, 10, 6)
    assert (row["start_bar"], row["end_bar"]) == ("1", "3")
    assert (row["share_a"], row["share_b"]) == (1.0, 1.0)


@pytest.mark.parametrize("distance", [12, -12, 24, -36])
def test_an_octave_keeps_its_sign(distance: int) -> None:
    tune = melody(TUNE)
    assert brief(Line(tune), Line(up(tune, distance))) == [("octave", distance, True, 11, 0, 11)]


def test_three_notes_or_two_changes_are_nothing() -> None:
    assert brief(Line(melody([60, 62, 64])), Line(melody([60, 62, 64]))) == []
    assert brief(Line(melody([60, 60, 62, 64])), Line(melody([60, 60, 62, 64]))) == []


def test_one_onset_of_one_line_is_bridged_and_does_not_count() -> None:
    lower = melody(TUNE)
    upper = [*lower[:5], *lower[6:]]
    (row,) = found(Line(upper), Line(lower))
    assert (row["matched_notes"], row["matched_ticks"]) == (10, 10 * TICKS)


def test_an_onset_that_is_matched_at_another_interval_ends_the_stretch() -> None:
    other = [*TUNE[:5], 69, *TUNE[6:]]
    assert brief(Line(melody(TUNE)), Line(melody(other))) == [
        ("unison", 0, False, 5, 0, 5),
        ("unison", 0, False, 5, 6, 11),
    ]


def test_a_joint_silence_of_more_than_four_quarters_ends_a_stretch() -> None:
    def with_rest(rest: float) -> Line:
        return Line([*melody(TUNE[:5]), *melody(TUNE[5:], start=5 + rest)])

    assert len(brief(with_rest(4), with_rest(4))) == 1
    assert len(brief(with_rest(4.5), with_rest(4.5))) == 2


def test_grace_cue_and_unpitched_notes_do_not_count() -> None:
    for mark in ("is_grace", "is_cue", "is_unpitched"):
        silent = [Note(note.onset, note.length, note.midi, {mark: True}) for note in melody(TUNE)]
        assert brief(Line(melody(TUNE)), Line(silent)) == []


def test_every_matched_note_is_told_from_each_side() -> None:
    tune = melody(TUNE)
    tables = doublings(
        score([Line(tune, "oboe"), Line(up(tune, -12), "bassoon")]), None, Settings()
    )
    rows = tables["doubled_notes"].to_pylist()
    assert len(rows) == 22
    assert [row["interval_semitones"] for row in rows] == [-12] * 11 + [12] * 11
    assert rows[0]["instrument"] == rows[11]["partner_instrument"] == "oboe"
    assert {row["doubling_key"] for row in rows} == set(
        tables["doublings"]["doubling_key"].to_pylist()
    )


def test_the_overlap_counts_where_lengths_differ() -> None:
    short = [Note(note.onset, 0.5, note.midi) for note in melody(TUNE)]
    (row,) = found(Line(melody(TUNE)), Line(short))
    assert row["matched_ticks"] == 11 * TICKS // 2
    assert (row["share_a"], row["share_b"]) == (0.5, 1.0)


def chords(pitches: list[list[int]], shift: float = 0, length: float = 1) -> list[list[Note]]:
    """One line for each rank of the chords, from the top."""
    ranks = max(map(len, pitches))
    return [
        [
            Note(index * length + shift, length, sorted(chord, reverse=True)[rank])
            for index, chord in enumerate(pitches)
            if rank < len(chord)
        ]
        for rank in range(ranks)
    ]


CHORDS = [[60, 64, 67], [60, 65, 69], [59, 62, 67], [60, 64, 67], [57, 60, 64], [59, 62, 65]]


def part(number: int, lines: list[list[Note]], instrument: str) -> list[Line]:
    return [
        Line(notes, instrument, subfamily=instrument, part=number, family="other")
        for notes in lines
    ]


def kinds(*lines: Line) -> list[str]:
    return sorted(row["kind"] for row in found(*lines))


def test_a_chord_doubles_a_chord_in_other_voices_and_octaves() -> None:
    """Line by line nothing agrees: the harp turns each chord over, and adds a seventh once."""
    turned = [
        [72, 76, 79, 82],
        [69, 72, 77],
        [67, 71, 86],
        [76, 79, 84],
        [69, 72, 76],
        [65, 71, 74],
    ]
    rows = [
        row
        for row in found(*part(0, chords(CHORDS), "organ"), *part(1, chords(turned), "harp"))
        if row["kind"] == "chordal"
    ]
    (row,) = rows
    assert (row["instrument_a"], row["instrument_b"]) == ("organ", "harp")
    assert (row["matched_notes"], row["strict"], row["interval_semitones"]) == (6, False, None)
    assert (row["start_ticks"], row["end_ticks"]) == (0, 6 * TICKS)
    assert len(row["added_notes"]) == 1
    assert (row["share_a"], row["share_b"]) == (1.0, 1.0)


def test_the_same_harmony_in_another_rhythm_is_no_doubling() -> None:
    lower = [[pitch - 12 for pitch in chord[::-1]] for chord in CHORDS]
    late = chords(lower, shift=0.5)
    assert "chordal" not in kinds(*part(0, chords(CHORDS), "organ"), *part(1, late, "harp"))


def test_a_choir_of_three_parts_is_a_group() -> None:
    voices = [
        Line(notes, "trombone", subfamily="trombones", part=number)
        for number, notes in enumerate(chords(CHORDS))
    ]
    turned = [
        [pitch + (12 if rank == 0 else 0) for rank, pitch in enumerate(chord)] for chord in CHORDS
    ]
    rows = [
        row for row in found(*voices, *part(9, chords(turned), "harp")) if row["kind"] == "chordal"
    ]
    assert [(row["instrument_a"], row["instrument_b"]) for row in rows] == [("trombone", "harp")]


def test_two_different_pitches_are_no_chord() -> None:
    thirds = [[60, 64], [62, 65], [64, 67], [65, 69], [64, 67]]
    crossed = [[72, 76], [65, 74], [79, 88], [69, 77], [67, 76]]
    assert "chordal" not in kinds(
        *part(0, chords(thirds), "organ"), *part(1, chords(crossed), "harp")
    )


def test_octaves_that_change_on_the_way() -> None:
    tune = melody([60, 62, 64, 65, 67, 65, 64, 62])
    lower = [
        Note(note.onset, note.length, note.midi - 12 * (index % 2))
        for index, note in enumerate(tune)
    ]
    assert brief(Line(tune), Line(lower)) == [("octave_displaced", None, False, 8, 0, 8)]


def test_one_line_holds_what_the_other_repeats() -> None:
    held = melody([60, 62, 64, 65, 67, 65])
    repeated = [Note(note.onset + half, 0.5, note.midi - 12) for note in held for half in (0, 0.5)]
    (row,) = found(Line(held), Line(repeated))
    assert (row["kind"], row["interval_semitones"], row["matched_notes"]) == ("reiterated", -12, 6)
    assert (row["strict"], row["matched_ticks"], row["share_a"]) == (True, 6 * TICKS, 1.0)


def test_the_main_notes_of_a_figured_line() -> None:
    figured = [60, 64, 62, 65, 64, 67, 65, 69, 67, 71]
    main = [Note(2 * index, 2, midi) for index, midi in enumerate(figured[::2])]
    assert brief(Line(melody(figured)), Line(main)) == [("main_notes", 0, False, 5, 0, 9)]


THIRDS = [
    (72, 1),
    (74, 0.5),
    (76, 0.5),
    (77, 1),
    (79, 1),
    (77, 1),
    (76, 1),
    (74, 1),
    (72, 1),
    (71, 1),
]
BELOW = [69, 71, 72, 74, 76, 74, 72, 71, 69, 67]


def test_parallel_thirds() -> None:
    onset, upper, lower = 0.0, [], []
    for (midi, length), other in zip(THIRDS, BELOW, strict=True):
        upper.append(Note(onset, length, midi))
        lower.append(Note(onset, length, other))
        onset += length
    assert brief(Line(upper), Line(lower)) == [("parallel_thirds", None, True, 10, 0, 9)]
    sixths = [Note(note.onset, note.length, note.midi + 12) for note in lower]
    assert brief(Line(upper), Line(sixths)) == [("parallel_sixths", None, True, 10, 0, 9)]


def test_a_stretch_that_a_higher_kind_tells_is_told_once() -> None:
    """The whole is octave_displaced too, but the unison covers more than half of it."""
    tune = melody([*TUNE, 62])
    other = [*melody(TUNE), Note(11, 1, 50)]
    assert brief(Line(tune), Line(other)) == [("unison", 0, True, 11, 0, 11)]
