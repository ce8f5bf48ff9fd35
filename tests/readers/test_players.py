"""Players of a staff and stands of a section, as the words say: small scores worked out by hand.

Words by state group: `terms.csv` (players, division, section, prominence).
"""

from __future__ import annotations

import pytest
from events import played, rows, tables_of

from collaparte.schema import Tables
from scores import (
    attributes,
    backup,
    bar,
    chord,
    direction,
    note,
    part,
    rest,
    score,
    transpose,
    words,
)


def says(text: str, voice: int | None = None) -> str:
    return direction(words(text), voice=voice)


def one_bar(name: str, *content: str) -> Tables:
    return tables_of(score(part(bar(*content), name=name)))


@pytest.mark.parametrize(
    ("name", "first", "second", "both"),
    [
        ("Flutes 1. 2.", "1.", "2.", "a 2"),
        ("2 Flöten", "I.", "II.", "zu 2"),
        ("Fl. I, II", "1er", "2e", "à 2"),
        ("Flauti", "1º", "2º", "a due"),
    ],
)
def test_two_winds_on_one_staff(name: str, first: str, second: str, both: str) -> None:
    tables = one_bar(
        name,
        says(first), note("C5", 1), says(second), note("D5", 1), says(both), note("E5", 1),
        chord("F5", "A4", duration=1),
    )  # fmt: skip
    assert list(played(tables).values()) == ["0:C5 2:E5 3:F5", "1:D5 2:E5 3:A4"]
    assert [label.rpartition(", ")[2] for label in played(tables)] == ["player 1", "player 2"]
    assert rows(tables, "lines", "line_basis") == ["words", "words"]
    assert rows(tables, "lines", "players") == [1, 1]


def test_without_words_the_notes_of_a_chord_are_the_players_from_the_top() -> None:
    tables = one_bar("2 Flutes", note("C5", 2), chord("F5", "A4", duration=2))
    assert played(tables) == {"2 Flutes, player 1": "0:C5 2:F5", "2 Flutes, player 2": "2:A4"}
    assert rows(tables, "lines", "line_basis") == ["rank", "rank"]


def test_one_chord_among_many_notes_still_needs_two_winds() -> None:
    bars = [bar(*(note("C5", 1) for _ in range(4))) for _ in range(10)]
    data = score(part(*bars, bar(chord("F5", "A4", duration=4)), name="2 Flutes"))
    assert played(tables_of(data))["2 Flutes, player 2"] == "40:A4"


def test_a_staff_of_two_players_that_never_parts_is_one_line_of_both() -> None:
    tables = one_bar("2 Flutes", note("C5", 4))
    assert rows(tables, "lines", "player", "players") == [("2 Flutes", 2)]


def test_voices_are_players_and_a_rest_keeps_its_player() -> None:
    tables = one_bar(
        "2 Oboes",
        note("C5", 1, voice=1), rest(1, voice=1), note("E5", 2, voice=1), backup(4),
        rest(1, voice=2), note("A4", 1, voice=2), note("G5", 2, voice=2),
    )  # fmt: skip
    assert played(tables) == {"2 Oboes, player 1": "0:C5 2:E5", "2 Oboes, player 2": "1:A4 2:G5"}


def test_three_players_on_one_staff() -> None:
    tables = one_bar(
        "3 Bassoons",
        says("a 3"), note("C3", 1), chord("E3", "C3", "G2", duration=1),
        says("3."), note("D3", 1), says("1.2."), chord("F3", "E3", duration=1),
    )  # fmt: skip
    assert played(tables) == {
        "3 Bassoons, player 1": "0:C3 1:E3 3:F3",
        "3 Bassoons, player 2": "0:C3 1:C3 3:E3",
        "3 Bassoons, player 3": "0:C3 1:G2 2:D3",
    }


@pytest.mark.parametrize(("third", "fourth"), [("3.", "4."), ("1.", "2.")])
def test_horns_three_and_four_by_their_own_numbers_or_by_their_places(
    third: str, fourth: str
) -> None:
    tables = one_bar(
        "Horns in F 3. 4.",
        attributes(transposes=transpose(-7, -4)),
        says(third), note("C5", 1), says(fourth), note("D5", 1), says("a 2"), note("E5", 2),
    )  # fmt: skip
    assert played(tables) == {
        "Horns in F 3. 4., player 3": "0:F4 2:A4",
        "Horns in F 3. 4., player 4": "1:G4 2:A4",
    }


def test_first_and_third_of_four_horns() -> None:
    tables = one_bar(
        "Horns in F 1-4",
        attributes(transposes=transpose(-7, -4)),
        says("1. 3."), note("C5", 1), says("2.4."), chord("G5", "D5", duration=1),
        says("a 4"), note("E5", 2),
    )  # fmt: skip
    assert list(played(tables).values()) == ["0:F4 2:A4", "1:C5 2:A4", "0:F4 2:A4", "1:G4 2:A4"]


