"""Directions: items 46 to 53 of the list of reading pitfalls, worked out by hand.

What words mean comes with the players and techniques; here the printed text is held to the file,
and the written dynamic to the notes it is in force for.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from events import assert_events, quarters, rows, tables_of

from collaparte.schema import Tables
from scores import (
    attributes,
    backup,
    bar,
    direction,
    dynamics,
    element,
    note,
    part,
    score,
    wedge,
    words,
)


def placed(tables: Tables, kind: str | None = None) -> list[tuple[Fraction, str | None]]:
    """Place and text of the printed directions."""
    return [
        (quarters(ticks), text)
        for ticks, text, found in rows(
            tables, "directions", "onset_ticks", "text", "kind", is_printed=True
        )
        if kind in (None, found)
    ]


def marked(tables: Tables) -> dict[int, str | None]:
    """The dynamic in force by MIDI pitch."""
    return dict(rows(tables, "notes", "midi", "dynamic"))


def offset(value: int, sound: str | None = None) -> str:
    return element("offset", value, sound=sound)


def test_pitfall_46_an_offset_beyond_the_bar_does_not_lengthen_it() -> None:
    data = score(
        part(
            bar(note("C4", 4), direction(words("dim."), offset=offset(2))),
            bar(note("D4", 4)),
        )
    )
    tables = assert_events(data, [(0, 4, 60, "C4"), (4, 4, 62, "D4")])
    assert placed(tables) == [(Fraction(4), "dim.")]
    assert rows(tables, "directions", "bar_index") == [0]


def test_pitfall_46_an_offset_before_the_bar_stops_at_its_start() -> None:
    data = score(
        part(
            bar(note("C4", 4)),
            bar(note("D4", 1), direction(words("dim."), offset=offset(-3)), note("E4", 3)),
        )
    )
    assert placed(tables_of(data)) == [(Fraction(4), "dim.")]


@pytest.mark.parametrize(
    ("content", "said", "sound", "place"),
    [
        (words("dim."), None, "", 1),
        (dynamics("f"), "yes", "", 1),
        (dynamics("f"), "yes", '<sound dynamics="98"/>', 1),
        (words("pizz."), None, '<sound pizzicato="yes"/>', 3),
        (words("pizz."), "no", '<sound pizzicato="yes"/>', 3),
    ],
)
def test_pitfall_46_an_offset_moves_what_sounds_only_if_it_says_so(
    content: str, said: str | None, sound: str, place: int
) -> None:
    """Written after beat 3 with an offset of two beats back."""
    data = score(
        part(
            bar(
                note("C4", 1),
                note("D4", 2),
                direction(content, offset=offset(-2, said), sound=sound),
                note("E4", 1),
            )
        )
    )
    assert [where for where, _ in placed(tables_of(data))] == [Fraction(place)]


def test_pitfall_46_an_offset_moves_the_dynamic_of_the_notes() -> None:
    data = score(
        part(
            bar(
                direction(dynamics("p")),
                note("C4", 1),
                note("D4", 2),
                direction(dynamics("f"), offset=offset(-2, "yes")),
                note("E4", 1),
            )
        )
    )
    assert marked(tables_of(data)) == {60: "p", 62: "f", 64: "f"}


def test_pitfall_47_a_direction_for_one_voice() -> None:
    data = score(
        part(
            bar(
                direction(dynamics("f"), voice=1),
                direction(dynamics("p"), voice=2),
                note("C5", 4, voice=1),
                backup(4),
                note("C4", 4, voice=2),
            )
        )
    )
    tables = tables_of(data)
    assert marked(tables) == {72: "f", 60: "p"}
    assert sorted(rows(tables, "directions", "voice", "text")) == [("1", "f"), ("2", "p")]


def test_pitfall_47_a_direction_for_one_staff() -> None:
    data = score(
        part(
            bar(
                attributes(staves=2),
                direction(dynamics("f"), staff=1),
                note("C5", 4, voice=1, staff=1),
                backup(4),
                direction(dynamics("p"), staff=2),
                note("C4", 4, voice=5, staff=2),
            ),
            name="Piano",
        )
    )
    tables = tables_of(data)
    assert marked(tables) == {72: "f", 60: "p"}
    assert sorted(rows(tables, "directions", "staff", "text")) == [(1, "f"), (2, "p")]


def test_pitfall_47_directions_hold_in_time_not_in_the_order_of_the_text() -> None:
    """The f at beat 3 is written before the second voice, whose first note comes before it."""
    data = score(
        part(
            bar(
                direction(dynamics("p")),
                note("C5", 2, voice=1),
                direction(dynamics("f")),
                note("D5", 2, voice=1),
                backup(4),
                note("C4", 2, voice=2),
                note("D4", 2, voice=2),
            ),
            bar(note("E5", 4)),
        )
    )
    assert marked(tables_of(data)) == {72: "p", 74: "f", 60: "p", 62: "f", 76: "f"}


def test_pitfall_47_a_direction_is_for_its_part_alone() -> None:
    data = score(
        part(bar(direction(dynamics("f")), note("C5", 4))),
        part(bar(note("C4", 4))),
    )
    assert marked(tables_of(data)) == {72: "f", 60: None}


def test_pitfall_48_several_marks_make_one_text() -> None:
    """How loud più f is comes later; the text is the whole of it."""
    more = element("dynamics", element("other-dynamics", "più ") + "<f/>")
    data = score(part(bar(direction(more), note("C4", 4))))
    tables = tables_of(data)
    assert placed(tables, "dynamic") == [(Fraction(0), "più f")]


def test_pitfall_48_an_accent_is_no_level() -> None:
    data = score(
        part(
            bar(
                direction(dynamics("p")),
                note("C4", 1),
                direction(dynamics("sf")),
                note("D4", 1),
                note("E4", 2),
            )
        )
    )
    tables = tables_of(data)
    assert marked(tables) == {60: "p", 62: "p", 64: "p"}
    assert rows(tables, "notes", "midi", "dynamic_accent") == [(60, None), (62, "sf"), (64, None)]


def test_pitfall_48_a_mark_on_the_note_itself() -> None:
    data = score(
        part(
            bar(
                direction(dynamics("p")),
                note("C4", 2),
                note("D4", 1, notations=dynamics("f")),
                note("E4", 1),
            )
        )
    )
    tables = tables_of(data)
    assert marked(tables) == {60: "p", 62: "f", 64: "f"}
    assert placed(tables, "dynamic") == [(Fraction(0), "p"), (Fraction(2), "f")]


def test_pitfall_49_numbers_of_loudness_are_no_marks() -> None:
    data = score(
        part(
            bar(
                direction(dynamics("f"), sound='<sound dynamics="106.67"/>'),
                note("C4", 2, dynamics="50"),
                element("sound", dynamics="20"),
                note("D4", 2),
            )
        )
    )
    tables = tables_of(data)
    assert marked(tables) == {60: "f", 62: "f"}
    assert placed(tables) == [(Fraction(0), "f")]


def spans(tables: Tables) -> list[tuple[Fraction, Fraction]]:
    return [
        (quarters(start), quarters(end))
        for start, end in rows(tables, "directions", "onset_ticks", "end_ticks", kind="hairpin")
    ]


def test_pitfall_50_a_hairpin_is_a_span_in_time() -> None:
    data = score(
        part(
            bar(
                direction(wedge("crescendo", 1)),
                note("C4", 4),
                direction(wedge("stop", 1), offset=offset(-2, "yes")),
            )
        )
    )
    assert spans(tables_of(data)) == [(Fraction(0), Fraction(2))]


def test_pitfall_50_the_end_of_a_hairpin_within_a_note() -> None:
    """A hairpin has no sound element that could stay behind, so its offset is its place."""
    data = score(
        part(
            bar(
                direction(wedge("crescendo", 1)),
                note("C4", 4),
                direction(wedge("stop", 1), offset=offset(-2)),
            )
        )
    )
    assert spans(tables_of(data)) == [(Fraction(0), Fraction(2))]


def test_pitfall_50_a_stop_written_before_its_start() -> None:
    """The stop stands with the first voice, the start with the second, earlier in time."""
    data = score(
        part(
            bar(
                note("C5", 4, voice=1),
                direction(wedge("stop", 1)),
                backup(4),
                direction(wedge("diminuendo", 1)),
                note("C4", 4, voice=2),
            )
        )
    )
    assert spans(tables_of(data)) == [(Fraction(0), Fraction(4))]


def test_pitfall_50_an_open_hairpin_ends_at_the_next_dynamic() -> None:
    data = score(
        part(
            bar(direction(wedge("crescendo")), note("C4", 4)),
            bar(note("D4", 2), direction(dynamics("f")), note("E4", 2)),
        )
    )
    assert spans(tables_of(data)) == [(Fraction(0), Fraction(6))]


def test_pitfall_50_an_open_hairpin_ends_after_four_bars() -> None:
    data = score(
        part(
            bar(direction(wedge("crescendo")), note("C4", 4)),
            *(bar(note("D4", 4)) for _ in range(5)),
        )
    )
    assert spans(tables_of(data)) == [(Fraction(0), Fraction(16))]


def test_pitfall_50_two_hairpins_by_their_numbers() -> None:
    data = score(
        part(
            bar(
                attributes(staves=2),
                direction(wedge("crescendo", 1), staff=1),
                note("C5", 1, voice=1, staff=1),
                direction(wedge("crescendo", 2), staff=2),
                note("D5", 1, voice=1, staff=1),
                direction(wedge("stop", 1), staff=1),
                note("E5", 1, voice=1, staff=1),
                direction(wedge("stop", 2), staff=2),
                note("F5", 1, voice=1, staff=1),
            ),
            name="Piano",
        )
    )
    assert spans(tables_of(data)) == [(Fraction(0), Fraction(2)), (Fraction(1), Fraction(3))]


def test_pitfall_51_words_and_sound_attributes_are_both_kept() -> None:
    """Raw values: what techniques they stand for comes later."""
    data = score(
        part(
            bar(
                direction(words("pizz.")),
                note("C4", 1),
                direction(words("arco"), sound='<sound pizzicato="no"/>'),
                note("D4", 1),
                element("sound", pizzicato="yes"),
                note("E4", 2),
            ),
            name="Violin",
        )
    )
    tables = assert_events(data, [(0, 1, 60, "C4"), (1, 1, 62, "D4"), (2, 2, 64, "E4")])
    assert placed(tables) == [(Fraction(0), "pizz."), (Fraction(1), "arco")]
    assert Fraction(2) in [
        quarters(ticks) for ticks in rows(tables, "directions", "onset_ticks", is_printed=False)
    ]


def test_pitfall_52_players_in_words_are_kept() -> None:
    """Raw values: which player plays comes later; the notes stay as they are written."""
    data = score(
        part(
            bar(direction(words("a 2")), note("C5", 4)),
            bar(direction(words("1.")), note("D5", 4)),
            bar(direction(words("div.")), note("C5", 4), note("E5", 4, chord=True)),
            name="Oboe 1",
        )
    )
    tables = tables_of(data)
    assert placed(tables) == [(Fraction(0), "a 2"), (Fraction(4), "1."), (Fraction(8), "div.")]
    assert sorted(set(rows(tables, "notes", "onset_quarters", "midi"))) == [
        (0.0, 72),
        (4.0, 74),
        (8.0, 72),
        (8.0, 76),
    ]


def test_pitfall_53_words_and_symbols_are_one_text() -> None:
    data = score(
        part(
            bar(
                direction(words("in B") + element("symbol", "accidentalFlat")),
                note("C5", 1),
                direction(words("con&#10;  sordino ")),
                note("D5", 1),
                direction(words("sempre ") + words("stacc.")),
                note("E5", 1),
                direction(words("\ue520")),
                note("F5", 1),
            )
        )
    )
    tables = tables_of(data)
    first, *others = placed(tables)
    assert (first[1] or "").replace(" ", "") == "inB♭"
    assert others == [
        (Fraction(1), "con sordino"),
        (Fraction(2), "sempre stacc."),
        (Fraction(3), "p"),
    ]
