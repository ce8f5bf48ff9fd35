"""Rules for players in words: "1.", "I. III.", "2 Soli", "1. Pult", "div. a 5", "a 6".

In winds a number is a player of the staff and Solo is prominence; in strings and choirs a number
counts solo players, desks or parts (`terms.csv`).
"""

from __future__ import annotations

import re

from collaparte.readers.meanings import Found, Meaning, Situation
from collaparte.readers.vocabulary import Entry, narrowest

_ROMAN = {"I": 1, "II": 2, "III": 3, "IV": 4, "V": 5, "VI": 6, "VII": 7, "VIII": 8}
_NUMBER = re.compile(
    r"(\d{1,2}|[ivx]+)(?:o|a|er|ers|re|rs|ds|e|me|eme|de|st|nd|rd|th|mo|ma|do|da|zo|za|to|ta|º|ª|°)?"
)
_NUMBERED_FAMILIES = frozenset({"woodwind", "brass", "percussion", "plucked"})
_MOST_PLAYERS = 12
_PREPOSITIONS = frozenset({"a", "in", "en", "zu", "to"})
_ALONE = ("first_player", "second_player", "third_player", "fourth_player")
_ALL = {2: "both_players", 3: "all_three", 4: "all_four"}
_DIVIDED = {2: "div", 3: "div_3", 4: "div_4"}
_STRINGS_AND_CHOIR = frozenset({"string", "voice", "keyboard"})


def number_at(situation: Situation, start: int) -> tuple[int, int] | None:
    """A number at `start` in figures, Roman figures or words: tokens and value."""
    if start >= len(situation.words):
        return None
    word = situation.words[start]
    match = _NUMBER.fullmatch(word.key)
    if match:
        if match[1].isdecimal():
            return (1, int(match[1])) if 0 < int(match[1]) <= _MOST_PLAYERS else None
        capitals = re.match("[IVX]+", word.text)
        if capitals and len(capitals[0]) >= len(match[1]) and capitals[0] in _ROMAN:
            return 1, _ROMAN[capitals[0]]
    found = situation.first(start, "ordinal", "cardinal")
    return (found[0], int(found[1].id.removeprefix("count_"))) if found else None


def numbers_at(situation: Situation, start: int) -> tuple[int, tuple[int, ...]] | None:
    """Numbers in a row at `start`, with "and" or hyphens between: tokens and values."""
    first = number_at(situation, start)
    if first is None:
        return None
    end, values = start + first[0], [first[1]]
    while True:
        place = end
        equals = place < len(situation.words) and situation.words[place].key == "="
        joint = situation.first(place, "conjunction")
        place += 1 if equals else joint[0] if joint else 0
        found = number_at(situation, place)
        if found is None:
            return end - start, tuple(dict.fromkeys(values))
        if equals:  # "I. (= III)": the later number is the one of the whole score
            values = [found[1]]
        elif place == end and situation.words[place].linked:
            values += range(values[-1] + 1, found[1] + 1)
        else:
            values.append(found[1])
        end = place + found[0]


def players_at(situation: Situation, start: int) -> Found:
    """The longest statement about players that begins at `start`."""
    rules = (_desks_at, _divided_at, _solo_players_at, _all_at, _numbered_at)
    found = [result for rule in rules if (result := rule(situation, start))]
    return max(found, key=lambda result: result[0], default=None)


def with_numbers(meaning: Meaning, situation: Situation) -> Meaning:
    """The same meaning with the numbers of all players, where it says "all of the staff"."""
    wanted = next((count for count, id_ in _ALL.items() if id_ == meaning.id), None)
    if wanted is None:
        return meaning
    return _all_players(wanted, meaning.text, situation)


def _numbered_at(situation: Situation, start: int) -> Found:
    if situation.family not in _NUMBERED_FAMILIES:
        return None
    found = numbers_at(situation, start)
    if found is None:
        return None
    length, values = found
    following = situation.words[start + length : start + length + 1]
    text = situation.text(start, start + length)
    is_count = len(values) == 1 and values[0] in _ALL and not situation.words[start].dotted
    if is_count and following and following[0].key == "soli":  # "2 soli": both
        return length, _all_players(values[0], text, situation)
    if situation.first(start, "cardinal"):
        return None
    return length, _named_players(_of_staff(values, situation), text)


def _of_staff(values: tuple[int, ...], situation: Situation) -> tuple[int, ...]:
    """Numbers of the score; "1." on the staff of horns 3 and 4 is its first player."""
    printed = situation.printed_player_numbers
    if len(printed) < 2 or not set(values).isdisjoint(printed) or max(values) > len(printed):
        return values
    return tuple(printed[value - 1] for value in values)


