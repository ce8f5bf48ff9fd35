"""Who plays a part: names in four languages, keys, sizes, numbers, and what contradicts."""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte import reference
from collaparte.readers.instruments import (
    Context,
    Evidence,
    context_of,
    identify,
    language_of,
)
from collaparte.readers.part_names import read_name

FACTS = reference.load()
CONFIDENCES = {"certain", "likely", "guess", None}
BASES = {"correction", "name", "transposition", "sound_id", "abbreviation", "program", None}


def one(name="", transposition=None, language=None, voices=False, **more):
    """The only identity of a part."""
    evidence = Evidence(name=name, transposition=transposition, **more)
    found = identify(evidence, FACTS, Context(language, voices))
    (identity,) = found.identities
    return identity


def codes(name="", transposition=None, language=None, **more):
    evidence = Evidence(name=name, transposition=transposition, **more)
    return [finding.code for finding in identify(evidence, FACTS, Context(language)).findings]


# ---------------------------------------------------------------- names of real movements


def labelled_names():
    """Every distinct part of 22 movements; instrument, crook and player were written by hand."""
    with (Path(__file__).parent / "part_names.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["name"] = row["name"].replace("\\n", "\n")
    return rows


LABELLED = labelled_names()


@pytest.mark.parametrize(
    "row", LABELLED, ids=lambda row: f"{row['name']} {row['transposition']} {row['sound_id']}"
)
def test_names_labelled_by_hand(row):
    evidence = Evidence(
        name=row["name"],
        display_name=row["display_name"],
        abbreviation=row["abbreviation"],
        transposition=int(row["transposition"]) if row["transposition"] else None,
        sound_id=row["sound_id"] or None,
        midi_program=int(row["midi_program"]),
    )
    context = context_of([item["name"] for item in LABELLED], FACTS)
    (identity,) = identify(evidence, FACTS, context).identities
    assert identity.instrument == row["instrument"]
    assert (identity.crook or "") == row["crook"]
    assert " ".join(map(str, identity.players)) == row["player"]
    assert identity.confidence in {"certain", "likely"}
    assert (identity.ensemble == "solo") == (row["name"] == "Principal Violin")


def test_only_the_trumpets_in_b_natural_contradict_their_sound_ids():
    context = context_of([row["name"] for row in LABELLED], FACTS)
    found = Counter()
    for row in LABELLED:
        evidence = Evidence(
            name=row["name"],
            transposition=int(row["transposition"]) if row["transposition"] else None,
            sound_id=row["sound_id"] or None,
        )
        found.update(finding.code for finding in identify(evidence, FACTS, context).findings)
    assert found == {"name_against_sound_id": 2}


# ---------------------------------------------------------------- four languages

ORCHESTRA = {
    "en": ["Piccolo", "2 Flutes", "Oboe 1", "Cor Anglais", "Clarinet in A", "Bass Clarinet in Bb",
           "Bassoons", "Double Bassoon", "Horns in F", "Trumpet in C", "Alto Trombone", "Tuba",
           "Kettledrums", "Bass Drum", "Harp", "1st Violin", "2nd Violin",
           "Violas", "Cellos", "Double Basses"],
    "de": ["Kleine Flöte", "2 Flöten", "1. Oboe", "Englischhorn", "Klarinette in A",
           "Bassklarinette in B", "Fagotte", "Kontrafagott", "Hörner in F", "Trompete in C",
           "Altposaune", "Tuba", "Pauken", "Große Trommel", "Harfe",
           "Erste Violine", "2. Violine", "Bratschen", "Violoncelle", "Kontrabässe"],
    "fr": ["Petite flûte", "2 Flûtes", "1er Hautbois", "Cor anglais", "Clarinette en la",
           "Clarinette basse en si♭", "Bassons", "Contrebasson", "Cors en fa", "Trompette en ut",
           "Trombone alto", "Tuba", "Timbales", "Grosse caisse", "Harpe",
           "Premiers violons", "Seconds violons", "Altos", "Violoncelles", "Contrebasses"],
    "it": ["Ottavino", "2 Flauti", "Oboe I", "Corno inglese", "Clarinetto in La",
           "Clarinetto basso in Si♭", "Fagotti", "Controfagotto", "Corni in Fa", "Tromba in Do",
           "Trombone alto", "Tuba", "Timpani", "Gran cassa", "Arpa",
           "Violino primo", "Violini II", "Viole", "Violoncelli", "Contrabbassi"],
}  # fmt: skip
KEYS = ["piccolo", "flute", "oboe", "english-horn", "clarinet-a", "bass-clarinet", "bassoon",
        "contrabassoon", "horn-f", "trumpet-c", "trombone-alto", "tuba", "timpani", "bass-drum",
        "harp", "violin", "violin", "viola", "violoncello",
        "double-bass"]  # fmt: skip


@pytest.mark.parametrize("language", ORCHESTRA)
def test_the_same_orchestra_in_four_languages(language):
    names = ORCHESTRA[language]
    context = context_of(names, FACTS)
    assert context == Context(language, voices=False)
    transpositions = {"clarinet-a": -3, "bass-clarinet": -14, "horn-f": -7}
    for name, key in zip(names, KEYS, strict=True):
        evidence = Evidence(name=name, transposition=transpositions.get(key))
        (identity,) = identify(evidence, FACTS, context).identities
        assert (identity.instrument, name) == (key, name)
    players = [identify(Evidence(name=name), FACTS, context).identities[0].players
               for name in names]  # fmt: skip
    assert players[1:3] == [(1, 2), (1,)]
    assert players[15:17] == [(1,), (2,)]


VOICES = {
    "en": ["Soprano", "Alto", "Tenor", "Bass"],
    "de": ["Sopran", "Alt", "Tenor", "Bass"],
    "fr": ["Dessus", "Alto", "Ténor", "Basse"],
    "it": ["Canto", "Contralto", "Tenore", "Basso"],
}


@pytest.mark.parametrize("language", VOICES)
def test_the_same_choir_in_four_languages(language):
    context = context_of(VOICES[language], FACTS)
    assert context == Context(language, voices=True)
    found = [identify(Evidence(name=name), FACTS, context) for name in VOICES[language]]
    keys = [item.identities[0].instrument for item in found]
    assert keys == ["voice-soprano", "voice-alto", "voice-tenor", "voice-bass"]


def test_german_names_are_german():
    assert language_of(["Pauken", "Oboe", "Viola"], FACTS) == "de"
    assert language_of(["Oboe"], FACTS) in {"en", "de", "it"}
    assert language_of(["P1", "P2"], FACTS) is None
    assert language_of([], FACTS) is None


# ---------------------------------------------------------------- keys, B and H


@pytest.mark.parametrize(
    ("name", "transposition", "language", "key", "crook"),
    [
        ("2. Klarinette in B", -2, "de", "clarinet-bflat", "B-flat"),
        ("Klarinette in B", None, None, "clarinet-bflat", "B-flat"),
        ("B Clarinet", None, "en", "clarinet-bflat", "B-flat"),
        ("Es-Klarinette", 3, "de", "clarinet-eflat", "E-flat"),
        ("Clarinet in E-flat", 3, "en", "clarinet-eflat", "E-flat"),
        ("B♭ Clarinet 1", -2, "en", "clarinet-bflat", "B-flat"),
        ("B-flat Clarinet", None, "en", "clarinet-bflat", "B-flat"),
        ("Clarinetti in Sib", -2, "it", "clarinet-bflat", "B-flat"),
        ("A Cl. 1", -3, "en", "clarinet-a", "A"),
        ("Horn in B", -1, "en", "horn", "B-natural alto"),
        ("Horn in B", -2, "en", "horn", "B-flat alto"),
        ("Horn in B", -14, "de", "horn", "B-flat basso"),
        ("Horn in B basso", None, "de", "horn", "B-flat basso"),
        ("Horn in B", None, "en", "horn", "B-natural"),
        ("Horn in H", None, "de", "horn", "B-natural"),
        ("Trompete H", -1, "de", "trumpet", "B-natural"),
        ("Corni I e II in Mi♭", -9, "it", "horn", "E-flat"),
        ("Cor en fa", -7, "fr", "horn-f", "F"),
        ("Horn (F) 1", -7, "en", "horn-f", "F"),
        ("Trompettes en ut", 0, "fr", "trumpet-c", "C"),
        ("Alto trumpet in F", -7, "en", "alto-trumpet-f", "low F (Russian alto)"),
        ("Trumpet in F", -7, "en", "alto-trumpet-f", "low F (Russian alto)"),
        ("Trumpet in F", 5, "en", "trumpet", "F"),
        ("Cornet à pistons en la", -3, "fr", "cornet", "A"),
        ("Timpani in D, A", None, "en", "timpani", "D, A"),
        ("Timbales en ré, la", None, "fr", "timpani", "D, A"),
        ("Pauken in F-B", None, "de", "timpani", "F, B-flat"),
    ],
)
def test_key_letters(name, transposition, language, key, crook):
    identity = one(name, transposition, language)
    assert (identity.instrument, identity.crook) == (key, crook)


@pytest.mark.parametrize(
    ("name", "transposition", "key", "basis"),
    [
        ("Clarinet", -2, "clarinet-bflat", "transposition"),
        ("Clarinet", -3, "clarinet-a", "transposition"),
        ("Clarinet", 0, "clarinet-c", "transposition"),
        ("Clarinet", None, "clarinet", "name"),
        ("Horn", -7, "horn-f", "transposition"),
        ("Horn", -9, "horn", "name"),
        ("Tromba", 2, "trumpet-d", "transposition"),
        ("Trumpet", 4, "trumpet", "name"),
        ("Trombone", None, "trombone", "name"),
        ("Saxophone", -14, "saxophone-tenor", "transposition"),
        ("Wagner tuba", -2, "wagner-tuba-tenor", "transposition"),
    ],
)
def test_generic_names_take_their_size_from_the_transposition(name, transposition, key, basis):
    identity = one(name, transposition)
    assert (identity.instrument, identity.basis) == (key, basis)


def test_the_sound_id_narrows_what_the_name_leaves_open():
    plain = one("Tromba 1", 2, sound_id="brass.trumpet.baroque")
    assert (plain.instrument, plain.basis, plain.confidence) == (
        "natural-trumpet",
        "sound_id",
        "likely",
    )
    assert one("Horn", sound_id="brass.natural-horn").instrument == "natural-horn"
    assert one("Horn", -7, sound_id="brass.french-horn").instrument == "horn-f"


# ---------------------------------------------------------------- numbers


@pytest.mark.parametrize(
    ("name", "numbers"),
    [
        ("Fl. I, II", (1, 2)),
        ("Fl. 1.2", (1, 2)),
        ("Horn 1-4", (1, 2, 3, 4)),
        ("Corno III/IV", (3, 4)),
        ("1. u. 2. Horn in F", (1, 2)),
        ("Trumpet 1,2", (1, 2)),
        ("2 solo Vc", (1, 2)),
        ("4 Hörner", (1, 2, 3, 4)),
        ("Drei Posaunen", (1, 2, 3)),
        ("2nd Violin", (2,)),
        ("Violino secondo", (2,)),
        ("Violin I.", (1,)),
        ("V. I", (1,)),
        ("Coro I Soprano", ()),
        ("Coro II Soprano 1", (1,)),
        ("Piccolo", ()),
        ("Flute 1\nFlute 2", (1, 2)),
    ],
)
def test_player_numbers(name, numbers):
    assert one(name, language="it" if "V." in name else "en").players == numbers


# ---------------------------------------------------------------- several instruments


def several(name, voices=False):
    found = identify(Evidence(name=name), FACTS, Context("en", voices))
    return [(item.instrument, item.players, item.label) for item in found.identities]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        (
            "Soprano / Oboe 1.2 / Violin 1",
            [("voice-soprano", (), "Soprano"), ("oboe", (1, 2), "Oboe 1.2"),
             ("violin", (1,), "Violin 1")],
        ),
        (
            "Soprano\rOboe 1,2\rViolin1",
            [("voice-soprano", (), "Soprano"), ("oboe", (1, 2), "Oboe 1,2"),
             ("violin", (1,), "Violin1")],
        ),
        ("Vc./Cb.", [("violoncello", (), "Vc."), ("double-bass", (), "Cb.")]),
        ("Flauto e Oboe", [("flute", (), "Flauto"), ("oboe", (), "Oboe")]),
        ("Violone e Organo", [("violone", (), "Violone"), ("organ", (), "Organo")]),
        ("Clarinet 1 in Bb, Horn in F",
         [("clarinet-bflat", (1,), "Clarinet 1 in Bb"), ("horn-f", (), "Horn in F")]),
        ("Cellos and Basses", [("cello-and-bass", (), "Cellos and Basses")]),
    ],
)  # fmt: skip
def test_several_instruments_on_one_staff(name, expected):
    assert several(name) == expected