def test_a_part_that_is_already_one_player_is_not_multiplied() -> None:
    content = (says("a 2"), note("C3", 2), says("1."), note("E3", 2))
    data = score(part(bar(*content), name="Bassoon 1"), part(bar(*content), name="Bassoon 2"))
    assert played(tables_of(data)) == {"Bassoon 1": "0:C3 2:E3", "Bassoon 2": "0:C3 2:E3"}


def test_solo_is_prominence_in_winds() -> None:
    tables = one_bar("Oboe 1", says("Solo"), note("C5", 2), says("tutti"), note("E5", 2))
    assert played(tables) == {"Oboe 1": "0:C5 2:E5"}


def test_divided_strings_are_lines_from_the_top_until_unison() -> None:
    tables = one_bar(
        "Viola",
        says("div."), chord("C5", "A4", duration=1), chord("D5", "B4", duration=1),
        says("unis."), note("E5", 2),
    )  # fmt: skip
    assert played(tables) == {"Viola, upper": "0:C5 1:D5 2:E5", "Viola, lower": "0:A4 1:B4"}


def test_a_division_of_less_than_a_twentieth_of_the_onsets_makes_no_line() -> None:
    notes = [bar(*(note("C5", 1) for _ in range(4))) for _ in range(10)]
    divided = bar(says("div."), chord("A4", "F4", duration=4), says("unis."))
    tables = tables_of(score(part(*notes, divided, name="Viola")))
    assert played(tables)["Viola"].endswith("39:C5 40:A4+F4")


def test_an_undivided_section_plays_the_whole_chord() -> None:
    tables = one_bar(
        "Violin 1",
        says("non div."), chord("C5", "E4", duration=2),
        says("div."), chord("E5", "G4", duration=2),
    )  # fmt: skip
    assert played(tables) == {"Violin 1, upper": "0:C5+E4 2:E5", "Violin 1, lower": "2:G4"}


def test_a_solo_of_a_section_lasts_until_tutti() -> None:
    tables = strings("Violin 1", says("Solo"), note("C5", 2), says("tutti"), note("E5", 2))
    assert played(tables, 0) == {"Violin 1": "2:E5", "Violin 1, Solo": "0:C5"}
    assert rows(tables, "lines", "ensemble", "players", part_index=0) == [
        ("section", None),
        ("player", 1),
    ]


def strings(name: str, *content: str) -> Tables:
    """A part beside a double bass, so that strings are sections."""
    return tables_of(
        score(part(bar(*content), name=name), part(bar(note("C3", 4)), name="Contrabass"))
    )


def test_double_stops_of_a_soloist_are_one_line() -> None:
    tables = strings("Violin 1", says("Solo"), chord("C5", "E4", duration=4))
    assert played(tables, 0) == {"Violin 1, Solo": "0:C5+E4"}


def test_the_others_play_below_the_solo() -> None:
    tables = strings(
        "Violoncello",
        says("Solo"), says("gli altri"), chord("C4", "A3", duration=1), note("D4", 1),
        says("tutti"), note("E4", 2),
    )  # fmt: skip
    assert played(tables, 0) == {"Violoncello": "0:A3 2:E4", "Violoncello, Solo": "0:C4 1:D4"}


def test_the_others_in_a_voice_of_their_own() -> None:
    tables = strings(
        "Violin 1",
        says("Solo", voice=1), note("C5", 4, voice=1), backup(4),
        says("gli altri", voice=2), chord("A4", "F4", duration=4, voice=2),
    )  # fmt: skip
    assert played(tables, 0) == {
        "Violin 1, upper": "0:A4",
        "Violin 1, Solo": "0:C5",
        "Violin 1, lower": "0:F4",
    }


def test_the_others_may_come_after_the_solo() -> None:
    tables = strings("Violin 1", says("Solo"), note("C5", 2), says("gli altri"), note("D5", 2))
    assert played(tables, 0) == {"Violin 1": "2:D5", "Violin 1, Solo": "0:C5"}


def test_desks_halves_and_several_soloists() -> None:
    tables = strings(
        "Violin 1",
        says("1. Pult"), note("C5", 1), says("la metà"), note("D5", 1), says("tutti"),
        note("E5", 1), says("2 Soli"), chord("F5", "D5", duration=1),
    )  # fmt: skip
    assert played(tables, 0) == {
        "Violin 1": "2:E5",
        "Violin 1, 1. Pult": "0:C5",
        "Violin 1, la metà": "1:D5",
        "Violin 1, 2 Soli, upper": "3:F5",
        "Violin 1, 2 Soli, lower": "3:D5",
    }
    assert rows(tables, "lines", "ensemble", "players", part_index=0) == [
        ("section", None),
        ("player", 2),
        ("section", None),
        ("player", 1),
        ("player", 1),
    ]


def test_the_same_stand_in_other_words_is_the_same_line() -> None:
    tables = strings(
        "Violin 1", says("Solo"), note("C5", 1), says("tutti"), note("D5", 1), says("1 solo"),
        note("E5", 1), says("seul"), note("F5", 1),
    )  # fmt: skip
    assert played(tables, 0) == {"Violin 1": "1:D5", "Violin 1, Solo": "0:C5 2:E5 3:F5"}


