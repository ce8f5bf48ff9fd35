"""Players of a shared staff, and soloists and desks of a section, as the words say.

On a staff for several winds "1.", "2.", "a 2" and their like say who plays from there on; two
notes at once are the players in order from the top. In strings and choirs "Solo", a desk or a
half of the section takes the notes to a line of its own until "tutti". In a part that is already
one player's the words are a copy from the shared staff and change nothing.

Sources of the words: `terms.csv`, state groups players, section, division.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from collaparte.kernels.ranks import groups
from collaparte.readers.instruments import Identity
from collaparte.readers.meanings import Meaning
from collaparte.readers.signs import Places, Sign, all_voices, in_force

Integers = npt.NDArray[np.int64]

_APART = ("solo", "half_section", "first_desk")
_WINDS = ("woodwind", "brass")
_MOST_PLAYERS = 12


@dataclass(frozen=True)
class Stand:
    """Part of a section that plays alone: its term, numbers and players (0: unknown).

    `text` is how it is printed first; the same stand in other words is the same.
    """

    term: str
    numbers: tuple[int, ...]
    players: int
    text: str = field(compare=False)


@dataclass(frozen=True)
class Assigned:
    """Who plays each event.

    Event `event[i]` is played by player `rank[i]` (from 0) of its staff, of `count[i]`; by
    stand `stand[i]` of `stands`, -1: the whole section. `by_words` marks what words decide.
    """

    event: Integers
    rank: Integers
    count: Integers
    stand: Integers
    stands: tuple[Stand, ...]
    by_words: npt.NDArray[np.bool_]


def assigned(
    places: Places,
    depth: Integers,
    ranks: Integers,
    signs: Sequence[Sign],
    staves: Sequence[int],
    identities: Sequence[tuple[Identity, ...]],
) -> Assigned:
    """The players of every event.

    Parameters
    ----------
    depth, ranks
        How deep every event lies on its staff from the top, and the ranks that the staff has.
    signs
        Directions about players.
    """
    total = _players_of_parts(places, depth, identities, signs)[places.part]
    solo, stands = _stands(places, signs, staves, depth, identities)
    depth = depth - solo.above
    whole = _undivided(places, signs, staves)
    rank = np.where(whole, 0, np.minimum(depth, np.maximum(ranks, total) - 1))
    rank = np.where(solo.stand >= 0, np.minimum(depth, np.maximum(solo.players, 1) - 1), rank)
    mask = _mask_in_force(places, signs, staves, identities)
    together = groups((places.part, places.staff, places.onset))
    single = np.bincount(together)[together] == 1
    words = (total > 1) & (mask > 0)
    chosen = np.where(words, mask & ((1 << total) - 1), 0)
    several = words & single & (chosen > 0)
    copies = np.where(several, _bits(chosen), 1)
    event = np.repeat(np.arange(len(rank)), copies)
    place = np.arange(len(event)) - np.repeat(np.cumsum(copies) - copies, copies)
    within = np.where(several[event], place, rank[event])
    named = words[event] & (within < _bits(chosen)[event])
    player = np.where(named, _nth_bit(chosen[event], within), rank[event])
    decided = (solo.stand >= 0) | (whole & (depth > 0))
    return Assigned(
        event=event,
        rank=player,
        count=_lines_of_each(places, player, event, total, solo.stand),
        stand=solo.stand[event],
        stands=stands,
        by_words=named | decided[event],
    )


def _lines_of_each(
    places: Places, player: Integers, event: Integers, total: Integers, stand: Integers
) -> Integers:
    """Lines that the section or stand of each event is written in, or its players."""
    group = groups((places.part[event], places.staff[event], stand[event]))
    deepest = np.zeros(int(group.max(initial=-1)) + 1, np.int64)
    np.maximum.at(deepest, group, player)
    return np.maximum(deepest[group] + 1, total[event])


def _players_of_parts(
    places: Places,
    depth: Integers,
    identities: Sequence[tuple[Identity, ...]],
    signs: Sequence[Sign],
) -> Integers:
    """Players who share each part's staff; 1 where the part is one player's or a section's.

    Printed numbers of winds count where words name players or two notes sound at once. A part
    without printed numbers is shared where words name several of its players.
    """
    named: dict[int, int] = {}
    for sign in signs:
        if sign.meaning.group == "players" and sign.meaning.numbers:
            highest = min(max(sign.meaning.numbers), _MOST_PLAYERS)
            named[sign.part] = max(named.get(sign.part, 1), highest)
    said = {sign.part for sign in signs if sign.meaning.group == "players"}
    said.update(
        part
        for part in np.unique(places.part[depth > 0]).tolist()
        if identities[part][0].family in _WINDS
    )
    players = []
    for part, found in enumerate(identities):
        printed = found[0].players
        if len(printed) > 1 and part in said:
            players.append(len(printed))
        else:
            players.append(1 if printed else named.get(part, 1))
    return np.array(players, np.int64)


def _mask_in_force(
    places: Places,
    signs: Sequence[Sign],
    staves: Sequence[int],
    identities: Sequence[tuple[Identity, ...]],
) -> Integers:
    """For every note the players that the last words name, one bit a player; 0: none said."""
    changes = [
        (track, sign.time, _mask(sign.meaning, identities[sign.part][0].players))
        for sign in signs
        if sign.meaning.group == "players"
        for track in sign.tracks(staves)
    ]
    if not changes:
        return np.zeros(len(places.part), np.int64)
    track, time, mask = (np.array(column, np.int64) for column in zip(*changes, strict=True))
    at = in_force(places, track, time)
    return np.where(at >= 0, mask[np.maximum(at, 0)], 0)


def _mask(meaning: Meaning, printed: tuple[int, ...]) -> int:
    """The players that words name as bits of their places on the staff."""
    mask = 0
    for number in meaning.numbers:
        place = printed.index(number) if number in printed else number - 1
        mask |= 1 << min(max(place, 0), _MOST_PLAYERS)
    return mask


def _bits(mask: Integers) -> Integers:
    return np.bitwise_count(mask).astype(np.int64)


def _nth_bit(mask: Integers, place: Integers) -> Integers:
    """Number of the bit that is the `place`-th of those set."""
    found = np.zeros(len(mask), np.int64)
    seen = np.zeros(len(mask), np.int64)
    for bit in range(_MOST_PLAYERS + 1):
        is_set = (mask >> bit) & 1
        found = np.where((is_set == 1) & (seen == place), bit, found)
        seen += is_set
    return found


@dataclass(frozen=True)
class _Apart:
    """For each event its stand (-1: the section), the players of it, and soloists above it."""

    stand: Integers
    players: Integers
    above: Integers


def _stands(
    places: Places,
    signs: Sequence[Sign],
    staves: Sequence[int],
    depth: Integers,
    identities: Sequence[tuple[Identity, ...]],
) -> tuple[_Apart, tuple[Stand, ...]]:
    """The soloist or part of a section that plays each note.

    Where one place says both "solo" and "the others" the upper notes are the soloist's. A part
    that is a soloist's by its name has no stands.
    """
    stands: dict[Stand, int] = {}
    at_place: dict[tuple[int, int], list[Meaning]] = {}
    for sign in signs:
        if sign.meaning.group == "section" and identities[sign.part][0].ensemble != "solo":
            for track in sign.tracks(staves):
                at_place.setdefault((track, sign.time), []).append(sign.meaning)
    none = np.zeros(len(places.part), np.int64)
    if not at_place:
        return _Apart(none - 1, none, none), ()
    soloists: dict[tuple[int, int], int] = {}
    for (track, time), meanings in at_place.items():
        apart = [_count(meaning) or 1 for meaning in meanings if meaning.id in _APART]
        if apart:
            soloists[all_voices(track), time] = apart[0]
    rows = []
    for (track, time), meanings in sorted(at_place.items()):
        apart_here = next((meaning for meaning in meanings if meaning.id in _APART), None)
        code = -1
        if apart_here is not None:
            code = stands.setdefault(_stand(apart_here), len(stands))
        others = any(meaning.id == "the_others" for meaning in meanings)
        rows.append((track, time, code, soloists.get((all_voices(track), time), 0) * others))
    columns = np.array(rows, np.int64)
    at = in_force(places, columns[:, 0], columns[:, 1])
    in_place = columns[np.maximum(at, 0)]
    above = np.where(at >= 0, in_place[:, 3], 0)
    alone = (at >= 0) & ((above == 0) | (depth < above))
    stand = np.where(alone, in_place[:, 2], -1)
    players = np.array([0, *(item.players for item in stands)], np.int64)[stand + 1]
    return _Apart(stand, players, np.where(stand >= 0, 0, np.minimum(above, depth))), tuple(stands)


def _stand(meaning: Meaning) -> Stand:
    count = _count(meaning)
    numbers = meaning.numbers or ((1,) if count == 1 else ())
    return Stand(meaning.id, numbers, count, meaning.text)


def _count(meaning: Meaning) -> int:
    if meaning.id == "first_desk":
        return 2 * max(len(meaning.numbers), 1)
    return meaning.count or (1 if meaning.id == "solo" else 0)


def _undivided(
    places: Places, signs: Sequence[Sign], staves: Sequence[int]
) -> npt.NDArray[np.bool_]:
    """True for notes of a section that is told not to divide."""
    changes = [
        (track, sign.time, sign.meaning.id == "non_div")
        for sign in signs
        if sign.meaning.group == "division"
        for track in sign.tracks(staves)
    ]
    if not any(whole for _, _, whole in changes):
        return np.zeros(len(places.part), bool)
    track, time, whole = (np.array(column, np.int64) for column in zip(*changes, strict=True))
    at = in_force(places, track, time)
    found: npt.NDArray[np.bool_] = (at >= 0) & (whole[np.maximum(at, 0)] == 1)
    return found
