"""All steps from a grid to named textures, for tables and for those who try other settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pyarrow as pa

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.measures.textures.company import (
    CompanyMeasures,
    companies,
    companies_of_layers,
    measure_companies,
)
from collaparte.measures.textures.grid import Grid, grid
from collaparte.measures.textures.layers import Layers, find_layers
from collaparte.measures.textures.lead import Evidence, evidence, lead_points, lead_scores, leaders
from collaparte.measures.textures.lines import LineMeasures, measure_lines
from collaparte.measures.textures.naming import Named, name_textures, six_measures, traits
from collaparte.measures.textures.pairs import PairMeasures, measure_pairs
from collaparte.measures.textures.roles import (
    RoleDegrees,
    background_layers,
    lead_degrees,
    role_degrees,
    roles_of_layers,
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
    layer_measures: CompanyMeasures
    """With the layers as companies."""
    roles: Ints
    """Shape (layers,)."""
    company_measures: CompanyMeasures
    role_degrees: RoleDegrees
    """With the companies that the six measures rest on."""
    six: Reals
    marked: Reals
    """Shape (bars, 6): the six measures, and the traits made of them."""
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
    of_layers = measure_companies(measures, companies_of_layers(layers, measures.present))
    leads = leaders(layers, score, background_layers(of_layers, layers, settings))
    of_companies = measure_companies(measures, companies(measures, pairs, settings))
    degrees = role_degrees(
        of_companies, lead_degrees(of_companies, layers, score, settings), settings
    )
    six = six_measures(ground, layers, of_companies, degrees)
    marked = traits(six, settings)
    return Analysis(
        grid=ground,
        lines=measures,
        pairs=pairs,
        layers=layers,
        evidence=found,
        lead_points=points,
        lead_score=score,
        leads=leads,
        layer_measures=of_layers,
        roles=roles_of_layers(of_layers, layers, leads, settings),
        company_measures=of_companies,
        role_degrees=degrees,
        six=six,
        marked=marked,
        named=name_textures(marked, layers.in_bar > 0, reference.texture_centres, settings),
    )
