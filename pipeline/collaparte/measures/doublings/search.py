"""The search for doublings of every kind among the notes of all lines."""

from __future__ import annotations

import numpy as np
import pyarrow as pa

from collaparte.measures.doublings.chords import chordal
from collaparte.measures.doublings.matches import same_pitch_class
from collaparte.measures.doublings.melody import Melody, top_notes
from collaparte.measures.doublings.parallels import parallels
from collaparte.measures.doublings.ranks import one_story
from collaparte.measures.doublings.same_line import displaced, main_notes, reiterated, steady
from collaparte.measures.doublings.stretches import Stretches, together
from collaparte.settings import Settings


def search(every_note: Melody, lines: pa.Table, settings: Settings) -> Stretches:
    """Every stretch that passes the inclusive thresholds and is not told by a higher kind."""
    found = together(_all_kinds(every_note, lines, settings))
    stays = one_story(found, every_note.lines, settings.covered_percent)
    return found.take(np.flatnonzero(stays))


def _all_kinds(every_note: Melody, lines: pa.Table, settings: Settings) -> list[Stretches]:
    source = top_notes(every_note)
    fewest = min(
        thresholds.matched
        for thresholds in (
            settings.unison,
            settings.octave,
            settings.octave_displaced,
            settings.main_notes,
        )
    )
    matches = same_pitch_class(source, fewest)
    found = [Stretches.none()]
    if len(matches):
        between = matches.steps()
        found += steady(matches, between, settings)
        found += displaced(matches, between, settings)
        found += main_notes(matches, between, settings)
    found += reiterated(source, settings)
    found += chordal(every_note, lines, settings)
    found += parallels(source, settings)
    return found
