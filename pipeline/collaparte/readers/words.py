"""What the words of a score say.

A text is cut into tokens; from left to right the longest phrase that the part's family knows is
taken. Words such as "sempre" or "molto" go with what follows them, else with what stands before.
What is not understood is handed back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from collaparte.readers.dynamics import DynamicMark, dynamic_at
from collaparte.readers.meanings import (
    Found,
    IdentifyName,
    Meaning,
    Situation,
    Understanding,
    meaning_of_term,
)
from collaparte.readers.named_lines import change_at, doubling_at, name_at
from collaparte.readers.player_words import numbers_at, players_at, with_numbers
from collaparte.readers.vocabulary import Vocabulary, narrowest

_LOOSE = ("modifier", "qualifier", "conjunction")
_WHOLE = ("hairpin", "players", "note", "jump", "tempo", "expression", "heading")
_LOOK_BACK = frozenset({"subito", "if_possible", "to_the_end", "at_first"})
_NOTE_LETTERS = frozenset("qehsw")  # of a metronome mark typed in letters
_HIGHEST_PLAYER = 8
_HIGHEST_FIGURE = 999


def understand(
    text: str,
    family: str | None,
    subfamily: str | None,
    vocabulary: Vocabulary,
    *,
    printed_player_numbers: tuple[int, ...] = (),
    identify_name: IdentifyName | None = None,
) -> Understanding:
    """The meanings of one text, and the words that were not understood.

    Parameters
    ----------
    text
        The words of one direction, joined in order.
    family, subfamily
        Of the part's instrument, as in the table of instruments; None where not known: then only
        words are understood that mean the same in every family.
    printed_player_numbers
        Numbers of the players in the part's name: (3, 4) of "Horns 3. 4.".
    identify_name
        The key of the instrument that a printed name means, or None; without it only the lines
        of `direction_words.csv` are known by name.

    Returns
    -------
    Understanding
        Every token of the text belongs to one meaning or to the leftover.
    """
    situation = Situation(
        vocabulary.tokens(text),
        family,
        subfamily,
        vocabulary,
        printed_player_numbers,
        identify_name or _no_name,
    )
    alone = _letter_or_figure(situation)
    if alone:
        return Understanding((alone,), "")
    return _merged(_pieces(situation), situation)


def _no_name(_: str) -> str | None:
    return None


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of tokens: a meaning, a loose word (kind and id), or neither."""

    start: int
    end: int
    meaning: Meaning | None = None
    loose: tuple[str, str] | None = None


def _pieces(situation: Situation) -> list[_Piece]:
    pieces: list[_Piece] = []
    place = 0
    while place < len(situation.words):
        length, meaning = _meaning_at(situation, place) or (0, None)
        loose = situation.first(place, *_LOOSE)
        if loose and loose[0] > length:
            length, entry = loose
            pieces.append(_Piece(place, place + length, loose=(entry.kind, entry.id)))
        else:
            length = length or 1
            pieces.append(_Piece(place, place + length, meaning))
        place += length
    return pieces


def _meaning_at(situation: Situation, start: int) -> Found:
    """The longest meaning at `start`; of equal length, by the order of the rules."""
    rules = (players_at, _phrase_at, change_at, doubling_at, _dynamic_at, _metronome_at)
    found = [result for rule in rules if (result := rule(situation, start))]
    if found:
        return max(found, key=lambda result: result[0])
    return name_at(situation, start)


def _phrase_at(situation: Situation, start: int) -> Found:
    """The longest phrase of the vocabulary that means something by itself."""
    for length, entries in situation.vocabulary.entries(situation.words, start):
        text = situation.text(start, start + length)
        terms = narrowest(
            (entry for entry in entries if entry.kind == "term"),
            situation.family,
            situation.subfamily,
        )
        if terms:
            return length, with_numbers(meaning_of_term(terms[0], text), situation)
        for entry in entries:
            if entry.kind == "heading":
                numbers = numbers_at(situation, start + length)
                end = start + length + (numbers[0] if numbers else 0)
                return end - start, Meaning("heading", "heading", situation.text(start, end))
            if entry.kind in _WHOLE:
                group = "players" if entry.kind == "players" else ""
                return length, Meaning(entry.kind, entry.id, text, group=group)
    return None


def _dynamic_at(situation: Situation, start: int) -> Found:
    found = dynamic_at(situation.words, start, situation.vocabulary)
    if found is None or found[1].mark == "n":  # niente only as a dynamic, never as a letter
        return None
    length, mark = found
    text = situation.text(start, start + length)
    return length, Meaning(
        "dynamic", mark.mark or "", text, qualifiers=mark.modifiers, dynamic=mark
    )


def _metronome_at(situation: Situation, start: int) -> Found:
    """A metronome mark or an equation of note values: "♩ = 60", "q = 165"."""
    end = start
    while end < len(situation.words) and _in_metronome(situation.words[end].key):
        end += 1
    keys = [word.key for word in situation.words[start:end]]
    if "=" not in keys or len(keys) < 2:
        return None
    return end - start, Meaning("tempo", "metronome", situation.text(start, end))