def test_a_voice_before_an_instrument_is_a_singer_only_among_singers():
    assert [item[0] for item in several("Tenor Viola", voices=True)] == ["voice-tenor", "viola"]
    assert [item[0] for item in several("Tenor Viola")] == [None]


def test_one_player_with_two_woodwinds():
    for name in ("Flute 3 / Piccolo", "Flute 3 (Piccolo)", "Flute 3 doubling Piccolo"):
        identity = one(name)
        assert (identity.instrument, identity.alternatives) == ("flute", ("piccolo",))


# ---------------------------------------------------------------- homonyms


@pytest.mark.parametrize(
    ("name", "language", "voices", "more", "key", "confidence"),
    [
        ("Alto", "en", True, {}, "voice-alto", "likely"),
        ("Alto", "fr", False, {}, "viola", "likely"),
        ("Alto", "fr", True, {}, "voice-alto", "likely"),
        ("Alto", "fr", True, {"sound_id": "strings.viola"}, "viola", "likely"),
        ("Bass", "en", True, {}, "voice-bass", "likely"),
        ("Bass", "en", False, {"transposition": -12}, "double-bass", "likely"),
        ("Basso", "it", False, {}, "cello-and-bass", "likely"),
        ("Cor.", "it", False, {}, "horn", "likely"),
        ("Cor.", "en", False, {"sound_id": "brass.cornet"}, "cornet", "likely"),
        ("Cor", "fr", False, {}, "horn", "certain"),
        ("kleine Klarinette", "de", False, {"transposition": 2}, "clarinet-d", "likely"),
        ("kleine Klarinette", "de", False, {"transposition": 3}, "clarinet-eflat", "likely"),
        ("Recorder 1", "en", False, {}, "recorder-alto", "likely"),
        ("Tenor", "en", True, {}, "voice-tenor", "certain"),
        ("S.", None, True, {}, "voice-soprano", "likely"),
        ("Viola", None, False, {}, "viola", "certain"),
    ],
)
def test_names_with_several_meanings(name, language, voices, more, key, confidence):
    identity = one(name, language=language, voices=voices, **more)
    assert (identity.instrument, identity.confidence) == (key, confidence)


