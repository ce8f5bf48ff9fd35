"""Changes of instrument within a part, on small scores worked out by hand.

Intervals: English horn a fifth below, piccolo an octave above, clarinet in A a minor third and in
B flat a major second below, horn in D a minor seventh below the written note.
"""

from __future__ import annotations

import pytest
from events import assert_remark, played, remarks, rows, tables_of

from collaparte.schema import Tables
from scores import attributes, backup, bar, direction, instrument, note, part, rest, score, words
from scores import transpose as transpose_element


def says(text: str, sound: str = "") -> str:
    return direction(words(text), sound=sound)


def transposed(chromatic: int, diatonic: int = 0, octave: int | None = None) -> str:
    return attributes(transposes=transpose_element(chromatic, diatonic, octave))


def changed(instrument_id: str, sound: str) -> str:
    return (
        f'<sound><instrument-change id="{instrument_id}"><instrument-sound>{sound}'
        "</instrument-sound></instrument-change></sound>"
    )


def read(name: str, *bars: str, entry: str = "") -> Tables:
    return tables_of(score(part(*(bar(content) for content in bars), name=name, entry=entry)))


def instruments(tables: Tables) -> list[tuple[str, str, str]]:
    return rows(tables, "lines", "instrument", "instrument_basis", "instrument_confidence")


def test_the_files_own_change_is_certain_and_opens_a_line_of_the_same_player() -> None:
    tables = read(
        "Flute 1",
        note("C5", 4),
        changed("P1-I1", "wind.flutes.flute.piccolo") + transposed(0, 0, 1) + note("C5", 4),
        changed("P1-I1", "wind.flutes.flute") + transposed(0) + note("D5", 4),
        entry=instrument("P1-I1", "Flute"),
    )
    assert played(tables) == {"Flute 1": "0:C5 8:D5", "Flute 1, piccolo": "4:C6"}
    assert instruments(tables) == [
        ("flute", "name", "certain"),
        ("piccolo", "sound_id", "certain"),
    ]
    assert len(set(rows(tables, "lines", "player_key"))) == 1
    assert rows(tables, "lines", "line_basis") == ["instrument", "instrument"]
    assert remarks(tables) == []


@pytest.mark.parametrize(
    ("second", "players"),
    [
        (note("E5", 4, instrument="P1-I2", voice=1), 1),
        (backup(4) + note("E5", 4, instrument="P1-I2", voice=2), 2),
    ],
)
def test_instruments_by_id_are_one_players_unless_they_sound_together(
    second: str, players: int
) -> None:
    tables = read(
        "Flute 2",
        note("C5", 4, instrument="P1-I1", voice=1) + second,
        entry=instrument("P1-I1", "Flute") + instrument("P1-I2", "Piccolo"),
    )
    assert rows(tables, "lines", "instrument") == ["flute", "piccolo"]
    assert len(set(rows(tables, "lines", "player_key"))) == players


def test_the_files_own_change_outranks_the_words_beside_it() -> None:
    sound = changed("P1-I1", "wind.flutes.flute.piccolo")
    tables = read(
        "Flute 1",
        note("C5", 4),
        says("Picc.", sound) + note("C5", 4),
        entry=instrument("P1-I1", "Flute"),
    )
    assert played(tables) == {"Flute 1": "0:C5", "Flute 1, piccolo": "4:C5"}
    assert not any("change_against_transposition" in text for text in remarks(tables))
    assert_remark(tables, "piccolo has no transposition stated")


@pytest.mark.parametrize(
    ("name", "there", "back"),
    [
        ("Flute 3", "change to piccolo", "change to flute"),
        ("3. Flöte", "nimmt kleine Flöte", "nimmt große Flöte"),
        ("3e Flûte", "prenez la petite flûte", "prenez la grande flûte"),
        ("Flauto 3", "muta in ottavino", "muta in flauto"),
    ],
)
def test_words_change_the_instrument_and_change_it_back(name: str, there: str, back: str) -> None:
    tables = read(
        name,
        note("C5", 2) + says(there) + rest(2),
        transposed(0, 0, 1) + note("C5", 2) + rest(1) + says(back) + rest(1),
        transposed(0) + note("D5", 4),
    )
    assert list(played(tables).values()) == ["0:C5 8:D5", "4:C6"]
    assert instruments(tables) == [("flute", "name", "certain"), ("piccolo", "words", "likely")]
    assert len(set(rows(tables, "lines", "player_key"))) == 1


def test_words_hold_as_long_as_the_transposition_allows() -> None:
    tables = read(
        "Flute 3",
        note("C5", 2) + says("muta in Picc.") + rest(2),
        transposed(0, 0, 1) + note("C5", 4),
        transposed(0) + note("D5", 4),
    )
    assert played(tables) == {"Flute 3": "0:C5 8:D5", "Flute 3, piccolo": "4:C6"}


