"""More like this: the passages of other works that are nearest to one passage.

Passages are compared by measures of their bars over time (`measures`), stretched or shrunk to a
fixed number of slices so that lengths may differ, and by how much of the melody that leads the one
is played in the other by any line, at any height and at its own. The distance is the weighted mean
of the differences of all measures, each ÷ its range, and of what is lost of the melody. Colour
counts; written dynamics do not, for many scores have none. Definitions of the project.
"""

from __future__ import annotations

from collaparte.similar.index import Index, make_index
from collaparte.similar.search import ROWS, similar

__all__ = ["ROWS", "Index", "make_index", "similar"]
"""An `Index` is made once for a state of a store; `similar` asks it."""
