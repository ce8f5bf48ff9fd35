"""Bars: items 39 to 45 of the list of reading pitfalls, worked out by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from events import assert_events, assert_remark, quarters, rows, tables_of

from collaparte.schema import Tables
from scores import (
    attributes,
    backup,
    bar,
    barline,
    direction,
    element,
    key,
    note,
    part,
    rest,
    score,
    time,
    transpose,
)

COMMON = attributes(times=time("4/4"))
WALTZ = attributes(times=time("3/4"))


def starts(tables: Tables) -> list[Fraction]:
    return [quarters(ticks) for ticks in rows(tables, "bars", "start_ticks")]


def test_pitfall_39_bar_numbers_are_text_and_no_key() -> None:
    """A repeated number, a letter, a number shown otherwise."""
    data = score(
        part(
            bar(COMMON, note("C4", 4), number="1", text="101"),
            bar(note("D4", 4), number="X1", implicit="yes"),
            bar(note("E4", 4), number="12a"),
            bar(note("F4", 4), number="1"),
        )
    )
    tables = assert_events(
        data, [(0, 4, 60, "C4"), (4, 4, 62, "D4"), (8, 4, 64, "E4"), (12, 4, 65, "F4")]
    )
    assert rows(tables, "bars", "bar_index", "bar", "bar_label", "implicit") == [
        (0, "1", "101", False),
        (1, "X1", None, True),
        (2, "12a", None, False),
        (3, "1", None, False),
    ]
    assert rows(tables, "notes", "bar_index", "bar") == [
        (0, "1"),
        (1, "X1"),
        (2, "12a"),
        (3, "1"),
    ]


@pytest.mark.parametrize("first", [0, 1])
def test_pitfall_39_the_first_full_bar_counts_as_one(first: int) -> None:
    """An upbeat of one quarter, which the file numbers 0 or 1."""
    data = score(
        part(
            bar(COMMON, note("G4", 1), number=str(first)),
            bar(note("C5", 4), number=str(first + 1)),
            bar(note("D5", 4), number=str(first + 2)),
        )
    )
    tables = assert_events(data, [(0, 1, 67, "G4"), (1, 4, 72, "C5"), (5, 4, 74, "D5")])
    assert rows(tables, "bars", "bar") == [str(first), str(first + 1), str(first + 2)]
    assert rows(tables, "bars", "bar_print")[1:] == ["1", "2"]


def test_pitfall_40_the_halves_of_a_split_bar_are_one_group() -> None:
    data = score(
        part(
            bar(COMMON, note("B3", 4), number="11"),
            bar(note("C4", 3), barline(repeat="backward"), number="12"),
            bar(note("D4", 1), number="X1", implicit="yes"),
            bar(note("E4", 4), number="13"),
        )
    )
    tables = assert_events(
        data, [(0, 4, 59, "B3"), (4, 3, 60, "C4"), (7, 1, 62, "D4"), (8, 4, 64, "E4")]
    )
    assert rows(tables, "bars", "bar_index", "bar_group") == [(0, 0), (1, 1), (2, 1), (3, 3)]
    assert rows(tables, "notes", "beat") == [1.0, 1.0, 4.0, 1.0]


def test_pitfall_40_an_upbeat_is_no_half_of_the_first_bar() -> None:
    data = score(part(bar(COMMON, note("G4", 1)), bar(note("C5", 4)), bar(note("D5", 4))))
    tables = assert_events(data, [(0, 1, 67, "G4"), (1, 4, 72, "C5"), (5, 4, 74, "D5")])
    assert rows(tables, "bars", "bar_group") == [0, 1, 2]


def test_pitfall_40_a_bar_that_is_not_controlling_gets_a_remark() -> None:
    """Bars of two metres that do not meet are not aligned here: the file says so, so do we."""
    data = score(
        part(bar(WALTZ, note("C5", 3)), bar(note("D5", 3))),
        part(
            bar(attributes(times=time("2/4")), note("C4", 2)),
            bar(note("D4", 2), non_controlling="yes"),
        ),
    )
    assert_remark(tables_of(data), "controlling", "longer", "less of a bar")


@pytest.mark.parametrize("duration", [4, 3, 1])
def test_pitfall_41_a_rest_fills_its_bar(duration: int) -> None:
    """In 3/4, whatever duration the rest claims, beside a part with notes."""
    data = score(
        part(bar(WALTZ, note("C5", 3)), bar(note("D5", 3)), bar(note("E5", 3))),
        part(bar(WALTZ, note("C4", 3)), bar(rest(duration, measure=True)), bar(note("E4", 3))),
    )
    tables = assert_events(
        data,
        [(0, 3, 72, "C5"), (3, 3, 74, "D5"), (6, 3, 76, "E5")],
        [(0, 3, 60, "C4"), (6, 3, 64, "E4")],
    )
    assert starts(tables) == [0, 3, 6]


def test_pitfall_41_a_whole_rest_in_three_four_alone() -> None:
    data = score(part(bar(WALTZ, rest(4, measure=True)), bar(note("C5", 3))))
    tables = assert_events(data, [(3, 3, 72, "C5")])
    assert starts(tables) == [0, 3]


def test_pitfall_41_a_second_voice_beside_a_bar_rest_that_is_too_long() -> None:
    data = score(
        part(
            bar(WALTZ, rest(4, measure=True, voice=1), backup(4), note("C4", 3, voice=2)),
            bar(note("C5", 3)),
        )
    )
    assert_events(data, [(0, 3, 60, "C4"), (3, 3, 72, "C5")])


def test_pitfall_41_the_file_holds_every_bar_of_a_multiple_rest() -> None:
    many = attributes(styles=element("multiple-rest", 3))
    data = score(
        part(
            bar(COMMON, many, rest(4, measure=True)),
            bar(rest(4, measure=True)),
            bar(rest(4, measure=True)),
            bar(note("C5", 4)),
        )
    )
    assert_events(data, [(12, 4, 72, "C5")])


def test_pitfall_41_an_empty_bar_of_one_part() -> None:
    data = score(
        part(bar(note("C5", 4)), bar(), bar(note("E5", 4))),
        part(bar(note("C4", 4)), bar(note("D4", 4)), bar(note("E4", 4))),
    )
    assert_events(
        data,
        [(0, 4, 72, "C5"), (8, 4, 76, "E5")],
        [(0, 4, 60, "C4"), (4, 4, 62, "D4"), (8, 4, 64, "E4")],
    )


def test_pitfall_41_missing_bars_are_reported() -> None:
    data = score(
        part(bar(note("C5", 4)), bar(note("D5", 4)), bar(note("E5", 4))),
        part(bar(note("C4", 4))),
    )
    tables = assert_events(
        data, [(0, 4, 72, "C5"), (4, 4, 74, "D5"), (8, 4, 76, "E5")], [(0, 4, 60, "C4")]
    )
    assert_remark(tables, "fewer bars", "missing", "bars")


def repeats(kind: str, bars: int | None = None) -> str:
    return attributes(styles=element("measure-repeat", bars, type=kind, slashes=1))


def test_pitfall_42_a_sign_over_rests_copies_the_bar() -> None:
    data = score(
        part(
            bar(COMMON, note("C4", 3), note("D4", 1)),
            bar(repeats("start", 1), rest(4, measure=True)),
            bar(rest(4, measure=True)),
            bar(repeats("stop"), note("E4", 4)),
        )
    )
    assert_events(
        data,
        [
            (0, 3, 60, "C4"),
            (3, 1, 62, "D4"),
            (4, 3, 60, "C4", "inferred"),
            (7, 1, 62, "D4", "inferred"),
            (8, 3, 60, "C4", "inferred"),
            (11, 1, 62, "D4", "inferred"),
            (12, 4, 64, "E4"),
        ],
        plain=False,
    )


def test_pitfall_42_a_sign_that_repeats_two_bars() -> None:
    data = score(
        part(
            bar(COMMON, note("C4", 4)),
            bar(note("D4", 4)),
            bar(repeats("start", 2), rest(4, measure=True)),
            bar(rest(4, measure=True)),
            bar(repeats("stop"), rest(4, measure=True)),
        )
    )
    assert_events(
        data,
        [
            (0, 4, 60, "C4"),
            (4, 4, 62, "D4"),
            (8, 4, 60, "C4", "inferred"),
            (12, 4, 62, "D4", "inferred"),
        ],
        plain=False,
    )


def test_pitfall_42_a_sign_over_notes_copies_nothing() -> None:
    data = score(
        part(
            bar(COMMON, note("C4", 4)),
            bar(repeats("start", 1), note("C4", 4)),
            bar(repeats("stop"), note("E4", 4)),
        )
    )
    assert_events(data, [(0, 4, 60, "C4"), (4, 4, 60, "C4"), (8, 4, 64, "E4")])


def test_pitfall_42_slashes_have_no_pitch() -> None:
    def slash(kind: str) -> str:
        return attributes(styles=element("slash", type=kind, use_stems="no"))

    data = score(
        part(
            bar(COMMON, slash("start"), *(note("B4", 1, notehead="slash") for _ in range(4))),
            bar(slash("stop"), note("B4", 4)),
        )
    )
    assert_events(
        data,
        [*((beat, 1, None, None, "unpitched") for beat in range(4)), (4, 4, 71, "B4")],
        plain=False,
    )


@pytest.mark.parametrize(
    ("signature", "durations", "text"),
    [
        (time("3+2/8"), (3, 2), "3+2/8"),
        (time("2/4", "3/8"), (4, 3), "2/4+3/8"),
        (time("3/4"), (6,), "3/4"),
    ],
)
def test_pitfall_43_time_signatures(signature: str, durations: tuple[int, ...], text: str) -> None:
    """Two divisions a quarter: the bar is as long as its notes."""
    data = score(
        part(
            bar(attributes(times=signature), *(note("C4", length) for length in durations)),
            bar(note("D4", 2)),
            divisions=2,
        )
    )
    tables = tables_of(data)
    assert starts(tables) == [0, Fraction(sum(durations), 2)]
    assert rows(tables, "bars", "time_signature") == [text, text]


def test_pitfall_43_without_measure_and_without_signature() -> None:
    data = score(
        part(bar(attributes(times=time()), note("C4", 7)), bar(note("D4", 2))),
    )
    tables = assert_events(data, [(0, 7, 60, "C4"), (7, 2, 62, "D4")])
    assert starts(tables) == [0, 7]
    nothing = assert_events(
        score(part(bar(note("C4", 5)), bar(note("D4", 2)))), [(0, 5, 60, "C4"), (5, 2, 62, "D4")]
    )
    assert rows(nothing, "bars", "time_signature") == [None, None]


def test_pitfall_43_two_metres_at_once_and_the_beat_of_each() -> None:
    """Beats are counted in units of the part's own signature."""
    data = score(
        part(
            bar(attributes(times=time("3/4")), note("C5", 4), note("D5", 2)),
            bar(note("E5", 6)),
            divisions=2,
        ),
        part(
            bar(attributes(times=time("6/8")), note("C4", 3), note("D4", 3)),
            bar(note("E4", 6)),
            divisions=2,
        ),
    )
    tables = assert_events(
        data,
        [(0, 2, 72, "C5"), (2, 1, 74, "D5"), (3, 3, 76, "E5")],
        [
            (0, Fraction(3, 2), 60, "C4"),
            (Fraction(3, 2), Fraction(3, 2), 62, "D4"),
            (3, 3, 64, "E4"),
        ],
    )
    assert rows(tables, "notes", "beat", part_index=0) == [1.0, 3.0, 1.0]
    assert rows(tables, "notes", "beat", part_index=1) == [1.0, 4.0, 1.0]


