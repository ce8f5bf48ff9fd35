"""MusicXML → tables, on columns from the start."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.kernels import arrow
from collaparte.kernels.ranks import members, union_length
from collaparte.movement import Movement
from collaparte.readers.ensembles import Ensemble, Seat, ensembles_of
from collaparte.readers.musicxml.directions import WORDS
from collaparte.readers.musicxml.score import Score, score_of
from collaparte.readers.musicxml.tables import Placed, TableMaker, placed
from collaparte.readers.parts import PartFacts, parts_of
from collaparte.readers.sayings import Sayings, sayings_of
from collaparte.readers.states import Dynamics, Places, Sign, dynamics_of, techniques_of
from collaparte.readers.unread import movements_table
from collaparte.readers.vocabulary import Vocabulary, vocabulary_of
from collaparte.reference import Reference
from collaparte.remarks import Remark, remarks_table
from collaparte.schema import TICKS, Tables
from collaparte.settings import Settings

TECHNIQUES = {"stopped": "stopped", "harmonic": "harmonics", "open": "open_brass"}
"""Marks of the standard that mean a term of the reference data."""


def read_musicxml(
    document: bytes,
    movement: Movement,
    reference: Reference,
    settings: Settings,
    remarks: tuple[Remark, ...] = (),
) -> Tables:
    """The tables of one MusicXML document.

    Parameters
    ----------
    remarks
        What was already noticed while the file was unpacked.

    Raises
    ------
    ScoreError
        The document cannot be read.
    """
    score = score_of(document)
    parts, part_remarks = _parts(score, movement, reference)
    events = placed(score, parts, settings)
    ensembles, findings = _ensembles(score, parts, events, movement, reference, settings)
    sayings = sayings_of(score.directions, parts, reference)
    dynamics = _dynamics(score, sayings, events, parts, settings, vocabulary_of(reference))
    maker = TableMaker(
        movement.movement_id,
        score,
        parts,
        events,
        ensembles,
        sayings,
        _ends(score, dynamics),
        reference,
        settings,
    )
    techniques = _techniques(score, sayings, events, reference)
    notes, lines, bars = (
        maker.notes_table(dynamics, techniques),
        maker.lines_table(),
        maker.bars_table(),
    )
    everything = [*remarks, *score.remarks, *part_remarks, *findings]
    return {
        "movements": movements_table(
            movement,
            "read",
            format="musicxml",
            reader="musicxml",
            encoder=score.header.encoder,
            software=score.header.software,
            edition=score.header.edition,
            title=movement.title or score.header.title,
            composer=movement.composer or score.header.composer,
            rights_text=score.header.rights,
            bars=bars.num_rows,
            quarters=float(score.timeline.bar_ticks[-1]) / TICKS,
            parts=len(parts),
            lines=lines.num_rows,
        ),
        "parts": maker.parts_table(),
        "lines": lines,
        "bars": bars,
        "play_order": maker.play_order_table(),
        "notes": notes,
        "directions": maker.directions_table(),
        "remarks": remarks_table(movement.movement_id, map(maker.placed_remark, everything)),
    }


def _parts(
    score: Score, movement: Movement, reference: Reference
) -> tuple[tuple[PartFacts, ...], list[Remark]]:
    """Facts of every part, with the transposition that it begins with."""
    state, notes = score.transposition, score.notes
    count = score.rows.parts
    first = np.zeros(count, np.int64)
    first[notes.part[::-1]] = notes.onset[::-1]
    index = np.arange(count, dtype=np.int32)
    code = state.at(index, np.ones(count, np.int32), first)
    stated = set((state.key // 64).tolist())
    transpositions = [
        state.values[value].semitones if part in stated else None  # type: ignore[attr-defined]
        for part, value in enumerate(code.tolist())
    ]
    unpitched = np.bincount(notes.part[~_pitched(score)], minlength=count) > 0
    return parts_of(
        score.header.parts,
        transpositions,
        unpitched.tolist(),
        frozenset(notes.instruments),
        movement,
        reference,
    )


def _pitched(score: Score) -> npt.NDArray[np.bool_]:
    return score.display == 0


def _ensembles(
    score: Score,
    parts: tuple[PartFacts, ...],
    events: Placed,
    movement: Movement,
    reference: Reference,
    settings: Settings,
) -> tuple[tuple[Ensemble, ...], list[Remark]]:
    """What every line is, and a remark where that is a guess."""
    stated = {item.part: item.ensemble for item in movement.parts if item.ensemble}
    seats = []
    for line in events.lines:
        facts = parts[line.part]
        identity = facts.identities[line.identity]
        names = (facts.header.part_id, facts.header.name or "", str(line.part))
        seats.append(
            Seat(
                instrument=identity.instrument,
                family=identity.family,
                label=identity.label or facts.name,
                word=identity.ensemble,
                statement=next((stated[name] for name in names if name in stated), None),
                element=facts.ensemble_element,
                brackets=tuple((facts.header.bracket or "").split(" > ")),
            )
        )
    found, findings = ensembles_of(
        seats,
        _together(events, [place for place, seat in enumerate(seats) if seat.sings]),
        reference,
        voices=movement.voices,
        chorus_lines=settings.chorus_lines,
    )
    return found, [
        Remark(finding.code.replace("-", "_"), f"{finding.message}.", f"{finding.done}.")
        for finding in findings
    ]


def _signs(score: Score, sayings: Sayings, kind: str) -> list[Sign]:
    """Directions that mean something of one kind."""
    directions = score.directions
    return [
        Sign(
            part=int(directions.part[place]),
            staff=int(directions.staff[place]),
            voice=int(directions.voice[place]),
            time=int(directions.onset[place]),
            end=int(directions.end[place]),
            meaning=meaning,
            from_words=int(directions.kind[place]) == WORDS,
            direction=place,
        )
        for place, meaning in sayings.having(kind)
    ]


def _places(events: Placed) -> Places:
    found = events.events
    return Places(
        found.part.astype(np.int64),
        found.staff.astype(np.int64),
        found.voice.astype(np.int64),
        found.onset,
    )


def _dynamics(
    score: Score,
    sayings: Sayings,
    events: Placed,
    parts: tuple[PartFacts, ...],
    settings: Settings,
    vocabulary: Vocabulary,
) -> Dynamics:
    timeline = score.timeline
    ends = np.append(timeline.bar_start, timeline.bar_start[-1] + timeline.bar_length[-1])
    return dynamics_of(
        _places(events),
        _signs(score, sayings, "dynamic"),
        _signs(score, sayings, "hairpin"),
        score.staves.tolist(),
        [facts.identities[0].family in ("keyboard", "plucked") for facts in parts],
        ends,
        settings.word_hairpin_bars,
        vocabulary,
    )


def _ends(score: Score, dynamics: Dynamics) -> npt.NDArray[np.int64]:
    """Where every direction ends; -1 for a point."""
    ends = score.directions.end.copy()
    ends[list(dynamics.ends)] = list(dynamics.ends.values())
    return ends


def _techniques(score: Score, sayings: Sayings, events: Placed, reference: Reference) -> Any:
    """Lists of techniques: those in force, and the marks of the note itself."""
    note, label, labels = techniques_of(
        _places(events), _signs(score, sayings, "technique"), score.staves.tolist(), reference
    )
    marks = score.marks.techniques
    event, pair = members(score.head[marks.note], events.events.origin)
    names = tuple(TECHNIQUES.get(name, name) for name in marks.labels)
    return arrow.lists(
        np.concatenate((note, event)),
        np.concatenate((label, marks.label[pair] + len(labels))),
        labels + names,
        len(events.events),
    )


def _together(events: Placed, wanted: list[int]) -> npt.NDArray[np.int64]:
    """Ticks in which two of the wanted lines both sound; zero for all others."""
    count = len(events.lines)
    matrix = np.zeros((count, count), np.int64)
    sounds = ~events.events.cue & (events.end > events.onset)
    members = {line: sounds & (events.line == line) for line in wanted}
    for place, one in enumerate(wanted):
        for other in wanted[: place + 1]:
            both = members[one] | members[other]
            group = np.zeros(int(both.sum()), np.int64)
            union = int(union_length(group, events.onset[both], events.end[both], 1)[0])
            matrix[one, other] = matrix[other, one] = union
    alone = matrix.diagonal().copy()
    pairs = matrix > 0
    np.fill_diagonal(pairs, val=False)
    return np.where(pairs, alone[:, None] + alone[None, :] - matrix, matrix)
