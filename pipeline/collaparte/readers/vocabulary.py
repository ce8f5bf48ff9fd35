"""The words of scores as phrases of tokens, and the cutting of a text into tokens.

A vocabulary is built once from the reference data: every form of a term, of a word of another
kind (hairpins, numbers, doubling …) and of a plain word becomes a phrase, a tuple of folded
tokens. Texts are cut in the same way, so that "con sord.", "Con  sord" and "con sord.," are one
phrase.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from collaparte.reference import Reference

_LANGUAGES = ("italian", "french", "german", "english", "abbreviations")

_NOTE = r"[♩♪\U0001D157\U0001D158\U0001D15D][\U0001D165-\U0001D172]*"
_TOKEN = re.compile(
    rf"[=+&½]|{_NOTE}|"
    r"[^\s.,;:()\[\]{}\"“”„«»<>|/\\_=+&½*…!?'–—‐‑\-^~♩♪\U0001D157-\U0001D172]+[.']?"
)
_MARKUP = re.compile(r"</?[a-zA-Z][^<>]*>")
_GLUED = re.compile(r"(a|à|zu|div|I{1,3})(\d{1,2}\.?)", re.IGNORECASE)
_PRIVATE = re.compile("[\ue000-\uf8ff]+")
_ACCIDENTALS = str.maketrans({"♭": "b", "♯": "#"})

_PAGE_WORDS = {
    "string": ("strings",),
    "woodwind": ("woodwind", "wind"),
    "brass": ("brass", "wind"),
    "percussion": ("percussion",),
    "keyboard": ("keyboard",),
    "plucked": ("plucked",),
    "voice": ("choir", "voices"),
}
_PAGE_WORDS_OF_SUBFAMILY = {
    "horns": ("horn",),
    "trombones": ("trombone",),
    "timpani": ("timpani",),
    "harps": ("harp",),
    "continuo": ("strings",),
}


@dataclass(frozen=True, slots=True)
class Token:
    """One word of a text.

    `text` is as printed without brackets and commas, `key` its folded form, `linked` tells that
    a hyphen or dash stands before it, `dotted` that a full stop follows.
    """

    text: str
    key: str
    linked: bool
    dotted: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """What one phrase may mean: a term (kind `term`), a plain word, or a word of another kind.

    `families` uses the words of the page; empty means every family.
    """

    kind: str
    id: str
    group: str = ""
    families: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Vocabulary:
    """All phrases, and what else the reading of words needs.

    Attributes
    ----------
    phrases
        Entries by phrase, a tuple of folded tokens; terms first, in the order of the files.
    longest
        Tokens of the longest phrase by its first token.
    keys
        Names of keys and crooks as phrases.
    symbols, glyphs
        Text by the SMuFL name of a glyph, as the element `symbol` gives it, and by character.
    degrees
        Degree of the scale by mark.
    reference
        The reference data that the vocabulary was built from.
    """

    phrases: Mapping[tuple[str, ...], tuple[Entry, ...]]
    longest: Mapping[str, int]
    keys: frozenset[tuple[str, ...]]
    symbols: Mapping[str, str]
    glyphs: Mapping[str, str]
    degrees: Mapping[str, float]
    reference: Reference

    def tokens(self, text: str) -> tuple[Token, ...]:
        """The words of `text`, in order."""
        return tokens(self.printed(text))

    def printed(self, text: str) -> str:
        """The text with the glyphs of music fonts as the letters that they show."""
        return _PRIVATE.sub(self._plain_glyphs, text)

    def _plain_glyphs(self, match: re.Match[str]) -> str:
        return "".join(self.glyphs.get(character, " ") for character in match[0])

    def entries(
        self, words: Sequence[Token], start: int, kinds: Iterable[str] | None = None
    ) -> Iterator[tuple[int, tuple[Entry, ...]]]:
        """Phrases that begin at `start`, longest first: number of tokens and their entries.

        Tokens that hyphens link are tried as one word too ("di-mi-nu-en-do").
        """
        allowed = None if kinds is None else frozenset(kinds)
        for length in range(self._longest(words, start), 0, -1):
            part = words[start : start + length]
            found = self.phrases.get(tuple(word.key for word in part), ())
            if not found and length > 1 and all(word.linked for word in part[1:]):
                found = self.phrases.get(("".join(word.key for word in part),), ())
            if allowed is not None:
                found = tuple(entry for entry in found if entry.kind in allowed)
            if found:
                yield length, found

    def _longest(self, words: Sequence[Token], start: int) -> int:
        """Tokens of the longest phrase that can begin at `start`."""
        if start >= len(words):
            return 0
        linked = 1
        while start + linked < len(words) and words[start + linked].linked:
            linked += 1
        longest = max(self.longest.get(words[start].key, 0), linked)
        return min(longest, len(words) - start)


@cache
def vocabulary_of(reference: Reference) -> Vocabulary:
    """The vocabulary of the reference data, built once."""
    phrases: dict[tuple[str, ...], list[Entry]] = defaultdict(list)
    for form, entry in _forms(reference):
        phrase = tuple(word.key for word in tokens(form))
        if phrase and entry not in phrases[phrase]:
            phrases[phrase].append(entry)
    longest: dict[str, int] = {}
    for phrase in phrases:
        longest[phrase[0]] = max(len(phrase), longest.get(phrase[0], 0))
    degrees = {mark: float(row.degree) for mark, row in reference.dynamics.items()}
    return Vocabulary(
        phrases=MappingProxyType({phrase: tuple(found) for phrase, found in phrases.items()}),
        longest=MappingProxyType(longest),
        keys=frozenset(_keys(reference)),
        symbols=MappingProxyType({row.name: row.text for row in reference.glyphs}),
        glyphs=MappingProxyType({row.character: row.text for row in reference.glyphs}),
        degrees=MappingProxyType(degrees),
        reference=reference,
    )


def tokens(text: str) -> tuple[Token, ...]:
    """The words of `text` without SMuFL glyphs, in order."""
    text = unicodedata.normalize("NFC", text).replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    text = re.sub(r"(?<!\d)1/2(?!\d)", "½", _MARKUP.sub(" ", text))
    found: list[Token] = []
    end = 0
    for match in _TOKEN.finditer(text):
        linked = any(dash in text[end : match.start()] for dash in "-–—‐‑_")
        end = match.end()
        found += _split(match[0], linked and bool(found))
    return tuple(found)


def page_words(family: str | None, subfamily: str | None) -> tuple[tuple[str, ...], ...]:
    """Words of the page for a family, narrowest first, each rank a tuple of equal words."""
    narrow = _PAGE_WORDS_OF_SUBFAMILY.get(subfamily or "", ())
    return (narrow, *((word,) for word in _PAGE_WORDS.get(family or "", ())), ("all",))


def narrowest(
    entries: Iterable[Entry], family: str | None, subfamily: str | None
) -> tuple[Entry, ...]:
    """The entries that hold for the family, of the narrowest word that any of them has.

    Where the family is not known, an entry is taken only when all of them mean the same, and
    none that names players.
    """
    entries = tuple(entries)
    if family is None:
        is_clear = len({entry.id for entry in entries}) == 1 and entries[0].group != "players"
        return entries if is_clear else ()
    for rank in page_words(family, subfamily):
        found = tuple(entry for entry in entries if not set(rank).isdisjoint(entry.families))
        if found:
            return found
    return tuple(entry for entry in entries if not entry.families)


def _forms(reference: Reference) -> Iterator[tuple[str, Entry]]:
    """Every form of the files with its entry."""
    for term in reference.terms.values():
        entry = Entry("term", term.id, term.group, term.families, term.ends)
        for language in _LANGUAGES:
            for form in getattr(term, language):
                yield form, entry
    for variant in reference.term_variants:
        term = reference.terms[variant.id]
        families = variant.families or term.families
        yield variant.form, Entry("term", term.id, term.group, families, term.ends)
    for mark in (*reference.dynamics, *reference.dynamic_accents):
        accent = reference.dynamic_accents.get(mark)
        if accent is None or accent.degrees is None or accent.kind != "modifier":
            yield mark, Entry("dynamic", mark)
    for word in reference.direction_words:
        for language in _LANGUAGES:
            for form in getattr(word, language):
                yield form, Entry(word.kind, word.id)
    for plain in reference.plain_words:
        yield plain.words, Entry(plain.kind, plain.kind)


def _keys(reference: Reference) -> Iterator[tuple[str, ...]]:
    """Names of keys: those of the crooks, and letters with an accidental."""
    forms = [
        f"{letter}{sign}" for letter in "CDEFGAB" for sign in ("", "b", "#", " flat", " sharp")
    ]
    syllables = ("ut", "do", "re", "mi", "fa", "sol", "la", "si")
    signs = ("", "b", "#", " bemol", " bemolle", " diese", " diesis")
    forms += [f"{syllable}{sign}" for syllable in syllables for sign in signs]
    for crook in reference.crooks:
        for column in (crook.crook, crook.german, crook.french, crook.italian):
            forms += re.split("[/;]", column)
    for form in forms:
        phrase = tuple(word.key for word in tokens(form))
        if phrase:
            yield phrase


def _split(printed: str, linked: bool) -> list[Token]:
    """One token, or two where letters and a number are glued ("a2")."""
    glued = _GLUED.fullmatch(printed)
    parts = [glued[1], glued[2]] if glued else [printed]
    made = []
    for number, part in enumerate(parts):
        key = _folded(part)
        if key:
            made.append(Token(part, key, linked and number == 0, part.endswith(".")))
    return made


def _folded(word: str) -> str:
    """A word in lower case without accents, full stop and apostrophe."""
    if re.fullmatch(_NOTE, word):
        return word
    plain = unicodedata.normalize("NFD", word.rstrip(".'").translate(_ACCIDENTALS).casefold())
    kept = "".join(character for character in plain if not unicodedata.combining(character))
    return kept if any(c.isalnum() or c in "=+&½" for c in kept) else ""
