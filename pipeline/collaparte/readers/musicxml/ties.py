"""Ties: which notes of a part are one sounding note.

A tie joins two notes of one part when the first starts one, the second stops one, both sound
the same pitch and the second begins exactly where the first ends; the same voice and staff come
first, then the same voice, then any. Everything else stays two attacks.

Source: MusicXML 4.0, element `tie` (sound); `tied` is notation and joins nothing.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from collaparte.kernels.ranks import groups, rank_within
from collaparte.readers.musicxml.timeline import Flags, Positions

Integers = npt.NDArray[np.int64]


def chains(
    start: Flags,
    stop: Flags,
    onset: Positions,
    end: Positions,
    same: tuple[Integers, Integers, Integers, Integers],
    levels: int = 3,
) -> tuple[Integers, Flags]:
    """The first note of the chain that each note belongs to.

    Parameters
    ----------
    start, stop
        True where a tie begins or ends on the note.
    same
        Part, pitch, voice and staff of every note as whole numbers.
    levels
        How much may differ: 1 nothing, 2 the staff, 3 the voice as well.

    Returns
    -------
    head, open_stop
        Number of the first note of the chain (its own where it is not tied), and True where a
        stop found no note to come from.
    """
    count = len(onset)
    following = np.full(count, -1, np.int64)
    preceded = np.zeros(count, bool)
    part, pitch, voice, staff = same
    for shared in ((part, pitch, voice, staff), (part, pitch, voice), (part, pitch))[:levels]:
        first = np.flatnonzero(start & (following < 0))
        second = np.flatnonzero(stop & ~preceded)
        if not len(first) or not len(second):
            break
        places = np.concatenate((first, second))
        columns = [column[places] for column in shared]
        columns.append(np.concatenate((end[first], onset[second])))
        group = groups(columns)
        left = _ranked(group[: len(first)], len(places))
        right = _ranked(group[len(first) :], len(places))
        order = np.argsort(right, kind="stable")
        at = np.minimum(np.searchsorted(right[order], left), len(order) - 1)
        matched = right[order][at] == left
        source, target = first[matched], second[order[at[matched]]]
        useful = source != target
        following[source[useful]] = target[useful]
        preceded[target[useful]] = True
    head = np.arange(count)
    head[following[following >= 0]] = np.flatnonzero(following >= 0)
    while True:  # every round doubles the length of chain that is closed
        further = head[head]
        if np.array_equal(further, head):
            return head, stop & ~preceded
        head = further


FEWEST_TIES = 16
MET_SHARE = 0.1


def stops_are_missing(start: Flags, head: Integers) -> bool:
    """True for a file that writes the beginnings of its ties and (almost) none of the ends.

    Exporters of that kind exist: 45 of the 654 files of one large public corpus. A file of at
    least `FEWEST_TIES` ties of which at most `MET_SHARE` are met by an end is one.
    """
    begun = int(start.sum())
    met = int((head != np.arange(len(head))).sum())
    return begun >= FEWEST_TIES and met <= MET_SHARE * begun


def _ranked(group: Integers, most: int) -> Integers:
    """A number for each row that tells group and rank within the group, of at most `most`."""
    return group * most + rank_within(group)
