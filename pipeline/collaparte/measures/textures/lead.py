"""The leading line of each bar: evidence and its weights."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.lines import PART_KINDS, LineMeasures
from collaparte.measures.textures.themes import Recurrence
from collaparte.reference.rows import LeadWeight
from collaparte.settings import Settings

Evidence = Mapping[str, Reals]

_MEASURES = ("highest", "lowest", "highest_in_bar", "sounding", "sounding_in_bar", "steps",
             "leaps", "held", "kept_rhythm", "fresh")  # fmt: skip
_RELATIVE = ("pitches", "values", "moves")
_THEMES = ("elsewhere", "before", "handed", "bars", "lines")
_RELATIVE_THEMES = ("bars", "lines")
_DEEP = ("double-bass", "violone", "contrabassoon", "tuba")


def evidence(
    measures: LineMeasures, themes: Recurrence, layers: Layers, lines: pa.Table
) -> Evidence:
    """What speaks for and against each row of `layers` as the leading line, by name.

    - highest, lowest, highest_in_bar, sounding, sounding_in_bar, steps, leaps, held,
      kept_rhythm, fresh: as in `LineMeasures`; 0 to 1
    - pitches, values, moves: the same measures ÷ the greatest among the lines of the bar; 0 to 1
    - theme_elsewhere, theme_before, theme_handed, theme_bars, theme_lines: as in `Recurrence`;
      the last two also ÷ the greatest of the bar (theme_bars_relative, theme_lines_relative)
    - layer_lines: lines of its layer ÷ lines of the bar; 0 to 1
    - height: (its mean pitch − the lowest of the bar's lines) ÷ (highest − lowest); 0 to 1
    - line, sustained, repeated, figured, chords: 1 for its kind
    - voice, timpani, deep, upper: 1 for a voice, for timpani, for instruments that double the
      bass an octave below, and for the first line of its instrument in the score that ever plays
    """
    rows = layers.rows
    kind = rows(measures.kind)
    in_layer = layers.sums(np.ones(len(layers)))
    in_bar = np.bincount(layers.bar, minlength=layers.bars)
    pitch = rows(measures.pitch)
    highest, lowest = layers.most_of_bar(pitch), -layers.most_of_bar(-pitch)
    theme = {name: rows(getattr(themes, name)) for name in _THEMES}
    return {
        **{name: rows(getattr(measures, name)) for name in _MEASURES},
        **{name: _relative(layers, rows(getattr(measures, name))) for name in _RELATIVE},
        **{f"theme_{name}": values for name, values in theme.items()},
        **{f"theme_{name}_relative": _relative(layers, theme[name]) for name in _RELATIVE_THEMES},
        "layer_lines": in_layer[layers.layer] / in_bar[layers.bar],
        "height": (pitch - lowest) / np.maximum(highest - lowest, 1),
        **{name: (kind == number).astype(np.float64) for number, name in enumerate(PART_KINDS)},
        **{name: values[layers.line] for name, values in _facts(lines).items()},
    }


def lead_scores(
    found: Evidence, weights: Mapping[str, LeadWeight], layers: Layers, settings: Settings
) -> Reals:
    """How much speaks for each row as the leading line, 0 for the best of most bars.

    The sum of weight × evidence, minus the greatest sum of the bar; and `lead_neighbour` × the
    same of the line in the bar before and the bar after, `lead_floor` at worst and where it is
    not present.
    """
    score = np.zeros(len(layers))
    for name, weight in weights.items():
        score += weight.weight * found[name]
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


def _facts(lines: pa.Table) -> dict[str, Reals]:
    """What the lines are, 0 or 1, each of shape (lines,)."""
    instrument = lines["instrument"].to_pylist()
    plays = lines["sounding_ticks"].to_numpy() > 0
    playing = [name if there else "" for name, there in zip(instrument, plays, strict=True)]
    family = lines["family"].cast(pa.string())
    facts = {
        "voice": pc.equal(family, "voice").fill_null(False).to_pylist(),
        "timpani": [name == "timpani" for name in instrument],
        "deep": [name in _DEEP for name in instrument],
        "upper": [playing.index(name) == place for place, name in enumerate(playing)],
    }
    return {name: np.array(values, np.float64) for name, values in facts.items()}