def test_a_homonym_that_nothing_decides_is_a_guess_and_is_said():
    assert codes("Cor.") == ["name_ambiguous"]
    assert one("Cor.").confidence == "guess"


# ---------------------------------------------------------------- weaker evidence


def test_without_a_name_the_rest_is_taken_in_order_of_trust():
    given_all = {
        "sound_id": "wind.reed.oboe",
        "instrument_name": "Bassoon",
        "abbreviation": "Fl.",
        "midi_program": 72,
    }
    bases = []
    for missing in ("", "sound_id", "instrument_name", "abbreviation", "midi_program"):
        given_all.pop(missing, None)
        identity = one("Part 7", **given_all)
        bases.append((identity.instrument, identity.basis, identity.confidence))
    assert bases == [
        ("oboe", "sound_id", "likely"),
        ("bassoon", "name", "likely"),
        ("flute", "abbreviation", "guess"),
        ("clarinet", "program", "guess"),
        (None, None, None),
    ]


def test_the_first_program_tells_nothing():
    assert one("Stimme", midi_program=1).instrument is None


def test_a_more_special_sound_id_counts_as_its_kind():
    assert one("", sound_id="keyboard.piano.upright").instrument == "piano"


def test_unknown_names_stay_usable():
    identity = one("Glass harmonica 2")
    assert (identity.instrument, identity.label) == (None, "Glass harmonica 2")
    assert identity.players == (2,)
    assert codes("Glass harmonica") == ["instrument_unknown"]


