"""What words of a score mean: every term in every language, by family; doubling; combinations."""

from __future__ import annotations

from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte import reference
from collaparte.readers.named_lines import instrument_named
from collaparte.readers.vocabulary import page_words, tokens, vocabulary_of
from collaparte.readers.words import understand

FACTS = reference.load()
VOCABULARY = vocabulary_of(FACTS)
NAME = partial(instrument_named, reference=FACTS)
LANGUAGES = ("italian", "french", "german", "english", "abbreviations")
FLUTE = ("woodwind", "flutes")
TRUMPET = ("brass", "trumpets")
HORN = ("brass", "horns")
VIOLIN = ("string", "violins")
CHOIR = ("voice", "choir voices")
TIMPANI = ("percussion", "timpani")
DRUM = ("percussion", "untuned percussion")
HARP = ("plucked", "harps")
PIANO = ("keyboard", "keyboards")
TROMBONE = ("brass", "trombones")
PARTS = {
    "all": VIOLIN,
    "strings": VIOLIN,
    "wind": FLUTE,
    "woodwind": FLUTE,
    "brass": TRUMPET,
    "horn": HORN,
    "trombone": TROMBONE,
    "timpani": TIMPANI,
    "percussion": DRUM,
    "harp": HARP,
    "plucked": HARP,
    "keyboard": PIANO,
    "choir": CHOIR,
    "voices": CHOIR,
}
NO_WORDS = {("harmonics", "o over note")}
"""Forms of terms.csv that are signs, not words in a text."""


def said(text, part, numbers=()):
    return understand(text, *part, VOCABULARY, printed_player_numbers=numbers, identify_name=NAME)


def ids(text, part, numbers=()):
    understanding = said(text, part, numbers)
    assert understanding.leftover == "", text
    return [meaning.id for meaning in understanding.meanings]


def only(text, part, numbers=()):
    understanding = said(text, part, numbers)
    assert understanding.leftover == ""
    (meaning,) = understanding.meanings
    return meaning


def misread(forms, families, wanted):
    """Forms that do not mean `wanted` alone, with what they mean instead."""
    found = {}
    for form in forms:
        for family in families:
            understanding = said(form, PARTS[family])
            got = [meaning.id for meaning in understanding.meanings]
            if got != [wanted] or understanding.leftover:
                found[form, family] = got
    return found


@pytest.mark.parametrize("term", FACTS.terms.values(), ids=lambda term: term.id)
def test_every_term_in_every_language_has_its_id(term):
    forms = [form for language in LANGUAGES for form in getattr(term, language)]
    forms = [form for form in forms if (term.id, form) not in NO_WORDS]
    assert forms
    assert misread(forms, term.families, term.id) == {}


@pytest.mark.parametrize("name", sorted({variant.id for variant in FACTS.term_variants}))
def test_every_variant_has_the_id_of_its_term(name):
    for variant in FACTS.term_variants:
        if variant.id == name:
            families = variant.families or FACTS.terms[name].families
            assert misread([variant.form], families, name) == {}


@pytest.mark.parametrize(
    "word",
    [
        word
        for word in FACTS.direction_words
        if word.kind in {"hairpin", "dynamic", "note", "jump", "tempo", "doubling"}
    ],
    ids=lambda word: f"{word.kind}-{word.id}",
)
def test_every_direction_word_has_its_kind_and_id(word):
    for language in LANGUAGES:
        for form in getattr(word, language):
            for part in (HORN, VIOLIN):
                meaning = only(form, part)
                assert (meaning.kind, meaning.id) == (word.kind, word.id), form


def test_plain_words_are_none_of_our_business():
    for word in FACTS.plain_words:
        for part in (FLUTE, VIOLIN, CHOIR):
            understanding = said(word.words, part)
            kinds = [meaning.kind for meaning in understanding.meanings]
            assert (kinds, understanding.leftover) == ([word.kind], ""), word


FUNCTION_WORDS = frozenset(
    "a à al alla alle all' all alto and au aux avec c con d d' de dem den der des di die du e "  # noqa: SIM905
    "ed en et gli i il im in is je l l' la le les m mit n nicht non o of ohne on one pas per que "
    "s sans senza sul sur the to un una und up with without zu zum zur".split()
)
"""Words of terms.csv that carry no meaning of their own: articles, prepositions, negations."""


