"""Remarks where the sounding pitch of a part goes against the custom of its instrument."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.ranks import groups
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
    counted = np.flatnonzero(~(found.unpitched | found.cue | found.derived | found.uncertain))
    if not len(counted):
        return []
    kind = groups((found.part[counted], instruments[counted], semitones[counted]))
    _, first = np.unique(kind, return_index=True)
    lowest, highest = np.full(len(first), 999, np.int16), np.full(len(first), -1, np.int16)
    np.minimum.at(lowest, kind, found.pitches.midi[counted])
    np.maximum.at(highest, kind, found.pitches.midi[counted])
    heads = counted[first]
    used_by_part = np.unique(np.stack((found.part[heads], semitones[heads])), axis=1)[0]
    changing = set(used_by_part[1:][used_by_part[1:] == used_by_part[:-1]].tolist())
    remarks: list[Remark] = []
    for event, low, high in zip(heads.tolist(), lowest.tolist(), highest.tolist(), strict=True):
        part, used = int(found.part[event]), int(semitones[event])
        stated = used if used or parts[part].transposition is not None else None
        key = keys[part, int(instruments[event])]
        if part in changing:
            key = generic_brass(key, reference)
        findings = transposition_remark(
            key,
            stated,
            low,
            high,
            reference,
            concert_score=score.header.concert_score,
            octave_clef=part in with_octave_clef,
        )
        bar = int(events.bar[event])
        remarks += [item.remark("warning", bar_index=bar, part_index=part) for item in findings]
    return remarks
