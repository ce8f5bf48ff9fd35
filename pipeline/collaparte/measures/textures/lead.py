"""The leading line of each bar: evidence and its weights."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.lines import REPEATED, LineMeasures
from collaparte.measures.textures.themes import Recurrence
from collaparte.reference.rows import LeadWeight
from collaparte.settings import Settings

Evidence = Mapping[str, Reals]

_MEASURES = ("highest_in_bar", "sounding_in_bar", "steps", "held", "fresh")
_RELATIVE = ("moves", "values")
_THEMES = ("bars", "lines", "long_lines")
_BARS_AROUND = 8


def evidence(
    measures: LineMeasures, themes: Recurrence, layers: Layers, lines: pa.Table
) -> Evidence:
    """What speaks for and against each row of `layers` as the leading line, by name.

    - highest_in_bar, sounding_in_bar, steps, held, fresh: as in `LineMeasures`; 0 to 1
    - moves, values: the same measures ÷ the greatest among the lines of the bar; 0 to 1
    - values_around: mean of `values` over the bars up to eight away in which the line is present
    - busy: log2(1 + moves a bar); 0 and more
    - lines_below: lines of the bar of lower mean pitch, and half of those of the same ÷ other
      lines of the bar; 0 to 1, 0 for a line alone
    - theme_bars, theme_lines, theme_long_lines: as in `Recurrence`
    - layer_lines: lines of its layer ÷ lines of the bar; 0 to 1
    - repeated: 1 for its kind
    - voice, upper: 1 for a voice, and for the first line of its instrument in the score that ever
      plays
    """
    rows = layers.rows
    moves = rows(measures.moves)
    in_layer = layers.sums(np.ones(len(layers)))
    in_bar = np.bincount(layers.bar, minlength=layers.bars)
    relative = {name: _relative(layers, rows(getattr(measures, name))) for name in _RELATIVE}
    return {
        **{name: rows(getattr(measures, name)) for name in _MEASURES},
        **relative,
        "values_around": _around(layers, relative["values"]),
        "busy": np.log2(1 + moves),
        "lines_below": _lines_below(layers, rows(measures.pitch)),
        **{f"theme_{name}": rows(getattr(themes, name)) for name in _THEMES},
        "layer_lines": in_layer[layers.layer] / in_bar[layers.bar],
        "repeated": (rows(measures.kind) == REPEATED).astype(np.float64),
        **{name: values[layers.line] for name, values in _facts(lines).items()},
    }


def lead_points(found: Evidence, weights: Mapping[str, LeadWeight]) -> dict[str, Reals]:
    """What each piece of evidence that has a weight says for each row: weight × evidence."""
    return {name: weight.weight * found[name] for name, weight in weights.items()}


def lead_scores(points: Mapping[str, Reals], layers: Layers, settings: Settings) -> Reals:
    """How much speaks for each row as the leading line, 0 for the best of most bars.

    The sum of its points, minus the greatest sum of the bar; and `lead_neighbour` × the same of
    the line in the bar before and the bar after, `lead_floor` at worst and where it is not
    present.
    """
    score = np.zeros(len(layers))
    for values in points.values():
        score += values
    score -= layers.most_of_bar(score)
    lines = int(layers.line.max(initial=-1)) + 1
    near = np.full((layers.bars + 2, lines), settings.lead_floor)
    near[layers.bar + 1, layers.line] = np.maximum(score, settings.lead_floor)
    # Before the first bar and after the last one nothing is known of any line.
    near[[0, -1]] = 0
    around = near[layers.bar, layers.line] + near[layers.bar + 2, layers.line]
    return np.asarray(score + settings.lead_neighbour * around, np.float64)


def leaders(layers: Layers, score: Reals, background: Flags) -> Flags:
    """The leading line of each bar: the row with the greatest score; of equals the first.

    A line whose layer is background leads only where every layer of the bar is.

    Parameters
    ----------
    background
        Shape (layers,): layers that cannot lead (`roles.background_layers`).
    """
    behind = background[layers.layer]
    others = np.bincount(layers.bar, ~behind, minlength=layers.bars)[layers.bar] > 0
    eligible = np.where(behind & others, -np.inf, score)
    best = np.flatnonzero(eligible == layers.most_of_bar(eligible))
    _, first = np.unique(layers.bar[best], return_index=True)
    leads = np.zeros(len(layers), np.bool_)
    leads[best[first]] = True
    return leads


def _relative(layers: Layers, values: Reals | Ints) -> Reals:
    """The values ÷ the greatest of their bar; 0 where that is 0."""
    own = values.astype(np.float64)
    return own / np.maximum(layers.most_of_bar(own), 1e-9)


def _around(layers: Layers, values: Reals) -> Reals:
    """Means of the same line over the bars up to `_BARS_AROUND` away in which it is present."""
    first = np.maximum(layers.bar - _BARS_AROUND, 0)
    behind = np.minimum(layers.bar + _BARS_AROUND + 1, layers.bars)
    lines = int(layers.line.max(initial=-1)) + 1

    def sums(values: Reals) -> Reals:
        until = np.zeros((layers.bars + 1, lines))
        until[layers.bar + 1, layers.line] = values
        until = until.cumsum(axis=0)
        return np.asarray(until[behind, layers.line] - until[first, layers.line], np.float64)

    return sums(values) / sums(np.ones(len(layers)))


def _lines_below(layers: Layers, pitch: Reals) -> Reals:
    """Share of the other lines of the bar that are lower, equals by half."""
    order = np.lexsort((pitch, layers.bar))
    bar, ordered = layers.bar[order], pitch[order]
    differs = (np.diff(bar) != 0) | (np.diff(ordered) != 0)
    equals = np.concatenate([[0], differs.cumsum()])[: len(order)]
    # Mean place among equals, from the first line of the bar on.
    place = np.bincount(equals, np.arange(len(order))) / np.maximum(np.bincount(equals), 1)
    below = np.empty(len(order))
    below[order] = place[equals] - np.searchsorted(bar, bar)
    others = np.bincount(layers.bar, minlength=layers.bars)[layers.bar] - 1
    return ratio(below, others)


def _facts(lines: pa.Table) -> dict[str, Reals]:
    """What the lines are, 0 or 1, each of shape (lines,)."""
    instrument = lines["instrument"].to_pylist()
    plays = lines["sounding_ticks"].to_numpy() > 0
    playing = [name if there else "" for name, there in zip(instrument, plays, strict=True)]
    family = lines["family"].cast(pa.string())
    facts = {
        "voice": pc.equal(family, "voice").fill_null(False).to_pylist(),
        "upper": [playing.index(name) == place for place, name in enumerate(playing)],
    }
    return {name: np.array(values, np.float64) for name, values in facts.items()}
