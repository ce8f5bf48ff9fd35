"""The dynamic in force for every note: level, degree and what they rest on, worked out by hand.

Degrees: pp 3, p 4, mp 5, mf 6, f 7, ff 8 (`dynamics.csv`); what follows an accent and what più,
meno and poco do: `dynamic_accents.csv`.
"""

from __future__ import annotations

import pytest
from events import rows, tables_of

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
    rest,
    score,
    wedge,
    words,
)

OWN, OTHER, HAIRPIN, WORD, NONE = "own_staff", "other_staff", "hairpin", "word", "none"


def mark(*names: str, voice: int | None = None, staff: int | None = None) -> str:
    return direction(dynamics(*names), voice=voice, staff=staff)


def says(text: str) -> str:
    return direction(words(text))


def other(*children: str) -> str:
    """A `dynamics` of marks and, in brackets, other text."""
    content = "".join(
        element("other-dynamics", child[1:-1]) if child[0] == "[" else f"<{child}/>"
        for child in children
    )
    return direction(element("dynamics", content))


def grow(number: int | None = None) -> str:
    return direction(wedge("crescendo", number))


def fade(number: int | None = None) -> str:
    return direction(wedge("diminuendo", number))


def stop(number: int | None = None) -> str:
    return direction(wedge("stop", number))


def read(*bars: str, name: str = "Violin 1") -> Tables:
    return tables_of(score(part(*(bar(content) for content in bars), name=name)))


def degrees(tables: Tables, **wanted: object) -> list[float | None]:
    return rows(tables, "notes", "dynamic_degree", **wanted)


def quarters(count: int, pitch: str = "C5") -> str:
    return note(pitch, 1) * count


def test_a_level_holds_until_the_next_and_before_the_first_nothing_is_known() -> None:
    tables = read(quarters(1) + mark("p") + quarters(2) + mark("f") + quarters(1), quarters(4))
    assert rows(tables, "notes", "dynamic", "dynamic_degree", "dynamic_basis") == [
        (None, None, NONE),
        ("p", 4, OWN),
        ("p", 4, OWN),
        *[("f", 7, OWN)] * 5,
    ]


def test_a_mark_over_a_rest_holds_for_the_notes_after_it() -> None:
    tables = read(rest(1) + mark("p") + rest(1) + quarters(2))
    assert degrees(tables) == [4, 4]


def test_every_part_has_its_own() -> None:
    loud, silent = part(bar(mark("f") + quarters(4))), part(bar(quarters(4)), name="Oboe")
    tables = tables_of(score(loud, silent))
    assert degrees(tables, part_index=1) == [None] * 4


def two_staves(name: str, upper: str, lower: str) -> Tables:
    return read(attributes(staves=2) + upper + backup(4) + lower, name=name)


def on_staff(staff: int, *content: str) -> str:
    """Half notes on a staff, each after the mark before it."""
    pitch = "C5" if staff == 1 else "C3"
    return "".join(
        (mark(name, staff=staff) if name else "") + note(pitch, 2, staff=staff) for name in content
    )


def test_the_staves_of_a_harp_share_the_latest_mark() -> None:
    tables = two_staves("Harp", on_staff(1, "p", ""), on_staff(2, "", "f"))
    found = rows(tables, "notes", "dynamic", "dynamic_basis", staff=1)
    assert found == [("p", OWN), ("f", OTHER)]
    assert rows(tables, "notes", "dynamic", "dynamic_basis", staff=2) == [("p", OTHER), ("f", OWN)]


def test_a_staff_of_a_harp_with_a_mark_of_its_own_at_the_same_time_keeps_it() -> None:
    tables = two_staves("Harp", on_staff(1, "p", ""), on_staff(2, "f", ""))
    assert rows(tables, "notes", "dynamic", staff=1) == ["p", "p"]
    assert rows(tables, "notes", "dynamic", staff=2) == ["f", "f"]


def test_staves_of_a_divided_section_keep_their_own_and_borrow_only_where_they_have_none() -> None:
    tables = two_staves("Viola", on_staff(1, "p", "ff"), on_staff(2, "", "mf"))
    assert rows(tables, "notes", "dynamic", "dynamic_basis", staff=2) == [("p", OTHER), ("mf", OWN)]
    assert rows(tables, "notes", "dynamic", staff=1) == ["p", "ff"]


def test_a_mark_of_one_voice_is_that_voices_until_one_for_all() -> None:
    tables = read(
        mark("p")
        + note("C5", 2, voice=1)
        + mark("f", voice=1)
        + note("D5", 2, voice=1)
        + backup(4)
        + note("A4", 2, voice=2)
        + note("B4", 2, voice=2),
        mark("mf") + note("E5", 4, voice=1) + backup(4) + note("C5", 4, voice=2),
        name="2 Flutes",
    )
    assert rows(tables, "notes", "dynamic", voice="1") == ["p", "f", "mf"]
    assert rows(tables, "notes", "dynamic", voice="2") == ["p", "p", "mf"]


