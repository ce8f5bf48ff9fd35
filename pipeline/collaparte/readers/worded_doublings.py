"""Doublings that the score only says in words ("col Basso"): whose line is meant, how far.

Under such words bars are left empty, so that their rests are none: the span from the words to
the bar in which the staff goes on, or to the next such words, is not notated. The line that is
meant is the first in score order with that instrument (or a size of it) and that number; "the
bass" is the lowest of the strings or the continuo, "the voice", "the chorus" and "the strings"
are their highest line, "as above" over empty bars is the part above (common practice, no source).
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
from collaparte.remarks import Remark

Integers = npt.NDArray[np.int64]

_BASSES = ("double-bass", "cello-and-bass", "violone", "continuo", "violoncello")
_FAMILIES = {"voice": "voice", "chorus": "voice", "strings": "string"}
_ELSE = {"bass": _BASSES, "voice-alto": ("voice-alto", "viola")}
"""Keys that a word means, the first that the score has; French "altos" are violas."""


@dataclass(frozen=True)
class Candidate:
    """A line that words may mean: its part, instrument, family and number of the player."""

    part: int
    instrument: str | None
    family: str | None
    number: int | None


@dataclass(frozen=True)
class WordedDoubling:
    """Words of doubling: the direction, the line meant (-1: none), the end (-1: no span).

    `bars` is how many bars are left empty under them, from bar `first` on.
    """

    direction: int
    target: int
    end: int
    first: int
    bars: int


def worded_doublings(
    signs: Sequence[Sign],
    places: Places,
    bar_lines: Integers,
    candidates: Sequence[Candidate],
    reference: Reference,
) -> list[WordedDoubling]:
    """What each direction of kind `doubling` means.

    Parameters
    ----------
    bar_lines
        Start of every bar, and the end of the last.
    """
    found: dict[int, WordedDoubling] = {}
    for sign in signs:
        here = places.part == sign.part
        if sign.staff:
            here &= places.staff == sign.staff
        resumed = places.onset[here & (places.onset >= sign.time)].min(initial=bar_lines[-1])
        bar = np.searchsorted(bar_lines, resumed, "right") - 1
        resumed = max(int(bar_lines[bar]), sign.time)
        others = [other.time for other in signs if other.part == sign.part]
        end = min([resumed, *(time for time in others if time > sign.time)])
        first = int(np.searchsorted(bar_lines, sign.time, "right")) - 1
        bars = int(np.searchsorted(bar_lines, end)) - first if end > sign.time else 0
        target = target_line(sign.meaning, sign.part, candidates, reference)
        if target < 0 and bars and sign.meaning.id == "as_above":
            target = _above(sign.part, candidates)
        if sign.direction not in found or found[sign.direction].target < 0:
            found[sign.direction] = WordedDoubling(
                sign.direction, target, end if bars else -1, first, bars
            )
    return list(found.values())


def not_notated(signs: Sequence[Sign], found: Sequence[WordedDoubling]) -> list[Remark]:
    """One remark a part on the bars that are left empty under words of doubling."""
    sign_of = {sign.direction: sign for sign in signs}
    by_part: dict[int, list[WordedDoubling]] = {}
    for item in found:
        if item.bars:
            by_part.setdefault(sign_of[item.direction].part, []).append(item)
    return [
        Remark(
            "not_notated",
            f"Bars are left empty under words of doubling "
            f"(“{sign_of[items[0].direction].meaning.text}”).",
            "They are not notated, not rests; table directions says whose line is meant and how "
            "far, and no notes were made.",
            "warning",
            bar_index=items[0].first,
            part_index=part,
            count=sum(item.bars for item in items),
        )
        for part, items in by_part.items()
    ]


def target_line(
    meaning: Meaning, part: int, candidates: Sequence[Candidate], reference: Reference
) -> int:
    """Number of the line that words of doubling mean, -1 where none in the score fits."""
    others = [(place, line) for place, line in enumerate(candidates) if line.part != part]
    key = meaning.target_key or ""
    if key in _FAMILIES:
        return next((place for place, line in others if line.family == _FAMILIES[key]), -1)
    for wanted in _ELSE.get(key, (key,)):
        fitting = [
            (place, line) for place, line in others if _same(line.instrument, wanted, reference)
        ]
        numbered = [place for place, line in fitting if line.number in meaning.numbers]
        if numbered or fitting:
            return numbered[0] if numbered else fitting[0][0]
    return -1


def _above(part: int, candidates: Sequence[Candidate]) -> int:
    """The first line of the part directly above, -1 where it has none."""
    lines = [place for place, line in enumerate(candidates) if line.part == part - 1]
    return lines[0] if lines else -1


def _same(instrument: str | None, key: str, reference: Reference) -> bool:
    """The same instrument, or one a size of the other."""
    if instrument is None or not key:
        return False
    table = sizes(reference)
    own = {instrument, *(generic for generic, keys in table.items() if instrument in keys)}
    wanted = {key, *(generic for generic, keys in table.items() if key in keys)}
    return bool(own & wanted)