def _in_metronome(key: str) -> bool:
    return key in _NOTE_LETTERS or key in ("=", "ca", "circa", "m") or not key.isalpha()


def _letter_or_figure(situation: Situation) -> Meaning | None:
    """A letter or figure that is the whole text: it labels the place.

    Capitals and figures are marks of rehearsal; a small letter (id `label`) is what editors put
    to a theme.
    """
    if len(situation.words) != 1:
        return None
    word = situation.words[0]
    plain = word.text.rstrip(".")
    if word.key.isdecimal():
        if word.dotted or len(word.key) > 4:
            return None
        is_player = int(word.key) <= _HIGHEST_PLAYER and players_at(situation, 0)
        is_figure = 0 < int(word.key) <= _HIGHEST_FIGURE and not is_player
        return Meaning("rehearsal", "figure", word.text) if is_figure else None
    is_letter = plain.isalpha() and (
        len(plain) == 1 or (plain.isupper() and len(plain) == 2 and plain[0] == plain[1])
    )
    if not is_letter or _meaning_at(situation, 0):
        return None
    return Meaning("rehearsal", "letter" if plain.isupper() else "label", word.text)


def _merged(pieces: Sequence[_Piece], situation: Situation) -> Understanding:
    """Meanings with the loose words around them; loose words alone for themselves."""
    meanings: list[Meaning] = []
    leftover: list[str] = []
    loose: list[_Piece] = []
    adjacent = False  # the last meaning stands directly before the loose words
    for piece in pieces:
        if piece.loose:
            loose.append(piece)
            continue
        if piece.meaning:
            back = _looking_back(loose) if adjacent else 0
            _look_back(loose[:back], meanings, situation)
            meaning = _qualified(piece.meaning, loose[back:], situation, before=True)
            meanings.append(_joined_doubling(meaning, loose[back:], meanings))
        else:
            _settle(loose, adjacent, meanings, leftover, situation)
            leftover.append(situation.text(piece.start, piece.end))
        loose = []
        adjacent = piece.meaning is not None
    _settle(loose, adjacent, meanings, leftover, situation)
    return Understanding(tuple(meanings), " ".join(leftover))


def _looking_back(loose: Sequence[_Piece]) -> int:
    """How many of the loose words between two meanings go with the one before them."""
    for number, piece in enumerate(loose):
        assert piece.loose is not None
        if piece.loose[0] == "conjunction":
            return number
        if piece.loose[1] not in _LOOK_BACK:
            return 0
    return len(loose)


def _settle(
    loose: Sequence[_Piece],
    adjacent: bool,
    meanings: list[Meaning],
    leftover: list[str],
    situation: Situation,
) -> None:
    """Give loose words that no meaning follows to the one before, or let them stand alone."""
    words = [piece for piece in loose if piece.loose and piece.loose[0] != "conjunction"]
    if adjacent:
        _look_back(words, meanings, situation)
    elif words:
        meanings.append(_alone(words, situation))
    leftover += [situation.text(item.start, item.end) for item in loose if item not in words]


def _look_back(words: Sequence[_Piece], meanings: list[Meaning], situation: Situation) -> None:
    if words:
        meanings[-1] = _qualified(meanings[-1], words, situation, before=False)


def _joined_doubling(
    meaning: Meaning, words: Sequence[_Piece], before: Sequence[Meaning]
) -> Meaning:
    """A name that "and" joins to a line that is doubled is doubled, too."""
    joined = any(piece.loose and piece.loose[0] == "conjunction" for piece in words)
    if meaning.id == "named" and joined and before and before[-1].kind == "doubling":
        return replace(meaning, kind="doubling", id=before[-1].id)
    return meaning


def _qualified(
    meaning: Meaning, words: Sequence[_Piece], situation: Situation, *, before: bool
) -> Meaning:
    if not words:
        return meaning
    ids = _ids(words)
    added = " ".join(situation.text(piece.start, piece.end) for piece in words)
    text = f"{added} {meaning.text}" if before else f"{meaning.text} {added}"
    qualifiers = (*ids, *meaning.qualifiers) if before else (*meaning.qualifiers, *ids)
    dynamic = meaning.dynamic and replace(meaning.dynamic, printed=text, modifiers=qualifiers)
    return replace(meaning, text=text, qualifiers=qualifiers, dynamic=dynamic)


def _alone(words: Sequence[_Piece], situation: Situation) -> Meaning:
    """Loose words alone: più, meno and poco wait for a dynamic beside them, others say nothing."""
    text = " ".join(situation.text(piece.start, piece.end) for piece in words)
    ids = _ids(words)
    if any(piece.loose and piece.loose[0] == "modifier" for piece in words):
        mark = DynamicMark(text, modifiers=ids)
        return Meaning("dynamic", "", text, qualifiers=ids, dynamic=mark)
    return Meaning("expression", ids[0], text, qualifiers=ids)


def _ids(words: Sequence[_Piece]) -> tuple[str, ...]:
    return tuple(
        piece.loose[1] for piece in words if piece.loose and piece.loose[0] != "conjunction"
    )
