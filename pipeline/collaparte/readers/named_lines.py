"""Rules for words that name a line: doubling, change of instrument or crook, a name alone."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from collaparte.readers.meanings import Found, Meaning, Situation
from collaparte.readers.part_names import read_name
from collaparte.readers.player_words import number_at, numbers_at
from collaparte.readers.vocabulary import Entry, narrowest
from collaparte.reference import Reference

_CHANGES = {"instrument": "change_inst", "crook": "change_crook"}
_BETWEEN_KEYS = frozenset({"in", "en", "nach", "to", "e", "et", "und", "u", "and"})
_LETTERS_OF_A_NAME = 4
_LONGEST_NAME = 5


@cache
def instrument_named(text: str, reference: Reference) -> str | None:
    """The key of the one instrument that `text` names by words alone, or None.

    Where languages differ, the meaning that most of them share; `understand` takes this as
    its `identify_name`, with the reference bound.
    """
    mentions = read_name(text, reference)
    if len(mentions) != 1 or not mentions[0].understood or not mentions[0].meanings:
        return None
    return max(mentions[0].meanings, key=lambda meaning: len(meaning.languages)).key


def doubling_at(situation: Situation, start: int) -> Found:
    """Words of doubling that begin at `start`: "come sopra", or "col", "mit" … and a line."""
    whole = situation.first(start, "doubling")
    if whole:
        length, entry = whole
        return length, Meaning("doubling", entry.id, situation.text(start, start + length))
    for length, entries in situation.vocabulary.entries(situation.words, start, ("doubling_with",)):
        target = _line_at(situation, start + length)
        if target:
            end, key, numbers = target
            return end - start, Meaning(
                "doubling",
                entries[0].id,
                situation.text(start, end),
                numbers=numbers,
                target=situation.text(start + length, end),
                target_key=key,
            )
    return None


def change_at(situation: Situation, start: int) -> Found:
    """A change of instrument or crook that begins at `start`.

    The change follows an optional name ("Fl. III muta in Picc."), and a name or keys follow it.
    """
    for place in _places_of_a_change(situation, start):
        for length, changes in _change_entries(situation, place):
            found = _changed(situation, start, place + length, changes)
            if found:
                return found
    return _crook_at(situation, start)


def name_at(situation: Situation, start: int) -> Found:
    """A name of an instrument alone: a cue, a change without a verb, a label of a staff."""
    found = situation.name(start)
    if found is None:
        return None
    length, key = found
    words = situation.words[start : start + length]
    if not any(word.dotted or len(word.key) >= _LETTERS_OF_A_NAME for word in words):
        return None
    text = situation.text(start, start + length)
    return length, Meaning("instrument", "named", text, target=text, target_key=key)


def keys_at(situation: Situation, start: int) -> int:
    """Tokens of the names of keys in a row at `start`, 0 where there is none."""
    place = end = start
    while place < len(situation.words):
        length = _key_length(situation, place)
        if length:
            place = end = place + length
        elif end > start and situation.words[place].key in _BETWEEN_KEYS:
            place += 1
        else:
            break
    return end - start


def _places_of_a_change(situation: Situation, start: int) -> Iterator[int]:
    """Where the verb may stand: here, or after a name or key that begins here."""
    yield start
    last = min(start + _LONGEST_NAME, len(situation.words) - 1)
    for place in range(start + 1, last + 1):
        if _change_entries(situation, place) and (
            _key_length(situation, start) == place - start
            or situation.identify_name(situation.text(start, place)) is not None
        ):
            yield place


def _change_entries(situation: Situation, place: int) -> list[tuple[int, tuple[Entry, ...]]]:
    """Verbs of change at `place`, longest first: tokens and entries."""
    found = []
    for length, entries in situation.vocabulary.entries(situation.words, place, ("term", "change")):
        changes = tuple(
            entry for entry in entries if entry.kind == "change" or entry.group in _CHANGES
        )
        if changes:
            found.append((length, changes))
    return found


def _changed(situation: Situation, start: int, place: int, changes: tuple[Entry, ...]) -> Found:
    target = _after_articles(situation, place)
    name = situation.name(target)
    keys = keys_at(situation, target)
    if name and name[0] > keys:
        end = target + name[0]
        return end - start, Meaning(
            "instrument",
            "change_inst",
            situation.text(start, end),
            group="instrument",
            target=situation.text(target, end),
            target_key=name[1],
        )
    if keys:
        return _crook(situation, start, target, target + keys)
    terms = narrowest(
        (entry for entry in changes if entry.kind == "term"),
        situation.family,
        situation.subfamily,
    )
    if not terms:
        return None
    text = situation.text(start, place)
    return place - start, Meaning("instrument", terms[0].id, text, group=terms[0].group)


def _crook_at(situation: Situation, start: int) -> Found:
    """The form "in A", "en fa" of winds and drums."""
    if situation.family not in ("woodwind", "brass") and situation.subfamily != "timpani":
        return None
    if situation.words[start].key not in ("in", "en"):
        return None
    keys = keys_at(situation, start + 1)
    return _crook(situation, start, start + 1, start + 1 + keys) if keys else None


def _crook(situation: Situation, start: int, target: int, end: int) -> Found:
    """A key: another instrument of the family in woodwinds, another crook or tuning elsewhere."""
    group = "instrument" if situation.family == "woodwind" else "crook"
    return end - start, Meaning(
        "instrument",
        _CHANGES[group],
        situation.text(start, end),
        group=group,
        target=situation.text(target, end),
    )


def _key_length(situation: Situation, start: int) -> int:
    """Tokens of one key at `start`; a key is a capital, a syllable or has an accidental."""
    words = situation.words[start : start + 3]
    for length in range(len(words), 0, -1):
        is_key = tuple(word.key for word in words[:length]) in situation.vocabulary.keys
        if is_key and (length > 1 or len(words[0].key) > 1 or words[0].text[0].isupper()):
            return length
    return 0


def _line_at(situation: Situation, start: int) -> tuple[int, str, tuple[int, ...]] | None:
    """A line at `start`: where it ends, its key, its numbers ("den 1. Violinen", "Ob. I")."""
    place = _after_articles(situation, start)
    numbers: tuple[int, ...] = ()
    before = numbers_at(situation, place)
    if before:
        place, numbers = place + before[0], before[1]
    line = situation.first(place, "line") if place < len(situation.words) else None
    name = _bare_name(situation, place)
    if line and (name is None or line[0] >= name[0]):
        end, key = place + line[0], line[1].id
    elif name:
        end, key = place + name[0], name[1]
    else:
        return None
    after = numbers_at(situation, end)
    return (end + after[0], key, numbers + after[1]) if after else (end, key, numbers)


def _bare_name(situation: Situation, start: int) -> tuple[int, str] | None:
    """The longest instrument name at `start` that does not end with a number."""
    longest = _LONGEST_NAME
    while found := situation.name(start, longest):
        if number_at(situation, start + found[0] - 1) is None:
            return found
        longest = found[0] - 1
    return None


def _after_articles(situation: Situation, start: int) -> int:
    article = situation.first(start, "article") if start < len(situation.words) else None
    return start + article[0] if article else start
