"""All measures, in the order in which they run: tables of one movement to tables of it.

A measure is one module; a line here makes it part of every build.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pyarrow as pa

from collaparte.measures.activity import pair_activity
from collaparte.measures.doublings import doublings
from collaparte.measures.doublings.chance import chance_doubled
from collaparte.measures.groups import unison_groups
from collaparte.measures.meetings import line_meetings
from collaparte.measures.melodic_patterns import melodic_patterns
from collaparte.measures.registers import register_use
from collaparte.measures.sonorities import sonorities
from collaparte.measures.textures import textures
from collaparte.reference import Reference
from collaparte.schema import Tables
from collaparte.settings import Settings


@dataclass(frozen=True)
class Measure:
    """One measure: its function, the tables that it needs, and the tables that it makes."""

    name: str
    function: Callable[[Mapping[str, pa.Table], Reference, Settings], Tables]
    needs: tuple[str, ...]
    makes: tuple[str, ...]


MEASURES = (
    Measure(
        "doublings",
        doublings,
        ("notes", "lines", "bars", "directions"),
        ("doublings", "doubled_notes"),
    ),
    Measure("chance_doubled", chance_doubled, ("notes", "lines", "bars"), ("chance_doubled",)),
    Measure(
        "sonorities",
        sonorities,
        ("notes", "lines", "bars"),
        ("sonorities", "sonority_members"),
    ),
    Measure("register_use", register_use, ("notes", "lines"), ("register_use",)),
    Measure(
        "unison_groups",
        unison_groups,
        ("doublings", "notes", "lines"),
        ("unison_groups", "group_members"),
    ),
    Measure(
        "pair_activity",
        pair_activity,
        ("lines", "bars", "sonority_members", "doubled_notes", "chance_doubled"),
        ("pair_activity",),
    ),
    Measure(
        "textures",
        textures,
        ("notes", "lines", "bars"),
        ("layers", "layer_spans", "textures", "texture_passages"),
    ),
    Measure(
        "line_meetings",
        line_meetings,
        ("doublings", "lines", "bars", "layers"),
        ("line_meetings",),
    ),
    Measure(
        "melodic_patterns",
        melodic_patterns,
        ("notes", "lines", "bars", "layers"),
        ("melodic_patterns",),
    ),
)


def measure(
    tables: Mapping[str, pa.Table],
    reference: Reference,
    settings: Settings,
    measures: tuple[Measure, ...] = MEASURES,
) -> Tables:
    """All tables of one movement: those given, and those that the measures make.

    Each measure sees the tables that it needs and no others.
    """
    measured = dict(tables)
    for item in measures:
        needed = {name: measured[name] for name in item.needs}
        made = item.function(needed, reference, settings)
        if made.keys() != set(item.makes):
            raise ValueError(f"the measure {item.name} made {', '.join(sorted(made))}")
        measured |= made
    return measured
