"""The leading line of each bar: evidence and its weights."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from collaparte.kernels.arrays import Flags, Reals
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.lines import PART_KINDS, LineMeasures
from collaparte.reference.rows import LeadWeight

Evidence = Mapping[str, Reals]


def evidence(lines: LineMeasures, layers: Layers, timpani: Flags) -> Evidence:
    """What speaks for and against each row of `layers` as the leading line, by name.

    - highest, lowest, sounding, steps, kept_rhythm: as in `LineMeasures`; 0 to 1
    - pitches, values, moves: the same measures ÷ the greatest among the lines of the bar; 0 to 1
    - layer_lines: lines of its layer ÷ lines of the bar; 0 to 1
    - entry: 1 where the line was silent in the bar before
    - dynamic: its degree minus the mean of the bar's lines; 0 where not known
    - height: (its mean pitch − the lowest of the bar's lines) ÷ (highest − lowest); 0 to 1
    - line, sustained, repeated, figured, chords: 1 for its kind
    - timpani: 1 for timpani

    Parameters
    ----------
    timpani
        Shape (lines,).
    """
    rows = layers.rows

    def relative(values: Reals) -> Reals:
        own = rows(values).astype(np.float64)
        return own / np.maximum(layers.most_of_bar(own), 1e-9)

    kind = rows(lines.kind)
    in_layer = layers.sums(np.ones(len(layers)))
    in_bar = np.bincount(layers.bar, minlength=layers.bars)
    pitch = rows(lines.pitch)
    highest, lowest = layers.most_of_bar(pitch), -layers.most_of_bar(-pitch)
    return {
        **{
            name: rows(getattr(lines, name)).astype(np.float64)
            for name in ("highest", "lowest", "sounding", "steps", "kept_rhythm", "entry")
        },
        **{name: relative(getattr(lines, name)) for name in ("pitches", "values", "moves")},
        "layer_lines": in_layer[layers.layer] / in_bar[layers.bar],
        "dynamic": _above_the_mean(layers, rows(lines.degree)),
        "height": (pitch - lowest) / np.maximum(highest - lowest, 1),
        **{name: (kind == number).astype(np.float64) for number, name in enumerate(PART_KINDS)},
        "timpani": timpani[layers.line].astype(np.float64),
    }


def lead_scores(found: Evidence, weights: Mapping[str, LeadWeight]) -> Reals:
    """Sum of weight × evidence of each row."""
    score = np.zeros(len(next(iter(found.values()))))
    for name, weight in weights.items():
        score += weight.weight * found[name]
    return score


def leaders(layers: Layers, score: Reals) -> Flags:
    """The row with the greatest score of each bar; of equals the higher line in the score."""
    best = np.flatnonzero(score == layers.most_of_bar(score))
    _, first = np.unique(layers.bar[best], return_index=True)
    leads = np.zeros(len(layers), np.bool_)
    leads[best[first]] = True
    return leads


def _above_the_mean(layers: Layers, degree: Reals) -> Reals:
    known = ~np.isnan(degree)
    count = np.bincount(layers.bar[known], minlength=layers.bars)
    total = np.bincount(layers.bar[known], degree[known], minlength=layers.bars)
    mean = total / np.maximum(count, 1)
    return np.where(known, degree - mean[layers.bar], 0)
