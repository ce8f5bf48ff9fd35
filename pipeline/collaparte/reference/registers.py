"""The register of each note: class, own name of the band, and the scheme that says so."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from collaparte.reference import Reference
from collaparte.reference.rows import RegisterBand

_SPAN = 256
"""Sounding pitches of one instrument take less than this many numbers."""


class Registers(NamedTuple):
    """Three dictionary arrays (int32 → string) of one entry a note, null where unknown."""

    register_class: pa.DictionaryArray
    band: pa.DictionaryArray
    scheme: pa.DictionaryArray


def register_of(
    instruments: Sequence[str | None],
    codes: npt.NDArray[np.integer[Any]],
    midi: npt.NDArray[np.integer[Any]],
    reference: Reference,
    scheme: str = "default",
) -> Registers:
    """The register of every note, by its SOUNDING pitch.

    Parameters
    ----------
    instruments
        Keys of `Reference.instruments`; None, or a key without bands, has no register.
    codes
        For each note the position of its instrument in `instruments`; below 0: unknown.
    midi
        For each note its sounding pitch; below 0: without a pitch.
    scheme
        Name of a scheme, taken for the instruments that have it, and for choir and solo voices
        whose generic key has it; the others, and all under `default`, take their default scheme.

    Notes
    -----
    Bands of one scheme are contiguous and open outwards, so that a note of an instrument with
    bands has exactly one (`registers.csv` with its sources).
    """
    schemes = _schemes(reference)
    bands: list[RegisterBand | None] = [None]
    edges = [-_SPAN]
    for place, key in enumerate(instruments):
        own = schemes.get((key, scheme)) or schemes.get((key, "default")) or (None,)
        for band in own:
            low = -1 if band is None or band.low is None else band.low
            edges.append(place * _SPAN + low + 1)
            bands.append(band)
    place_of = np.asarray(codes, np.int64)
    pitch = np.minimum(np.asarray(midi, np.int64), _SPAN - 2)
    unknown = (place_of < 0) | (pitch < 0)
    spot = np.where(unknown, -_SPAN, place_of * _SPAN + pitch + 1)
    rows = (np.searchsorted(np.array(edges), spot, side="right") - 1).astype(np.int32)
    return Registers(
        _words(rows, [band.register_class if band else None for band in bands]),
        _words(rows, [band.band if band else None for band in bands]),
        _words(rows, [band.scheme if band else None for band in bands]),
    )


def scheme_names(reference: Reference) -> tuple[str, ...]:
    """The schemes of registers that may be asked for, `default` first."""
    others = {scheme for _, scheme in _schemes(reference)} - {"default"}
    return ("default", *sorted(others))


@cache
def _schemes(reference: Reference) -> dict[tuple[str | None, str], tuple[RegisterBand, ...]]:
    """Bands in order of pitch by (key, scheme) and, for the default, (key, "default")."""
    found: dict[tuple[str | None, str], list[RegisterBand]] = {}
    for band in reference.registers:
        if band.register_class:
            found.setdefault((band.key, band.scheme), []).append(band)
            if band.is_default:
                found.setdefault((band.key, "default"), []).append(band)
    for row in reference.sizes:
        if reference.instruments[row.key].family == "voice":
            for (key, scheme), bands in list(found.items()):
                if key == row.generic and not bands[0].is_default:
                    found.setdefault((row.key, scheme), bands)
    return {
        name: tuple(sorted(bands, key=lambda band: -1 if band.low is None else band.low))
        for name, bands in found.items()
    }


def _words(rows: npt.NDArray[np.int32], words: Sequence[str | None]) -> pa.DictionaryArray:
    """The words of the rows, each distinct word once in the dictionary."""
    distinct = sorted({word for word in words if word is not None})
    places = np.array([-1 if word is None else distinct.index(word) for word in words], np.int32)
    indices = places[rows]
    return pa.DictionaryArray.from_arrays(
        pa.array(indices, pa.int32(), mask=indices < 0), pa.array(distinct, pa.string())
    )
