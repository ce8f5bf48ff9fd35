"""Facts of the trade with their sources: instruments, registers, transpositions, words, marks.

The files and how to read them are described in README.md beside this module.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

import pyarrow as pa

from collaparte.reference.published import PublishedDoubling, PublishedMember, meant_by
from collaparte.reference.rows import (
    Abbreviation,
    Crook,
    DirectionWord,
    Dynamic,
    DynamicAccent,
    Glyph,
    Group,
    Instrument,
    LeadWeight,
    MidiProgram,
    PartName,
    PartNameWord,
    PlainWord,
    RegisterBand,
    Row,
    Size,
    Term,
    TermVariant,
    TextureCentre,
    TranspositionRule,
)
from collaparte.schema import TABLES

FILES = (
    "instruments",
    "sound_ids",
    "groups",
    "transposition_rules",
    "crooks",
    "abbreviations",
    "registers",
    "terms",
    "term_variants",
    "direction_words",
    "plain_words",
    "glyphs",
    "dynamics",
    "dynamic_accents",
    "midi_programs",
    "part_names",
    "part_name_words",
    "sizes",
    "texture_centres",
    "lead_weights",
    "doubling_pairs",
    "doubling_members",
)
"""Names of the files, without `.csv`; each is a field of `Reference`."""


@dataclass(frozen=True, eq=False)
class Reference:
    """All reference data, read-only.

    Attributes
    ----------
    instruments, groups, terms, dynamics, dynamic_accents, midi_programs
        Rows by key, id, mark or program, in the order of the file.
    sound_ids
        Key of the instrument by MusicXML sound id.
    transposition_rules, crooks, abbreviations, registers, part_names, part_name_words, sizes
        Rows in the order of the file.
    term_variants, direction_words, plain_words, glyphs
        Rows in the order of the file: the words of scores besides the terms.
    doubling_pairs, doubling_members
        Rows in the order of the file: combinations of instruments that handbooks speak of.
    """

    instruments: Mapping[str, Instrument]
    sound_ids: Mapping[str, str]
    groups: Mapping[str, Group]
    transposition_rules: tuple[TranspositionRule, ...]
    crooks: tuple[Crook, ...]
    abbreviations: tuple[Abbreviation, ...]
    registers: tuple[RegisterBand, ...]
    terms: Mapping[str, Term]
    term_variants: tuple[TermVariant, ...]
    direction_words: tuple[DirectionWord, ...]
    plain_words: tuple[PlainWord, ...]
    glyphs: tuple[Glyph, ...]
    dynamics: Mapping[str, Dynamic]
    dynamic_accents: Mapping[str, DynamicAccent]
    midi_programs: Mapping[int, MidiProgram]
    part_names: tuple[PartName, ...]
    part_name_words: tuple[PartNameWord, ...]
    sizes: tuple[Size, ...]
    texture_centres: tuple[TextureCentre, ...]
    lead_weights: Mapping[str, LeadWeight]
    doubling_pairs: tuple[PublishedDoubling, ...]
    doubling_members: tuple[PublishedMember, ...]

    def tables(self) -> dict[str, pa.Table]:
        """Every table of reference data by name."""
        return {
            "instruments": self.instruments_table(),
            "register_bands": self.register_bands_table(),
            "dynamics": self.dynamics_table(),
            "published_doublings": self.published_doublings_table(),
            "published_members": self.published_members_table(),
        }

    def instruments_table(self) -> pa.Table:
        """The `instruments` table, one row an instrument, voice or group."""
        rows = self.instruments.values()
        return _table(
            "instruments",
            {
                "key": [row.key for row in rows],
                "english": ["; ".join(row.english) for row in rows],
                "french": ["; ".join(row.french) or None for row in rows],
                "german": ["; ".join(row.german) or None for row in rows],
                "italian": ["; ".join(row.italian) or None for row in rows],
                "family": [row.family for row in rows],
                "subfamily": [row.subfamily for row in rows],
                "role": [row.role for row in rows],
                "generic": [row.generic for row in rows],
                "sounding_low": [row.low for row in rows],
                "sounding_high": [row.high for row in rows],
                "source_range": [row.source_range for row in rows],
            },
        )

    def register_bands_table(self) -> pa.Table:
        """The `register_bands` table, one row a band of an instrument in one scheme."""
        rows = [row for row in self.registers if row.register_class]
        return _table(
            "register_bands",
            {
                "key": [row.key for row in rows],
                "scheme": [row.scheme for row in rows],
                "is_default": [row.is_default for row in rows],
                "class": [row.register_class for row in rows],
                "band": [row.band for row in rows],
                "sounding_low": [row.low for row in rows],
                "sounding_high": [row.high for row in rows],
                "source": [row.source for row in rows],
            },
        )

    def dynamics_table(self) -> pa.Table:
        """The `dynamics` table, one row a mark of the scale."""
        rows = self.dynamics.values()
        return _table(
            "dynamics",
            {
                "mark": [row.mark for row in rows],
                "degree": [row.degree for row in rows],
                "meaning": [row.meaning for row in rows],
                "source": [row.source for row in rows],
            },
        )

    def published_doublings_table(self) -> pa.Table:
        """The `published_doublings` table, one row a combination of instruments."""
        rows = self.doubling_pairs
        return _table(
            "published_doublings",
            {
                "pair_id": [row.pair_id for row in rows],
                "kind": [row.kind for row in rows],
                "parts": [row.parts for row in rows],
                "span_octaves": [row.span_octaves for row in rows],
                "verdict": [row.verdict for row in rows],
                "context": [row.context or None for row in rows],
                "stated_effect": [row.stated_effect or None for row in rows],
                "source": [row.source for row in rows],
            },
        )

    def published_members_table(self) -> pa.Table:
        """The `published_members` table, one row a member of a combination."""
        rows = self.doubling_members
        return _table(
            "published_members",
            {
                "pair_id": [row.pair_id for row in rows],
                "level": [row.level for row in rows],
                "count": [row.count for row in rows],
                "instrument": [row.instrument for row in rows],
                "words": [sorted(set(meant_by(row.instrument, self.groups))) for row in rows],
            },
        )


@cache
def load() -> Reference:
    """The reference data, read once a process."""
    return Reference(
        instruments=_by((Instrument.of(row) for row in file_rows("instruments")), "key"),
        sound_ids=MappingProxyType({row["sound_id"]: row["key"] for row in file_rows("sound_ids")}),
        groups=_by((Group.of(row) for row in file_rows("groups")), "key"),
        transposition_rules=tuple(map(TranspositionRule.of, file_rows("transposition_rules"))),
        crooks=tuple(map(Crook.of, file_rows("crooks"))),
        abbreviations=tuple(map(Abbreviation.of, file_rows("abbreviations"))),
        registers=tuple(map(RegisterBand.of, file_rows("registers"))),
        terms=_by((Term.of(row) for row in file_rows("terms")), "id"),
        term_variants=tuple(map(TermVariant.of, file_rows("term_variants"))),
        direction_words=tuple(map(DirectionWord.of, file_rows("direction_words"))),
        plain_words=tuple(map(PlainWord.of, file_rows("plain_words"))),
        glyphs=tuple(map(Glyph.of, file_rows("glyphs"))),
        dynamics=_by((Dynamic.of(row) for row in file_rows("dynamics")), "mark"),
        dynamic_accents=_by(
            (DynamicAccent.of(row) for row in file_rows("dynamic_accents")), "mark"
        ),
        midi_programs=_by((MidiProgram.of(row) for row in file_rows("midi_programs")), "program"),
        part_names=tuple(map(PartName.of, file_rows("part_names"))),
        part_name_words=tuple(map(PartNameWord.of, file_rows("part_name_words"))),
        sizes=tuple(map(Size.of, file_rows("sizes"))),
        texture_centres=tuple(map(TextureCentre.of, file_rows("texture_centres"))),
        lead_weights=_by(map(LeadWeight.of, file_rows("lead_weights")), "evidence"),
        doubling_pairs=tuple(map(PublishedDoubling.of, file_rows("doubling_pairs"))),
        doubling_members=tuple(map(PublishedMember.of, file_rows("doubling_members"))),
    )


def file_rows(name: str) -> Iterable[Row]:
    """The rows of the file `name`, as text by column."""
    text = resources.files(__package__).joinpath(f"{name}.csv").read_text("utf-8")
    return csv.DictReader(text.splitlines())


def _by(items: Iterable[Any], attribute: str) -> Mapping[Any, Any]:
    return MappingProxyType({getattr(item, attribute): item for item in items})


def _table(name: str, columns: Mapping[str, list[Any]]) -> pa.Table:
    schema = TABLES[name].arrow()
    order = [(column, "ascending", "at_start") for column in TABLES[name].order]
    return pa.table(dict(columns), schema=schema).sort_by(order)
