"""Doublings that the score only says in words ("col Basso"): whose line is meant, how far.

Under such words the staff is left empty, so its rests are not rests: the span from the words to
the next note of the staff, or to the next such words, is not notated. The line that is meant is
the first in score order with that instrument (or a size of it) and that number; "the bass" is
the lowest of the strings or the continuo, "the voice" the highest voice (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collaparte.readers.meanings import Meaning
from collaparte.readers.signs import Places, Sign
from collaparte.readers.transpositions import sizes
from collaparte.reference import Reference

Integers = npt.NDArray[np.int64]

_BASSES = ("double-bass", "cello-and-bass", "violone", "continuo", "violoncello")


@dataclass(frozen=True)
class Candidate:
    """A line that words may mean: its part, instrument, family and number of the player."""

    part: int
    instrument: str | None
    family: str | None
    number: int | None


@dataclass(frozen=True)
class WordedDoubling:
    """Words of doubling: the direction, the line meant (-1: none), the end (-1: no span)."""

    direction: int
    target: int
    end: int


def worded_doublings(
    signs: Sequence[Sign],
    places: Places,
    end_of_movement: int,
    candidates: Sequence[Candidate],
    reference: Reference,
) -> list[WordedDoubling]:
    """What each direction of kind `doubling` means."""
    found = []
    for sign in signs:
        here = places.part == sign.part
        if sign.staff:
            here &= places.staff == sign.staff
        later = places.onset[here & (places.onset >= sign.time)]
        following = [
            other.time for other in signs if other.part == sign.part and other.time > sign.time
        ]
        end = min([*following, *later.tolist(), end_of_movement])
        target = target_line(sign.meaning, sign.part, candidates, reference)
        found.append(WordedDoubling(sign.direction, target, end if end > sign.time else -1))
    return found


def target_line(
    meaning: Meaning, part: int, candidates: Sequence[Candidate], reference: Reference
) -> int:
    """Number of the line that words of doubling mean, -1 where none in the score fits."""
    others = [(place, line) for place, line in enumerate(candidates) if line.part != part]
    if meaning.target_key == "voice":
        return next((place for place, line in others if line.family == "voice"), -1)
    keys = _BASSES if meaning.target_key == "bass" else (meaning.target_key,)
    for key in keys:
        fitting = [
            (place, line) for place, line in others if _same(line.instrument, key, reference)
        ]
        numbered = [place for place, line in fitting if line.number in meaning.numbers]
        if numbered or fitting:
            return numbered[0] if numbered else fitting[0][0]
    return -1


def _same(instrument: str | None, key: str | None, reference: Reference) -> bool:
    """The same instrument, or one a size of the other."""
    if instrument is None or key is None:
        return False
    table = sizes(reference)
    own = {instrument, *(generic for generic, keys in table.items() if instrument in keys)}
    wanted = {key, *(generic for generic, keys in table.items() if key in keys)}
    return bool(own & wanted)
