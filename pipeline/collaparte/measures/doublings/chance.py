"""What chance would give: the doublings of null draws."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints
from collaparte.kernels.arrow import words
from collaparte.kernels.seeds import generator
from collaparte.kernels.spans import union
from collaparte.measures.doublings import nulls
from collaparte.measures.doublings.melody import Sounds, faced, sounds
from collaparte.measures.doublings.search import search
from collaparte.measures.doublings.stretches import Stretches
from collaparte.measures.kinds import KINDS, SAME_LINE
from collaparte.reference import Reference
from collaparte.reference.registers import register_of
from collaparte.schema import Tables, empty, table_of
from collaparte.settings import Settings

_MODELS = (nulls.SHIFT, nulls.HARMONY)
_CLASSES = ("low", "middle", "high", "very_high", None)
_OF_LINE = ("line_key", "instrument", "family", "ensemble")


def chance_doubled(
    tables: Mapping[str, pa.Table], reference: Reference, settings: Settings
) -> Tables:
    """The table `chance_doubled` from `notes`, `lines` and `bars`.

    The doublings of `chance_draws` draws of each null model (`nulls`), by the rules and
    thresholds that hold for the score. A row is a span in which matched notes of one stretch
    sound on in the same registers, told once from each line, in the time of that line; the
    register of a note that was drawn anew is that of its new pitch. Without draws, and where the
    movement is too short to be shifted, there is no row.
    """
    notes, lines = tables["notes"], tables["lines"]
    found = sounds(notes, lines)
    if not settings.chance_draws or not len(found.line):
        return {"chance_doubled": empty("chance_doubled")}
    movement_id = notes["movement_id"][0].as_py()
    spans = [
        _spans(draw, search(faced(found, draw.copy, len(lines)), lines, settings), len(lines))
        for draw in _draws(movement_id, found, tables, reference, settings)
    ]
    return {"chance_doubled": _table(movement_id, np.concatenate(spans, axis=1), lines)}


@dataclass(frozen=True)
class _Draw:
    """One null draw.

    `register` and `copied_register` have the register class of every row of the table `notes`,
    as it is and in the copy; `late` has how much later it stands in the score than in the copy.
    """

    model: int
    number: int
    copy: Sounds
    register: Ints
    copied_register: Ints
    late: Ints


def _draws(
    movement_id: str,
    found: Sounds,
    tables: Mapping[str, pa.Table],
    reference: Reference,
    settings: Settings,
) -> Iterator[_Draw]:
    notes, bars = tables["notes"], tables["bars"]
    register = _classes(notes["register_class"])
    onset = notes["onset_ticks"].to_numpy()
    allowed = nulls.shifts(bars, settings.shift_margin_bars)
    drawn = nulls.drawn_shifts(movement_id, allowed, settings.chance_draws)
    for number, ticks in enumerate(drawn.tolist()):
        copy = nulls.shifted(found, ticks, allowed.circle)
        late = onset - nulls.moved(onset, ticks, allowed.circle)
        yield _Draw(0, number, copy, register, register, late)
    harmony = nulls.harmonies(found, bars)
    instruments = notes["instrument"].cast(pa.string()).combine_chunks().dictionary_encode()
    codes = instruments.indices.fill_null(-1).to_numpy()
    for number in range(settings.chance_draws):
        copy = nulls.redrawn(found, harmony, generator(movement_id, nulls.HARMONY, str(number)))
        midi = np.full(len(notes), -1)
        midi[copy.note] = copy.pitch // 100
        known = instruments.dictionary.to_pylist()
        new = register_of(known, codes, midi, reference, settings.register_scheme).register_class
        yield _Draw(1, number, copy, register, _classes(new), np.zeros(len(notes), np.int64))


def _classes(register: Any) -> Ints:
    """Position in `_CLASSES` of each register class."""
    unknown = len(_CLASSES) - 1
    found = pc.index_in(register.cast(pa.string()), pa.array(_CLASSES[:-1]))
    return np.asarray(found.fill_null(unknown).to_numpy(), np.int64)


def _spans(draw: _Draw, found: Stretches, lines: int) -> Ints:
    """The rows of one draw, told from both sides.

    Returns
    -------
    Shape (10, rows): model, draw, kind, strict, line, partner, register class of both, start and
    end.
    """
    stretch, late = found.stretch, draw.late[found.note_b]
    upper, lower = draw.register[found.note_a], draw.copied_register[found.note_b]
    start, end = found.pair_start, found.pair_end
    line_a, line_b = found.line_a, found.line_b - lines
    told = []
    for line, partner, own, other, begin, until in (
        (line_a, line_b, upper, lower, start, end),
        (line_b, line_a, lower, upper, start + late, end + late),
    ):
        classes = len(_CLASSES)
        group, begin, until = union((stretch * classes + own) * classes + other, begin, until)
        row = group // classes**2
        told.append(
            np.stack(
                [
                    np.full(len(row), draw.model),
                    np.full(len(row), draw.number),
                    found.kind[row],
                    found.strict[row],
                    line[row],
                    partner[row],
                    group // classes % classes,
                    group % classes,
                    begin,
                    until,
                ]
            )
        )
    return np.concatenate(told, axis=1)


def _table(movement_id: str, rows: Ints, lines: pa.Table) -> pa.Table:
    model, draw, kind, strict, line, partner, own, other, start, end = rows
    columns: dict[str, Any] = {
        "model": words(model, _MODELS),
        "draw": draw,
        "kind": words(kind, KINDS),
        "same_line": kind < len(SAME_LINE),
        "strict": strict == 1,
        "start_ticks": start,
        "ticks": end - start,
    }
    for prefix, side, register in (("", line, own), ("partner_", partner, other)):
        columns |= {f"{prefix}{name}": pc.take(lines[name], side) for name in _OF_LINE}
        columns[f"{prefix}register_class"] = words(register, _CLASSES)
    return table_of("chance_doubled", movement_id, columns)
