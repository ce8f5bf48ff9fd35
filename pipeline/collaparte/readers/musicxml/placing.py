"""Events on their lines: who plays what, and the directions that say so."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collaparte.readers.changes import changes_of
from collaparte.readers.instruments import Identity
from collaparte.readers.lines import Line, Staves, lines_of
from collaparte.readers.musicxml.directions import WORDS, Directions
from collaparte.readers.musicxml.notes import Events
from collaparte.readers.musicxml.score import Score
from collaparte.readers.parts import PartFacts
from collaparte.readers.sayings import Sayings
from collaparte.readers.signs import Places, Sign
from collaparte.reference import Reference
from collaparte.remarks import Remark
from collaparte.settings import Settings

Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Placed:
    """Events on their lines, in the order of the table `notes`.

    `line` counts into `lines`; times are in ticks.
    """

    events: Events
    line: Integers
    lines: list[Line]
    identities: tuple[tuple[Identity, ...], ...]
    onset: Integers
    end: Integers
    bar: npt.NDArray[np.int32]
    remarks: tuple[Remark, ...]


def placed(
    score: Score,
    parts: tuple[PartFacts, ...],
    sayings: Sayings,
    reference: Reference,
    settings: Settings,
) -> Placed:
    """Every event on its line or lines, in the order of parts, onsets, pitches and lines."""
    events, notes = score.events, score.notes
    places = places_of(events)
    transposition = score.transposition_of(events)
    identities = [facts.identities for facts in parts]
    bar = score.timeline.bar_at(events.onset - events.late).astype(np.int64)
    signs = signs_of(score.directions, sayings, "instrument")
    changes = changes_of(places, bar, transposition, identities, signs, reference)
    stated = np.full(len(notes.instruments) + 1, -1, np.int64)
    for code, instrument_id in enumerate(notes.instruments):
        stated[code] = max(facts.identity_of(instrument_id) for facts in parts)
    by_note = stated[notes.instrument[events.origin]]
    height = np.where(events.unpitched, 0, events.pitches.hundredths).astype(np.int64)
    staves = Staves(
        part=places.part,
        staff=places.staff,
        voice_rank=score.voice_rank[events.origin],
        voice=places.voice,
        onset=places.onset,
        height=height,
        grace=notes.grace[events.origin],
        instrument=np.where(by_note >= 0, by_note, changes.identity),
        sharing=np.array(
            [1 if facts.by_instrument_id else len(facts.identities) for facts in parts], np.int64
        ),
    )
    players = signs_of(score.directions, sayings, "players")
    lines, event, line = lines_of(staves, changes.identities, players, settings)
    order = np.lexsort((line, -height[event], events.onset[event], events.part[event]))
    events = events.take(event[order])
    return Placed(
        events=events,
        line=line[order],
        lines=lines,
        identities=changes.identities,
        onset=score.timeline.ticks(events.onset),
        end=score.timeline.ticks(events.end),
        bar=score.timeline.bar_at(events.onset - events.late),
        remarks=changes.remarks,
    )


def places_of(events: Events) -> Places:
    """Where the events stand."""
    return Places(
        events.part.astype(np.int64),
        events.staff.astype(np.int64),
        events.voice.astype(np.int64),
        events.onset,
    )


def signs_of(directions: Directions, sayings: Sayings, kind: str) -> list[Sign]:
    """Directions that mean something of one kind, as signs."""
    found = sayings.having(kind)
    places = np.array([place for place, _ in found], np.int64)
    columns = (
        directions.part,
        directions.staff,
        directions.voice,
        directions.onset,
        directions.end,
    )
    where = zip(*(column[places].tolist() for column in columns), strict=True)
    words = (directions.kind[places] == WORDS).tolist()
    return [
        Sign(part, staff, voice, time, end, meaning, from_words, place)
        for (part, staff, voice, time, end), (place, meaning), from_words in zip(
            where, found, words, strict=True
        )
    ]