def contains(phrase, part):
    size = len(part)
    return any(phrase[at : at + size] == part for at in range(len(phrase) - size + 1))


def keys(text):
    return tuple(token.key for token in tokens(text))


def test_no_plain_word_holds_a_term_an_instrument_or_a_number():
    empty = {keys(word)[0] for word in FUNCTION_WORDS if keys(word)}
    terms = [
        keys(form)
        for term in FACTS.terms.values()
        for language in LANGUAGES
        for form in getattr(term, language)
    ]
    content = {key for phrase in terms for key in phrase} - empty
    numbers = {
        keys(form)
        for word in FACTS.direction_words
        if word.kind in {"ordinal", "cardinal"}
        for language in LANGUAGES
        for form in getattr(word, language)
    }
    instruments = {
        keys(name)
        for row in FACTS.instruments.values()
        for language in LANGUAGES[:4]
        for name in getattr(row, language)
    } | {keys(row.abbreviation) for row in FACTS.abbreviations if len(row.normalised) > 2}
    for word in FACTS.plain_words:
        phrase = keys(word.words)
        assert content.isdisjoint(phrase), (word, content & set(phrase))
        assert not any(key.isdigit() for key in phrase), word
        for part in (*numbers, *instruments):
            assert not contains(phrase, part), (word, part)


def test_no_form_means_two_things_within_one_word_of_the_page():
    changes = {"change_inst", "change_crook"}
    for phrase, entries in VOCABULARY.phrases.items():
        terms = [entry for entry in entries if entry.kind == "term"]
        for family in PARTS:
            found = {entry.id for entry in terms if family in entry.families}
            assert len(found) < 2 or found == changes, (phrase, family, found)


@pytest.mark.parametrize(
    ("text", "part", "wanted"),
    [
        ("a 2", FLUTE, "both_players"),
        ("a 2", VIOLIN, "div"),
        ("a 2", CHOIR, "div"),
        ("zu 3", TROMBONE, "all_three"),
        ("stark hervortretend", HORN, "solo_prominent"),
        ("stark hervortretend", VIOLIN, "solo_prominent"),
        ("zu 3", VIOLIN, "div_3"),
        ("gedämpft", VIOLIN, "mute_on"),
        ("gedämpft", TRUMPET, "mute_on"),
        ("gedämpft", TIMPANI, "coperti"),
        ("tremolo", VIOLIN, "tremolo"),
        ("tremolo", TIMPANI, "roll"),
        ("tremolo", PIANO, "tremolo"),
        ("offen", HORN, "open_horn"),
        ("offen", TRUMPET, "open_brass"),
        ("offen", TIMPANI, "scoperti"),
        ("open", HORN, "open_horn"),
        ("open", TRUMPET, "open_brass"),
        ("Solo", FLUTE, "solo_prominent"),
        ("Solo", VIOLIN, "solo"),
        ("Solo", CHOIR, "solo"),
        ("tutti", FLUTE, "all_players"),
        ("tutti", VIOLIN, "tutti"),
        ("unis.", FLUTE, "both_players"),
        ("unis.", VIOLIN, "unis"),
        ("con sordini", TIMPANI, "coperti"),
        ("muta in", HORN, "change_crook"),
        ("muta in", FLUTE, "change_inst"),
        ("pizz.", ("keyboard", "continuo"), "pizz"),
    ],
)
def test_the_family_decides_what_a_word_means(text, part, wanted):
    assert only(text, part).id == wanted


@pytest.mark.parametrize(
    ("text", "part"), [("pizz.", FLUTE), ("arco", HORN), ("gestopft", VIOLIN), ("1.", VIOLIN)]
)
def test_a_word_of_another_family_is_not_understood(text, part):
    assert said(text, part).leftover


@pytest.mark.parametrize("text", ["a 2", "solo", "tremolo", "offen"])
def test_without_a_family_an_ambiguous_word_is_not_understood(text):
    assert understand(text, None, None, VOCABULARY).leftover == text


def test_without_a_family_a_clear_word_is_understood():
    (meaning,) = understand("col legno", None, None, VOCABULARY).meanings
    assert meaning.id == "col_legno"