def metronome(unit: str, number: str) -> str:
    return element("metronome", element("beat-unit", unit) + element("per-minute", number)).replace(
        "dotted-quarter</beat-unit>", "quarter</beat-unit><beat-unit-dot/>"
    )


def test_pitfall_44_the_sound_tempo_comes_first_and_holds() -> None:
    data = score(
        part(
            bar(
                direction(metronome("half", "60"), sound=element("sound", tempo="116")),
                note("C4", 4),
            ),
            bar(note("D4", 4)),
            bar(element("sound", tempo="92.5"), note("E4", 4)),
        )
    )
    assert rows(tables_of(data), "bars", "tempo_quarters_per_minute") == [116.0, 116.0, 92.5]


@pytest.mark.parametrize(
    ("unit", "number", "tempo"),
    [("half", "108", 216.0), ("dotted-quarter", "60", 90.0), ("eighth", "120", 60.0)],
)
def test_pitfall_44_a_metronome_mark_counts_where_no_sound_does(
    unit: str, number: str, tempo: float
) -> None:
    """It stands in the second part only and is the tempo of the score."""
    data = score(
        part(bar(note("C5", 4))),
        part(bar(direction(metronome(unit, number)), note("C4", 4))),
    )
    assert rows(tables_of(data), "bars", "tempo_quarters_per_minute") == [tempo]


