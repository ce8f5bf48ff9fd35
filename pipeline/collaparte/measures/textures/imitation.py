"""Imitation: notes of one line that another has a little before or after."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.arrays import Ints, Reals
from collaparte.kernels.joins import pairs_within
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.grid import Grid
from collaparte.measures.textures.themes import NoteGroups
from collaparte.measures.textures.windows import Windows
from collaparte.schema import TICKS
from collaparte.settings import Settings


def imitation(
    grid: Grid, found: NoteGroups, around: Windows, a: Ints, b: Ints, settings: Settings
) -> Reals:
    """Groups of notes of either line that the other imitates ÷ groups of both; 0 to 1.

    A group is imitated where the other line begins the same group up to `imitation_quarters`
    earlier or later, and not at the same time.

    Parameters
    ----------
    a, b
        Lines of each pair, a before b in the score.

    Returns
    -------
    Shape (bars, pairs), over the window of each bar.
    """
    attacks = grid.attacks
    onset, line = attacks.onset[found.start], attacks.line[found.start]
    bar = attacks.bar[found.start]
    pair = np.full((grid.lines, grid.lines), -1, np.int64)
    pair[a, b] = pair[b, a] = np.arange(len(a))
    count = len(a)

    width = int(onset.max(initial=0)) + 1 + int(settings.imitation_quarters * TICKS)
    place = found.group * width + onset
    reach = int(settings.imitation_quarters * TICKS)
    one, other = pairs_within(place, place + reach + 1, place)
    apart = line[one] != line[other]
    one, other = one[apart], other[apart]
    late = place[one] != place[other]
    together = _told(one[~late], other[~late], pair, line, count)
    imitated = np.setdiff1d(_told(one[late], other[late], pair, line, count), together)
    hits = np.bincount(
        bar[imitated // count] * count + imitated % count, minlength=grid.bars * count
    ).reshape(grid.bars, count)
    starts = np.bincount(bar * grid.lines + line, minlength=grid.bars * grid.lines)
    own = around.sums(starts.reshape(grid.bars, grid.lines))
    return ratio(around.sums(hits), own[:, a] + own[:, b])


def _told(one: Ints, other: Ints, pair: Ints, line: Ints, count: int) -> Ints:
    """Each group of each pair, told once from both sides: group × pairs + pair."""
    of = pair[line[one], line[other]]
    return np.unique(np.concatenate([one * count + of, other * count + of]))