@pytest.mark.parametrize(
    ("text", "wanted", "numbers"),
    [
        ("1.", "first_player", (1,)),
        ("I", "first_player", (1,)),
        ("II.", "second_player", (2,)),
        ("1º", "first_player", (1,)),
        ("IVo", "fourth_player", (4,)),
        ("3rd", "third_player", (3,)),
        ("zweiter", "second_player", (2,)),
        ("5.", "player_5", (5,)),
        ("1.3.", "players_1_3", (1, 3)),
        ("I. II.", "players_1_2", (1, 2)),
        ("1º e 3º", "players_1_3", (1, 3)),
        ("3. u. 4.", "players_3_4", (3, 4)),
        ("1, 2, 3", "players_1_2_3", (1, 2, 3)),
        ("1-3", "players_1_2_3", (1, 2, 3)),
        ("1 & 2", "players_1_2", (1, 2)),
        ("I.(=III)", "third_player", (3,)),
        ("a 2", "both_players", (1, 2)),
        ("a2", "both_players", (1, 2)),
        ("a. 2", "both_players", (1, 2)),
        ("à 4", "all_four", (1, 2, 3, 4)),
        ("a 6", "all_players", (1, 2, 3, 4, 5, 6)),
    ],
)
def test_players_of_winds(text, wanted, numbers):
    meaning = only(text, HORN)
    assert (meaning.kind, meaning.id, meaning.numbers) == ("players", wanted, numbers)


def test_the_numbers_of_the_staff_are_those_of_the_score():
    assert only("1.", HORN, (3, 4)).numbers == (3,)
    assert only("a 2", HORN, (3, 4)).numbers == (3, 4)
    assert only("4.", HORN, (3, 4)).numbers == (4,)
    assert only("1.", HORN, (2,)).numbers == (1,)


def test_a_number_with_solo_is_two_statements_in_winds():
    assert ids("1. Solo", FLUTE) == ["first_player", "solo_prominent"]
    assert ids("Solo I.", FLUTE) == ["solo_prominent", "first_player"]
    assert ids("2 Soli", FLUTE) == ["both_players", "solo_prominent"]


@pytest.mark.parametrize(
    ("text", "wanted", "numbers", "count"),
    [
        ("2 Soli", "solo", (), 2),
        ("3 Solo Vc.", "solo", (), 3),
        ("Soli (2)", "solo", (), 2),
        ("vier Soli", "solo", (), 4),
        ("1. Solo", "solo", (1,), 1),
        ("Solo II", "solo", (2,), 1),
        ("1. Pult", "first_desk", (1,), 1),
        ("1. 2. Pult", "first_desk", (1, 2), 2),
        ("2 Pulte", "first_desk", (1, 2), 2),
        ("2. Pult", "first_desk", (2,), 1),
        ("secondo leggio", "first_desk", (2,), 1),
        ("3e pupitre", "first_desk", (3,), 1),
        ("desks 1-3", "first_desk", (1, 2, 3), 3),
        ("div. a 5", "div", (), 5),
        ("geteilt in 6", "div", (), 6),
        ("div. a 3", "div_3", (), None),
        ("a 8", "div", (), 8),
    ],
)
def test_players_of_strings(text, wanted, numbers, count):
    meaning = only(text, VIOLIN)
    assert (meaning.kind, meaning.id, meaning.numbers) == ("players", wanted, numbers)
    assert count is None or meaning.count == count


DOUBLINGS = [
    ("col basso", "bass", ()),
    ("c. B.", "bass", ()),
    ("coi bassi", "bass", ()),
    ("Col Basso.", "bass", ()),
    ("coi soprani", "voice-soprano", ()),
    ("col Ob. I", "oboe", (1,)),
    ("col canto", "voice", ()),
    ("colla parte", "part", ()),
    ("colla viola", "viola", ()),
    ("coi violini primi", "violin", (1,)),
    ("unis. mit Viol. I", "violin", (1,)),
    ("unisono col Violino II", "violin", (2,)),
    ("all'unisono coi fagotti", "bassoon", ()),
    ("in 8va coi Fl.", "flute", ()),
    ("avec les 1ers violons", "violin", (1,)),
    ("avec la basse", "bass", ()),
    ("à l'unisson des hautbois", "oboe", ()),
    ("avec le chant", "voice", ()),
    ("mit den Bässen", "bass", ()),
    ("mit den 1. Violinen", "violin", (1,)),
    ("mit dem Chor", "chorus", ()),
    ("wie 1. Violine", "violin", (1,)),
    ("im Einklang mit den Fagotten", "bassoon", ()),
    ("with Vln. I", "violin", (1,)),
    ("with the tenors", "voice-tenor", ()),
    ("in unison with Cl. 2", "clarinet", (2,)),
    ("doubling the cellos", "violoncello", ()),
    ("same as Oboe 1", "oboe", (1,)),
]


