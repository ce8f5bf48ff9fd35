"""Ties: items 8 to 11 of the list of reading pitfalls, worked out by hand."""

from __future__ import annotations

import pytest
from events import assert_events, assert_remark, rows

from scores import attributes, backup, bar, barline, note, part, rest, score, transpose


def test_pitfall_08_a_tie_belongs_to_one_note_of_the_chord() -> None:
    data = score(
        part(
            bar(
                note("A3", 1),
                note("A4", 1, chord=True, tie="start"),
                note("A3", 3),
                note("A4", 3, chord=True, tie="stop"),
            )
        )
    )
    tables = assert_events(data, [(0, 4, 69, "A4"), (0, 1, 57, "A3"), (1, 3, 57, "A3")])
    assert sorted(rows(tables, "notes", "source_notes")) == [[0], [1, 3], [2]]


def test_pitfall_08_a_chord_tied_to_a_single_note_and_back() -> None:
    data = score(
        part(
            bar(note("C4", 4), note("E4", 4, chord=True, tie="start")),
            bar(note("E4", 4, tie="stop start")),
            bar(note("G4", 4), note("E4", 4, chord=True, tie="stop")),
        )
    )
    assert_events(data, [(0, 12, 64, "E4"), (0, 4, 60, "C4"), (8, 4, 67, "G4")])


def test_pitfall_08_a_shorter_note_of_a_chord_ends_its_tie_where_it_ends() -> None:
    data = score(
        part(
            bar(
                note("C5", 4),
                note("E4", 2, chord=True, tie="start"),
                backup(2),
                note("E4", 2, tie="stop", voice=2),
            )
        )
    )
    assert_events(data, [(0, 4, 72, "C5"), (0, 4, 64, "E4")])


def test_pitfall_09_ties_in_two_voices() -> None:
    data = score(
        part(
            bar(
                note("C5", 4, tie="start", voice=1), backup(4), note("C4", 4, tie="start", voice=2)
            ),
            bar(note("C5", 4, tie="stop", voice=1), backup(4), note("C4", 4, tie="stop", voice=2)),
        )
    )
    assert_events(data, [(0, 8, 72, "C5"), (0, 8, 60, "C4")])


def test_pitfall_09_a_tie_ends_in_another_voice_and_staff() -> None:
    data = score(
        part(
            bar(
                attributes(staves=2),
                note("C5", 4, tie="start", voice=1, staff=1),
                backup(4),
                note("C4", 4, tie="start", voice=5, staff=2),
            ),
            bar(
                note("C4", 4, tie="stop", voice=1, staff=1),
                backup(4),
                note("C5", 4, tie="stop", voice=2, staff=1),
            ),
            name="Harp",
        )
    )
    tables = assert_events(data, [(0, 8, 72, "C5"), (0, 8, 60, "C4")])
    assert sorted(rows(tables, "notes", "midi", "voice", "staff")) == [(60, "5", 2), (72, "1", 1)]


def test_pitfall_09_the_same_voice_comes_first() -> None:
    """Voice 2 is written first; each tie stays within its voice."""
    data = score(
        part(
            bar(
                note("C5", 2, tie="start", voice=2),
                backup(2),
                note("C5", 2, tie="start", voice=1),
                note("C5", 2, tie="stop", voice=1),
                backup(2),
                note("C5", 1, tie="stop", voice=2),
            )
        )
    )
    tables = assert_events(data, [(0, 3, 72, "C5"), (0, 4, 72, "C5")])
    assert sorted(rows(tables, "notes", "voice", "source_notes")) == [("1", [1, 2]), ("2", [0, 3])]


def test_pitfall_09_ties_do_not_cross_parts() -> None:
    data = score(
        part(bar(note("C5", 2, tie="start"), rest(2))),
        part(bar(rest(2), note("C5", 2, tie="stop"))),
    )
    assert_events(data, [(0, 2, 72, "C5")], [(2, 2, 72, "C5", "tie_in")])


