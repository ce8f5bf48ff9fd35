"""Form: items 37 and 38 of the list of reading pitfalls, worked out by hand."""

from __future__ import annotations

import pytest
from events import assert_events, quarters, rows, tables_of

from scores import Bar, bar, barline, direction, element, note, part, score, words


def played(*bars: Bar) -> list[int]:
    """Bars as performed, of one part."""
    performed: list[int] = rows(tables_of(score(part(*bars))), "play_order", "bar_index")
    return performed


def whole(*more: str, before: str = "") -> Bar:
    return bar(before, note("C4", 4), *more)


def sound(**attributes: str) -> str:
    return element("sound", **attributes)


REPEAT = barline(repeat="backward")
START = barline(location="left", repeat="forward")


def opens(numbers: str) -> str:
    return barline(location="left", ending=(numbers, "start"))


def closes(numbers: str, kind: str = "stop", repeat: str | None = None) -> str:
    return barline(ending=(numbers, kind), repeat=repeat)


def test_pitfall_37_signs_of_all_parts_make_one_form() -> None:
    """The endings stand in the first part only, the repeat in the second only."""
    data = score(
        part(
            bar(note("C5", 4)),
            bar(opens("1"), note("D5", 4), closes("1")),
            bar(opens("2"), note("E5", 4), closes("2")),
        ),
        part(bar(note("C4", 4)), bar(note("D4", 4), REPEAT), bar(note("E4", 4))),
    )
    tables = assert_events(
        data,
        [(0, 4, 72, "C5"), (4, 4, 74, "D5"), (8, 4, 76, "E5")],
        [(0, 4, 60, "C4"), (4, 4, 62, "D4"), (8, 4, 64, "E4")],
    )
    assert rows(tables, "play_order", "performed_index", "bar_index", "pass") == [
        (0, 0, 1),
        (1, 1, 1),
        (2, 0, 2),
        (3, 2, 1),
    ]
    assert rows(tables, "bars", "ending") == [None, "1", "2"]
    assert rows(tables, "bars", "repeat_end") == [None, 2, None]
    assert [quarters(ticks) for ticks in rows(tables, "bars", "start_ticks")] == [0, 4, 8]


def test_pitfall_37_a_start_sign_and_times() -> None:
    bars = (whole(), whole(before=START), whole(barline(repeat="backward", times=3)), whole())
    assert played(*bars) == [0, 1, 2, 1, 2, 1, 2, 3]
    tables = tables_of(score(part(*bars)))
    assert rows(tables, "bars", "repeat_start") == [False, True, False, False]
    assert rows(tables, "bars", "repeat_end") == [None, None, 3, None]


def test_pitfall_37_one_ending_for_several_passes() -> None:
    assert played(
        whole(),
        whole(closes("1, 2", repeat="backward"), before=opens("1, 2")),
        whole(closes("3", "discontinue"), before=opens("3")),
    ) == [0, 1, 0, 1, 0, 2]


def test_pitfall_37_an_ending_of_several_bars() -> None:
    assert played(
        whole(before=START),
        whole(before=opens("1")),
        whole(closes("1", repeat="backward")),
        whole(before=opens("2")),
        whole(closes("2", "discontinue")),
        whole(),
    ) == [0, 1, 2, 0, 3, 4, 5]


def test_pitfall_37_two_repeated_sections_without_a_second_start_sign() -> None:
    assert played(whole(), whole(REPEAT), whole(), whole(REPEAT)) == [0, 1, 0, 1, 2, 3, 2, 3]


def test_pitfall_37_an_ending_that_is_not_printed_in_one_part() -> None:
    hidden = barline(location="left", ending=("1", "start")).replace(
        'type="start"', 'type="start" print-object="no"'
    )
    data = score(
        part(
            bar(note("C5", 4)),
            bar(opens("1"), note("D5", 4), closes("1", repeat="backward")),
            bar(opens("2"), note("E5", 4), closes("2")),
        ),
        part(
            bar(note("C5", 4)),
            bar(hidden, note("D5", 4), closes("1", repeat="backward")),
            bar(note("E5", 4)),
        ),
    )
    assert rows(tables_of(data), "play_order", "bar_index") == [0, 1, 0, 2]


def test_pitfall_37_without_signs_the_bars_are_played_as_written() -> None:
    assert played(whole(), whole(), whole()) == [0, 1, 2]


def test_pitfall_38_da_capo_by_the_attribute_whatever_the_words() -> None:
    bars = (
        whole(),
        whole(sound(fine="yes")),
        whole(direction(words("Menuetto da Capo"), sound=sound(dacapo="yes"))),
    )
    assert played(*bars) == [0, 1, 2, 0, 1]
    tables = tables_of(score(part(*bars)))
    assert rows(tables, "bars", "jump") == [None, "fine", "dacapo"]


def test_pitfall_38_repeats_are_not_played_after_da_capo() -> None:
    """A minuet and its trio; the jump stands in the second part only."""
    upper = (
        whole(before=START),
        whole(REPEAT),
        whole(before=START),
        whole(REPEAT, sound(fine="yes")),
        whole(before=START),
        whole(REPEAT),
    )
    lower = (*(whole() for _ in range(5)), whole(sound(dacapo="yes")))
    data = score(part(*upper), part(*lower))
    assert rows(tables_of(data), "play_order", "bar_index") == [
        *(0, 1, 0, 1, 2, 3, 2, 3),
        *(4, 5, 4, 5),
        *(0, 1, 2, 3),
    ]


def test_pitfall_38_after_da_capo_the_last_ending_is_played() -> None:
    assert played(
        whole(),
        whole(closes("1", repeat="backward"), before=opens("1")),
        whole(closes("2"), sound(fine="yes"), before=opens("2")),
        whole(sound(dacapo="yes")),
    ) == [0, 1, 0, 2, 3, 0, 2]


def test_pitfall_38_dal_segno_al_coda() -> None:
    bars = (
        whole(),
        whole(before=direction("<segno/>", sound=sound(segno="S1"))),
        whole(direction(words("al Coda"), sound=sound(tocoda="C1"))),
        whole(sound(dalsegno="S1")),
        whole(before=direction("<coda/>", sound=sound(coda="C1"))),
    )
    assert played(*bars) == [0, 1, 2, 3, 1, 2, 4]
    tables = tables_of(score(part(*bars)))
    assert rows(tables, "bars", "jump") == [None, None, "tocoda", "dalsegno", None]
    assert rows(tables, "bars", "mark") == [None, "segno", None, None, "coda"]


def test_pitfall_38_da_capo_without_fine_goes_to_the_end() -> None:
    assert played(whole(), whole(sound(dacapo="yes"))) == [0, 1, 0, 1]


@pytest.mark.parametrize("text", ["Ende des Stücks", "D.C. war einmal"])
def test_pitfall_38_words_alone_are_only_kept(text: str) -> None:
    bars = (whole(), whole(direction(words(text))), whole())
    tables = tables_of(score(part(*bars)))
    assert rows(tables, "play_order", "bar_index") == [0, 1, 2]
    assert rows(tables, "directions", "text") == [text]
