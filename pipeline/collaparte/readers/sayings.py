"""Directions understood: what each one says for the part that it stands in.

Every different text is read once for each kind of part; the meanings are those of `words` and
`dynamics`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from collaparte.readers.dynamics import parse
from collaparte.readers.meanings import Meaning, Understanding
from collaparte.readers.musicxml.directions import (
    DYNAMICS,
    METRONOME,
    OTHER,
    REHEARSAL,
    SOUND,
    WEDGE,
    WORDS,
    Directions,
)
from collaparte.readers.named_lines import instrument_named
from collaparte.readers.parts import PartFacts
from collaparte.readers.vocabulary import Vocabulary, vocabulary_of
from collaparte.readers.words import understand
from collaparte.reference import Reference

KIND_ORDER = (
    "doubling",
    "instrument",
    "players",
    "technique",
    "dynamic",
    "hairpin",
    "rehearsal",
    "tempo",
    "jump",
    "note",
    "heading",
    "expression",
)
"""Of several meanings the first of these names the direction."""

_SHOWN = {"note": "other", "heading": "other", "expression": "other", "jump": "other"}


Context = tuple[str | None, str | None, tuple[int, ...]]
"""Family, subfamily and printed player numbers of a part."""


@dataclass(frozen=True)
class Saying:
    """What one text says in one kind of part; `kind` is that of the table `directions`."""

    kind: str
    meanings: tuple[Meaning, ...]
    leftover: str

    @property
    def ids(self) -> str | None:
        """Ids of what was understood, sorted, for the table; None where nothing was."""
        found = sorted({meaning.id or meaning.kind for meaning in self.meanings})
        return "; ".join(found) or None


@dataclass(frozen=True)
class Sayings:
    """`sayings[code[i]]` is what direction i says."""

    code: npt.NDArray[np.int32]
    sayings: tuple[Saying, ...]

    def having(self, kind: str) -> list[tuple[int, Meaning]]:
        """Directions with a meaning of this kind, in order, with that meaning."""
        wanted = [
            [meaning for meaning in saying.meanings if meaning.kind == kind]
            for saying in self.sayings
        ]
        some = np.array([bool(meanings) for meanings in wanted], bool)
        found = np.flatnonzero(some[self.code])
        return [
            (direction, meaning)
            for direction, code in zip(found.tolist(), self.code[found].tolist(), strict=True)
            for meaning in wanted[code]
        ]


def sayings_of(directions: Directions, parts: Sequence[PartFacts], reference: Reference) -> Sayings:
    """What every direction says."""
    contexts: dict[Context, int] = {}
    context_of_part = np.array(
        [contexts.setdefault(_context(facts, reference), len(contexts)) for facts in parts],
        np.int64,
    )
    context = context_of_part[directions.part]
    texts = len(directions.texts)
    number = (directions.kind.astype(np.int64) * texts + directions.text) * len(contexts) + context
    distinct, code = np.unique(number, return_inverse=True)
    by_number = list(contexts)
    vocabulary = vocabulary_of(reference)
    found = []
    for value in distinct.tolist():
        rest, place = divmod(value, len(contexts))
        kind, text = divmod(rest, texts)
        printed = directions.texts[text]
        if kind == WORDS:
            found.append(_words(printed, *by_number[place], vocabulary))
        elif kind == DYNAMICS:
            found.append(_dynamics(directions.dynamics[printed], by_number[place], vocabulary))
        else:
            found.append(_RULES[kind](printed))
    return Sayings(code.astype(np.int32), tuple(found))


def _context(facts: PartFacts, reference: Reference) -> Context:
    identity = facts.identities[0]
    row = reference.instruments.get(identity.instrument or "")
    return identity.family, row.subfamily if row else None, identity.players


@cache
def _words(
    text: str,
    family: str | None,
    subfamily: str | None,
    players: tuple[int, ...],
    vocabulary: Vocabulary,
) -> Saying:
    reference = vocabulary.reference
    understood = understand(
        text,
        family,
        subfamily,
        vocabulary,
        printed_player_numbers=players,
        identify_name=lambda name: instrument_named(name, reference),
    )
    return _saying(understood)


def _saying(understood: Understanding) -> Saying:
    kinds = {meaning.kind for meaning in understood.meanings}
    first = next((kind for kind in KIND_ORDER if kind in kinds), "other")
    return Saying(_SHOWN.get(first, first), understood.meanings, understood.leftover)


@cache
def _dynamics(
    parts: tuple[tuple[str, str], ...], context: Context, vocabulary: Vocabulary
) -> Saying:
    mark = parse(parts, vocabulary)
    besides = _words(mark.rest, *context, vocabulary) if mark.rest else Saying("", (), "")
    name = mark.mark or " ".join(mark.modifiers)
    own = (Meaning("dynamic", name, mark.printed, dynamic=mark),) if name else ()
    return Saying("dynamic", own + besides.meanings, besides.leftover)


def _wedge(text: str) -> Saying:
    return Saying("hairpin", (Meaning("hairpin", text.split()[0], text),), "")


def _rehearsal(text: str) -> Saying:
    return Saying("rehearsal", (Meaning("rehearsal", "rehearsal", text),), "")


def _metronome(text: str) -> Saying:
    return Saying("tempo", (Meaning("tempo", "metronome", text),), "")


def _sound(text: str) -> Saying:
    name, _, value = text.partition("=")
    if name == "pizzicato":
        term = ("pizz", "bow") if value == "yes" else ("arco", "bow")
    elif name == "mute":
        term = ("mute_off", "mute") if value in ("off", "") else ("mute_on", "mute")
    else:
        return Saying("instrument", (Meaning("instrument", "sound", text, target=value),), "")
    return Saying("technique", (Meaning("technique", term[0], text, group=term[1]),), "")


def _other(text: str) -> Saying:
    if text.startswith("string-mute"):
        return _sound("mute=" + text.rpartition(" ")[2])
    return Saying("other", (Meaning("note", text.split()[0], text),), "")


_RULES = {
    WEDGE: _wedge,
    REHEARSAL: _rehearsal,
    METRONOME: _metronome,
    SOUND: _sound,
    OTHER: _other,
}