def _named_players(values: tuple[int, ...], text: str) -> Meaning:
    if len(values) == 1:
        value = values[0]
        name = _ALONE[value - 1] if value <= len(_ALONE) else f"player_{value}"
    else:
        name = "players_" + "_".join(map(str, values))
    return Meaning("players", name, text, group="players", numbers=values, count=len(values))


def _all_players(count: int, text: str, situation: Situation) -> Meaning:
    printed = situation.printed_player_numbers
    values = printed if len(printed) == count else tuple(range(1, count + 1))
    name = _ALL.get(count, "all_players")
    return Meaning("players", name, text, group="players", numbers=values, count=count)


def _all_at(situation: Situation, start: int) -> Found:
    """The form "a 6": in winds all of the staff, in strings and choirs as many parts."""
    if situation.words[start].key not in _PREPOSITIONS - {"in", "en", "to"}:
        return None
    found = number_at(situation, start + 1)
    if found is None or found[1] < 2:
        return None
    length, text = 1 + found[0], situation.text(start, start + 1 + found[0])
    if situation.family in ("string", "voice"):
        return length, _divided(found[1], text)
    if situation.family in _NUMBERED_FAMILIES or situation.family == "keyboard":
        return length, _all_players(found[1], text, situation)
    return None


def _divided_at(situation: Situation, start: int) -> Found:
    """The forms "div. a 5", "div. in 3", "geteilt in 4"."""
    found = _term_at(situation, start, "div")
    if found is None:
        return None
    place = start + found
    if place < len(situation.words) and situation.words[place].key in _PREPOSITIONS:
        place += 1
    number = number_at(situation, place)
    if number is None or number[1] < 2:
        return None
    end = place + number[0]
    return end - start, _divided(number[1], situation.text(start, end))


def _divided(count: int, text: str) -> Meaning:
    return Meaning("players", _DIVIDED.get(count, "div"), text, group="division", count=count)


def _solo_players_at(situation: Situation, start: int) -> Found:
    """The forms "2 Soli", "3 Solo Vc.", "1. Solo", "Solo I" of strings and choirs."""
    if situation.family not in _STRINGS_AND_CHOIR:
        return None
    number = number_at(situation, start)
    place = start + (number[0] if number else 0)
    solo = _term_at(situation, place, "solo") if place < len(situation.words) else None
    if solo is None:
        return None
    dotted = situation.words[start].dotted
    end = place + solo
    if number is None:
        number = number_at(situation, end)
        if number is None:
            return None
        dotted = situation.words[place].key != "soli"
        end += number[0]
    name = situation.name(end)
    end += name[0] if name else 0
    text = situation.text(start, end)
    if dotted:
        meaning = Meaning("players", "solo", text, "section", numbers=(number[1],), count=1)
    else:
        meaning = Meaning("players", "solo", text, "section", count=number[1])
    return end - start, meaning


def _desks_at(situation: Situation, start: int) -> Found:
    """The forms "1. Pult", "1. 2. Pult", "2 Pulte", "desk 1", "primo leggio"."""
    desk = situation.first(start, "desk")
    numbers = numbers_at(situation, start + desk[0]) if desk else numbers_at(situation, start)
    if numbers is None:
        return None
    end = start + numbers[0] + (desk[0] if desk else 0)
    values = numbers[1]
    if desk is None:
        desk = situation.first(end, "desk") if end < len(situation.words) else None
        if desk is None:
            return None
        counted = len(values) == 1 and values[0] > 1 and not situation.words[start].dotted
        if counted and situation.words[start].key in (
            str(values[0]),
            *_cardinals(situation, start),
        ):
            values = tuple(range(1, values[0] + 1))
        end += desk[0]
    text = situation.text(start, end)
    return end - start, Meaning(
        "players", "first_desk", text, "section", numbers=values, count=len(values)
    )


def _cardinals(situation: Situation, start: int) -> tuple[str, ...]:
    return (situation.words[start].key,) if situation.first(start, "cardinal") else ()


def _term_at(situation: Situation, start: int, wanted: str) -> int | None:
    """Tokens of the longest form of the term `wanted` at `start`, by the family of the part."""
    for length, entries in situation.vocabulary.entries(situation.words, start, ("term",)):
        fitting: tuple[Entry, ...] = narrowest(entries, situation.family, situation.subfamily)
        if any(entry.id == wanted for entry in fitting):
            return length
    return None
