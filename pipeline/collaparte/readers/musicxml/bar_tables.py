"""The tables of bars and of directions: `bars`, `play_order`, `directions`."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from collaparte.kernels import arrow
from collaparte.readers import form
from collaparte.readers.musicxml.directions import KINDS, REHEARSAL, SOUND, WORDS
from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.score import Score
from collaparte.readers.sayings import Sayings
from collaparte.readers.vocabulary import vocabulary_of
from collaparte.reference import Reference
from collaparte.schema import TICKS, keys, table_of

Integers = npt.NDArray[np.int64]


class BarTables:
    """Makes the tables of bars and directions of one movement.

    Parameters
    ----------
    ends
        Where every direction ends, in units of the timeline; -1 for a point.
    targets
        For every direction the line that its words double, -1: none.
    """

    def __init__(
        self,
        movement_id: str,
        score: Score,
        sayings: Sayings,
        ends: Integers,
        targets: Integers,
        reference: Reference,
    ) -> None:
        self.movement_id = movement_id
        self.score = score
        self.sayings = sayings
        self.ends = ends
        self.targets = targets
        self.reference = reference
        self.bar_ticks = score.timeline.bar_ticks
        self.bar_words = score.bars.numbers

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
        tempo = self.tempo_at(score.timeline.bar_start)
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
                "tempo_quarters_per_minute": arrow.numbers(tempo, ~np.isnan(tempo)),
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
        wanted: npt.NDArray[np.bool_] = tempo[self.sayings.code] & (
            self.score.directions.kind == WORDS
        )
        return wanted

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
                "element": arrow.words(directions.kind[order], KINDS),
                "kind": arrow.words(saying, [item.kind for item in sayings]),
                "text": arrow.texts(directions.text[order], self._printed()),
                "understood_as": arrow.texts(saying, [item.ids for item in sayings]),
                "target_line_key": arrow.numbers(
                    keys(self.movement_id, np.maximum(self.targets[order], 0)),
                    self.targets[order] >= 0,
                ),
                "not_understood": arrow.texts(saying, [item.leftover for item in sayings]),
                "is_printed": directions.kind[order] != SOUND,
            },
        )

    def _printed(self) -> list[str]:
        """Texts of directions, glyphs of music fonts as the letters that they show."""
        vocabulary = vocabulary_of(self.reference)
        return [vocabulary.printed(text) for text in self.score.directions.texts]

    def tempo_at(self, times: Integers) -> npt.NDArray[np.float64]:
        """Quarters a minute in force at each time, in units of the timeline; NaN: not stated."""
        score = self.score
        changes = sorted((int(score.timeline.onset[row]), row) for row in score.directions.tempos)
        stated = [np.nan, *(score.directions.tempos[row] for _, row in changes)]
        starts = np.array([time for time, _ in changes], np.int64)
        tempo: npt.NDArray[np.float64] = np.array(stated)[np.searchsorted(starts, times, "right")]
        return tempo

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


def _top_row(code: npt.NDArray[np.int16]) -> Integers:
    """For each bar the first part with a time signature; 0 where none has one."""
    top: Integers = np.argmax(code >= 0, axis=0)
    return top


def _top_code(code: npt.NDArray[np.int16]) -> npt.NDArray[np.int16]:
    return code[_top_row(code), np.arange(code.shape[1])]
