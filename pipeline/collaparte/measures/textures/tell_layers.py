"""Layers as the tables `layers` and `layer_spans`."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints, Reals
from collaparte.kernels.arrow import lists, words
from collaparte.kernels.ranks import groups
from collaparte.measures.textures.analysis import Analysis
from collaparte.measures.textures.lines import PART_KINDS
from collaparte.measures.textures.pairs import present_pairs
from collaparte.measures.textures.roles import ROLES
from collaparte.schema import Tables, empty, keys, table_of

_BAR = ("bar_index", "bar_key", "bar")
_OF_LINE = ("line_key", "instrument", "family", "ensemble")
_MEASURES = ("attacks", "moves", "held", "repeated", "figured", "leaps", "kept_rhythm",
             "highest", "lowest")  # fmt: skip


def layer_tables(found: Analysis, lines: pa.Table, bars: pa.Table) -> Tables:
    """The tables `layers` and `layer_spans`."""
    if not len(found.layers):
        return {name: empty(name) for name in ("layers", "layer_spans")}
    movement_id = lines["movement_id"][0].as_py()
    span = _spans(found)
    return {
        "layers": _layers(found, span, movement_id, lines, bars),
        "layer_spans": _layer_spans(found, span, movement_id, lines, bars),
    }


def _spans(found: Analysis) -> Ints:
    """The span of each layer: same lines and role in neighbouring bars; by first bar, layer."""
    layers = found.layers
    count = len(layers.bar_of)
    members = np.zeros((count, found.grid.lines + 1), np.int64)
    members[layers.layer, layers.line] = 1
    members[:, -1] = found.roles
    packed = np.packbits(members[:, :-1].astype(np.uint8), axis=1).astype(np.int64)
    alike = groups([*packed.T, members[:, -1]])
    order = np.lexsort((layers.bar_of, alike))
    new = np.ones(count, np.bool_)
    new[1:] = (np.diff(alike[order]) != 0) | (np.diff(layers.bar_of[order]) != 1)
    span = np.empty(count, np.int64)
    span[order] = np.cumsum(new) - 1
    # Layers are in order of bars: number the spans by their first layer.
    first = np.full(int(span.max()) + 1, count)
    np.minimum.at(first, span, np.arange(count))
    rank = np.empty(len(first), np.int64)
    rank[np.argsort(first)] = np.arange(len(first))
    return rank[span]


def _layers(
    found: Analysis, span: Ints, movement_id: str, lines: pa.Table, bars: pa.Table
) -> pa.Table:
    layers, measures = found.layers, found.lines
    columns: dict[str, Any] = {
        **{name: pc.take(bars[name], layers.bar) for name in _BAR},
        **{name: pc.take(lines[name], layers.line) for name in _OF_LINE},
        "layer": layers.number[layers.layer],
        "layer_lines": np.bincount(layers.layer)[layers.layer],
        "layer_span_key": keys(movement_id, span[layers.layer]),
        "pitch_line": layers.pitch_line,
        "role": words(found.roles[layers.layer], ROLES),
        "part_kind": words(layers.rows(measures.kind), PART_KINDS),
        "leads": found.leads,
        "lead_score": found.lead_score,
        **{f"lead_by_{name}": values for name, values in found.lead_points.items()},
        "company_lines": layers.rows(found.company_measures.lines),
        "company_share": layers.rows(found.company_measures.share),
        **{
            f"as_{role}": layers.rows(found.role_degrees.degrees[:, :, place])
            for place, role in enumerate(ROLES)
        },
        "sounding_ticks": layers.rows(measures.ticks),
        "sounding_share": layers.rows(measures.sounding),
        **{name: layers.rows(getattr(measures, name)) for name in _MEASURES},
        **_nearest(found, lines),
    }
    return table_of("layers", movement_id, columns)


def _nearest(found: Analysis, lines: pa.Table) -> dict[str, Any]:
    """The nearest other line of the bar and how near it is, for each row."""
    layers, pairs = found.layers, found.pairs
    others = present_pairs(found.lines.present)
    others[:, np.arange(found.grid.lines), np.arange(found.grid.lines)] = False
    distance = np.where(others, pairs.distance, np.inf)
    nearest = layers.rows(distance.argmin(axis=2))
    spot = (layers.bar, layers.line, nearest)
    alone = ~np.isfinite(distance[spot])
    return {
        "nearest_line_key": pa.array(lines["line_key"].to_numpy()[nearest], mask=alone),
        **{
            f"nearest_{name}": pa.array(getattr(pairs, name)[spot], mask=alone)
            for name in ("distance", "rhythm", "pitch")
        },
    }


def _layer_spans(
    found: Analysis, span: Ints, movement_id: str, lines: pa.Table, bars: pa.Table
) -> pa.Table:
    layers = found.layers
    measures = found.layer_measures
    length = np.bincount(span)
    first = np.zeros(len(length), np.int64)
    first[span[::-1]] = np.arange(len(span))[::-1]
    start = layers.bar_of[first]

    def mean(values: Reals) -> Reals:
        return np.bincount(span, layers.of_layers(values)) / length

    columns: dict[str, Any] = {
        "layer_span_key": keys(movement_id, np.arange(len(length))),
        **span_of_bars(bars, start, start + length - 1),
        "role": words(found.roles[first], ROLES),
        "part_kind": words(layers.of_layers(measures.kinds)[first].argmax(axis=1), PART_KINDS),
        "lines": np.bincount(layers.layer)[first],
        "instruments": instruments_of(span[layers.layer], layers.line, lines, len(length)),
        "leads_bars": np.bincount(span[layers.layer][found.leads], minlength=len(length)),
        "sounding_share": mean(measures.sounding),
        "moves": mean(measures.moves),
        "leaps": mean(measures.leaps),
        "kept_rhythm": mean(measures.kept_rhythm),
    }
    return table_of("layer_spans", movement_id, columns)


def span_of_bars(bars: pa.Table, start: Ints, end: Ints) -> dict[str, Any]:
    """The columns of spans from one bar to another, both rows of `bars`."""
    return {
        "start_bar_index": pc.take(bars["bar_index"], start),
        "end_bar_index": pc.take(bars["bar_index"], end),
        "start_bar_key": pc.take(bars["bar_key"], start),
        "start_bar": pc.take(bars["bar"], start),
        "end_bar": pc.take(bars["bar"], end),
        "bars": end - start + 1,
    }


def instruments_of(owner: Ints, line: Ints, lines: pa.Table, count: int) -> pa.Array:
    """The instruments of the lines of each owner, sorted, as one text."""
    names = [name or "unknown" for name in lines["instrument"].to_pylist()]
    return pc.binary_join(lists(owner, line, names, count), "; ")
