"""The words that names of parts are made of, from the reference tables.

Names and abbreviations of instruments, the words that stand beside them, and the names of tones,
each in four languages; names are compared in one `joined` form.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from collaparte.reference import Reference

LANGUAGES = ("en", "de", "it", "fr")
UNDECIDED_B = "B"
"""The tone of a plain "B": B flat in German, B natural in English."""

_COLUMNS = {"en": "english", "de": "german", "it": "italian", "fr": "french"}
_KINDS = ("name", "open", "abbreviation")
_GLYPHS = str.maketrans(
    {"’": "'", "‘": "'", "`": "'", "\r": "\n", "\t": " ", "\xa0": " "}
    | {"\ue260": "♭", "\ue261": "♮", "\ue262": "♯"}
)


def plain(text: str) -> str:
    """A text in normal form C with plain apostrophes, blanks, line ends and accidentals."""
    return unicodedata.normalize("NFC", text).translate(_GLYPHS)


@dataclass(frozen=True)
class Meaning:
    """One thing that a name can mean.

    `key` is None for a name that is known and no instrument of the table; `languages` are those
    in which it means this; `kind` is name, open (a name that leaves the size open, the usual one
    is meant) or abbreviation.
    """

    key: str | None
    family: str
    languages: frozenset[str]
    kind: str


@dataclass(frozen=True)
class Vocabulary:
    """Joined names, words beside them (kind, value) and tones, as the tables have them."""

    names: Mapping[str, tuple[Meaning, ...]]
    words: Mapping[str, tuple[str, str]]
    tones: Mapping[str, str]


def joined(text: str) -> str:
    """The form in which names are compared: letters and digits, accidentals and accents kept."""
    text = plain(text).lower()
    return "".join(mark for mark in text.replace("♭", "b") if mark.isalnum() or mark in "♯#♮")


@cache
def vocabulary(reference: Reference) -> Vocabulary:
    """The vocabulary of part names, put together once."""
    found: dict[tuple[str, str | None, str], dict[str, set[str]]] = {}
    for text, key, family, language, kind in _spellings(reference):
        kinds = found.setdefault((joined(text), key, family), {})
        kinds.setdefault(kind, set()).add(language)
    names: dict[str, list[Meaning]] = {}
    for (form, key, family), kinds in found.items():
        kind = min(kinds, key=_KINDS.index)
        languages = frozenset().union(*kinds.values())
        names.setdefault(form, []).append(Meaning(key, family, languages, kind))
    order = {key: place for place, key in enumerate(reference.instruments)}
    for meanings in names.values():
        meanings.sort(
            key=lambda m: (_KINDS.index(m.kind), -len(m.languages), order.get(m.key or "", -1))
        )
    return Vocabulary(
        {name: tuple(meanings) for name, meanings in names.items()},
        {row.word: (row.kind, row.value) for row in reversed(reference.part_name_words)},
        _tones(reference),
    )


def _spellings(reference: Reference) -> Iterator[tuple[str, str | None, str, str, str]]:
    """Every spelling with key, family, language and kind; catalogue codes are left out."""
    for row in reference.instruments.values():
        for language, column in _COLUMNS.items():
            for name in getattr(row, column):
                if "(" not in name:
                    yield name, row.key, row.family, language, "name"
    for item in reference.part_names:
        family = reference.instruments[item.key].family if item.key else item.family
        yield item.name, item.key or None, family, item.language, ("name", "open")[item.size_open]
    for entry in reference.abbreviations:
        if entry.usage == "score":
            family = reference.instruments[entry.key].family
            yield entry.abbreviation, entry.key, family, entry.language, "abbreviation"


def _tones(reference: Reference) -> dict[str, str]:
    """Canonical tone by its names in four languages, joined; from the table of crooks."""
    tones: dict[str, str] = {}
    for row in reference.crooks:
        tone = tone_of_crook(row.crook)
        for english in tone.split(" / "):
            tones[joined(english)] = tone
            tones[joined(english.replace("-flat", "b").replace("-sharp", "#"))] = tone
            tones[joined(english.replace("-sharp", "♯"))] = tone
        for printed in (row.german, row.french, row.italian):
            for name in printed.split("/"):
                tones.setdefault(joined(name), tone)
                tones.setdefault(joined(re.sub(" (bémol|bemolle)$", "b", name)), tone)
    naturals = {"C": "C", "D": "D", "E": "E", "F": "F", "G": "G", "A": "A", "H": "B-natural"}
    tones.update({name.lower(): tone for name, tone in naturals.items()})
    tones.update({"b": UNDECIDED_B, "b♮": "B-natural", "ré": "D", "re": "D", "do": "C"})
    return tones


def tone_of_crook(crook: str) -> str:
    """The tone in the name of a crook: "B-flat" of "B-flat alto"."""
    return re.sub(r"\b(alto|basso|low|high|piccolo)\b|\(.*?\)", "", crook).strip()


def words_of(text: str, reference: Reference) -> frozenset[str]:
    """The kinds of the words in a text (`part_name_words.csv`): solo, chorus, section and so on."""
    words = vocabulary(reference).words
    tokens = re.findall(r"[^\W\d_]+", plain(text).lower())
    return frozenset(words[token][0] for token in tokens if token in words)