def test_pitfall_10_no_tie_over_a_rest() -> None:
    data = score(part(bar(note("C4", 2, tie="start"), rest(2)), bar(note("C4", 4, tie="stop"))))
    tables = assert_events(data, [(0, 2, 60, "C4"), (4, 4, 60, "C4", "tie_in")])
    assert_remark(tables, "tie")


def test_pitfall_10_a_start_without_stop_ties_nothing() -> None:
    data = score(part(bar(note("C4", 4, tie="start")), bar(note("C4", 4))))
    tables = assert_events(data, [(0, 4, 60, "C4"), (4, 4, 60, "C4")])
    assert_remark(tables, "tie")


def test_pitfall_10_a_file_that_writes_no_ends_of_ties() -> None:
    """Sixteen ties and more, none with an end: each leads to the same pitch in its voice."""
    tied = [note("C4", 1, tie="start") for _ in range(16)]
    data = score(part(bar(*tied, note("C4", 1)), bar(note("D4", 1))))
    tables = assert_events(data, [(0, 17, 60, "C4"), (17, 1, 62, "D4")])
    assert_remark(tables, "ties_without_ends")


@pytest.mark.parametrize("count", [2, 7])
def test_pitfall_10_many_starts_without_stop(count: int) -> None:
    """Repeated notes that all begin a tie, in two parts; only the last of the second is met."""
    open_notes = [note("C4", 1, tie="start") for _ in range(count)]
    data = score(
        part(bar(*open_notes), bar(note("D4", 2))),
        part(bar(*open_notes), bar(note("C4", 2, tie="stop"))),
    )
    repeated = [(place, 1, 60, "C4") for place in range(count - 1)]
    assert_events(
        data,
        [*repeated, (count - 1, 1, 60, "C4"), (count, 2, 62, "D4")],
        [*repeated, (count - 1, 3, 60, "C4")],
    )


@pytest.mark.parametrize("count", [2, 7, 8, 9, 17, 33])
def test_pitfall_10_many_stops_without_start(count: int) -> None:
    data = score(part(bar(*(note("C4", 1, tie="stop") for _ in range(count)))))
    assert_events(data, [(place, 1, 60, "C4", "tie_in") for place in range(count)])


def test_pitfall_10_a_stop_without_start_ties_nothing() -> None:
    data = score(part(bar(note("C4", 4)), bar(note("C4", 4, tie="stop"))))
    assert_events(data, [(0, 4, 60, "C4"), (4, 4, 60, "C4", "tie_in")])


def test_pitfall_10_a_stop_that_finds_nothing_leaves_the_tie_from_its_note_whole() -> None:
    data = score(
        part(
            bar(note("D4", 4)), bar(note("C4", 4, tie="stop start")), bar(note("C4", 4, tie="stop"))
        )
    )
    assert_events(data, [(0, 4, 62, "D4"), (4, 8, 60, "C4", "tie_in")])


def test_pitfall_10_a_start_that_finds_nothing_leaves_the_same_pitch_of_other_parts_whole() -> None:
    """Both ties begin at one time on one pitch, the first has no end."""
    data = score(
        part(bar(note("C4", 2, tie="start"), rest(2))),
        part(bar(note("C4", 2, tie="start"), note("C4", 2, tie="stop"))),
    )
    assert_events(data, [(0, 2, 60, "C4")], [(0, 4, 60, "C4")])


def test_pitfall_10_a_start_that_finds_nothing_leaves_other_voices_whole() -> None:
    """Voice 1 is left open on a pitch that voice 2 ties a bar later and voice 3 at once."""
    data = score(
        part(
            bar(
                note("C4", 2, tie="start", voice=1),
                rest(2, voice=1),
                backup(4),
                note("E4", 2, voice=3),
                note("C4", 2, tie="start", voice=3),
            ),
            bar(note("C4", 4, tie="stop", voice=3)),
            bar(note("C4", 2, tie="start", voice=2), note("C4", 2, tie="stop", voice=2)),
        )
    )
    assert_events(
        data,
        [(0, 2, 64, "E4"), (0, 2, 60, "C4"), (2, 6, 60, "C4"), (8, 4, 60, "C4")],
    )


