"""All steps from a grid to named textures, for tables and for those who try other settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pyarrow as pa

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.measures.textures.grid import Grid, grid
from collaparte.measures.textures.layers import Layers, find_layers
from collaparte.measures.textures.lead import Evidence, evidence, lead_points, lead_scores, leaders
from collaparte.measures.textures.lines import LineMeasures, measure_lines
from collaparte.measures.textures.naming import Named, name_textures, six_measures
from collaparte.measures.textures.pairs import PairMeasures, measure_pairs
from collaparte.measures.textures.roles import (
    LayerMeasures,
    background_layers,
    find_roles,
    measure_layers,
)
from collaparte.measures.textures.themes import note_groups as find_note_groups
from collaparte.measures.textures.themes import recurrence
from collaparte.reference import Reference
from collaparte.settings import Settings


@dataclass(frozen=True)
class Analysis:
    """What was found in one movement, step by step."""

    grid: Grid
    lines: LineMeasures
    pairs: PairMeasures
    layers: Layers
    evidence: Evidence
    lead_points: Mapping[str, Reals]
    lead_score: Reals
    leads: Flags
    """Shape (rows of `layers`,)."""
    layer_measures: LayerMeasures
    roles: Ints
    """Shape (layers,)."""
    six: Reals
    """Shape (bars, 6)."""
    named: Named


def analyse(
    notes: pa.Table, lines: pa.Table, bars: pa.Table, reference: Reference, settings: Settings
) -> Analysis:
    """Layers, roles and textures of one movement."""
    ground = grid(notes, lines, bars, settings.usual_tempo)
    measures, around = measure_lines(ground, settings)
    note_groups = find_note_groups(ground)
    pairs = measure_pairs(ground, measures, note_groups, around, settings)
    layers = find_layers(measures, pairs, settings)
    found = evidence(measures, recurrence(ground, note_groups), layers, lines)
    points = lead_points(found, reference.lead_weights)
    score = lead_scores(points, layers, settings)
    of_layers = measure_layers(measures, layers)
    leads = leaders(layers, score, background_layers(of_layers, settings))
    roles = find_roles(of_layers, layers, leads, settings)
    six = six_measures(ground, layers, of_layers, roles)
    named = name_textures(six, layers.in_bar > 0, reference.texture_centres, settings)
    return Analysis(
        ground, measures, pairs, layers, found, points, score, leads, of_layers, roles, six, named
    )