@pytest.mark.parametrize(("text", "key", "numbers"), DOUBLINGS)
def test_words_of_doubling_name_the_line(text, key, numbers):
    for part in (HORN, VIOLIN, FLUTE):
        meaning = only(text, part)
        assert (meaning.kind, meaning.target_key, meaning.numbers) == ("doubling", key, numbers)
        assert meaning.target in meaning.text


@pytest.mark.parametrize("text", ["come sopra", "c. s.", "wie oben", "as above", "ut supra"])
def test_doubling_of_what_stands_above(text):
    meaning = only(text, HORN)
    assert (meaning.kind, meaning.id, meaning.target) == ("doubling", "as_above", None)


@pytest.mark.parametrize(
    ("text", "part", "wanted"),
    [
        ("con fuoco", VIOLIN, "expression"),
        ("col legno", VIOLIN, "technique"),
        ("coll'arco", VIOLIN, "technique"),
        ("mit Dämpfer", VIOLIN, "technique"),
        ("mit Ausdruck", VIOLIN, "expression"),
        ("coll'ottava", VIOLIN, "note"),
        ("mit halber Stimme", VIOLIN, "dynamic"),
        ("colla voce", VIOLIN, "tempo"),
    ],
)
def test_with_something_else_is_no_doubling(text, part, wanted):
    assert only(text, part).kind == wanted


@pytest.mark.parametrize(
    ("text", "part", "wanted", "key", "target"),
    [
        ("muta in Picc.", FLUTE, "change_inst", "piccolo", "Picc."),
        ("Fl. III muta in Picc.", FLUTE, "change_inst", "piccolo", "Picc."),
        ("nimmt Englischhorn", ("woodwind", "oboes"), "change_inst", "english-horn", None),
        ("prend la petite flûte", FLUTE, "change_inst", "piccolo", "petite flûte"),
        ("take piccolo", FLUTE, "change_inst", "piccolo", "piccolo"),
        ("to Picc.", FLUTE, "change_inst", "piccolo", "Picc."),
        ("muta in A", ("woodwind", "clarinets"), "change_inst", None, "A"),
        ("muta in A", HORN, "change_crook", None, "A"),
        ("in Es", HORN, "change_crook", None, "Es"),
        ("in B♭", HORN, "change_crook", None, "B♭"),
        ("(in B-flat)", TRUMPET, "change_crook", None, "B flat"),
        ("muta in Mi♭", HORN, "change_crook", None, "Mi♭"),
        ("changez en fa", HORN, "change_crook", None, "fa"),
        ("muta in G, D", TIMPANI, "change_crook", None, "G D"),
        ("C muta in D", TIMPANI, "change_crook", None, "D"),
    ],
)
def test_changes_of_instrument_and_crook(text, part, wanted, key, target):
    meaning = only(text, part)
    assert (meaning.kind, meaning.id, meaning.target_key) == ("instrument", wanted, key)
    assert target is None or meaning.target == target


