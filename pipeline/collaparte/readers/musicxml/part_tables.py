"""The tables of parts, lines and notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from collaparte.kernels import arrow
from collaparte.kernels.ranks import groups, members, rank_within, union_length
from collaparte.readers.ensembles import Ensemble
from collaparte.readers.lines import Line, label, player_numbers, players_in
from collaparte.readers.musicxml.bar_tables import BarTables
from collaparte.readers.musicxml.marks import UNMEASURED, Pairs
from collaparte.readers.musicxml.pitches import STEPS
from collaparte.readers.musicxml.placing import Placed
from collaparte.readers.musicxml.score import Score
from collaparte.readers.parts import PartFacts
from collaparte.readers.states import Dynamics
from collaparte.reference import Reference
from collaparte.reference.registers import register_of
from collaparte.remarks import Remark
from collaparte.schema import TICKS, keys, table_of
from collaparte.settings import Settings

Integers = npt.NDArray[np.int64]


class PartTables:
    """Makes the tables of parts, lines and notes of one movement."""

    def __init__(
        self,
        movement_id: str,
        score: Score,
        parts: tuple[PartFacts, ...],
        placed_events: Placed,
        ensembles: Sequence[Ensemble],
        bars: BarTables,
        reference: Reference,
        settings: Settings,
    ) -> None:
        self.movement_id = movement_id
        self.score = score
        self.parts = parts
        self.placed = placed_events
        self.reference = reference
        self.settings = settings
        self.ensembles = ensembles
        self.bars = bars
        self.instruments = [item.instrument for item in ensembles]

    def placed_remark(self, remark: Remark) -> Remark:
        """A remark with the bar number and the part name that its indexes stand for."""
        bar, part = remark.bar_index, remark.part_index
        return replace(
            remark,
            bar=self.bars.bar_words[bar] if bar is not None else None,
            part=self.parts[part].name if part is not None else None,
        )

    def parts_table(self) -> pa.Table:
        """The table `parts`."""
        parts = self.parts
        return table_of(
            "parts",
            self.movement_id,
            {
                "part_index": np.arange(len(parts), dtype=np.int16),
                "part_key": keys(self.movement_id, np.arange(len(parts))),
                "part_id": [facts.header.part_id for facts in parts],
                "name": [facts.header.name for facts in parts],
                "abbreviation": [facts.header.abbreviation for facts in parts],
                "bracket": [facts.header.bracket for facts in parts],
                "staves": self.score.staves,
                "instrument": [facts.identities[0].instrument for facts in parts],
                "family": [facts.identities[0].family for facts in parts],
                "ensemble_element": [facts.ensemble_element for facts in parts],
                "sound_id": [facts.sound_id for facts in parts],
                "midi_program": [facts.program for facts in parts],
                "transposition_semitones": [facts.transposition or 0 for facts in parts],
                "instrument_basis": [facts.identities[0].basis for facts in parts],
                "instrument_confidence": [facts.identities[0].confidence for facts in parts],
            },
        )

    def _played_apart(self) -> list[int]:
        """Instruments of each part that have a player each.

        Instruments that the notes name by id are one player's where no two ever sound together.
        """
        line, sounds = self.placed.line[self.sounds], self.sounds
        onset, end = self.placed.onset[sounds], self.placed.end[sounds]
        part = np.array([item.part for item in self.placed.lines], np.int64)[line]
        identity = np.array([item.identity for item in self.placed.lines], np.int64)[line]
        count, width = len(self.parts), int(identity.max(initial=0)) + 1
        whole = union_length(part, onset, end, count)
        each = union_length(part * width + identity, onset, end, count * width)
        together = each.reshape(count, width).sum(axis=1) > whole
        return [
            1 if facts.by_instrument_id and not together[place] else len(facts.identities)
            for place, facts in enumerate(self.parts)
        ]

    def lines_table(self) -> pa.Table:
        """The table `lines`."""
        lines, placed_events = self.placed.lines, self.placed
        identities = [self.placed.identities[line.part][line.identity] for line in lines]
        sounds = self.sounds
        count = len(lines)
        sounding = union_length(
            placed_events.line[sounds],
            placed_events.onset[sounds],
            placed_events.end[sounds],
            count,
        )
        pitched = sounds & ~placed_events.events.unpitched
        midi = placed_events.events.pitches.midi[pitched]
        lowest, highest = np.full(count, 999, np.int16), np.full(count, -1, np.int16)
        np.minimum.at(lowest, placed_events.line[pitched], midi)
        np.maximum.at(highest, placed_events.line[pitched], midi)
        return table_of(
            "lines",
            self.movement_id,
            {
                "line_key": keys(self.movement_id, np.arange(count)),
                "part_index": np.array([line.part for line in lines], np.int16),
                "part_name": [self.parts[line.part].header.name for line in lines],
                "player": self.labels,
                "player_key": keys(
                    self.movement_id,
                    player_numbers(lines, identities, self._played_apart()),
                ),
                "line_basis": [line.basis for line in lines],
                "instrument": self.instruments,
                "instrument_basis": [identity.basis for identity in identities],
                "instrument_confidence": [identity.confidence for identity in identities],
                "family": [identity.family for identity in identities],
                "subfamily": [
                    self.reference.instruments[key].subfamily if key else None
                    for key in self.instruments
                ],
                "ensemble": [ensemble.ensemble for ensemble in self.ensembles],
                "ensemble_basis": [ensemble.basis for ensemble in self.ensembles],
                "ensemble_confidence": [ensemble.confidence for ensemble in self.ensembles],
                "players": [
                    players_in(line, identity, ensemble.players)
                    for line, identity, ensemble in zip(
                        lines, identities, self.ensembles, strict=True
                    )
                ],
                "sounding_ticks": sounding,
                "notes": np.bincount(placed_events.line[sounds], minlength=count),
                "lowest": arrow.numbers(lowest, highest >= 0),
                "highest": arrow.numbers(highest, highest >= 0),
            },
        )

    @cached_property
    def labels(self) -> list[str]:
        """Name of every line as a reader of the score would say it."""
        return [
            label(
                line, self.placed.identities[line.part][line.identity], self.parts[line.part].name
            )
            for line in self.placed.lines
        ]

    @cached_property
    def sounds(self) -> npt.NDArray[np.bool_]:
        """Events that sound: neither grace nor cue notes."""
        events = self.placed.events
        return ~events.cue & ~self.score.notes.grace[events.origin]

    def notes_table(self, dynamics: Dynamics, techniques: dict[str, Any]) -> pa.Table:
        """The table `notes`."""
        events, line, bar = self.placed.events, self.placed.line, self.placed.bar
        notes, marks = self.score.notes, self.score.marks
        count, origin = len(events), events.origin
        head = self.score.head
        number = np.arange(count)
        onset, end = self.placed.onset, self.placed.end
        midi = events.pitches.midi
        pitched = ~events.unpitched
        register = register_of(
            self.instruments,
            line,
            np.where(pitched, midi, -1),
            self.reference,
            self.settings.register_scheme,
        )
        return table_of(
            "notes",
            self.movement_id,
            {
                "note_key": keys(self.movement_id, number),
                "line_key": keys(self.movement_id, line),
                "part_index": events.part.astype(np.int16),
                "staff": events.staff.astype(np.int16),
                "voice": arrow.words(events.voice, notes.voices),
                "instrument": arrow.words(line, self.instruments),
                "family": arrow.words(line, [self._family(place) for place in self.placed.lines]),
                "ensemble": arrow.words(line, [item.ensemble for item in self.ensembles]),
                "onset_ticks": onset,
                "duration_ticks": end - onset,
                "onset_quarters": onset / TICKS,
                "duration_quarters": (end - onset) / TICKS,
                **self.bars.bar_columns(bar),
                "beat": self._beats(),
                "step": arrow.words(events.pitches.step, tuple(STEPS)),
                "alter": arrow.numbers(events.pitches.alter, pitched),
                "octave": arrow.numbers(events.pitches.octave, pitched),
                "midi": arrow.numbers(midi, pitched),
                "cents": events.pitches.cents,
                "written_midi": arrow.numbers(events.pitches.written, pitched),
                "register_class": register.register_class,
                "register": register.band,
                "register_scheme": register.scheme,
                **dynamics.columns(),
                **techniques,
                "articulations": _lists(marks.articulations, head, origin),
                "hidden_articulations": _lists(marks.hidden_articulations, head, origin),
                "ornament": arrow.words(marks.ornament.code[origin], marks.ornament.values),
                "tremolo_strokes": arrow.numbers(
                    marks.tremolo_strokes[origin].astype(np.int16),
                    marks.tremolo_strokes[origin] >= 0,
                ),
                "tremolo_type": arrow.words(
                    marks.tremolo_type.code[origin], marks.tremolo_type.values
                ),
                "tremolo_measured": arrow.numbers(self.tremolos[1], self.tremolos[0]),
                "tremolo_pair": arrow.numbers(
                    keys(self.movement_id, np.maximum(events.tremolo_pair, 0)),
                    events.tremolo_pair >= 0,
                ),
                "lyric": arrow.texts(self._sung(marks.lyric.code), marks.lyric.values),
                "syllabic": arrow.words(self._sung(marks.syllabic.code), marks.syllabic.values),
                "is_grace": notes.grace[origin],
                "grace_order": self._grace_order(),
                "is_cue": events.cue,
                "is_unpitched": events.unpitched,
                "is_printed": notes.printed[origin],
                "tie_in": events.tie_in,
                "derived": events.derived,
                "inferred": events.inferred,
                "pitch_uncertain": events.uncertain,
                "display_pitch": arrow.words(
                    np.where(events.unpitched, self.score.display[origin], -1),
                    self.score.display_names,
                ),
                "gm_key": self._percussion_keys(),
                "gliss_to": self._slides(),
                "source_notes": arrow.integer_lists(*self._sources(), count),
            },
        )

    @cached_property
    def tremolos(self) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
        """Events with a tremolo, and those whose strokes are notes to be counted.

        Strokes and beams together tell the value of the repeated notes, the tempo how many
        there are in a second; more than `tremolo_notes_per_second` are an effect.
        """
        events, marks = self.placed.events, self.score.marks
        strokes = marks.tremolo_strokes[events.origin]
        beams = strokes + np.maximum(marks.beams[events.origin], 0)
        tempo = self.bars.tempo_at(events.onset)
        tempo = np.where(np.isnan(tempo), self.settings.usual_tempo, tempo)
        rate = tempo / 60 * np.exp2(beams)
        unmeasured = marks.tremolo_type.code[events.origin] == UNMEASURED
        counted = (rate <= self.settings.tremolo_notes_per_second) & ~unmeasured
        return (strokes > 0) | unmeasured, counted

    def _sources(self) -> tuple[Integers, npt.NDArray[np.int32]]:
        """The note elements of every event, as numbers within their part."""
        event, note = members(self.score.head, self.placed.events.origin)
        return event, self.score.notes.number[note]

    def _family(self, line: Line) -> str | None:
        return self.placed.identities[line.part][line.identity].family

    def _sung(self, code: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
        """Codes of syllables; letters under the notes of an instrument are labels, not text."""
        sings = np.array([self._family(line) == "voice" for line in self.placed.lines], bool)
        return np.where(sings[self.placed.line], code[self.placed.events.origin], -1)

    def _beats(self) -> npt.NDArray[np.float64]:
        """Beat of every event; a short first bar counts from the end of a full one."""
        score, events, bar = self.score, self.placed.events, self.placed.bar
        timeline = score.timeline
        group = self.bars.groups[bar]
        position = (events.onset - timeline.bar_start[group]).astype(np.float64)
        full = score.signatures.full_bar(timeline.unit)[events.part, bar]
        alone = len(self.bars.groups) < 2 or self.bars.groups[1] != 0
        short = (bar == 0) & (full > timeline.bar_length[0]) & alone
        position += np.where(short, full - timeline.bar_length[0], 0)
        units = [float(beat * timeline.unit) for beat in score.signatures.beat]
        unit = np.array([*units, float(timeline.unit)])[score.signatures.code[events.part, bar]]
        beats: npt.NDArray[np.float64] = 1 + position / unit
        return beats

    def _grace_order(self) -> Any:
        events, notes = self.placed.events, self.score.notes
        grace = notes.grace[events.origin]
        order = np.zeros(len(events), np.int16)
        at = np.flatnonzero(grace)
        if len(at):
            at = at[np.argsort(events.origin[at], kind="stable")]
            main = at[~notes.chord[events.origin[at]]]
            group = groups((self.placed.line[main], events.voice[main], events.onset[main]))
            order[main] = rank_within(group)
            leader = np.zeros(len(notes), np.int64)
            leader[events.origin[main]] = order[main]
            chord = at[notes.chord[events.origin[at]]]
            order[chord] = leader[np.maximum(events.origin[chord] - 1, 0)]
        return arrow.numbers(order, grace)

    def _percussion_keys(self) -> Any:
        keys_of = {
            instrument.instrument_id: instrument.unpitched
            for facts in self.parts
            for instrument in facts.header.instruments
            if instrument.unpitched
        }
        events, notes = self.placed.events, self.score.notes
        first = [
            next((i.unpitched for i in facts.header.instruments if i.unpitched), None) or 0
            for facts in self.parts
        ]
        named = np.array([*(keys_of.get(name, 0) for name in notes.instruments), 0], np.int16)
        code = notes.instrument[events.origin]
        key = np.where(code >= 0, named[code], np.array(first, np.int16)[events.part])
        return arrow.numbers(key - 1, events.unpitched & (key > 0))

    def _slides(self) -> Any:
        events = self.placed.events
        target = np.full(len(events), -1, np.int64)
        place = np.full(len(self.score.notes) + 1, -1, np.int64)
        place[events.origin[::-1]] = np.arange(len(events))[::-1]
        for first, second in self.score.marks.slides:
            start, end = place[self.score.head[first]], place[self.score.head[second]]
            if min(start, end) >= 0:
                target[start] = end
        return arrow.numbers(keys(self.movement_id, np.maximum(target, 0)), target >= 0)


def _lists(pairs: Pairs, head: Integers, origin: npt.NDArray[np.int32]) -> Any:
    """Labels of the notes of each event, tied notes included."""
    event, pair = members(head[pairs.note], origin)
    return arrow.lists(event, pairs.label[pair], pairs.labels, len(origin))
