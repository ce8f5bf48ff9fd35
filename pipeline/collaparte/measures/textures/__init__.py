"""Textures: which lines move together, what each layer does, who leads, and the bar's texture.

Per bar, everything measured over a window of like neighbours (`windows`):

- measures of lines (`lines`) and of pairs of lines (`pairs`) on exact stretches of time (`grid`)
- layers: average link on the distance of lines (`layers`)
- the company of a line: the lines that it goes with, by degrees (`company`)
- the leading line: weighted evidence (`lead`); roles: rules (`roles`)
- six measures of the bar, what marks a texture in them, the nearest of seven frozen centres and
  passages (`naming`)

Kinds, companies and roles are degrees between 0 and 1, which a note or a threshold a little off
moves a little. The tables `layers` and `layer_spans` tell the greatest of them, since a reader
wants one word; what is counted and added up in a bar, its six measures, rests on the degrees.

Definitions of the project after a trial on 96 orchestral movements; the centres and weights stand
in the reference data, the thresholds in `collaparte.settings`.
"""

from __future__ import annotations

from collections.abc import Mapping

import pyarrow as pa

from collaparte.measures.textures.analysis import analyse
from collaparte.measures.textures.tell_bars import passages_table, textures_table
from collaparte.measures.textures.tell_layers import layer_tables
from collaparte.reference import Reference
from collaparte.schema import Tables, empty
from collaparte.settings import Settings

_MADE = ("layers", "layer_spans", "textures", "texture_passages")


def textures(tables: Mapping[str, pa.Table], reference: Reference, settings: Settings) -> Tables:
    """The tables `layers`, `layer_spans`, `textures` and `texture_passages`.

    From `notes`, `lines` and `bars`. `textures` has a row for every bar, without a texture where
    nothing sounds.
    """
    notes, lines, bars = tables["notes"], tables["lines"], tables["bars"]
    if not len(bars):
        return {name: empty(name) for name in _MADE}
    found = analyse(notes, lines, bars, reference, settings)
    return {
        **layer_tables(found, lines, bars),
        "textures": textures_table(found, lines, bars, reference, settings),
        "texture_passages": passages_table(found, lines, bars, reference),
    }
