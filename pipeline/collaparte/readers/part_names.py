"""Names of parts as printed, read into the instruments, numbers, keys and words they hold.

"2. Klarinette in B", "Cor en fa", "Fl. I, II", "Bb (alto) Horn 2" or "Soprano / Oboe 1.2 /
Violin 1" are taken apart here by words alone; what an ambiguous word means is decided in
`instruments`, which knows the transposition, the sound id and the other parts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

from collaparte.readers.name_vocabulary import (
    UNDECIDED_B,
    Meaning,
    Vocabulary,
    joined,
    plain,
    vocabulary,
)
from collaparte.reference import Reference

_WINDOW = 6
_TOKEN = re.compile(
    r"(?P<number>\d{1,4})|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)*[♭♯♮#]?)|(?P<mark>[/,&+;:\n()\[\].–—-])"
)
_ORDINALS = frozenset(
    {"st", "nd", "rd", "th", "er", "re", "ère", "e", "ème", "me", "o", "a", "º", "ª"}
)
_ROMAN = {"I": 1, "II": 2, "III": 3, "IV": 4, "V": 5, "VI": 6, "VII": 7, "VIII": 8}


@dataclass(frozen=True)
class Mention:
    """One instrument named in the name of a part, or a whole name that names none.

    Attributes
    ----------
    label
        What is printed, for people.
    meanings
        What the instrument's name can mean; empty where it is not understood.
    numbers
        Numbers of the players, in order: (1, 2) of "Fl. I, II" and of "2 Flöten".
    tones
        Key letters as in `crooks.csv` ("B-flat", "F"), `UNDECIDED_B` for a plain "B".
    octave
        "alto" or "basso" beside a key letter, or None.
    ensemble
        solo, chorus or section where a word says so, or None.
    alternatives
        What other instruments the same player takes ("Flute 2 (Piccolo)"), as meanings.
    understood
        False where a word of the name is in no table.
    """

    label: str
    meanings: tuple[Meaning, ...] = ()
    numbers: tuple[int, ...] = ()
    tones: tuple[str, ...] = ()
    octave: str | None = None
    ensemble: str | None = None
    alternatives: tuple[tuple[Meaning, ...], ...] = ()
    understood: bool = True

    @property
    def is_letter(self) -> bool:
        """The whole name is one letter, with or without a number: "S.", "C2", "P1"."""
        return len(self.label.strip(" .0123456789")) == 1


@lru_cache(maxsize=4096)
def read_name(text: str, reference: Reference, letters_first: bool = False) -> tuple[Mention, ...]:
    """What the name of a part says, one mention an instrument; never empty.

    Parameters
    ----------
    letters_first
        Read "A Cl." as a clarinet in A where the tables of abbreviations have an alto clarinet.
    """
    text = plain(text)
    items = _Scanner(text, vocabulary(reference), letters_first).items()
    return tuple(_mention(text, items[start:stop]) for start, stop in _segments(items))


# ------------------------------------------------------------------------------------ scanning


@dataclass
class _Item:
    kind: str
    start: int
    stop: int
    depth: int
    value: str = ""
    numbers: tuple[int, ...] = ()
    dotted: bool = False
    meanings: tuple[Meaning, ...] = ()
    octave: str | None = None


@dataclass
class _Scanner:
    text: str
    vocabulary: Vocabulary
    letters_first: bool
    tokens: list[re.Match[str]] = field(default_factory=list)
    found: list[_Item] = field(default_factory=list)
    depth: int = 0

    def items(self) -> list[_Item]:
        self.tokens = list(_TOKEN.finditer(self.text))
        place = 0
        while place < len(self.tokens):
            place = self.step(place)
        return self.found

    def step(self, place: int) -> int:
        """Read one item at a token; the place of the next token."""
        token = self.tokens[place]
        if token["mark"]:
            self.depth += token[0] in "(["
            self.add("mark", place, 1, value=token[0])
            self.depth -= token[0] in ")]"
            return place + 1
        if token["number"] or (token[0] in _ROMAN and (token[0] != "V" or self.instrument())):
            return self.number(place)
        kind, value = self.vocabulary.words.get(token[0].lower(), ("", ""))
        if kind == "key":
            size, tone = self.tone(place + 1)
            return self.tones(place, size + 1, tone) if size else self.add("ignored", place, 1)
        if kind == "chorus":
            return self.add(kind, place, 1, meanings=self.vocabulary.names.get(joined(token[0])))
        size, meanings = self.name(place)
        letter, tone = self.tone(place)
        if letter and (size < 2 or self.letters_first) and self.is_key(place, letter):
            return self.tones(place, letter, tone)
        if kind == "and" and self.instrument():
            return self.add(kind, place, 1)
        if size:
            return self.add("instrument", place, size, meanings=meanings)
        return self.add(kind or "unknown", place, 1, value=value)

    def add(
        self,
        kind: str,
        place: int,
        size: int,
        value: str = "",
        meanings: tuple[Meaning, ...] | None = None,
    ) -> int:
        start, stop = self.tokens[place].start(), self.tokens[place + size - 1].end()
        item = _Item(kind, start, stop, self.depth, value, meanings=meanings or ())
        self.found.append(item)
        return place + size

    def instrument(self) -> bool:
        return any(item.kind == "instrument" for item in self.found)

    def number(self, place: int) -> int:
        token = self.tokens[place]
        ahead = self.tokens[place + 1 : place + 2]
        glued = bool(ahead) and ahead[0].start() == token.end()
        ordinal = glued and ahead[0][0].lower() in _ORDINALS
        self.add("number", place, 1 + ordinal)
        item = self.found[-1]
        item.numbers = (_ROMAN.get(token[0]) or int(token[0]),)
        item.dotted = ordinal or (glued and ahead[0][0] == ".") or not token["number"]
        return place + 1 + ordinal

    def name(self, place: int) -> tuple[int, tuple[Meaning, ...]]:
        """The longest known name that begins here: its size in tokens, 0 where none does."""
        text, size = "", 0
        best: tuple[int, tuple[Meaning, ...]] = (0, ())
        for token in self.tokens[place : place + 2 * _WINDOW]:
            size += 1
            if token["mark"] and token[0] in ".-–\n":
                continue
            if not token["word"] or (text and token[0] in _ROMAN):
                break
            text += joined(token[0])
            if text in self.vocabulary.names:
                best = (size, self.vocabulary.names[text])
        return best

    def tone(self, place: int) -> tuple[int, str]:
        """The tone named here: its size in tokens, 0 where none is."""
        text, size, best = "", 0, (0, "")
        for token in self.tokens[place : place + 3]:
            size += 1
            if token[0] == "-" and size == 2:
                continue
            if not token["word"]:
                break
            text += joined(token[0])
            if text in self.vocabulary.tones:
                best = (size, self.vocabulary.tones[text])
        return best

    def is_key(self, place: int, size: int) -> bool:
        """A bare letter is a key beside an instrument that has keys, or in brackets."""
        word = self.tokens[place][0]
        before = [item for item in self.found if item.kind in {"instrument", "tone"}]
        if before and before[-1].kind == "tone":
            return word.lower() not in self.vocabulary.words
        if not word[0].isupper():
            return False
        if before:
            return _takes_keys(before[-1].meanings)
        return self.instrument_follows(place + size)

    def instrument_follows(self, place: int) -> bool:
        while place < len(self.tokens):
            token = self.tokens[place]
            kind, _ = self.vocabulary.words.get(token[0].lower(), ("", ""))
            letter, _ = self.tone(place)
            size, meanings = self.name(place)
            if size and (not letter or size > 1) and kind not in {"high", "low"}:
                return _takes_keys(meanings)
            if not (token["mark"] or letter or kind in {"high", "low", "and", "solo"}):
                return False
            place += letter or 1
        return False

    def tones(self, place: int, size: int, tone: str) -> int:
        """A key letter with the word of its octave, if one follows."""
        place = self.add("tone", place, size, value=tone)
        item, ahead = self.found[-1], place
        while ahead < len(self.tokens) and self.tokens[ahead][0] in "([":
            ahead += 1
        if ahead < len(self.tokens):
            kind, value = self.vocabulary.words.get(self.tokens[ahead][0].lower(), ("", ""))
            if kind in {"high", "low"}:
                item.octave = value
                ahead += 1
                while ahead < len(self.tokens) and self.tokens[ahead][0] in ")]":
                    ahead += 1
                item.stop = self.tokens[ahead - 1].end()
                return ahead
        return place


def _takes_keys(meanings: Iterable[Meaning]) -> bool:
    return any(
        meaning.family in {"woodwind", "brass"} or meaning.key == "timpani" for meaning in meanings
    )


# ------------------------------------------------------------------------------------ grouping


def _segments(items: Sequence[_Item]) -> list[tuple[int, int]]:
    """Bounds of the stretches that name one instrument each."""
    depth = min((item.depth for item in items if item.kind == "instrument"), default=0)
    places = [
        place
        for place, item in enumerate(items)
        if item.kind == "instrument" and item.depth == depth and not _is_other(items[:place])
    ]
    bounds = [0]
    for place, following in pairwise(places):
        cut = following
        while cut - 1 > place and items[cut - 1].kind in {"tone", "solo"}:
            cut -= 1
        separators = [
            spot
            for spot in range(place + 1, following)
            if items[spot].kind == "and"
            or (items[spot].kind == "mark" and items[spot].value in "/,&+;\n")
        ]
        bounds.append(separators[-1] + 1 if separators else cut)
    return list(zip(bounds, [*bounds[1:], len(items)], strict=True))


def _is_other(before: Sequence[_Item]) -> bool:
    """The instrument after "or", "auch", "muta" is taken by the same player."""
    return any(item.kind == "or" for item in before) and any(
        item.kind == "instrument" for item in before
    )


def _mention(text: str, items: Sequence[_Item]) -> Mention:
    asides = {item.depth for item in items if item.kind == "aside" and item.depth}
    plain = [item for item in items if item.depth not in asides]
    instruments = [item for item in plain if item.kind == "instrument"]
    choirs = [item for item in plain if item.kind == "chorus"]
    named = instruments[0] if instruments else choirs[0] if choirs else None
    tones = [item for item in plain if item.kind == "tone"]
    stated = [item.value for item in items if item.kind == "tone" and item.depth in asides]
    ensembles = [item.kind for item in plain if item.kind in {"solo", "chorus", "section"}]
    return Mention(
        label=_label(text, plain),
        meanings=named.meanings if named else (),
        numbers=_numbers(plain, named),
        tones=tuple(_clear(item.value, stated) for item in tones),
        octave=next((item.octave for item in tones if item.octave), None),
        ensemble=ensembles[0] if ensembles else None,
        alternatives=tuple(item.meanings for item in instruments[1:]),
        understood=not any(item.kind == "unknown" for item in plain),
    )


def _clear(tone: str, stated: Sequence[str]) -> str:
    """A plain B as an editor's remark explains it."""
    explained = [other for other in stated if other.startswith("B-")]
    return explained[0] if tone == UNDECIDED_B and explained else tone


