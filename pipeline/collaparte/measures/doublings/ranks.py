"""One story a stretch: what a kind of higher rank already tells is not told again."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.arrays import Flags
from collaparte.kernels.spans import covered
from collaparte.measures.doublings.stretches import Stretches


def one_story(found: Stretches, lines: int, percent: int) -> Flags:
    """Which stretches stay: those covered to at most `percent` by higher kinds that stay.

    Kinds rank in the order of `KINDS`; stretches of one pair of lines are compared.
    """
    pair = found.line_a * lines + found.line_b
    stays = np.zeros(len(found), np.bool_)
    for kind in np.unique(found.kind):
        mine = found.kind == kind
        spans = pair[mine], found.start[mine], found.end[mine]
        told = covered(spans, (pair[stays], found.start[stays], found.end[stays]))
        stays[mine] = 100 * told <= percent * (spans[2] - spans[1])
    return stays