def test_pitfall_10_no_tie_to_another_pitch() -> None:
    data = score(part(bar(note("C4", 2, tie="start"), note("C#4", 2, tie="stop"))))
    assert_events(data, [(0, 2, 60, "C4"), (2, 2, 61, "C#4", "tie_in")])


def test_pitfall_10_a_printed_natural_does_not_break_a_chain() -> None:
    data = score(
        part(
            bar(note("F4", 4, alter="0", accidental="natural", tie="start")),
            bar(note("F4", 4, tie="stop start")),
            bar(note("F4", 4, tie="stop")),
        )
    )
    tables = assert_events(data, [(0, 12, 65, "F4")])
    assert not [text for text in rows(tables, "remarks", "code") if "tie" in text]


def test_pitfall_10_enharmonic_notes_are_tied_and_keep_the_first_spelling() -> None:
    data = score(part(bar(note("G#4", 4, tie="start")), bar(note("Ab4", 4, tie="stop"))))
    assert_events(data, [(0, 8, 68, "G#4")])


def test_pitfall_10_ties_go_by_sounding_pitch() -> None:
    """D5 for B flat clarinet and E flat 5 for A clarinet are one C5."""
    data = score(
        part(
            bar(attributes(transposes=transpose(-2, -1)), note("D5", 4, tie="start")),
            bar(attributes(transposes=transpose(-3, -2)), note("Eb5", 4, tie="stop")),
            name="Clarinet",
        )
    )
    assert_events(data, [(0, 8, 72, "C5")])


def test_pitfall_10_the_tied_notation_is_not_a_tie() -> None:
    slur = '<tied type="{}"/>'
    data = score(
        part(
            bar(note("C4", 4, notations=slur.format("start"))),
            bar(note("C4", 4, notations=slur.format("stop") + slur.format("let-ring"))),
        )
    )
    assert_events(data, [(0, 4, 60, "C4"), (4, 4, 60, "C4")])


def test_pitfall_10_an_unpitched_note_is_tied_by_its_place() -> None:
    data = score(
        part(
            bar(note("unpitched E4", 4, tie="start")),
            bar(note("unpitched E4", 4, tie="stop")),
            name="Bass Drum",
        )
    )
    assert_events(data, [(0, 8, None, None, "unpitched")])


def test_pitfall_11_a_tie_into_the_second_ending_comes_in_from_elsewhere() -> None:
    data = score(
        part(
            bar(note("C4", 4, tie="start")),
            bar(
                barline(location="left", ending=("1", "start")),
                note("C4", 4, tie="stop"),
                barline(ending=("1", "stop"), repeat="backward"),
            ),
            bar(
                barline(location="left", ending=("2", "start")),
                note("C4", 4, tie="stop"),
                barline(ending=("2", "stop")),
            ),
        )
    )
    tables = assert_events(data, [(0, 8, 60, "C4"), (8, 4, 60, "C4", "tie_in")])
    assert rows(tables, "play_order", "bar_index") == [0, 1, 0, 2]


def test_pitfall_11_a_tie_goes_on_from_the_second_ending() -> None:
    data = score(
        part(
            bar(note("C4", 4, tie="start")),
            bar(
                barline(location="left", ending=("1", "start")),
                note("C4", 4, tie="stop"),
                barline(ending=("1", "stop"), repeat="backward"),
            ),
            bar(
                barline(location="left", ending=("2", "start")),
                note("C4", 4, tie="stop start"),
                barline(ending=("2", "stop")),
            ),
            bar(note("C4", 4, tie="stop")),
        )
    )
    assert_events(data, [(0, 8, 60, "C4"), (8, 8, 60, "C4", "tie_in")])