def test_known_names_outside_the_table_keep_their_family():
    assert one("Electric Piano").family == "keyboard"
    assert one("Voice").family == "voice"
    assert one("Voice", sound_id="voice.alto").instrument == "voice-alto"
    assert one("Drums").instrument == "percussion"


# ---------------------------------------------------------------- contradictions


def test_name_against_transposition():
    assert codes("Horn in F", -9) == ["name_against_transposition"]
    assert one("Horn in F", -9).instrument == "horn-f"
    assert codes("Horn in F") == []


@pytest.mark.parametrize(
    ("name", "sound_id", "expected"),
    [
        ("Violin 1", "strings.group", []),
        ("Traverso", "wind.flutes.flute", []),
        ("Continuo", "keyboard.harpsichord", []),
        ("Soprano", "voice.soprano", []),
        ("Oboe", "wind.reed.bassoon", ["name_against_sound_id"]),
        ("A Clarinet", "wind.reed.clarinet.bflat", ["name_against_sound_id"]),
        ("Tenor", "voice.bass", ["name_against_sound_id"]),
    ],
)
def test_name_against_sound_id(name, sound_id, expected):
    assert codes(name, language="en", sound_id=sound_id) == expected
    confidence = one(name, language="en", sound_id=sound_id).confidence
    assert confidence == ("likely" if expected else "certain")


