"""Notes that are not normal notes: items 12 to 14 of the list of reading pitfalls."""

from __future__ import annotations

from events import assert_events, rows, tables_of

from scores import attributes, backup, bar, note, part, rest, score, transpose


def test_pitfall_12_a_cue_note_is_silent_and_takes_time() -> None:
    data = score(part(bar(note("C4", 2, cue=True), note("D4", 2)), bar(note("E4", 4))))
    assert_events(data, [(0, 2, 60, "C4", "cue"), (2, 2, 62, "D4"), (4, 4, 64, "E4")])


def test_pitfall_12_the_size_of_a_note_does_not_silence_it() -> None:
    data = score(part(bar(note("C4", 4, type_="whole", size="cue"))))
    assert_events(data, [(0, 4, 60, "C4")])


def test_pitfall_12_a_cue_chord_and_a_sounding_voice() -> None:
    data = score(
        part(
            bar(
                note("C5", 4, cue=True, voice=1),
                note("E5", 4, cue=True, chord=True, voice=1),
                backup(4),
                note("C4", 4, voice=2),
            )
        )
    )
    assert_events(data, [(0, 4, 76, "E5", "cue"), (0, 4, 72, "C5", "cue"), (0, 4, 60, "C4")])


def test_pitfall_12_cue_notes_are_in_no_line_total() -> None:
    data = score(part(bar(note("C4", 4, cue=True)), bar(note("D4", 4))))
    tables = assert_events(data, [(0, 4, 60, "C4", "cue"), (4, 4, 62, "D4")])
    assert rows(tables, "lines", "notes", "lowest", "highest") == [(1, 62, 62)]


def test_pitfall_13_a_grace_note_stands_at_its_main_note() -> None:
    data = score(
        part(bar(note("D4", grace='slash="yes"'), note("C4", 8), note("E4", 8)), divisions=4)
    )
    tables = assert_events(data, [(0, 0, 62, "D4", "grace"), (0, 2, 60, "C4"), (2, 2, 64, "E4")])
    assert rows(tables, "notes", "grace_order", is_grace=True) == [0]
    assert rows(tables, "notes", "grace_order", is_grace=False) == [None, None]


def test_pitfall_13_grace_notes_keep_their_order() -> None:
    data = score(
        part(
            bar(
                note("C4", 2),
                note("B4", grace=""),
                note("A4", grace=""),
                note("G4", grace="", chord=True),
                note("F4", 2),
            )
        )
    )
    tables = assert_events(
        data,
        [
            (0, 2, 60, "C4"),
            (2, 0, 71, "B4", "grace"),
            (2, 0, 69, "A4", "grace"),
            (2, 0, 67, "G4", "grace"),
            (2, 2, 65, "F4"),
        ],
    )
    order = dict(rows(tables, "notes", "midi", "grace_order", is_grace=True))
    assert order[71] == 0
    assert order[71] < order[69] <= order[67]


def test_pitfall_13_grace_notes_after_a_note_stand_at_its_end() -> None:
    """The last note of bar 1 has an after-grace, which belongs to bar 1."""
    data = score(
        part(
            bar(note("C4", 4), note("D4", grace='steal-time-previous="20"')),
            bar(note("E4", 4)),
        )
    )
    tables = assert_events(data, [(0, 4, 60, "C4"), (4, 0, 62, "D4", "grace"), (4, 4, 64, "E4")])
    assert rows(tables, "notes", "bar_index", is_grace=True) == [0]


def test_pitfall_13_an_after_grace_sounds_in_the_transposition_of_its_bar() -> None:
    data = score(
        part(
            bar(attributes(transposes=transpose(-2, -1)), note("D5", 4), note("E5", grace="")),
            bar(attributes(transposes=transpose(-3, -2)), note("F5", grace=""), note("Eb5", 4)),
            name="Clarinet",
        )
    )
    assert_events(
        data,
        [
            (0, 4, 72, "C5"),
            (4, 0, 74, "D5", "grace"),
            (4, 0, 74, "D5", "grace"),
            (4, 4, 72, "C5"),
        ],
    )


def test_pitfall_13_an_after_grace_of_one_voice_before_another_voice() -> None:
    data = score(
        part(
            bar(
                note("C5", 4, voice=1),
                note("D5", grace="", voice=1),
                backup(4),
                note("E4", grace="", voice=2),
                note("F4", 4, voice=2),
            ),
            bar(rest(4)),
        )
    )
    assert_events(
        data,
        [
            (0, 4, 72, "C5"),
            (0, 0, 64, "E4", "grace"),
            (0, 4, 65, "F4"),
            (4, 0, 74, "D5", "grace"),
        ],
    )


def test_pitfall_14_a_note_that_is_not_printed_sounds() -> None:
    data = score(
        part(bar(note("C4", 2, print_object="no"), rest(1, print_object="no"), note("D4", 1)))
    )
    assert_events(data, [(0, 2, 60, "C4", "hidden"), (3, 1, 62, "D4")])


def test_pitfall_14_a_notehead_none_sounds() -> None:
    """Whether such a note counts as printed is left open."""
    data = score(part(bar(note("C4", 4, notehead="none"))))
    tables = tables_of(data)
    assert rows(tables, "notes", "midi", "duration_quarters", "is_cue") == [(60, 4.0, False)]