@pytest.mark.parametrize(
    ("name", "there", "back"),
    [
        ("Oboe 2", "English Horn", "Oboe"),
        ("Oboe 2", "Englisch Horn", "2. Oboe"),
        ("2e Hautbois", "Cor anglais", "Hautbois"),
        ("Oboe II", "Corno inglese", "Oboe"),
    ],
)
def test_the_name_of_a_sister_alone_is_a_change(name: str, there: str, back: str) -> None:
    tables = read(
        name,
        note("C5", 4),
        says(there) + transposed(-7, -4) + note("C5", 4),
        says(back) + transposed(0) + note("D5", 4),
    )
    assert list(played(tables).values()) == ["0:C5 8:D5", "4:F4"]
    assert [key for key, _, _ in instruments(tables)] == ["oboe", "english-horn"]


@pytest.mark.parametrize("cue", ["Clar.", "Viola", "Vl. I"])
def test_the_name_of_another_family_is_a_cue(cue: str) -> None:
    tables = read("Bassoon 1", note("C3", 4), says(cue) + note("D3", 4))
    assert played(tables) == {"Bassoon 1": "0:C3 4:D3"}


@pytest.mark.parametrize("word", ["", "muta in A", "nimmt A-Klarinette"])
def test_a_transposition_that_only_a_sister_has_changes_to_it(word: str) -> None:
    tables = read(
        "Clarinet in B♭ 1",
        transposed(-2, -1) + note("D5", 4),
        (says(word) if word else "") + transposed(-3, -2) + note("E5", 4),
    )
    assert list(played(tables).values()) == ["0:C5", "4:C#5"]
    assert instruments(tables) == [
        ("clarinet-bflat", "name", "certain"),
        ("clarinet-a", "transposition", "likely"),
    ]
    assert remarks(tables) == []


def test_words_without_a_change_of_transposition_change_nothing() -> None:
    tables = read(
        "Clarinet in B♭ 1",
        transposed(-2, -1) + note("D5", 4),
        says("mutano in A [key change in original]") + note("E5", 4),
    )
    assert played(tables) == {"Clarinet in B♭ 1": "0:C5 4:D5"}
    assert remarks(tables) == []


@pytest.mark.parametrize("word", ["", "muta in D", "in Re", "muta in ré"])
def test_another_crook_keeps_the_instrument(word: str) -> None:
    tables = read(
        "Horn in F 1",
        transposed(-7, -4) + note("C5", 4),
        (says(word) if word else "") + transposed(-10, -6) + note("C5", 4),
    )
    assert played(tables) == {"Horn in F 1": "0:F4 4:D4"}
    assert remarks(tables) == []


def test_trumpets_change_crooks_too() -> None:
    tables = read(
        "Trumpet in C", note("C5", 4), says("muta in D") + transposed(2, 1) + note("C5", 4)
    )
    assert played(tables) == {"Trumpet in C": "0:C5 4:D5"}
    assert remarks(tables) == []


def test_a_change_against_the_transposition_is_not_believed_and_said() -> None:
    tables = read("Flute 2", note("C5", 4), says("muta in Piccolo") + note("D5", 4))
    assert played(tables) == {"Flute 2": "0:C5 4:D5"}
    (found,) = rows(tables, "remarks", "code", "message", "bar_index", "part", severity="warning")
    assert found[0] == "change_against_transposition"
    assert "asks for the piccolo" in found[1]
    assert found[2:] == (1, "Flute 2")


def test_a_generic_name_takes_its_size_from_the_transposition() -> None:
    tables = read(
        "Flute 3",
        note("C5", 2) + says("muta in Clarinet") + rest(2),
        transposed(-3, -2) + note("C5", 4),
    )
    assert [key for key, _, _ in instruments(tables)] == ["flute", "clarinet-a"]


def test_a_sound_that_no_table_has_changes_nothing() -> None:
    tables = read("Flute 1", note("C5", 4), changed("P1-I1", "unheard.of") + note("D5", 4))
    assert played(tables) == {"Flute 1": "0:C5 4:D5"}


def test_a_narrower_sound_is_the_nearest_that_is_known() -> None:
    sound = "wind.flutes.flute.piccolo.wooden"
    tables = read("Flute 1", note("C5", 4), changed("P1-I1", sound) + transposed(0, 0, 1))
    assert played(tables) == {"Flute 1": "0:C5"}
    tables = read(
        "Flute 1", note("C5", 4), changed("P1-I1", sound) + transposed(0, 0, 1) + note("D5", 4)
    )
    assert played(tables) == {"Flute 1": "0:C5", "Flute 1, piccolo": "4:D6"}
