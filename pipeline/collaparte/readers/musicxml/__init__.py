"""MusicXML → tables, on columns from the start."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.kernels import arrow
from collaparte.kernels.ranks import members, union_length
from collaparte.movement import Movement
from collaparte.readers.ensembles import Ensemble, Seat, ensembles_of
from collaparte.readers.musicxml.bar_tables import BarTables
from collaparte.readers.musicxml.customs import custom_remarks
from collaparte.readers.musicxml.part_tables import PartTables
from collaparte.readers.musicxml.placing import Placed, placed, places_of, signs_of
from collaparte.readers.musicxml.score import Score, score_of
from collaparte.readers.parts import PartFacts, parts_of
from collaparte.readers.sayings import Sayings, sayings_of
from collaparte.readers.states import Dynamics, dynamics_of, rests_before, terms_in_force
from collaparte.readers.unread import movements_table
from collaparte.readers.vocabulary import Vocabulary, vocabulary_of
from collaparte.readers.worded_doublings import Candidate, not_notated, worded_doublings
from collaparte.readers.works import work_of
from collaparte.reference import Reference
from collaparte.remarks import Remark, remarks_table
from collaparte.schema import TICKS, Tables
from collaparte.settings import Settings

_APART = {"solo": "solo", "first_desk": "solo", "half_section": "section"}
"""What a part of a section is by itself, by the term that sets it apart."""

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
    sayings = sayings_of(score.directions, parts, reference)
    events = placed(score, parts, sayings, reference, settings)
    ensembles, findings = _ensembles(score, parts, events, movement, reference, settings)
    dynamics = _dynamics(score, sayings, events, parts, settings, vocabulary_of(reference))
    targets, ends, unwritten = _doubling_words(
        score, sayings, events, ensembles, dynamics, reference
    )
    bars = BarTables(movement.movement_id, score, sayings, ends, targets, reference)
    maker = PartTables(
        movement.movement_id, score, parts, events, ensembles, bars, reference, settings
    )
    tremolo, counted = maker.tremolos
    techniques = _techniques(score, sayings, events, parts, tremolo & ~counted, reference)
    notes = maker.notes_table(dynamics, techniques)
    lines = maker.lines_table()
    everything = [*remarks, *score.remarks, *part_remarks, *events.remarks, *findings, *unwritten]
    composer = movement.composer or score.header.composer
    everything += custom_remarks(score, parts, events, ensembles, reference)
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
            composer=composer,
            **work_of(movement, composer, score.header.work),
            rights_text=score.header.rights,
            bars=len(score.timeline.bar_length),
            quarters=float(score.timeline.bar_ticks[-1]) / TICKS,
            parts=len(parts),
            lines=lines.num_rows,
        ),
        "parts": maker.parts_table(),
        "lines": lines,
        "bars": bars.bars_table(),
        "play_order": bars.play_order_table(),
        "notes": notes,
        "directions": bars.directions_table(),
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
        state.values[value].semitones if part in stated else None
        for part, value in enumerate(code.tolist())
    ]
    unpitched = np.bincount(notes.part[score.display > 0], minlength=count) > 0
    return parts_of(
        score.header.parts,
        transpositions,
        unpitched.tolist(),
        frozenset(notes.instruments),
        movement,
        reference,
    )


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
        identity = events.identities[line.part][line.identity]
        names = (facts.header.part_id, facts.header.name or "", str(line.part))
        seats.append(
            Seat(
                instrument=identity.instrument,
                family=identity.family,
                label=identity.label or facts.name,
                word=_APART.get(line.stand.term) if line.stand else identity.ensemble,
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
    return found, [finding.remark() for finding in findings]


def _dynamics(
    score: Score,
    sayings: Sayings,
    events: Placed,
    parts: tuple[PartFacts, ...],
    settings: Settings,
    vocabulary: Vocabulary,
) -> Dynamics:
    return dynamics_of(
        places_of(events.events),
        signs_of(score.directions, sayings, "dynamic"),
        signs_of(score.directions, sayings, "hairpin"),
        score.staves.tolist(),
        [facts.identities[0].family in ("keyboard", "plucked") for facts in parts],
        _bar_lines(score),
        settings.word_hairpin_bars,
        vocabulary,
    )


def _doubling_words(
    score: Score,
    sayings: Sayings,
    events: Placed,
    ensembles: tuple[Ensemble, ...],
    dynamics: Dynamics,
    reference: Reference,
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], list[Remark]]:
    """For every direction the line that its words double (-1: none), and its end (-1: a point).

    The remarks name the parts that leave bars empty under such words.
    """
    ends = score.directions.end.copy()
    ends[list(dynamics.ends)] = list(dynamics.ends.values())
    targets = np.full(len(ends), -1, np.int64)
    signs = signs_of(score.directions, sayings, "doubling")
    if not signs:
        return targets, ends, []
    found = worded_doublings(
        signs,
        places_of(events.events),
        _bar_lines(score),
        _candidates(events, ensembles),
        reference,
    )
    for item in found:
        targets[item.direction], ends[item.direction] = item.target, item.end
    return targets, ends, not_notated(signs, found)


def _candidates(events: Placed, ensembles: tuple[Ensemble, ...]) -> list[Candidate]:
    """The lines of the score as words may name them."""
    found = []
    for line, ensemble in zip(events.lines, ensembles, strict=True):
        identity = events.identities[line.part][line.identity]
        players = identity.players
        number = players[min(line.rank, len(players) - 1)] if players else None
        found.append(Candidate(line.part, ensemble.instrument, identity.family, number))
    return found


def _bar_lines(score: Score) -> npt.NDArray[np.int64]:
    """Start of every bar and the end of the last."""
    timeline = score.timeline
    return np.append(timeline.bar_start, timeline.bar_start[-1] + timeline.bar_length[-1])


def _techniques(
    score: Score,
    sayings: Sayings,
    events: Placed,
    parts: tuple[PartFacts, ...],
    shaken: npt.NDArray[np.bool_],
    reference: Reference,
) -> dict[str, Any]:
    """Techniques and words of players of every note, as columns of the table `notes`.

    Notes marked in `shaken` carry the sign of a tremolo, which on a drum is a roll.
    """
    found, count = events.events, len(events.events)
    places, staves = places_of(found), score.staves.tolist()
    rests = rests_before(places, found.end, _bar_lines(score))
    signs = signs_of(score.directions, sayings, "technique")
    note, label, labels = terms_in_force(places, signs, staves, rests, reference)
    marks = score.marks.techniques
    event, pair = members(score.head[marks.note], found.origin)
    names = tuple(TECHNIQUES.get(name, name) for name in marks.labels)
    rolls = np.array([facts.identities[0].family == "percussion" for facts in parts])
    at_sign = np.flatnonzero(shaken)
    own = labels + names
    techniques = arrow.lists(
        np.concatenate((note, event, at_sign)),
        np.concatenate(
            (label, marks.label[pair] + len(labels), rolls[found.part[at_sign]] + len(own))
        ),
        (*own, "tremolo", "roll"),
        count,
    )
    signs = signs_of(score.directions, sayings, "players")
    stated = terms_in_force(places, signs, staves, rests, reference)
    return {"techniques": techniques, "players_stated": arrow.lists(*stated, count)}


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
