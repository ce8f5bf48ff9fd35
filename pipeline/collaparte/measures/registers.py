"""Use of registers: how long each line stays in each class, and where its pitches lie.

Time-weighted: a quantile is the lowest pitch at or below which that share of the time of the
line's notes lies. Notes of one line that overlap each count with their own length.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints
from collaparte.measures.sounding import sounding
from collaparte.reference import Reference
from collaparte.schema import Tables, empty, table_of
from collaparte.settings import Settings

_QUANTILES = {
    "percentile_5": 5,
    "quartile_1": 25,
    "median": 50,
    "quartile_3": 75,
    "percentile_95": 95,
}


def register_use(
    tables: Mapping[str, pa.Table], reference: Reference, settings: Settings
) -> Tables:
    """The table `register_use` from `notes` and `lines`."""
    lines = tables["lines"]
    rows = sounding(tables["notes"])
    if not len(rows):
        return {"register_use": empty("register_use")}
    notes = tables["notes"].select(
        ["movement_id", "line_key", "midi", "duration_ticks", "register_class"]
    )
    notes = notes.take(rows)
    line = np.searchsorted(lines["line_key"].to_numpy(), notes["line_key"].to_numpy())
    pitch = notes["midi"].cast(pa.int64()).to_numpy()
    ticks = notes["duration_ticks"].to_numpy()
    order = np.lexsort((pitch, line))
    quantiles = _quantiles(line[order], pitch[order], ticks[order], len(lines))
    names, classes = _classes(notes["register_class"])
    # One row for each class of each line that it has notes in.
    spot = line * len(names) + classes
    used, row = np.unique(spot, return_inverse=True)
    time = np.zeros(len(used), np.int64)
    np.add.at(time, row, ticks)
    its_line = used // len(names)
    whole = np.zeros(len(lines), np.int64)
    np.add.at(whole, line, ticks)
    return {
        "register_use": table_of(
            "register_use",
            notes["movement_id"][0].as_py(),
            {
                "line_key": pc.take(lines["line_key"], its_line),
                "instrument": pc.take(lines["instrument"], its_line),
                "family": pc.take(lines["family"], its_line),
                "ensemble": pc.take(lines["ensemble"], its_line),
                "register_class": pc.take(names, used % len(names)),
                "ticks": time,
                "notes": np.bincount(row),
                "share": time / whole[its_line],
                **{name: values[its_line] for name, values in quantiles.items()},
            },
        )
    }


def _classes(column: pa.ChunkedArray) -> tuple[pa.Array, Ints]:
    """The names of the classes in order, null last, and the position of each note's name."""
    text = column.cast(pa.string())
    names = pa.array([*sorted(pc.unique(text.drop_null()).to_pylist()), None], pa.string())
    return names, pc.index_in(text, names).cast(pa.int64()).to_numpy()


def _quantiles(line: Ints, pitch: Ints, ticks: Ints, lines: int) -> dict[str, Ints]:
    """Quantiles, lowest and highest pitch by line; arrays sorted by line, then pitch."""
    reached = np.cumsum(ticks)
    number = np.arange(lines)
    first = np.minimum(np.searchsorted(line, number), len(line) - 1)
    last = np.maximum(np.searchsorted(line, number, side="right") - 1, 0)
    before = reached[first] - ticks[first]
    whole = reached[last] - before
    found = {"lowest": pitch[first], "highest": pitch[last]}
    for name, percent in _QUANTILES.items():
        # Rounded up: the first note at which the percentage is reached.
        wanted = before + (whole * percent + 99) // 100
        at = np.minimum(np.searchsorted(reached, wanted), len(pitch) - 1)
        found[name] = pitch[at]
    return found