def test_a_correction_outranks_everything():
    identity = one("Oboe 2", sound_id="wind.reed.oboe", correction="flute")
    assert (identity.instrument, identity.basis, identity.confidence, identity.players) == (
        "flute",
        "correction",
        "certain",
        (2,),
    )
    assert codes("Oboe", correction="flut") == ["correction_unknown"]


# ---------------------------------------------------------------- invariants


@pytest.mark.parametrize("column", ["english", "french", "german", "italian"])
def test_every_name_of_the_table_is_understood(column):
    language = {"english": "en", "french": "fr", "german": "de", "italian": "it"}[column]
    for row in FACTS.instruments.values():
        for name in getattr(row, column):
            if "(" not in name:
                mentions = read_name(name, FACTS)
                assert len(mentions) == 1, name
                spoken = [m for m in mentions[0].meanings if language in m.languages]
                assert row.key in {m.key for m in spoken}, name


@given(
    st.text("ABCFOTVabcdefilnorst12. /,()[]♭\n'-", max_size=24),
    st.none() | st.integers(-30, 30),
    st.sampled_from([None, "", "voice.alto", "brass.trumpet.c", "wind.reed.clarinet.a", "x.y"]),
    st.sampled_from([None, 0, 1, 61, 128, 999]),
)
def test_any_text_gives_identities(name, transposition, sound_id, program):
    evidence = Evidence(
        name=name, transposition=transposition, sound_id=sound_id, midi_program=program
    )
    found = identify(evidence, FACTS)
    assert found.identities
    for identity in found.identities:
        assert identity.instrument in {None, *FACTS.instruments}
        assert identity.confidence in CONFIDENCES
        assert identity.basis in BASES
        assert (identity.instrument is None) == (identity.basis is None)
        if identity.instrument:
            assert identity.family == FACTS.instruments[identity.instrument].family


@pytest.mark.parametrize("row", LABELLED, ids=lambda row: row["name"])
def test_blanks_and_line_ends_around_a_name_do_not_matter(row):
    spaced, plain = Evidence(name=f"  {row['name']} \n"), Evidence(name=row["name"])
    assert identify(spaced, FACTS).identities == identify(plain, FACTS).identities
