"""The kinds of doubling, in the order in which one outranks the next."""

from __future__ import annotations

KINDS = (
    "unison",
    "octave",
    "octave_displaced",
    "reiterated",
    "main_notes",
    "chordal",
    "parallel_thirds",
    "parallel_sixths",
)

SAME_LINE = KINDS[:4]
"""The kinds in which both lines are the same line; only these count in doubled shares."""

UNISON, OCTAVE, DISPLACED, REITERATED, MAIN_NOTES, CHORDAL, THIRDS, SIXTHS = range(len(KINDS))
