"""Roles of lines and layers, by rules on the measures of their companies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.degrees import reaching, rising
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.company import CompanyMeasures, evened
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.lines import CHORDS, FIGURED, LINE, REPEATED, SUSTAINED
from collaparte.settings import Settings

ROLES = (
    "leading_line",
    "countermelody",
    "sustained_harmony",
    "repeated_notes",
    "figuration",
    "bass",
    "pedal_point",
    "short_chords",
    "filling",
)
LEAD, COUNTER, HARMONY, REPEATED_NOTES, FIGURATION, BASS, PEDAL, SHORT_CHORDS, FILLING = range(
    len(ROLES)
)

_FAINT = 1e-4
"""What a background counts as a leading line where nothing else is there."""


@dataclass(frozen=True)
class RoleDegrees:
    """How far each line has each role with its company."""

    degrees: Reals
    """Shape (bars, lines, roles), in the order of `ROLES`; together 1."""
    struck: Reals
    """Shape (bars, lines): part of `pedal_point` that is struck again and again, not held."""


def background(measures: CompanyMeasures, settings: Settings) -> Reals:
    """How far a company cannot lead; shape (bars, lines).

    It sounds one pitch class in the window, moves less than `lead_moves`, is sustained and moves
    less than `held_lead_moves`, or is a figure that keeps its rhythm to `kept_rhythm_share`: the
    first wholly, the others by degrees.
    """
    spread = settings.degree_spread
    steady = reaching(measures.kept_rhythm, settings.kept_rhythm_share, spread, most=1)
    held = 1 - reaching(measures.moves, settings.held_lead_moves, spread)
    # "And" is the least and "or" the greatest, so that half of it is where the plain rule holds.
    reasons = (
        measures.one_class,
        1 - reaching(measures.moves, settings.lead_moves, spread),
        np.minimum(measures.kinds[:, :, SUSTAINED], held),
        np.minimum(measures.kinds[:, :, FIGURED], steady),
    )
    return np.asarray(np.maximum.reduce(reasons), np.float64)


def background_layers(measures: CompanyMeasures, layers: Layers, settings: Settings) -> Flags:
    """Layers that are background by half at least; shape (layers,).

    Parameters
    ----------
    measures
        With the layers as companies (`company.companies_of_layers`).
    """
    return np.asarray(layers.of_layers(background(measures, settings)) >= 0.5, np.bool_)


def lead_degrees(
    measures: CompanyMeasures, layers: Layers, score: Reals, settings: Settings
) -> Reals:
    """How far each line leads its bar; shape (bars, lines), 1 together in a bar that sounds.

    e^(score ÷ `lead_spread`) × (1 − `background`), as a share of the bar.

    Parameters
    ----------
    score
        Scores of the rows of `layers` (`lead.lead_scores`).
    """
    free = layers.rows(1 - background(measures, settings)) + _FAINT
    weight = np.zeros(measures.part_time.shape)
    best = layers.most_of_bar(score)
    weight[layers.bar, layers.line] = np.exp((score - best) / settings.lead_spread) * free
    return ratio(weight, weight.sum(axis=1, keepdims=True))


def chosen_leads(layers: Layers, leads: Flags, lines: int) -> Reals:
    """1 for the leading line of each bar, 0 for the others; shape (bars, lines)."""
    weight = np.zeros((layers.bars, lines))
    weight[layers.bar[leads], layers.line[leads]] = 1
    return weight


def role_degrees(measures: CompanyMeasures, leads: Reals, settings: Settings) -> RoleDegrees:
    """How far each line has each role, with its company.

    The company of the leading line leads as far as it is no background. Each of the others takes
    what those before have left:

    - a pedal point: one pitch class, held, or struck again and again below `low_pitch`
    - sustained harmony; repeated notes; figuration by its kinds
    - lowest company, its mean pitch under `low_pitch`: a line with `bass_counter_share` of the
      leading line's moves, `bass_counter_moves` and fewer leaps than `bass_leaps` is a
      countermelody, else it is the bass
    - short chords by its kind
    - figuration: a line of at least `figuration_notes` and `figuration_moves` that leaps in
      `leapy_share` of its steps
    - countermelody: a line with `counter_share` of the leading line's moves and sounding share
      and with `counter_moves`
    - filling

    Parameters
    ----------
    leads
        Shape (bars, lines): how far each line leads, 1 together in a bar.
    """
    spread = settings.degree_spread
    lead_moves, lead_sounding = (
        (leads * values).sum(axis=1, keepdims=True)
        for values in (measures.moves, measures.sounding)
    )
    deep = rising(
        -measures.low_pitch,
        -settings.low_pitch - settings.low_pitch_spread,
        -settings.low_pitch + settings.low_pitch_spread,
    )
    low = measures.lowest * deep
    leading = np.minimum(np.einsum("bij,bj->bi", measures.alike, leads), 1)
    leading *= 1 - background(measures, settings)
    kinds = measures.kinds * (1 - leading)[:, :, None]
    one_class = measures.one_class

    bass_sings = reaching(measures.moves, settings.bass_counter_share * lead_moves, spread)
    bass_sings *= reaching(measures.moves, settings.bass_counter_moves, spread)
    bass_sings *= 1 - reaching(measures.leaps, settings.bass_leaps, spread)
    sings = reaching(measures.moves, settings.counter_share * lead_moves, spread)
    sings *= reaching(measures.sounding, settings.counter_share * lead_sounding, spread)
    sings *= reaching(measures.moves, settings.counter_moves, spread)
    leapy = reaching(measures.leaps, settings.leapy_share, spread, most=1)
    leapy *= reaching(measures.notes, settings.figuration_notes, spread)
    leapy *= reaching(measures.moves, settings.figuration_moves, spread)

    held, struck = kinds[:, :, SUSTAINED] * one_class, kinds[:, :, REPEATED] * one_class * deep
    line, chords = kinds[:, :, LINE], kinds[:, :, CHORDS]
    upper = (1 - low) * line
    degrees = np.zeros((*leading.shape, len(ROLES)))
    degrees[:, :, LEAD] = leading
    degrees[:, :, PEDAL] = held + struck
    degrees[:, :, HARMONY] = kinds[:, :, SUSTAINED] - held
    degrees[:, :, REPEATED_NOTES] = kinds[:, :, REPEATED] - struck
    degrees[:, :, FIGURATION] = kinds[:, :, FIGURED] + upper * leapy
    degrees[:, :, BASS] = low * (line * (1 - bass_sings) + chords)
    degrees[:, :, SHORT_CHORDS] = (1 - low) * chords
    degrees[:, :, COUNTER] = low * line * bass_sings + upper * (1 - leapy) * sings
    degrees[:, :, FILLING] = upper * (1 - leapy) * (1 - sings)
    return RoleDegrees(evened(degrees), evened(struck))


def roles_of_layers(
    measures: CompanyMeasures, layers: Layers, leads: Flags, settings: Settings
) -> Ints:
    """The role of each layer: that of the greatest degree, a number in `ROLES`.

    Parameters
    ----------
    measures
        With the layers as companies (`company.companies_of_layers`).
    leads
        The row of `layers` that is the leading line of its bar.
    """
    chosen = chosen_leads(layers, leads, measures.part_time.shape[1])
    found = role_degrees(measures, chosen, settings)
    roles: Ints = layers.of_layers(found.degrees).argmax(axis=1)
    return roles