def test_a_hairpin_between_two_levels_is_a_straight_line_in_degrees() -> None:
    tables = read(mark("p") + quarters(1) + grow() + quarters(3) + stop(), mark("f") + quarters(4))
    found = rows(tables, "notes", "dynamic_degree", "dynamic_basis", "hairpin")[:5]
    assert found == [
        (4, OWN, None),
        (4, HAIRPIN, "crescendo"),
        (5, HAIRPIN, "crescendo"),
        (6, HAIRPIN, "crescendo"),
        (7, OWN, None),
    ]
    assert rows(tables, "notes", "dynamic")[:5] == ["p"] * 4 + ["f"]


@pytest.mark.parametrize("after", ["", mark("pp"), mark("p")])
def test_a_crescendo_that_no_louder_level_follows_only_has_its_direction(after: str) -> None:
    tables = read(mark("p") + grow() + quarters(4) + stop(), after + quarters(4))
    assert degrees(tables)[:4] == [4] * 4
    assert rows(tables, "notes", "dynamic_basis", "hairpin")[:4] == [(OWN, "crescendo")] * 4
    assert rows(tables, "notes", "hairpin")[4:] == [None] * 4


def test_a_level_that_comes_much_later_is_not_the_hairpins() -> None:
    tables = read(mark("p") + grow() + quarters(4) + stop(), *[quarters(4)] * 2, mark("f"))
    assert degrees(tables) == [4] * 12


def test_what_a_hairpin_reaches_holds_until_the_level_it_led_to() -> None:
    tables = read(mark("p") + grow() + quarters(2) + stop() + quarters(2), mark("f") + quarters(4))
    assert rows(tables, "notes", "dynamic_degree", "hairpin")[:5] == [
        (4, "crescendo"),
        (5.5, "crescendo"),
        (7, None),
        (7, None),
        (7, None),
    ]


def test_a_hairpin_is_cut_at_a_level_within_it() -> None:
    tables = read(
        mark("p") + grow() + quarters(2) + mark("mf") + quarters(2) + stop(), mark("ff") + rest(4)
    )
    assert degrees(tables) == [4, 5, 6, 7]


def test_growing_and_fading_back_to_the_same_level_leaves_the_degree() -> None:
    swell = grow() + quarters(2) + stop() + fade() + quarters(2) + stop()
    tables = read(mark("p") + swell, mark("p") + quarters(4))
    assert degrees(tables)[:4] == [4] * 4
    assert rows(tables, "notes", "hairpin")[:4] == ["crescendo"] * 2 + ["diminuendo"] * 2


def test_an_open_hairpin_ends_with_the_next_level_or_after_four_bars() -> None:
    tables = read(mark("p") + grow() + quarters(4), quarters(4), mark("f") + quarters(4))
    assert rows(tables, "notes", "hairpin") == ["crescendo"] * 8 + [None] * 4
    assert degrees(tables)[::2] == [4, 4.75, 5.5, 6.25, 7, 7]
    tables = read(mark("p") + grow() + quarters(4), *[quarters(4)] * 5)
    assert rows(tables, "notes", "hairpin") == ["crescendo"] * 16 + [None] * 8


def test_a_hairpin_of_one_voice_leaves_the_other() -> None:
    tables = read(
        mark("p")
        + direction(wedge("crescendo"), voice=1)
        + note("C5", 2, voice=1)
        + note("D5", 2, voice=1)
        + direction(wedge("stop"), voice=1)
        + backup(4)
        + note("A4", 2, voice=2)
        + note("B4", 2, voice=2),
        mark("f") + note("E5", 4, voice=1),
        name="2 Flutes",
    )
    assert degrees(tables, voice="1") == [4, 5.5, 7]
    assert degrees(tables, voice="2") == [4, 4]


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        (("f", "diminuendo", ""), [7, 5.25, 3.5, 1.75]),
        (("", "crescendo", "ff"), [0, 2, 4, 6]),
    ],
)
def test_from_and_to_silence(bars: tuple[str, str, str], expected: list[float]) -> None:
    before, kind, after = bars
    hairpin = direction(element("wedge", type=kind, niente="yes"))
    tables = read(
        (mark(before) if before else "") + hairpin + quarters(4) + stop(),
        (mark(after) if after else "") + rest(4),
    )
    assert degrees(tables) == expected
    assert rows(tables, "notes", "dynamic_basis") == [HAIRPIN] * 4


@pytest.mark.parametrize(
    ("louder", "softer"),
    [
        ("cresc.", "dim."),
        ("accrescendo", "calando"),
        ("en augmentant", "en diminuant"),
        ("anschwellend", "abnehmend"),
        ("growing louder", "dying away"),
    ],
)
def test_words_grow_and_fade_until_the_next_level(louder: str, softer: str) -> None:
    tables = read(
        mark("p") + says(louder) + quarters(4),
        quarters(4),
        mark("f") + says(softer) + quarters(4),
        mark("p") + quarters(4),
    )
    assert rows(tables, "notes", "hairpin") == (["crescendo"] * 8 + ["diminuendo"] * 4 + [None] * 4)
    assert degrees(tables)[::2] == [4, 4.75, 5.5, 6.25, 7, 5.5, 4, 4]


