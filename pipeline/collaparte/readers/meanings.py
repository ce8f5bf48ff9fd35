"""What a text in a score can mean: the types that the rules of `words` share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from collaparte.readers.dynamics import DynamicMark
from collaparte.readers.vocabulary import Entry, Token, Vocabulary

IdentifyName = Callable[[str], str | None]
"""The key of `instruments.csv` that a printed name means, or None."""

NOT_OURS = frozenset({"tempo", "expression", "heading"})
"""Kinds of meaning that no table of notes depends on."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing that a text says.

    Attributes
    ----------
    kind
        technique, players, dynamic, hairpin, instrument, doubling, rehearsal, note, jump; or,
        none of our business, tempo, expression, heading.
    id
        Id of `terms.csv` or `direction_words.csv`; of a dynamic its mark; players that no term
        names are `player_5`, `players_1_2_3`; an instrument's name alone is `named`.
    text
        The words that say so, joined by blanks.
    group, ends
        State group of the term, and what it ends besides its own group.
    qualifiers
        Ids of words around it: sempre, molto, poco_a_poco …
    numbers
        Numbers of players, of desks (first_desk) or of the players of the line that is doubled.
    count
        How many players or parts, where the text says so ("2 Soli", "div. a 5").
    dynamic
        The dynamic, of kind dynamic only.
    target, target_key
        Line, instrument or key that is meant, as printed and as a key of `instruments.csv` (or
        `bass`, `voice`, `part`, the lines that no single instrument names).
    """

    kind: str
    id: str
    text: str
    group: str = ""
    ends: tuple[str, ...] = ()
    qualifiers: tuple[str, ...] = ()
    numbers: tuple[int, ...] = ()
    count: int | None = None
    dynamic: DynamicMark | None = None
    target: str | None = None
    target_key: str | None = None


@dataclass(frozen=True, slots=True)
class Understanding:
    """What a text means, in order, and the words that were not understood."""

    meanings: tuple[Meaning, ...]
    leftover: str

    @property
    def is_ours(self) -> bool:
        """Whether it says anything that a table of notes can depend on."""
        return any(meaning.kind not in NOT_OURS for meaning in self.meanings)


@dataclass(frozen=True, slots=True)
class Situation:
    """A text with all that decides what it means."""

    words: tuple[Token, ...]
    family: str | None
    subfamily: str | None
    vocabulary: Vocabulary
    printed_player_numbers: tuple[int, ...]
    identify_name: IdentifyName

    def text(self, start: int, end: int) -> str:
        """The words from `start` to before `end`."""
        return " ".join(word.text for word in self.words[start:end])

    def first(self, start: int, *kinds: str) -> tuple[int, Entry] | None:
        """The longest phrase of these kinds at `start`: number of tokens and its first entry."""
        for length, entries in self.vocabulary.entries(self.words, start, kinds):
            return length, entries[0]
        return None

    def name(self, start: int, longest: int = 5) -> tuple[int, str] | None:
        """The longest instrument name at `start`: number of tokens and its key."""
        if start >= len(self.words) or self.first(start, "conjunction", "article"):
            return None
        for length in range(min(longest, len(self.words) - start), 0, -1):
            if self.first(start + length - 1, "conjunction") is None:
                key = self.identify_name(self.text(start, start + length))
                if key is not None:
                    return length, key
        return None


Found = tuple[int, Meaning] | None
"""What a rule finds at a place: number of tokens and the meaning."""

_KIND_OF_GROUP = {
    "division": "players",
    "section": "players",
    "players": "players",
    "prominence": "players",
    "octave": "note",
    "instrument": "instrument",
    "crook": "instrument",
}


def meaning_of_term(entry: Entry, text: str) -> Meaning:
    """The meaning of a term by its state group; what ends a technique is one ("loco")."""
    kind = "technique" if entry.ends else _KIND_OF_GROUP.get(entry.group, "technique")
    return Meaning(kind, entry.id, text, group=entry.group, ends=entry.ends)
