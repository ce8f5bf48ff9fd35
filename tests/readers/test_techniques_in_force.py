"""Techniques in force for every note, by state group, worked out by hand from `terms.csv`.

A technique holds until another of its group or a word that ends it; the default of a group
(arco, senza sordino, ordinario …) is not listed.
"""

from __future__ import annotations

import pytest
from events import played, rows, tables_of

from collaparte.schema import Tables
from scores import (
    attributes,
    backup,
    bar,
    direction,
    element,
    note,
    part,
    score,
    words,
)


def says(text: str, sound: str = "", staff: int | None = None) -> str:
    return direction(words(text), sound=sound, staff=staff)


def read(name: str, *content: str) -> Tables:
    return tables_of(score(part(bar(*content), name=name)))


def after_each(name: str, *texts: str) -> list[str]:
    """What is in force for the note after each of the words, one after the other."""
    tables = read(name, *(says(text) + note("C4", 1) for text in texts))
    assert rows(tables, "directions", "not_understood") == [None] * len(texts)
    return [" ".join(found) for found in rows(tables, "notes", "techniques")]


STATES = {
    "mute": (
        "Violin",
        [("con sord.", "mute_on"), ("senza sord.", ""), ("mit Dämpfer", "mute_on"),
         ("Dämpfer weg", ""), ("avec sourdine", "mute_on"), ("ôtez la sourdine", ""),
         ("muted", "mute_on"), ("without mute", "")],
    ),
    "bow": (
        "Violin",
        [("pizz.", "pizz"), ("arco", ""), ("gezupft", "pizz"), ("col legno", "col_legno"),
         ("gestrichen", ""), ("col legno battuto", "col_legno_battuto"),
         ("col legno tratto", "col_legno_tratto"), ("archet", "")],
    ),
    "stroke and what ends it": (
        "Violin",
        [("spiccato", "spiccato"), ("ord.", ""), ("sautillé", "sautille"), ("pizz.", "pizz"),
         ("arco", ""), ("saltando", "spiccato"), ("pizz.", "pizz"), ("arco", "")],
    ),
    "a bouncing stroke ends plucking": (
        "Violin", [("pizz.", "pizz"), ("spiccato", "spiccato"), ("nat.", "")],
    ),
    "contact": (
        "Violin",
        [("sul pont.", "sul_pont"), ("sul tasto", "sul_tasto"), ("am Steg", "sul_pont"),
         ("gewöhnlich", ""), ("flautando", "flautando"), ("position ordinaire", ""),
         ("sur la touche", "sul_tasto"), ("naturale", "")],
    ),
    "place of the bow": (
        "Violin", [("al tallone", "at_frog"), ("an der Spitze", "at_tip"), ("ord.", "")],
    ),
    "string": ("Violin", [("sul G", "sul_string"), ("nat.", "")]),
    "vibrato": ("Violin", [("senza vibrato", "no_vib"), ("vib.", "vib"), ("ord.", "")]),
    "harmonics": ("Violin", [("flag.", "harmonics"), ("loco", ""), ("arm.", "harmonics")]),
    "two groups at once": (
        "Violin",
        [("con sord. pizz.", "mute_on pizz"), ("arco", "mute_on"),
         ("sul pont.", "mute_on sul_pont"), ("ord.", "mute_on"), ("senza sord.", "")],
    ),
    "normal again leaves pizzicato and mute": (
        "Violin",
        [("con sord.", "mute_on"), ("pizz.", "mute_on pizz"), ("nat.", "mute_on pizz")],
    ),
    "hand of the horn": (
        "Horn in F",
        [("gestopft", "stopped"), ("offen", ""), ("bouché", "stopped"), ("ouvert", ""),
         ("chiuso", "stopped"), ("aperto", ""), ("stopped", "stopped"), ("open", "")],
    ),
    "open ends the mute of a horn": (
        "Horn in F", [("con sord.", "mute_on"), ("offen", ""), ("gest.", "stopped")],
    ),
    "mutes of brass": (
        "Trumpet in C",
        [("gedämpft", "mute_on"), ("offen", "open_brass"), ("straight mute", "straight_mute"),
         ("cup mute", "cup_mute"), ("senza sord.", "")],
    ),
    "tone": ("Horn in F", [("schmetternd", "brassy"), ("nat.", ""), ("cuivré", "brassy")]),
    "tongue": ("Flute", [("flz.", "flutter"), ("ord.", "")]),
    "drums": (
        "Timpani",
        [("gedämpft", "coperti"), ("offen", ""), ("coperti", "coperti"), ("scoperti", "")],
    ),
    "sticks": (
        "Timpani",
        [("baguettes d'éponge", "sponge"), ("baguettes de bois", "wooden_sticks"),
         ("Schwammschlägel", "sponge"), ("bacchette ordinarie", "")],
    ),
    "harp": (
        "Harp",
        [("près de la table", "pres_de_la_table"), ("nat.", ""), ("étouffé", "etouffe"),
         ("laissez vibrer", "let_ring"), ("ord.", ""), ("non arp.", "non_arpeggio"),
         ("arp.", "")],
    ),
    "mouth": (
        "Soprano",
        [("bocca chiusa", "bocca_chiusa"), ("a bocca aperta", ""), ("humming", "bocca_chiusa")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("group", STATES)
def test_a_state_holds_until_another_of_its_group_or_what_ends_it(group: str) -> None:
    name, said = STATES[group]
    assert after_each(name, *(text for text, _ in said)) == [state for _, state in said]


@pytest.mark.parametrize(
    ("name", "gedaempft", "tremolo"),
    [
        ("Violin", "mute_on", "tremolo"),
        ("Horn in F", "mute_on", None),
        ("Timpani", "coperti", "roll"),
    ],
)
def test_one_word_means_what_it_means_to_the_instrument(
    name: str, gedaempft: str, tremolo: str | None
) -> None:
    assert after_each(name, "gedämpft") == [gedaempft]
    if tremolo:
        assert after_each(name, "tremolo") == [tremolo]


def test_open_says_nothing_to_a_violin() -> None:
    tables = read("Violin", says("con sord."), note("C4", 1), says("open"), note("C4", 1))
    assert rows(tables, "notes", "techniques") == [["mute_on"]] * 2
    assert rows(tables, "directions", "not_understood") == [None, "open"]


def test_tremolo_and_gliss_are_of_their_note_only() -> None:
    tables = read("Violin", says("trem."), note("C4", 1), note("C4", 1), says("gliss."), note("D4"))
    assert rows(tables, "notes", "techniques")[:2] == [["tremolo"], []]


def test_a_technique_holds_over_bars_and_rests_for_all_voices() -> None:
    tables = tables_of(
        score(
            part(
                bar(says("pizz."), note("C4", 4)),
                bar(note("rest", 4)),
                bar(note("C5", 4, voice=1), backup(4), note("C4", 4, voice=2)),
                name="Violin",
            )
        )
    )
    assert rows(tables, "notes", "techniques") == [["pizz"]] * 3


def test_a_technique_of_one_staff_is_that_staffs() -> None:
    tables = read(
        "Violoncello",
        attributes(staves=2), says("pizz.", staff=2), note("C4", 4, staff=1), backup(4),
        note("C3", 4, staff=2),
    )  # fmt: skip
    assert rows(tables, "notes", "staff", "techniques") == [(1, []), (2, ["pizz"])]


def test_a_line_of_dashes_ends_the_technique() -> None:
    start = direction(words("sul G"), element("dashes", type="start", number=1))
    stop = direction(element("dashes", type="stop", number=1))
    tables = read("Violin", start, note("C4", 1) * 2, stop, note("C4", 1) * 2)
    assert rows(tables, "notes", "techniques") == [["sul_string"]] * 2 + [[]] * 2


PLUCKED = '<sound pizzicato="yes"/>'
BOWED = '<sound pizzicato="no"/>'


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (says("pizz."), says("arco")),
        (says("pizz.", PLUCKED), says("arco", BOWED)),
        (PLUCKED, BOWED),
        (says("pizz.", PLUCKED), says("arco")),
        (says("pizz."), says("arco", BOWED)),
    ],
)
def test_words_and_sound_attributes_say_the_same(first: str, second: str) -> None:
    tables = read("Violin", first, note("C4", 1), second, note("C4", 1))
    assert rows(tables, "notes", "techniques") == [["pizz"], []]


def test_not_plucked_leaves_the_stroke_that_words_name() -> None:
    tables = read("Violin", says("spiccato", BOWED), note("C4", 1), note("C4", 1))
    assert rows(tables, "notes", "techniques") == [["spiccato"]] * 2


def test_mutes_by_sound_and_by_sign() -> None:
    on, off = (f"<sound><play><mute>{state}</mute></play></sound>" for state in ("on", "off"))
    tables = read(
        "Violin",
        on, note("C4", 1), off, note("C4", 1),
        direction('<string-mute type="on"/>'), note("C4", 1),
        direction('<string-mute type="off"/>'), note("C4", 1),
    )  # fmt: skip
    assert rows(tables, "notes", "techniques") == [["mute_on"], [], ["mute_on"], []]


def technical(content: str) -> str:
    return element("technical", content)


@pytest.mark.parametrize(
    ("name", "content", "technique"),
    [
        ("Horn in F", "<stopped/>", "stopped"),
        ("Violin", "<up-bow/>", "up-bow"),
        ("Violin", "<snap-pizzicato/>", "snap-pizzicato"),
        ("Violin", "<harmonic><natural/></harmonic>", "harmonics"),
    ],
)
def test_marks_are_of_their_note_only(name: str, content: str, technique: str) -> None:
    tables = read(name, note("C4", 1, notations=technical(content)), note("C4", 1))
    assert rows(tables, "notes", "techniques") == [[technique], []]


def test_a_note_may_be_plucked_by_its_attribute() -> None:
    tables = read("Violin", note("C4", 2, pizzicato="yes"), note("C4", 2))
    assert rows(tables, "notes", "techniques") == [["pizz"], []]


HARMONIC = {
    role: technical(f"<harmonic><artificial/><{role}-pitch/></harmonic>")
    for role in ("base", "touching", "sounding")
}


@pytest.mark.parametrize(
    ("touched", "sounding"),
    [("G4", "D6"), ("A4", "A5"), ("F#4", "F#6"), ("F4", "A6"), ("D5", "D5")],
)
@pytest.mark.parametrize("marked", [True, False])
def test_an_artificial_harmonic_is_one_note_at_its_sounding_pitch(
    touched: str, sounding: str, marked: bool
) -> None:
    """Fourth: two octaves; fifth: a twelfth; thirds: partials 5 and 6; octave: the octave."""
    base, touching = (HARMONIC["base"], HARMONIC["touching"]) if marked else ("", "")
    tables = read(
        "Violin",
        note("D4", 4, notations=base),
        note(touched, 4, chord=True, notehead="diamond", notations=touching),
    )
    assert played(tables) == {"Violin": f"0:{sounding}"}
    assert rows(tables, "notes", "techniques", "pitch_uncertain") == [(["harmonics"], False)]


def test_of_three_heads_the_sounding_one_counts() -> None:
    heads = zip(("D4", "G4", "D6"), ("base", "touching", "sounding"), strict=True)
    tables = read(
        "Violin",
        *(
            note(pitch, 4, chord=place > 0, notations=HARMONIC[role])
            for place, (pitch, role) in enumerate(heads)
        ),
    )
    assert played(tables) == {"Violin": "0:D6"}
    assert rows(tables, "notes", "techniques") == [["harmonics"]]


def test_a_touch_that_gives_no_clear_partial_is_of_uncertain_pitch() -> None:
    tables = read("Violin", note("D4", 4), note("E4", 4, chord=True, notehead="diamond"))
    assert rows(tables, "notes", "techniques", "pitch_uncertain") == [(["harmonics"], True)]


def test_words_about_players_are_of_a_column_of_their_own() -> None:
    tables = read("Violin", says("div. pizz."), note("C4", 1), says("unis. arco"), note("C4", 1))
    assert rows(tables, "notes", "techniques", "players_stated") == [(["pizz"], ["div"]), ([], [])]