def test_a_soloist_by_name_has_no_stands() -> None:
    tables = strings("Solo Violin", says("Solo"), note("C5", 2), says("tutti"), note("D5", 2))
    assert played(tables, 0) == {"Solo Violin": "0:C5 2:D5"}


def test_a_solo_out_of_the_chorus_is_a_solo_voice() -> None:
    content = (says("Solo"), note("C5", 2), says("Tutti"), note("E5", 2))
    tables = tables_of(score(part(bar(*content), name="Chorus Soprano")))
    assert rows(tables, "lines", "instrument", "ensemble") == [
        ("voice-soprano-choir", "chorus"),
        ("voice-soprano-solo", "solo_voice"),
    ]


def test_lines_of_one_player_or_section_share_its_key() -> None:
    harp = bar(
        attributes(staves=2), chord("C5", "A4", duration=4, staff=1), backup(4),
        note("C3", 4, staff=2),
    )  # fmt: skip
    divided = bar(says("div."), chord("C4", "A3", duration=4))
    two = bar(chord("C5", "A4", duration=4))
    data = score(
        part(two, name="2 Flutes"), part(harp, name="Harp"), part(divided, name="Violoncello")
    )
    keys = rows(tables_of(data), "lines", "player_key")
    assert len(keys) == 7
    assert [keys.index(key) for key in keys] == [0, 1, 2, 2, 2, 5, 5]


LANGUAGES = {
    "en": (
        "2 Flutes", "1.", "2.", "a 2",
        "Horns in F 1. 2.", "both",
        "Violin 1", "solo", "all", "first desk", "half",
        "Violas", "divided", "unison", "not divided",
        "Cello", "the others",
    ),
    "de": (
        "2 Flöten", "1.", "2.", "zu 2",
        "Hörner in F 1. 2.", "zu zweien",
        "1. Violine", "allein", "alle", "1. Pult", "die Hälfte",
        "Bratschen", "geteilt", "zusammen", "nicht geteilt",
        "Violoncell", "die übrigen",
    ),
    "fr": (
        "2 Flûtes", "1er", "2e", "à 2",
        "Cors en fa 1. 2.", "à deux",
        "1er Violon", "seul", "tous", "1er pupitre", "la moitié",
        "Altos", "divisés", "à l'unisson", "non divisés",
        "Violoncelle", "les autres",
    ),
    "it": (
        "2 Flauti", "1º", "2º", "a due",
        "Corni in fa 1. 2.", "a 2",
        "Violino I", "solo", "tutti", "primo leggio", "la metà",
        "Viole", "divisi", "unisoni", "non divisi",
        "Violoncello", "gli altri",
    ),
}  # fmt: skip


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_same_score_in_each_language_gives_the_same_lines(language: str) -> None:
    (
        flutes, one, two, both, horns, both_horns, violins, solo, tutti, desk, half,
        violas, divided, unison, undivided, cello, others,
    ) = LANGUAGES[language]  # fmt: skip
    tables = tables_of(
        score(
            part(
                bar(
                    says(one), note("C5", 1), says(two), note("D5", 1), says(both), note("E5", 1),
                    chord("F5", "A4", duration=1),
                ),
                name=flutes,
            ),
            part(
                bar(
                    attributes(transposes=transpose(-7, -4)),
                    says(two), note("C5", 2), says(both_horns), note("D5", 2),
                ),
                name=horns,
            ),
            part(
                bar(
                    says(solo), note("E5", 1), says(tutti), note("D5", 1), says(desk),
                    note("E5", 1), says(half), note("F5", 1),
                ),
                name=violins,
            ),
            part(
                bar(
                    says(divided), chord("E4", "C4", duration=1), says(unison), note("D4", 1),
                    says(undivided), chord("E4", "G3", duration=2),
                ),
                name=violas,
            ),
            part(
                bar(
                    says(solo), says(others), chord("E4", "C4", duration=1), says(tutti),
                    note("D4", 3),
                ),
                name=cello,
            ),
        )
    )  # fmt: skip
    plays = list(played(tables).values())
    lines = rows(tables, "lines", "part_index", "instrument", "ensemble", "players")
    assert [(*line, heard) for line, heard in zip(lines, plays, strict=True)] == [
        (0, "flute", "player", 1, "0:C5 2:E5 3:F5"),
        (0, "flute", "player", 1, "1:D5 2:E5 3:A4"),
        (1, "horn-f", "player", 1, "2:G4"),
        (1, "horn-f", "player", 1, "0:F4 2:G4"),
        (2, "violin", "section", None, "1:D5"),
        (2, "violin", "player", 1, "0:E5"),
        (2, "violin", "player", 2, "2:E5"),
        (2, "violin", "section", None, "3:F5"),
        (3, "viola", "section", None, "0:E4 1:D4 2:E4+G3"),
        (3, "viola", "section", None, "0:C4"),
        (4, "violoncello", "section", None, "0:C4 1:D4"),
        (4, "violoncello", "player", 1, "0:E4"),
    ]
    assert rows(tables, "directions", "not_understood") == [None] * len(tables["directions"])