@pytest.mark.parametrize(
    ("text", "part", "wanted"),
    [
        ("con sord. pp", VIOLIN, ["mute_on", "pp"]),
        ("arco, p", VIOLIN, ["arco", "p"]),
        ("pizz. e cresc.", VIOLIN, ["pizz", "crescendo"]),
        ("a 2 ff marc.", HORN, ["both_players", "ff", "marcato"]),
        ("sempre div. e ppp", VIOLIN, ["div", "ppp"]),
        ("gli altri pizz.", VIOLIN, ["the_others", "pizz"]),
        ("tutti arco", VIOLIN, ["tutti", "arco"]),
        ("unis. (senza sord.)", VIOLIN, ["unis", "mute_off"]),
        ("Tempo I.", FLUTE, ["first_tempo"]),
        ("Tempo primo", FLUTE, ["first_tempo"]),
        ("Menuetto da Capo", FLUTE, ["heading", "da_capo"]),
        ("Var. 1.", FLUTE, ["heading"]),
        ("[\ueca5\uecb7 = 60]", FLUTE, ["metronome"]),
        ("cresc. poco a poco", VIOLIN, ["crescendo"]),
        ("cre - - scen - - do", VIOLIN, ["crescendo"]),
        ("di-mi-nu-en-do", VIOLIN, ["diminuendo"]),
        ("sempre\u00a0\n\ue522\ue522", VIOLIN, ["ff"]),
        ("(ARCO)", VIOLIN, ["arco"]),
        ("dimin..", VIOLIN, ["diminuendo"]),
        ("ten.", VIOLIN, ["tenuto"]),
        ("loco", VIOLIN, ["loco"]),
        ("8va", FLUTE, ["octave_up"]),
        ("A", VIOLIN, ["letter"]),
        ("12", VIOLIN, ["figure"]),
        ("b", CHOIR, ["label"]),
        ("<b><font size='12'/>arco</b>", VIOLIN, ["arco"]),
    ],
)
def test_texts_as_scores_print_them(text, part, wanted):
    assert ids(text, part) == wanted


def test_a_meaning_keeps_its_words_group_and_what_it_ends():
    first, second = said("sempre ord., dolce", VIOLIN).meanings
    assert (first.text, first.group, first.qualifiers) == ("sempre ord.", "contact", ("sempre",))
    assert "group:bow_place" in first.ends
    assert second.kind == "expression"


def test_loose_words_go_where_they_belong():
    first, second = said("p subito e leggiero", FLUTE).meanings
    assert (first.text, second.text) == ("p subito", "e leggiero")
    assert first.dynamic is not None
    assert first.dynamic.modifiers == ("subito",)
    first, second = said("p molto cresc.", FLUTE).meanings
    assert (first.text, second.text) == ("p", "molto cresc.")
    (only_one,) = said("sul G possibile", VIOLIN).meanings
    assert only_one.qualifiers == ("if_possible",)


def test_two_lines_can_be_doubled():
    first, second = said("mit Violinen u. Bratschen", FLUTE).meanings
    assert (first.kind, first.target_key) == ("doubling", "violin")
    assert (second.kind, second.id, second.target_key) == ("doubling", "with", "viola")


def test_opposite_terms_in_one_text_come_in_order():
    assert ids("con sord. - senza sord.", VIOLIN) == ["mute_on", "mute_off"]
    assert ids("pizz. arco", VIOLIN) == ["pizz", "arco"]


def test_what_is_not_understood_is_handed_back_in_order():
    understanding = said("vielleicht pizz. beinahe xyz", VIOLIN)
    assert [meaning.id for meaning in understanding.meanings] == ["pizz"]
    assert understanding.leftover == "vielleicht xyz"


PIECES = [
    *(" ".join(phrase) for phrase in list(VOCABULARY.phrases)[::7]),
    *(text for text, _, _ in DOUBLINGS),
    *("1.", "II", "e", "und", "muta in", "A", "xyz", "=", "♩", "½", "?", "-", "\ue520", "Fl. III"),
]


@given(
    st.one_of(st.text(max_size=40), st.lists(st.sampled_from(PIECES), max_size=6).map(" ".join)),
    st.sampled_from([*PARTS.values(), (None, None)]),
)
def test_every_word_belongs_to_one_meaning_or_to_the_leftover(text, part):
    understanding = said(text, part)
    taken = [meaning.text for meaning in understanding.meanings] + [understanding.leftover]
    words = [token.text for piece in taken for token in VOCABULARY.tokens(piece)]
    assert sorted(words) == sorted(token.text for token in VOCABULARY.tokens(text))
    assert all(meaning.text for meaning in understanding.meanings)


def test_page_words_go_from_narrow_to_wide():
    assert page_words("brass", "horns") == (("horn",), ("brass",), ("wind",), ("all",))
