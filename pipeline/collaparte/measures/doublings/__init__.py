"""Doublings: two lines that go together.

A line is the sequence of its sounding notes (grace, cue and unpitched notes left out; where
several begin at once, the top one, but for chords). An onset of two lines is matched when both
begin a note exactly there. A stretch is a maximal run of matched onsets with one key; the key,
and how many notes and changes of pitch a stretch needs, depend on the kind:

- `unison`, `octave`, `octave_displaced`, `reiterated`, `main_notes`: `same_line`
- `chordal`: `chords`
- `parallel_thirds`, `parallel_sixths`: `parallels`

One unmatched onset is bridged when the two onsets on each side are matched with the key; an
onset at which both begin notes of another key ends the stretch. Where bridges leave fewer than
three quarters of the onsets matched, they fall and each piece stands for itself. A joint silence
of more than four quarters ends a stretch. A change of pitch counts where both lines change.
Definitions and thresholds of the project; the thresholds stand in `collaparte.settings`.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pyarrow as pa

from collaparte.measures.doublings.melody import in_lines, sounds
from collaparte.measures.doublings.search import search
from collaparte.measures.doublings.stretches import Stretches
from collaparte.measures.doublings.tell import tables as told_as_tables
from collaparte.measures.doublings.worded import worded
from collaparte.reference import Reference
from collaparte.schema import Tables, empty
from collaparte.settings import Settings


def doublings(tables: Mapping[str, pa.Table], reference: Reference, settings: Settings) -> Tables:
    """The tables `doublings` and `doubled_notes` from `notes`, `lines`, `bars`, `directions`.

    All stretches that pass the inclusive thresholds are there, `strict` marks those that pass
    the strict ones. `interval_semitones` is the lower line in score order minus the upper. A
    stretch of which more than half is told by kinds of higher rank is left out. What is doubled
    in words alone follows with the basis `words`, and has no matched notes.
    """
    notes, lines = tables["notes"], tables["lines"]
    every_note = sounds(notes, lines)
    found = Stretches.none()
    if len(every_note.line):
        found = search(in_lines(every_note, len(lines)), lines, settings)
    made = {name: empty(name) for name in ("doublings", "doubled_notes")}
    if len(found):
        movement_id = notes["movement_id"][0].as_py()
        made = told_as_tables(movement_id, _in_order(found), notes, lines)
    in_words = worded(tables, len(found))
    if in_words is not None:
        made["doublings"] = pa.concat_tables([made["doublings"], in_words])
    return made


def _in_order(found: Stretches) -> Stretches:
    """The stretches by pair of lines, start and kind."""
    return found.take(np.lexsort((found.kind, found.start, found.line_b, found.line_a)))
