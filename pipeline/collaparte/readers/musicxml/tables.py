"""A document on columns → the tables of the contract."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from collaparte.kernels import arrow
from collaparte.kernels.ranks import groups, members, rank_within, union_length
from collaparte.readers import form
from collaparte.readers.ensembles import Ensemble
from collaparte.readers.lines import Line, Staves, label, lines_of
from collaparte.readers.musicxml.directions import REHEARSAL, SOUND, WORDS
from collaparte.readers.musicxml.marks import Pairs
from collaparte.readers.musicxml.notes import Events
from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.pitches import STEPS
from collaparte.readers.musicxml.score import Score
from collaparte.readers.parts import PartFacts
from collaparte.readers.registers import register_of
from collaparte.readers.sayings import Sayings
from collaparte.readers.states import Dynamics
from collaparte.readers.vocabulary import vocabulary_of
from collaparte.reference import Reference
from collaparte.remarks import Remark
from collaparte.schema import TICKS, keys, table_of
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
    onset: Integers
    end: Integers
    bar: npt.NDArray[np.int32]


def placed(score: Score, parts: tuple[PartFacts, ...], settings: Settings) -> Placed:
    """Every event on its line or lines, in the order of parts, onsets, pitches and lines."""
    events = score.events
    notes = score.notes
    instrument = np.full(len(notes.instruments) + 1, -1, np.int64)
    for code, part_id in enumerate(notes.instruments):
        for facts in parts:
            instrument[code] = max(instrument[code], facts.identity_of(part_id))
    staves = Staves(
        part=events.part.astype(np.int64),
        staff=events.staff.astype(np.int64),
        voice_rank=score.voice_rank[events.origin],
        voice=events.voice.astype(np.int64),
        onset=events.onset,
        height=np.where(events.unpitched, 0, events.pitches.hundredths).astype(np.int64),
        grace=notes.grace[events.origin],
        instrument=instrument[notes.instrument[events.origin]],
    )
    lines, event, line = lines_of(staves, [facts.identities for facts in parts], settings)
    height = staves.height
    order = np.lexsort((line, -height[event], events.onset[event], events.part[event]))
    events = events.take(event[order])
    return Placed(
        events=events,
        line=line[order],
        lines=lines,
        onset=score.timeline.ticks(events.onset),
        end=score.timeline.ticks(events.end),
        bar=score.timeline.bar_at(events.onset - events.late),
    )


class TableMaker:
    """Makes the tables of one movement; all share keys, bars and names."""

    def __init__(
        self,
        movement_id: str,
        score: Score,
        parts: tuple[PartFacts, ...],
        placed_events: Placed,
        ensembles: Sequence[Ensemble],
        sayings: Sayings,
        ends: Integers,
        reference: Reference,
        settings: Settings,
    ) -> None:
        self.movement_id = movement_id
        self.score = score
        self.parts = parts
        self.placed = placed_events
        self.reference = reference
        self.settings = settings
        self.bar_ticks = score.timeline.bar_ticks
        self.bar_words = score.bars.numbers
        self.ensembles = ensembles
        self.sayings = sayings
        self.ends = ends
        self.instruments = [item.instrument for item in ensembles]

    def bar_columns(self, bar: npt.NDArray[Any], prefix: str = "") -> dict[str, Any]:
        """The three columns that name a bar."""
        return {
            f"{prefix}bar_index": pa.array(bar.astype(np.int32)),
            f"{prefix}bar_key": keys(self.movement_id, bar),
            f"{prefix}bar": arrow.words(bar, self.bar_words),
        }

    def bars_table(self) -> pa.Table:
        """The table `bars`."""
        score, timeline = self.score, self.score.timeline
        count = len(timeline.bar_length)
        index = np.arange(count)
        length = np.diff(self.bar_ticks)
        signature = _top_code(score.signatures.code)
        marks = score.bars.form
        directions = score.directions
        fifths = score.bars.fifths
        return table_of(
            "bars",
            self.movement_id,
            {
                **self.bar_columns(index),
                "start_ticks": self.bar_ticks[:-1],
                "length_ticks": length,
                "start_quarters": self.bar_ticks[:-1] / TICKS,
                "length_quarters": length / TICKS,
                "bar_label": list(score.bars.labels),
                "bar_print": self._bar_print(),
                "bar_group": self.groups.astype(np.int32),
                "implicit": score.bars.implicit,
                "time_signature": arrow.words(signature, score.signatures.texts),
                "key_fifths": arrow.numbers(fifths, fifths > -128),
                "rehearsal": self._bar_texts(directions.kind == REHEARSAL),
                "tempo_words": self._bar_texts(self._tempo_words()),
                "tempo_quarters_per_minute": self._tempo(),
                "repeat_start": [bar.repeat_start for bar in marks],
                "repeat_end": [bar.repeat_end or None for bar in marks],
                "ending": [", ".join(map(str, bar.ending)) or None for bar in marks],
                "jump": [bar.jump for bar in marks],
                "mark": [bar.mark for bar in marks],
            },
        )

    @cached_property
    def groups(self) -> Integers:
        """For each bar the bar that it completes, or itself."""
        score = self.score
        length = score.timeline.bar_length
        full = score.signatures.full_bar(score.timeline.unit)
        full = full[np.maximum(_top_row(score.signatures.code), 0), np.arange(len(length))]
        group = np.arange(len(length))
        for bar in range(1, len(length)):
            opens = group[bar - 1] == bar - 1 and 0 < length[bar - 1] < full[bar - 1]
            if (
                opens
                and length[bar - 1] + length[bar] == full[bar - 1]
                and full[bar] == full[bar - 1]
            ):
                group[bar] = bar - 1
        return group

    def _bar_print(self) -> list[str]:
        """Numbers when the first full bar is bar 1: one less where a short first bar has 1."""
        score = self.score
        full = score.signatures.full_bar(score.timeline.unit).max(axis=0)
        short = 0 < score.timeline.bar_length[0] < full[0]
        if not short or score.bars.numbers[0].strip() != "1":
            return list(score.bars.numbers)
        return [
            str((whole(number) or 1) - 1) if whole(number) else number for number in self.bar_words
        ]

    def _bar_texts(self, wanted: npt.NDArray[np.bool_]) -> list[str | None]:
        """Different texts of some directions, joined bar by bar."""
        directions = self.score.directions
        found: dict[int, list[str]] = {}
        at = np.flatnonzero(wanted)
        for bar, code in zip(
            self.score.rows.bar[directions.row[at]].tolist(),
            directions.text[at].tolist(),
            strict=True,
        ):
            text = directions.texts[code]
            if text and text not in found.setdefault(bar, []):
                found[bar].append(text)
        return [" / ".join(found[bar]) if bar in found else None for bar in range(len(self.groups))]

    def _tempo_words(self) -> npt.NDArray[np.bool_]:
        """Directions in words that say how fast."""
        tempo = np.array([saying.kind == "tempo" for saying in self.sayings.sayings], bool)
        return tempo[self.sayings.code] & (self.score.directions.kind == WORDS)

    def directions_table(self) -> pa.Table:
        """The table `directions`."""
        score, directions = self.score, self.score.directions
        order = np.lexsort((directions.row, directions.onset))
        number = np.arange(len(order))
        saying = self.sayings.code[order]
        sayings = self.sayings.sayings
        onset = score.timeline.ticks(directions.onset[order])
        end = self.ends[order]
        return table_of(
            "directions",
            self.movement_id,
            {
                "direction_key": keys(self.movement_id, number),
                **self.bar_columns(score.rows.bar[directions.row[order]]),
                "onset_ticks": onset,
                "onset_quarters": onset / TICKS,
                "end_ticks": arrow.numbers(score.timeline.ticks(np.maximum(end, 0)), end >= 0),
                "part_index": directions.part[order].astype(np.int16),
                "staff": arrow.numbers(
                    directions.staff[order].astype(np.int16), directions.staff[order] > 0
                ),
                "voice": arrow.words(directions.voice[order], directions.voices),
                "kind": arrow.words(saying, [item.kind for item in sayings]),
                "text": arrow.texts(directions.text[order], self._printed()),
                "understood_as": arrow.texts(saying, [item.ids for item in sayings]),
                "not_understood": arrow.texts(saying, [item.leftover for item in sayings]),
                "is_printed": directions.kind[order] != SOUND,
            },
        )

    def _printed(self) -> list[str]:
        """Texts of directions, glyphs of music fonts as the letters that they show."""
        vocabulary = vocabulary_of(self.reference)
        return [vocabulary.printed(text) for text in self.score.directions.texts]

    def _tempo(self) -> list[float | None]:
        """Tempo in force at the start of every bar."""
        score = self.score
        changes = sorted((int(score.timeline.onset[row]), row) for row in score.directions.tempos)
        times = np.array([time for time, _ in changes], np.int64)
        at = np.searchsorted(times, score.timeline.bar_start, "right") - 1
        return [
            score.directions.tempos[changes[place][1]] if place >= 0 else None
            for place in at.tolist()
        ]

    def placed_remark(self, remark: Remark) -> Remark:
        """A remark with the bar number and the part name that its indexes stand for."""
        bar, part = remark.bar_index, remark.part_index
        return replace(
            remark,
            bar=self.bar_words[bar] if bar is not None else None,
            part=self.parts[part].name if part is not None else None,
        )

    def play_order_table(self) -> pa.Table:
        """The table `play_order`."""
        order, _ = form.play_order(self.score.bars.form)
        bar = np.array([index for index, _ in order], np.int64)
        return table_of(
            "play_order",
            self.movement_id,
            {
                "performed_index": np.arange(len(order), dtype=np.int32),
                **self.bar_columns(bar),
                "pass": np.array([times for _, times in order], np.int16),
            },
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

    def lines_table(self) -> pa.Table:
        """The table `lines`."""
        lines, placed_events = self.placed.lines, self.placed
        identities = [self.parts[line.part].identities[line.identity] for line in lines]
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
                "players": [ensemble.players for ensemble in self.ensembles],
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
            label(line, self.parts[line.part].identities[line.identity], self.parts[line.part].name)
            for line in self.placed.lines
        ]

    @cached_property
    def sounds(self) -> npt.NDArray[np.bool_]:
        """Events that sound: neither grace nor cue notes."""
        events = self.placed.events
        return ~events.cue & ~self.score.notes.grace[events.origin]

    def notes_table(self, dynamics: Dynamics, techniques: Any) -> pa.Table:
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
                **self.bar_columns(bar),
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
                "techniques": techniques,
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

    def _sources(self) -> tuple[Integers, npt.NDArray[np.int32]]:
        """The note elements of every event, as numbers within their part."""
        event, note = members(self.score.head, self.placed.events.origin)
        return event, self.score.notes.number[note]

    def _family(self, line: Line) -> str | None:
        return self.parts[line.part].identities[line.identity].family

    def _sung(self, code: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
        """Codes of syllables; letters under the notes of an instrument are labels, not text."""
        sings = np.array([self._family(line) == "voice" for line in self.placed.lines], bool)
        return np.where(sings[self.placed.line], code[self.placed.events.origin], -1)

    def _beats(self) -> npt.NDArray[np.float64]:
        """Beat of every event; a short first bar counts from the end of a full one."""
        score, events, bar = self.score, self.placed.events, self.placed.bar
        timeline = score.timeline
        group = self.groups[bar]
        position = (events.onset - timeline.bar_start[group]).astype(np.float64)
        full = score.signatures.full_bar(timeline.unit)[events.part, bar]
        alone = len(self.groups) < 2 or self.groups[1] != 0
        short = (bar == 0) & (full > timeline.bar_length[0]) & alone
        position += np.where(short, full - timeline.bar_length[0], 0)
        units = [float(beat * timeline.unit) for beat in score.signatures.beat]
        unit = np.array([*units, float(timeline.unit)])[score.signatures.code[events.part, bar]]
        return 1 + position / unit

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


def _top_row(code: npt.NDArray[np.int16]) -> Integers:
    """For each bar the first part with a time signature; 0 where none has one."""
    return np.argmax(code >= 0, axis=0)


def _top_code(code: npt.NDArray[np.int16]) -> npt.NDArray[np.int16]:
    return code[_top_row(code), np.arange(code.shape[1])]