def test_pitfall_44_a_number_in_words_is_kept_as_text() -> None:
    data = score(part(bar(direction(metronome("half", "c. 108")), note("C4", 4))))
    (found,) = rows(tables_of(data), "directions", "kind", "text")
    assert found[0] == "tempo"
    assert "c. 108" in found[1]


def test_pitfall_45_the_key_is_at_concert_pitch() -> None:
    """D major for the B flat clarinet and A flat major for it later: C and G flat."""
    data = score(
        part(
            bar(attributes(keys=key(2), transposes=transpose(-2, -1)), note("D5", 4)),
            bar(attributes(keys=key(-4)), note("Ab4", 4)),
            name="Clarinet",
        )
    )
    tables = assert_events(data, [(0, 4, 72, "C5"), (4, 4, 66, "Gb4")])
    assert rows(tables, "bars", "key_fifths") == [0, -6]


def test_pitfall_45_an_octave_changes_no_key_and_odd_keys_are_read() -> None:
    odd = element("key", element("key-step", "F") + element("key-alter", 1))
    data = score(
        part(
            bar(attributes(keys=key(3), transposes=transpose(0, 0, -1)), note("F#3", 4)),
            bar(attributes(keys=odd), note("F3", 4)),
        )
    )
    tables = assert_events(data, [(0, 4, 42, "F#2"), (4, 4, 41, "F2")])
    assert rows(tables, "bars", "key_fifths")[0] == 3
