"""Roles of layers, by rules on their measures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.lines import (
    CHORDS,
    FIGURED,
    PART_KINDS,
    REPEATED,
    SUSTAINED,
    LineMeasures,
)
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


@dataclass(frozen=True)
class LayerMeasures:
    """Measures of the layers that decide on their roles, each of shape (layers,)."""

    kind: Ints
    """Kind of most of its sounding time: number in `PART_KINDS`."""
    kinds: Reals
    """Shape (layers, kinds): share of each kind in the sounding time of its lines."""
    ticks: Reals
    """Sounding time of its lines in the bar, added up: part-time."""
    moves: Reals
    sounding: Reals
    notes: Reals
    """Of the line that has most."""
    leaps: Reals
    kept_rhythm: Reals
    """Means of its lines."""
    one_class: Flags
    """One pitch class sounds in the window."""
    lowest: Flags
    """The layer that is lowest for the longest time of the bar's window."""
    low_pitch: Reals
    """Mean bottom pitch of its lowest line."""


def measure_layers(lines: LineMeasures, layers: Layers) -> LayerMeasures:
    """The measures of all layers."""
    rows = layers.rows
    ticks = rows(lines.ticks).astype(np.float64)
    count = len(layers.bar_of)
    time_of_kind = np.bincount(
        layers.layer * len(PART_KINDS) + rows(lines.kind),
        np.maximum(ticks, 1),
        minlength=count * len(PART_KINDS),
    ).reshape(count, len(PART_KINDS))
    classes: npt.NDArray[np.int16] = np.zeros(count, np.int16)
    np.bitwise_or.at(classes, layers.layer, rows(lines.classes))
    time_lowest = layers.sums(rows(lines.lowest))
    most = np.zeros(layers.bars)
    np.maximum.at(most, layers.bar_of, time_lowest)
    return LayerMeasures(
        kind=time_of_kind.argmax(axis=1),
        kinds=time_of_kind / time_of_kind.sum(axis=1, keepdims=True),
        ticks=layers.sums(ticks),
        moves=layers.most(rows(lines.moves)),
        sounding=layers.most(rows(lines.sounding)),
        notes=layers.most(rows(lines.notes)),
        leaps=layers.means(rows(lines.leaps)),
        kept_rhythm=layers.means(rows(lines.kept_rhythm)),
        one_class=np.bitwise_count(classes) <= 1,
        lowest=time_lowest == most[layers.bar_of],
        low_pitch=-layers.most(-rows(lines.low_pitch)),
    )


def background_layers(measures: LayerMeasures, settings: Settings) -> Flags:
    """Layers that cannot lead; shape (layers,).

    They sound one pitch class in the window, move less than `lead_moves`, are sustained and move
    less than `held_lead_moves`, or are a figure that keeps its rhythm in `kept_rhythm_share`
    of the bars.
    """
    still = measures.one_class | (measures.moves < settings.lead_moves)
    held = (measures.kind == SUSTAINED) & (measures.moves < settings.held_lead_moves)
    steady = (measures.kind == FIGURED) & (measures.kept_rhythm >= settings.kept_rhythm_share)
    return np.asarray(still | held | steady, np.bool_)


def find_roles(measures: LayerMeasures, layers: Layers, leads: Flags, settings: Settings) -> Ints:
    """The role of each layer, a number in `ROLES`.

    The layer of the leading line leads, unless it is background (`background_layers`). Of the
    others the first that fits:

    - a pedal point: one pitch class, held, or struck again and again below `low_pitch`
    - sustained harmony; repeated notes; figuration by its kind
    - lowest layer, its mean pitch under `low_pitch`: a line with `bass_counter_share` of the
      leading layer's moves, `bass_counter_moves` and fewer leaps than `bass_leaps` is a
      countermelody, else it is the bass
    - short chords by its kind
    - figuration: a line of at least `figuration_notes` and `figuration_moves` that leaps in
      `leapy_share` of its steps
    - countermelody: a line with `counter_share` of the leading layer's moves and sounding share
      and with `counter_moves`
    - filling

    Parameters
    ----------
    leads
        The row of `layers` that is the leading line of its bar.
    """
    chosen = np.zeros(len(layers.bar_of), np.bool_)
    chosen[layers.layer[leads]] = True
    low = measures.lowest & (measures.low_pitch < settings.low_pitch)
    lead_moves, lead_sounding = (
        _of_lead(layers, chosen, values) for values in (measures.moves, measures.sounding)
    )
    struck = (measures.kind == REPEATED) & (measures.low_pitch < settings.low_pitch)
    leapy = measures.leaps >= settings.leapy_share
    bass_sings = (
        (measures.kind != CHORDS)
        & (measures.moves >= settings.bass_counter_share * lead_moves)
        & (measures.moves >= settings.bass_counter_moves)
        & (measures.leaps < settings.bass_leaps)
    )
    sings = (
        (measures.moves >= settings.counter_share * lead_moves)
        & (measures.sounding >= settings.counter_share * lead_sounding)
        & (measures.moves >= settings.counter_moves)
    )
    return np.select(
        [
            chosen & ~background_layers(measures, settings),
            ((measures.kind == SUSTAINED) | struck) & measures.one_class,
            measures.kind == SUSTAINED,
            measures.kind == REPEATED,
            measures.kind == FIGURED,
            low & bass_sings,
            low,
            measures.kind == CHORDS,
            leapy
            & (measures.notes >= settings.figuration_notes)
            & (measures.moves >= settings.figuration_moves),
            sings,
        ],
        [
            LEAD,
            PEDAL,
            HARMONY,
            REPEATED_NOTES,
            FIGURATION,
            COUNTER,
            BASS,
            SHORT_CHORDS,
            FIGURATION,
            COUNTER,
        ],
        FILLING,
    ).astype(np.int64)


def struck_pedals(roles: Ints, measures: LayerMeasures) -> Flags:
    """Layers that strike one pitch class again and again as a pedal point; shape (layers,)."""
    return np.asarray((roles == PEDAL) & (measures.kind != SUSTAINED), np.bool_)


def _of_lead(layers: Layers, chosen: Flags, values: Reals) -> Reals:
    """For each layer the value of the layer of the leading line in its bar."""
    of_bar = np.zeros(layers.bars)
    of_bar[layers.bar_of[chosen]] = values[chosen]
    return of_bar[layers.bar_of]
