"""Lines: what one player, one section or one voice sings or plays.

A staff carries one line, unless it is written for more: voices and the notes of chords are
ranked from the top, and a further line exists where at least `chord_rank_share` of the onsets
of the staff reach its rank, or where a staff of several winds is written for them. A staff
whose name lists several instruments is each of them: one line each, by rank where it is written
in as many ranks, else all on the same notes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from collaparte.kernels.ranks import groups, rank_within
from collaparte.readers.instruments import Identity
from collaparte.readers.players import Stand, assigned
from collaparte.readers.signs import Places, Sign
from collaparte.settings import Settings

Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Staves:
    """Where every event stands: part, staff, order of its voice on the staff, time and pitch.

    `voice_rank` is how many lines the voices above it take in its bar; `instrument` is the
    identity that is stated for the event, -1: none. `sharing` has one entry a part: how many
    instruments its name gives to all its notes.
    """

    part: Integers
    staff: Integers
    voice_rank: Integers
    voice: Integers
    onset: Integers
    height: Integers
    grace: npt.NDArray[np.bool_]
    instrument: Integers
    sharing: Integers


@dataclass(frozen=True)
class Line:
    """One line before its notes are counted.

    `rank` counts the lines of its staff from the top, of `ranks`; `identity` counts the
    instruments of its part; `stand` is the soloist or part of a section that plays it.
    """

    part: int
    staff: int
    staves: int
    rank: int
    ranks: int
    identity: int
    stand: Stand | None
    basis: str


def ranks_of(staves: Staves, settings: Settings) -> tuple[Integers, Integers]:
    """How deep every event lies on its staff from the top, and the ranks that the staff has.

    A rank that too few onsets reach is none of the staff's.
    """
    rank = np.zeros(len(staves.part), np.int64)
    sounding = np.flatnonzero(~staves.grace)
    if not len(sounding):
        return rank, np.ones(len(rank), np.int64)
    part, staff, voice, onset, height = (
        column[sounding]
        for column in (staves.part, staves.staff, staves.voice, staves.onset, staves.height)
    )
    chord = groups((part, staff, voice, onset))
    order = np.lexsort((-height, chord))
    within = np.empty(len(order), np.int64)
    within[order] = rank_within(chord[order])
    rank[sounding] = within + staves.voice_rank[sounding]
    staff_code = groups((staves.part, staves.staff))
    top = np.zeros(int(staff_code.max()) + 1, np.int64)
    if rank.max() > 0:
        together = groups((part, staff, onset))
        deepest = np.zeros(int(together.max()) + 1, np.int64)
        np.maximum.at(deepest, together, rank[sounding])
        staff_of = np.zeros(len(deepest), np.int64)
        staff_of[together] = staff_code[sounding]
        total = np.bincount(staff_of, minlength=len(top))
        for deeper in range(1, int(rank.max()) + 1):
            reached = np.bincount(staff_of[deepest >= deeper], minlength=len(top))
            enough = reached >= settings.chord_rank_share * np.maximum(total, 1)
            deeper_still = (top == deeper - 1) & enough & (reached > 0)
            if not deeper_still.any():
                break
            top[deeper_still] = deeper
    return rank, top[staff_code] + 1


def voice_ranks(
    part: Integers, staff: Integers, bar: Integers, voice: Integers, onset: Integers
) -> Integers:
    """How many lines the voices above take in the bar, for every note or rest.

    Parameters
    ----------
    voice
        Order of the voice among those of its staff, from 0.
    """
    result = np.zeros(len(part), np.int64)
    if not (voice > 0).any():
        return result
    several = np.flatnonzero(np.isin(part * 64 + staff, (part * 64 + staff)[voice > 0]))
    if not len(several):
        return result
    part, staff, bar, voice, onset = (
        column[several] for column in (part, staff, bar, voice, onset)
    )
    where = groups((part, staff, bar, voice))
    together = groups((where, onset))
    size = np.bincount(together)
    largest = np.zeros(int(where.max()) + 1, np.int64)
    np.maximum.at(largest, where, size[together])
    bars = groups((part, staff, bar))
    bar_of = np.zeros(len(largest), np.int64)
    bar_of[where] = bars
    above = np.cumsum(largest) - largest
    first = np.searchsorted(bar_of, bar_of)
    result[several] = (above - above[first])[where]
    return result


def lines_of(
    staves: Staves,
    identities: Sequence[tuple[Identity, ...]],
    signs: Sequence[Sign],
    settings: Settings,
) -> tuple[list[Line], Integers, Integers]:
    """The lines of a score in score order, and the line of every event.

    Parameters
    ----------
    identities
        The instruments of each part.
    signs
        Directions about players.

    Returns
    -------
    lines, event, line
        Event `event[i]` belongs to `lines[line[i]]`; an event that several lines play stands
        more than once.
    """
    depth, ranks = ranks_of(staves, settings)
    staff_count = np.ones(len(identities), np.int64)
    np.maximum.at(staff_count, staves.part, staves.staff)
    places = Places(staves.part, staves.staff, staves.voice, staves.onset)
    players = assigned(places, depth, ranks, signs, staff_count.tolist(), identities)
    part, staff = staves.part[players.event], staves.staff[players.event]
    given = staves.instrument[players.event]
    named = staves.sharing[part]
    shared = (named > 1) & (given < 0) & (players.count < named)
    by_rank = (named > 1) & (given < 0) & ~shared
    identity = np.where(by_rank, np.minimum(players.rank, named - 1), np.maximum(given, 0))
    row = np.repeat(np.arange(len(part)), np.where(shared, named, 1))
    identity = np.where(shared[row], rank_within(row), identity[row])
    stand = players.stand[row]
    first = np.where(by_rank[row], identity, 0)
    columns = (
        part[row],
        staff[row],
        np.where(shared[row] | by_rank[row], identity, 0),
        stand,
        players.rank[row] - first,
        identity,
    )
    number = groups(columns)
    by_words = np.zeros(int(number.max(initial=-1)) + 1, bool)
    by_words[number[players.by_words[row]]] = True
    names = staves.sharing.tolist()
    lines = []
    for place, index in enumerate(np.unique(number, return_index=True)[1].tolist()):
        own = int(part[row[index]])
        total = int(players.count[row[index]])
        if by_rank[row[index]]:
            total = total - names[own] + 1 if identity[index] == names[own] - 1 else 1
        alone = int(stand[index])
        line = Line(
            part=own,
            staff=int(columns[1][index]),
            staves=int(staff_count[own]),
            rank=int(columns[4][index]),
            ranks=total,
            identity=int(identity[index]),
            stand=players.stands[alone] if alone >= 0 else None,
            basis="words",
        )
        basis = "words" if by_words[place] else _basis(line, len(identities[own]), names[own])
        lines.append(replace(line, basis=basis))
    return lines, players.event[row], number


def _basis(line: Line, identities: int, named: int) -> str:
    if named > 1:
        return "name"
    if identities > 1:
        return "instrument"
    if line.ranks > 1:
        return "rank"
    return "staff" if line.staves > 1 else "part"


_UPPER = {2: ("upper", "lower"), 3: ("upper", "middle", "lower")}
_SECTIONS = ("string", "voice")
_WINDS = ("woodwind", "brass")


def label(line: Line, identity: Identity, part_name: str) -> str:
    """Name of a line as a reader of the score would say it."""
    pieces = [identity.label or part_name]
    single = identity.family not in _SECTIONS
    if line.staves > 1:
        pieces.append(f"staff {line.staff}")
    if line.stand is not None:
        pieces.append(line.stand.text)
    if line.stand is None and line.ranks == len(identity.players) > 1:
        number = identity.players[line.rank]
        pieces.append(f"player {number}" if single else f"number {number}")
    elif line.ranks > 1 and line.basis == "words" and not identity.players and single:
        pieces.append(f"player {line.rank + 1}")
    elif line.ranks > 1:
        words = _UPPER.get(line.ranks)
        pieces.append(words[line.rank] if words else f"{line.rank + 1} of {line.ranks}")
    return ", ".join(pieces)


def players_in(line: Line, identity: Identity, usual: int | None) -> int | None:
    """Players of a line, None for a section of unknown size.

    Parameters
    ----------
    usual
        What lines of its ensemble have where nothing else is known.
    """
    if line.stand is not None:
        return (1 if line.ranks > 1 else line.stand.players) or None
    several = len(identity.players) > 1 and identity.family not in _SECTIONS
    return len(identity.players) if several and line.ranks == 1 else usual


def player_numbers(
    lines: Sequence[Line], identities: Sequence[Identity], named: Sequence[int]
) -> Integers:
    """Number of the player or section that has each line, from 0 in order of the lines.

    The staves of a harp, the chords of a keyboard, the halves of a divided section and the
    instruments that one player changes between are one.

    Parameters
    ----------
    identities
        Identity of each line.
    named
        How many instruments of each part have players of their own: those that its name lists,
        or that its notes name by id.
    """
    numbers: dict[tuple[object, ...], int] = {}
    found = []
    for line, identity in zip(lines, identities, strict=True):
        by_rank = (
            identity.family in _WINDS
            or len(identity.players) > 1
            or (line.stand is not None and line.stand.players > 1)
        )
        player = (
            line.part,
            line.identity if line.identity < named[line.part] else 0,
            line.stand,
            line.rank if by_rank else 0,
        )
        found.append(numbers.setdefault(player, len(numbers)))
    return np.array(found, np.int64)