def test_words_alone_last_four_bars() -> None:
    tables = read(mark("p") + quarters(2) + says("cresc.") + quarters(2), *[quarters(4)] * 5)
    assert rows(tables, "notes", "hairpin") == [None] * 2 + ["crescendo"] * 16 + [None] * 6


@pytest.mark.parametrize("said", ["senza cresc.", "non crescendo"])
def test_no_crescendo_is_none(said: str) -> None:
    assert rows(read(mark("p") + says(said) + quarters(4)), "notes", "hairpin") == [None] * 4


@pytest.mark.parametrize(
    ("before", "said", "degree", "basis"),
    [
        ("p", says("f"), 7, WORD),
        ("p", says("forte"), 7, WORD),
        ("f", says("leise"), 4, WORD),
        ("f", says("doux"), 4, WORD),
        ("p", says("subito f"), 7, WORD),
        ("p", says("sempre pp"), 3, WORD),
        ("ff", other("[sempre ]", "p"), 4, OWN),
        ("ff", other("[poco ]", "f"), 6.5, OWN),
        ("ff", says("poco f"), 6.5, WORD),
        ("ff", says("un peu fort"), 6.5, WORD),
        ("ff", says("poco p"), 4.5, WORD),
        ("f", other("[più ]", "f"), 8, OWN),
        ("f", says("più f"), 8, WORD),
        ("p", says("più f"), 5, WORD),
        ("p", says("più p"), 3, WORD),
        ("f", says("meno f"), 6, WORD),
        ("p", says("meno p"), 5, WORD),
        ("f", says("plus f"), 8, WORD),
        ("f", says("mezza voce"), 4, WORD),
        ("f", says("sotto voce"), 4, WORD),
        ("f", says("mit halber Stimme"), 4, WORD),
        ("f", says("dolce"), 7, OWN),
        ("f", other("[dolce]"), 7, OWN),
        ("f", other("p", "[dolce]"), 4, OWN),
        ("f", mark("pf"), 7, OWN),
    ],
)
def test_marks_and_words_set_the_level(before: str, said: str, degree: float, basis: str) -> None:
    tables = read(mark(before) + quarters(1) + said + quarters(1))
    assert rows(tables, "notes", "dynamic_degree", "dynamic_basis")[1] == (degree, basis)


def test_a_modifier_beside_its_mark_is_one_with_it() -> None:
    tables = read(mark("f") + quarters(1) + says("più") + mark("f") + quarters(1))
    assert rows(tables, "notes", "dynamic", "dynamic_degree")[1] == ("più f", 8)


@pytest.mark.parametrize("name", ["sf", "sfz", "fz", "sffz", "rf", "rfz"])
def test_an_accent_is_on_its_note_and_leaves_the_level(name: str) -> None:
    tables = read(mark("p") + quarters(1) + mark(name) + quarters(1) + quarters(1))
    assert rows(tables, "notes", "dynamic_accent") == [None, name, None]
    assert degrees(tables) == [4, 4, 4]


@pytest.mark.parametrize(("name", "degree"), [("fp", 4), ("sfp", 4), ("sfpp", 3)])
def test_an_accent_that_names_the_level_after_it_sets_it(name: str, degree: float) -> None:
    tables = read(mark("mf") + quarters(1) + mark(name) + quarters(2))
    assert rows(tables, "notes", "dynamic_accent", "dynamic_degree") == [
        (None, 6),
        (name, degree),
        (None, degree),
    ]


def test_an_accent_over_a_rest_is_no_accent_of_a_later_note() -> None:
    tables = read(mark("p") + mark("sf") + rest(1) + quarters(3))
    assert rows(tables, "notes", "dynamic_accent") == [None] * 3


def test_an_accent_beside_a_level_is_both_in_one() -> None:
    tables = read(mark("f") + quarters(1) + mark("sf") + mark("p") + quarters(2))
    assert rows(tables, "notes", "dynamic_accent", "dynamic_degree") == [
        (None, 7),
        ("sfp", 4),
        (None, 4),
    ]


def test_marks_within_notations_count_as_well() -> None:
    tables = read(note("C5", 2, notations=dynamics("f")) + note("C5", 2))
    assert rows(tables, "notes", "dynamic", "dynamic_basis") == [("f", OWN)] * 2


def test_where_a_hairpin_ends_is_in_the_directions() -> None:
    tables = read(mark("p") + grow() + quarters(4), quarters(4), mark("f") + quarters(4))
    start, end = rows(tables, "directions", "onset_ticks", "end_ticks", kind="hairpin")[0]
    assert (start, end) == (0, rows(tables, "bars", "start_ticks")[2])
