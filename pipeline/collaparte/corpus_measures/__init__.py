"""Measures of the whole corpus: tables of all movements to tables of some of them.

They are few, so that no measure of one movement hides what the others hold. A measure is one
module; a line here makes it part of every build.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pyarrow as pa

from collaparte.corpus_measures.same_music import same_music
from collaparte.schema import Tables
from collaparte.settings import Settings

Corpus = Mapping[str, Mapping[str, pa.Table]]
"""Tables of every movement, by movement_id."""


@dataclass(frozen=True)
class CorpusMeasure:
    """One measure: its function, the tables that it needs, and those that it makes anew."""

    name: str
    function: Callable[[Corpus, Settings], dict[str, Tables]]
    needs: tuple[str, ...]
    makes: tuple[str, ...]


CORPUS_MEASURES = (
    CorpusMeasure(
        "same_music", same_music, ("movements", "notes", "remarks"), ("movements", "remarks")
    ),
)


def measure_corpus(
    corpus: Corpus,
    settings: Settings,
    measures: tuple[CorpusMeasure, ...] = CORPUS_MEASURES,
) -> dict[str, Mapping[str, pa.Table]]:
    """The corpus with the tables that the measures make in the place of those before."""
    measured = dict(corpus)
    for item in measures:
        for movement_id, made in item.function(measured, settings).items():
            if not made.keys() <= set(item.makes):
                raise ValueError(f"the measure {item.name} made {', '.join(sorted(made))}")
            measured[movement_id] = {**measured[movement_id], **made}
    return measured
