"""How far the textures of bars change with the parameters, with lost notes and lost lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte import reference
from collaparte.kernels.arrays import Ints
from collaparte.kernels.seeds import generator
from collaparte.measures.textures.analysis import analyse
from collaparte.refit.fits import agreement
from collaparte.settings import Settings

Scores = Sequence[Mapping[str, pa.Table]]
"""Tables `notes`, `lines` and `bars` of each movement."""

PARAMETERS = (
    "present_share", "degree_spread", "context_bars", "context_quarters", "context_seconds",
    "context_likeness", "neighbour_weight", "held_bar_share", "held_seconds", "held_onsets",
    "leap_semitones", "short_note_share", "figure_leaps", "kind_share", "held_moves",
    "held_moves_share", "chord_moves", "chord_moves_share", "chord_sounding", "chord_kept_rhythm",
    "held_distance", "held_together", "contrary_weight", "figure_weight", "imitation_quarters",
    "turns_together", "layer_cut", "company_near", "company_far", "pitch_line_share",
    "pitch_line_moves_share", "met_notes", "lead_neighbour", "lead_spread", "lead_moves",
    "held_lead_moves", "kept_rhythm_share", "counter_share", "counter_moves", "low_pitch",
    "low_pitch_spread", "bass_counter_share", "bass_counter_moves", "bass_leaps", "leapy_share",
    "figuration_notes", "figuration_moves", "trait_one_layer", "trait_one_pitch_class",
    "trait_second_line", "trait_third_line", "trait_background",
)  # fmt: skip
"""Settings that the texture of a bar depends on."""

_LOST_NOTES = 0.03
_SILENT = -1


def agreement_under_change(
    scores: Scores, draws: int, settings: Settings
) -> dict[str, list[float]]:
    """Index between the labels as they are and under changes, by name of the change.

    All parameters at random within ±10% and within ±20% (whole numbers rounded); 3% of the notes
    lost; one line of each movement lost. Bars that sound both times count.
    """
    standard = labels(scores, settings)
    chance = generator(str(settings.seed), "textures", "sensitivity")
    found: dict[str, list[float]] = {}
    for share in (0.1, 0.2):
        found[f"all parameters ±{share:.0%}"] = [
            _compared(standard, labels(scores, _shaken(settings, share, chance)))
            for _ in range(draws)
        ]
    for name, lose in (("3% of notes lost", _without_notes), ("one line lost", _without_a_line)):
        found[name] = [
            _compared(standard, labels([lose(score, chance) for score in scores], settings))
            for _ in range(draws)
        ]
    return found


def agreement_by_parameter(scores: Scores, settings: Settings) -> list[dict[str, Any]]:
    """For every parameter the index when it alone is changed, by name of the change."""
    standard = labels(scores, settings)
    rows = []
    for name in PARAMETERS:
        row: dict[str, Any] = {"parameter": name, "value": float(getattr(settings, name))}
        for change in (-0.2, -0.1, 0.1, 0.2):
            changed = _changed(settings, {name: change})
            row[f"{change:+.0%}"] = _compared(standard, labels(scores, changed))
        rows.append(row)
    return rows


def labels(scores: Scores, settings: Settings) -> Ints:
    """Number of the texture of every bar of all movements; -1 where nothing sounds."""
    facts = reference.load()
    found = []
    for score in scores:
        analysis = analyse(score["notes"], score["lines"], score["bars"], facts, settings)
        sounds = analysis.layers.in_bar > 0
        found.append(np.where(sounds, analysis.named.texture, _SILENT))
    return np.concatenate(found)


def _compared(one: Ints, other: Ints) -> float:
    both = (one != _SILENT) & (other != _SILENT)
    return agreement(one[both], other[both])


def _changed(settings: Settings, changes: Mapping[str, float]) -> Settings:
    """The settings with each of these parameters changed by a share of itself."""
    values: dict[str, Any] = {}
    for name, change in changes.items():
        value = getattr(settings, name)
        changed = value * (1 + change)
        values[name] = round(changed) if isinstance(value, int) else changed
    return replace(settings, **values)


def _shaken(settings: Settings, share: float, chance: np.random.Generator) -> Settings:
    changes = chance.uniform(-share, share, len(PARAMETERS))
    return _changed(settings, dict(zip(PARAMETERS, map(float, changes), strict=True)))


def _without_notes(
    score: Mapping[str, pa.Table], chance: np.random.Generator
) -> Mapping[str, pa.Table]:
    kept = chance.random(len(score["notes"])) >= _LOST_NOTES
    return {**score, "notes": score["notes"].filter(pa.array(kept))}


def _without_a_line(
    score: Mapping[str, pa.Table], chance: np.random.Generator
) -> Mapping[str, pa.Table]:
    notes = score["notes"]
    lines = pc.unique(notes["line_key"]).to_pylist()
    if len(lines) < 2:
        return score
    lost = lines[int(chance.integers(len(lines)))]
    return {**score, "notes": notes.filter(pc.not_equal(notes["line_key"], lost))}
