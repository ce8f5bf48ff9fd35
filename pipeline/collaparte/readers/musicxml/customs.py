"""Remarks where the sounding pitch of a part goes against the custom of its instrument."""

from __future__ import annotations

import numpy as np

from collaparte.readers.ensembles import Ensemble
from collaparte.readers.musicxml.attributes import children_of
from collaparte.readers.musicxml.placing import Placed
from collaparte.readers.musicxml.score import Score
from collaparte.readers.parts import PartFacts
from collaparte.readers.transpositions import generic_brass, transposition_remark
from collaparte.reference import Reference
from collaparte.remarks import Remark


def custom_remarks(
    score: Score,
    parts: tuple[PartFacts, ...],
    events: Placed,
    ensembles: tuple[Ensemble, ...],
    reference: Reference,
) -> list[Remark]:
    """One remark for each part, instrument and transposition that is odd; pitches stay.

    Brass that changes its crook is measured by the crooks of its kind.
    """
    found = events.events
    semitones = score.transposition_of(found)
    instruments = np.array([line.identity for line in events.lines], np.int64)[events.line]
    keys = {
        (line.part, line.identity): ensemble.instrument
        for line, ensemble in zip(events.lines, ensembles, strict=True)
    }
    with_octave_clef = {
        int(score.rows.part[child.row])
        for child in children_of(score.rows, "clef", ("clef-octave-change",))
        if child.text("clef-octave-change") not in (None, "0")
    }
    counted = ~(found.unpitched | found.cue | found.derived | found.uncertain)
    kinds = np.stack((found.part.astype(np.int64), instruments, semitones))[:, counted]
    midi, bar = found.pitches.midi[counted], events.bar[counted]
    remarks: list[Remark] = []
    changing = {
        line.part for line in events.lines if len(np.unique(kinds[2, kinds[0] == line.part])) > 1
    }
    for part, identity, used in np.unique(kinds, axis=1).T.tolist():
        own = (kinds == np.array([[part], [identity], [used]])).all(axis=0)
        stated = used if used or parts[part].transposition is not None else None
        key = keys[part, identity]
        if part in changing:
            key = generic_brass(key, reference)
        findings = transposition_remark(
            key,
            stated,
            int(midi[own].min()),
            int(midi[own].max()),
            reference,
            concert_score=score.header.concert_score,
            octave_clef=part in with_octave_clef,
        )
        first = int(bar[own][0])
        remarks += [item.remark("warning", bar_index=first, part_index=part) for item in findings]
    return remarks
