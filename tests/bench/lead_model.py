"""The linear model of the leading line: fitted on marks of people, and tried on others.

In every bar each line has the score w · evidence; with p = softmax of the scores of the bar and
q = the share of the bar's marked time that the line hits, the fit finds the w of the greatest
Σ marked time · log Σ p q − ridge · |w|² (evidence scaled to a standard deviation of 1): a
conditional logistic model (McFadden 1974) of which line a person would mark.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from leading_marks import Hits
from scipy.optimize import minimize

from collaparte.measures.textures.analysis import Analysis
from collaparte.measures.textures.lead import lead_points, lead_scores, leaders
from collaparte.measures.textures.roles import background_layers
from collaparte.reference.rows import LeadWeight
from collaparte.settings import Settings

Numbers = npt.NDArray[np.float64]

EVIDENCE = (
    "highest_in_bar", "sounding_in_bar", "moves", "busy", "values", "values_around",
    "lines_below", "steps", "held", "fresh", "layer_lines", "repeated", "voice", "upper",
    "theme_bars", "theme_lines", "theme_long_lines",
)  # fmt: skip
RIDGE = 10.0
MOST_QUARTERS = 4.0
"""A bar counts in the fit as its marked time, but no more than this."""


@dataclass(frozen=True)
class Marked:
    """One movement with its analysis and the hits of its lines."""

    movement: str
    work: str
    composer: str
    analysis: Analysis
    hits: Hits


def fit(movements: Sequence[Marked]) -> dict[str, float]:
    """Weights by name of the evidence, in its own units."""
    evidence, hit, bar, weight = _stacked(movements)
    scale = evidence.std(axis=0) + 1e-9
    scaled = evidence / scale
    first = np.flatnonzero(np.diff(bar, prepend=-1))
    own = np.searchsorted(first, np.arange(len(bar)), side="right") - 1

    def loss(w: Numbers) -> tuple[float, Numbers]:
        score = scaled @ w
        score = np.exp(score - np.maximum.reduceat(score, first)[own])
        p = score / np.add.reduceat(score, first)[own]
        right = np.add.reduceat(p * hit, first) + 1e-6
        pull = p * hit / right[own] - p * (np.add.reduceat(p * hit, first) / right)[own]
        value = -(weight * np.log(right)).sum() + RIDGE * (w @ w)
        return float(value), -scaled.T @ (pull * weight[own]) + 2 * RIDGE * w

    found = minimize(loss, np.zeros(len(EVIDENCE)), jac=True, method="L-BFGS-B").x / scale
    return dict(zip(EVIDENCE, map(float, found), strict=True))


def hit_quarters(one: Marked, weights: Mapping[str, float], settings: Settings) -> float:
    """Marked time that the leading lines by these weights hit."""
    rows = {name: LeadWeight(name, weight, "") for name, weight in weights.items()}
    layers = one.analysis.layers
    score = lead_scores(lead_points(one.analysis.evidence, rows), layers, settings)
    behind = background_layers(one.analysis.layer_measures, layers, settings)
    leads = leaders(layers, score, behind)
    return float(one.hits.hit[layers.bar[leads], layers.line[leads]].sum())


def left_out(movements: Sequence[Marked], settings: Settings) -> dict[str, float]:
    """Marked time hit in each movement by weights fitted without its composer."""
    found = {}
    for composer in sorted({one.composer for one in movements}):
        weights = fit([one for one in movements if one.composer != composer])
        for one in movements:
            if one.composer == composer:
                found[one.movement] = hit_quarters(one, weights, settings)
    return found


def _stacked(movements: Sequence[Marked]) -> tuple[Numbers, Numbers, Numbers, Numbers]:
    """Evidence, share hit and bar of all rows; weight of each bar that has a line that hits."""
    evidence, hit, bars, weights, before = [], [], [], [], 0
    for one in movements:
        layers = one.analysis.layers
        share = one.hits.hit[layers.bar, layers.line] / np.maximum(
            one.hits.marked[layers.bar], 1e-9
        )
        possible = np.bincount(layers.bar, share, minlength=layers.bars) > 0
        rows = possible[layers.bar]
        evidence.append(np.stack([one.analysis.evidence[name][rows] for name in EVIDENCE], 1))
        hit.append(share[rows])
        bars.append(layers.bar[rows] + before)
        weights.append(np.minimum(one.hits.marked, MOST_QUARTERS)[possible])
        before += layers.bars
    return tuple(map(np.concatenate, (evidence, hit, bars, weights)))
