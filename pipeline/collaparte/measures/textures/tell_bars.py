"""Textures as the tables `textures` and `texture_passages`."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.arrow import words
from collaparte.measures.textures.analysis import Analysis
from collaparte.measures.textures.naming import HANDBOOK_WORDS, MEASURES, handbook_words
from collaparte.measures.textures.roles import FIGURATION, HARMONY, PEDAL, REPEATED_NOTES
from collaparte.measures.textures.tell_layers import instruments_of, span_of_bars
from collaparte.reference import Reference
from collaparte.schema import TICKS, empty, keys, table_of
from collaparte.settings import Settings

_BAR = ("bar_index", "bar_key", "bar")
_FAMILIES = ("woodwind", "brass", "string", "voice")
_BACKGROUNDS = ("sustained", "repeated", "figured")
_PACES = ("slow", "moderate", "fast")
_FULLNESS = ("thin", "medium", "full")


def textures_table(
    found: Analysis, lines: pa.Table, bars: pa.Table, reference: Reference, settings: Settings
) -> pa.Table:
    """The table `textures`: one row a bar."""
    sounds = found.layers.in_bar > 0
    names = [centre.texture for centre in reference.texture_centres]
    named = found.named
    word = handbook_words(found.layers, found.roles, found.six[:, 1], settings)
    columns: dict[str, Any] = {
        **{name: bars[name] for name in _BAR},
        **{
            name: pa.array(found.six[:, place], mask=~sounds) for place, name in enumerate(MEASURES)
        },
        **{
            name: words(np.where(sounds, getattr(named, name), -1), names)
            for name in ("texture", "next_texture", "passage_texture")
        },
        "margin": pa.array(named.margin, mask=~sounds),
        "handbook_word": words(np.where(sounds, word, -1), HANDBOOK_WORDS),
        "layers": found.layers.in_bar,
        "present_lines": found.lines.present.sum(axis=1),
        "weight": pa.array(_weight(found), mask=~sounds),
        "background": words(*_background(found, sounds, settings)),
        **_sound(found, sounds, settings),
        **_families(found, lines),
        "dynamic_degree": _dynamic(found),
    }
    return table_of("textures", movement_of(bars), columns)


def passages_table(
    found: Analysis, lines: pa.Table, bars: pa.Table, reference: Reference
) -> pa.Table:
    """The table `texture_passages`: runs of sounding bars with one passage texture."""
    layers, named = found.layers, found.named
    sounds = layers.in_bar > 0
    if not sounds.any():
        return empty("texture_passages")
    new = np.ones(len(sounds), np.bool_)
    new[1:] = (np.diff(named.passage_texture) != 0) | ~sounds[:-1]
    new &= sounds
    passage = np.cumsum(new) - 1
    start = np.flatnonzero(new)
    length = np.bincount(passage[sounds])
    names = [centre.texture for centre in reference.texture_centres]
    same = sounds & (named.texture == named.passage_texture)
    movement_id = movement_of(bars)
    return table_of(
        "texture_passages",
        movement_id,
        {
            "passage_key": keys(movement_id, np.arange(len(start))),
            **span_of_bars(bars, start, start + length - 1),
            "texture": words(named.passage_texture[start], names),
            "mean_margin": np.bincount(passage[sounds], named.margin[sounds]) / length,
            "same_bars": np.bincount(passage[same], minlength=len(start)),
            "leading_instruments": instruments_of(
                passage[layers.bar[found.leads]], layers.line[found.leads], lines, len(start)
            ),
        },
    )


def movement_of(bars: pa.Table) -> str:
    """The id of the movement that the bars belong to."""
    return str(bars["movement_id"][0].as_py())


def _weight(found: Analysis) -> Reals:
    """Lines that play in the bar ÷ lines of the movement that ever play."""
    ever = found.lines.present.any(axis=0).sum()
    weight: Reals = found.lines.present.sum(axis=1) / max(int(ever), 1)
    return weight


def _background(found: Analysis, sounds: Flags, settings: Settings) -> tuple[Ints, list[str]]:
    """Which backgrounds take a large enough share of the part-time: codes and their words."""
    degrees, struck = found.role_degrees.degrees, found.role_degrees.struck
    part_time = found.company_measures.part_time
    code = np.zeros(found.grid.bars, np.int64)
    behind = (
        degrees[:, :, HARMONY] + degrees[:, :, PEDAL] - struck,
        degrees[:, :, REPEATED_NOTES] + struck,
        degrees[:, :, FIGURATION],
    )
    for place, (name, degree) in enumerate(zip(_BACKGROUNDS, behind, strict=True)):
        share = (part_time * degree).sum(axis=1)
        code += (share >= getattr(settings, f"background_{name}")) << place
    entries = [
        " + ".join(name for place, name in enumerate(_BACKGROUNDS) if number >> place & 1) or "none"
        for number in range(1 << len(_BACKGROUNDS))
    ]
    return np.where(sounds, code, -1), entries


def _sound(found: Analysis, sounds: Flags, settings: Settings) -> dict[str, Any]:
    """Onsets, pitches, spread and extremes of each bar."""
    grid = found.grid
    onsets = grid.sums(grid.onsets) / (np.maximum(grid.bar_length, 1) / TICKS)
    count = np.bitwise_count(grid.pitches).sum(axis=1, dtype=np.int64)
    time = np.maximum(grid.sums((count > 0) * grid.length), 1)
    pitches = grid.sums(count * grid.length) / time
    none = np.iinfo(np.int16).max
    top = grid.top.max(axis=1, initial=-1)
    bottom = np.where(grid.sounds, grid.bottom, none).min(axis=1, initial=none)
    wide = count >= 2
    several = grid.sums(wide * grid.length)
    spread = grid.sums(np.where(wide, top.astype(np.int64) - bottom, 0) * grid.length)
    lowest, highest = np.full(grid.bars, none, np.int16), np.full(grid.bars, -1, np.int16)
    np.minimum.at(lowest, grid.bar, bottom)
    np.maximum.at(highest, grid.bar, top)
    silent = highest < 0
    return {
        "onsets_per_quarter": onsets,
        "pace": words(_class(onsets, settings.pace_moderate, settings.pace_fast), _PACES),
        "pitches": pa.array(pitches, mask=silent),
        "fullness": words(
            np.where(silent, -1, _class(pitches, settings.pitches_medium, settings.pitches_full)),
            _FULLNESS,
        ),
        "spread_semitones": pa.array(spread / np.maximum(several, 1), mask=several == 0),
        "lowest": pa.array(lowest, mask=silent),
        "highest": pa.array(highest, mask=silent),
    }


def _class(values: Reals, *cuts: float) -> Ints:
    return np.searchsorted(np.array(cuts), values, side="right")


def _families(found: Analysis, lines: pa.Table) -> dict[str, Any]:
    ticks = found.lines.ticks
    total = ticks.sum(axis=1)
    family = np.array(lines["family"].to_pylist(), object)
    chorus = _is(lines, "ensemble", "chorus")
    shares = {
        f"{name}_share": pa.array(
            ticks[:, family == name].sum(axis=1) / np.maximum(total, 1), mask=total == 0
        )
        for name in _FAMILIES
    }
    return {**shares, "chorus_present": (found.lines.present & chorus).any(axis=1)}


def _is(lines: pa.Table, column: str, word: str) -> Flags:
    return np.asarray(pc.equal(lines[column].cast(pa.string()), word).fill_null(False), np.bool_)


def _dynamic(found: Analysis) -> pa.Array:
    layers = found.layers
    degree: npt.NDArray[np.float64] = layers.rows(found.lines.degree).astype(np.float64)
    known = ~np.isnan(degree)
    count = np.bincount(layers.bar[known], minlength=found.grid.bars)
    total = np.bincount(layers.bar[known], degree[known], minlength=found.grid.bars)
    return pa.array(total / np.maximum(count, 1), mask=count == 0)
