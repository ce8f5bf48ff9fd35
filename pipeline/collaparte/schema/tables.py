"""All tables by name; the users' page of tables is printed from these."""

from __future__ import annotations

from types import MappingProxyType

from collaparte.schema.of_measures import (
    CHANCE_DOUBLED,
    DOUBLED_NOTES,
    DOUBLINGS,
    GROUP_MEMBERS,
    MELODIC_PATTERNS,
    PAIR_ACTIVITY,
    REGISTER_USE,
    SONORITIES,
    SONORITY_MEMBERS,
    UNISON_GROUPS,
)
from collaparte.schema.of_reference import (
    DYNAMICS,
    INSTRUMENTS,
    PUBLISHED_DOUBLINGS,
    PUBLISHED_MEMBERS,
    REGISTER_BANDS,
    SETTINGS,
)
from collaparte.schema.of_scores import (
    BARS,
    DIRECTIONS,
    LINES,
    MOVEMENTS,
    NOTES,
    PARTS,
    PLAY_ORDER,
    REMARKS,
)
from collaparte.schema.of_textures import (
    LAYER_SPANS,
    LAYERS,
    LINE_MEETINGS,
    TEXTURE_PASSAGES,
    TEXTURES,
)

TABLES = MappingProxyType(
    {
        table.name: table
        for table in (
            MOVEMENTS,
            PARTS,
            LINES,
            BARS,
            PLAY_ORDER,
            NOTES,
            DIRECTIONS,
            DOUBLINGS,
            DOUBLED_NOTES,
            PAIR_ACTIVITY,
            CHANCE_DOUBLED,
            UNISON_GROUPS,
            GROUP_MEMBERS,
            SONORITIES,
            SONORITY_MEMBERS,
            REGISTER_USE,
            LAYERS,
            LAYER_SPANS,
            TEXTURES,
            TEXTURE_PASSAGES,
            LINE_MEETINGS,
            MELODIC_PATTERNS,
            INSTRUMENTS,
            REGISTER_BANDS,
            DYNAMICS,
            PUBLISHED_DOUBLINGS,
            PUBLISHED_MEMBERS,
            SETTINGS,
            REMARKS,
        )
    }
)
"""Every table by name, in the order in which people meet them."""
