"""The centres of the textures fitted anew, and how stable they and the labels are.

The frozen centres of the reference data label every bar; nothing is fitted when a store is
built. Here they are put to the test on the movements of a store: by fits on resampled movements
(`fits`), and by labels under changed parameters, lost notes and lost lines (`sensitivity`).
Labels are compared by the adjusted Rand index over bars (Hubert and Arabie 1985): 1 where they
agree, 0 on average where they agree by chance.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
import pyarrow as pa

from collaparte import reference
from collaparte.errors import UsageError
from collaparte.measures.textures.naming import MEASURES, TRAITS, traits
from collaparte.refit.fits import PULL, Bars, centres, resampled_agreement, split_agreement
from collaparte.refit.sensitivity import Scores, agreement_by_parameter, agreement_under_change
from collaparte.settings import Settings

Answer = Callable[[str], Any]
"""A SELECT on the tables of a store, as a DuckDB relation."""

TRIAL: Mapping[str, float] = MappingProxyType(
    {
        "resampled movements": 0.964,
        "the same, pulled": 0.973,
        "halves of the movements": 0.946,
        "halves, pulled": 0.960,
        "all parameters ±10%": 0.75,
        "all parameters ±20%": 0.64,
        "3% of notes lost": 0.72,
        "one line lost": 0.80,
    }
)
"""What the trial on 96 movements found."""

GOALS: Mapping[str, float] = MappingProxyType(
    {
        "resampled movements": 0.95,
        "halves of the movements": 0.93,
        "all parameters ±10%": 0.85,
        "3% of notes lost": 0.85,
    }
)

_STABILITY = pa.schema(
    {
        "figure": pa.string(),
        "mean": pa.float64(),
        "sd": pa.float64(),
        "least": pa.float64(),
        "times": pa.int64(),
        "trial": pa.float64(),
        "goal": pa.float64(),
    }
)


def fitted_centres(answer: Answer, settings: Settings) -> pa.Table:
    """Centres fitted on the bars of a store, from the frozen ones on: texture, bars, traits."""
    frozen = reference.load().texture_centres
    bars = _bars(answer, settings)
    fitted, labels = centres(bars.marked, np.array([centre.traits for centre in frozen]))
    return pa.table(
        {
            "texture": [centre.texture for centre in frozen],
            "bars": np.bincount(labels, minlength=len(frozen)),
            **dict(zip(TRAITS, np.round(fitted, 6).T + 0.0, strict=True)),
        }
    )


def stability(answer: Answer, pairs: int, draws: int, settings: Settings) -> pa.Table:
    """One row a figure: mean, standard deviation and least of the adjusted Rand indexes.

    "Pulled" are fits in which the frozen centres count as `PULL` of a cluster of mean size.

    Parameters
    ----------
    pairs
        Pairs of resamples, and of halves.
    draws
        Draws of changed parameters, of lost notes and of lost lines.

    Raises
    ------
    UsageError
        The store holds fewer than two movements with a texture.
    """
    frozen = np.array([centre.traits for centre in reference.load().texture_centres])
    bars, scores = _bars(answer, settings), _scores(answer)
    found = {
        "resampled movements": resampled_agreement(bars, frozen, pairs, settings.seed),
        "the same, pulled": resampled_agreement(bars, frozen, pairs, settings.seed, PULL),
        "halves of the movements": split_agreement(bars, frozen, pairs, settings.seed),
        "halves, pulled": split_agreement(bars, frozen, pairs, settings.seed, PULL),
        **agreement_under_change(scores, draws, settings),
    }
    return pa.Table.from_pylist(
        [
            {
                "figure": name,
                "mean": float(np.mean(values)),
                "sd": float(np.std(values)),
                "least": float(np.min(values)),
                "times": len(values),
                "trial": TRIAL.get(name),
                "goal": GOALS.get(name),
            }
            for name, values in found.items()
        ],
        schema=_STABILITY,
    )


def parameters(answer: Answer, settings: Settings) -> pa.Table:
    """One row a parameter: the index when it alone is 20% or 10% less, 10% or 20% more."""
    return pa.Table.from_pylist(agreement_by_parameter(_scores(answer), settings))


def _bars(answer: Answer, settings: Settings) -> Bars:
    columns = ", ".join(MEASURES)
    found = answer(
        f"SELECT movement_key, {columns} FROM textures WHERE texture IS NOT NULL "
        "ORDER BY movement_key, bar_index"
    ).to_arrow_table()
    _, movement = np.unique(found["movement_key"].to_numpy(), return_inverse=True)
    if movement.max(initial=0) < 1:
        raise UsageError("a fit needs at least two movements with a texture in the store")
    six = np.stack([found[name].to_numpy() for name in MEASURES], axis=1)
    return Bars(traits(six, settings), movement)


def _scores(answer: Answer) -> Scores:
    """The notes, lines and bars of each movement of the store."""
    movements = answer("SELECT DISTINCT movement_key FROM textures ORDER BY ALL").fetchall()
    return [
        {
            name: answer(
                f"SELECT * FROM {name} WHERE movement_key = {int(key)} ORDER BY {order}"
            ).to_arrow_table()
            for name, order in (("notes", "note_key"), ("lines", "line_key"), ("bars", "bar_index"))
        }
        for (key,) in movements
    ]