def _numbers(items: Sequence[_Item], named: _Item | None) -> tuple[int, ...]:
    """Numbers of the players: those after the name, ordinals before it, or a count before it."""
    choir = [item.kind == "chorus" for item in (items[0], *items)] if items else []
    own = [item for item, of_choir in zip(items, choir, strict=False) if not of_choir]
    before = [item for item in own if named and item.start < named.start]
    after = [item for item in items if not named or item.start > named.start]
    numbers = _listed(after) or _listed(before, dotted=True)
    if numbers or not named:
        return numbers
    counts = [item.numbers[0] for item in before if item.kind == "number" and not item.dotted]
    counts += [int(item.value) for item in before if item.kind == "count"]
    return tuple(range(1, counts[0] + 1)) if counts and counts[0] <= 32 else ()


def _listed(items: Sequence[_Item], dotted: bool = False) -> tuple[int, ...]:
    numbers: list[int] = []
    words = [int(item.value) for item in items if item.kind == "ordinal"]
    for place, item in enumerate(items):
        if item.kind == "number" and (item.dotted or not dotted):
            value = item.numbers[0]
            dash = place > 1 and items[place - 1].value in {"-", "–", "—"} and numbers
            numbers.extend(range(numbers[-1] + 1 if dash else value, value + 1))
    return tuple(dict.fromkeys(numbers or words))


def _label(text: str, items: Sequence[_Item]) -> str:
    """What is printed, on one line, without asides and the separators at its ends."""
    while items and items[0].kind in {"mark", "and"} and items[0].value not in {"(", "["}:
        items = items[1:]
    while items and items[-1].kind in {"mark", "and"} and items[-1].value not in {")", "]", "."}:
        items = items[:-1]
    pieces: list[str] = []
    last = None
    for item in items:
        gap = text[last.stop : item.start] if last else ""
        pieces.append(gap if not last or gap.isspace() or not gap else " ")
        pieces.append(text[item.start : item.stop])
        last = item
    label = re.sub(r"\s+", " ", "".join(pieces)).strip()
    return re.sub(r"\s*[(\[]\s*[)\]]", "", label).strip()
