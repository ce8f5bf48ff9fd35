"""The tables that are the same for all movements."""

from __future__ import annotations

from collaparte.schema.columns import (
    FLAG,
    SMALL,
    TEXT,
    WORDS,
    TableSchema,
)
from collaparte.schema.declaring import column, optional

INSTRUMENTS = TableSchema(
    "instruments",
    "one instrument of the reference data",
    (
        column("key", TEXT, "the one name of the instrument in all tables"),
        column("english", TEXT, "English name; variants after a semicolon"),
        optional("french", TEXT, "French name"),
        optional("german", TEXT, "German name"),
        optional("italian", TEXT, "Italian name"),
        column("family", TEXT, "family"),
        column("subfamily", TEXT, "subfamily"),
        column("role", TEXT, "instrument, continuo or group"),
        column("generic", FLAG, "stands until size, crook or key letter is known"),
        optional("sounding_low", SMALL, "lowest sounding pitch", "MIDI"),
        optional("sounding_high", SMALL, "highest sounding pitch", "MIDI"),
        column("source_range", TEXT, "source of the range"),
    ),
    ("key",),
)

REGISTER_BANDS = TableSchema(
    "register_bands",
    "one band of one instrument in one scheme",
    (
        column("key", TEXT, "instrument"),
        column("scheme", TEXT, "scheme"),
        column("is_default", FLAG, "the scheme that counts unless settings say otherwise"),
        column("class", TEXT, "low, middle, high or very_high"),
        column("band", TEXT, "the instrument's own name for it"),
        optional("sounding_low", SMALL, "lowest pitch; null: open downwards", "MIDI"),
        optional("sounding_high", SMALL, "highest pitch; null: open upwards", "MIDI"),
        column("source", TEXT, "source"),
    ),
    ("key", "scheme", "sounding_low"),
)

DYNAMICS = TableSchema(
    "dynamics",
    "one mark of the scale of dynamics",
    (
        column("mark", TEXT, "the mark as printed"),
        column("degree", SMALL, "1 pppp to 10 ffff; ordinal", "degrees"),
        column("meaning", TEXT, "what it stands for"),
        column("source", TEXT, "source"),
    ),
    ("degree",),
)

PUBLISHED_DOUBLINGS = TableSchema(
    "published_doublings",
    "one combination of instruments that a handbook speaks of",
    (
        column("pair_id", TEXT, "short name of the combination"),
        column("kind", TEXT, "unison, octave, parallel_thirds or parallel_sixths"),
        column("parts", SMALL, "parts that it takes", "parts"),
        optional("span_octaves", SMALL, "octaves from its lowest to its highest", "octaves"),
        column("verdict", TEXT, "recommended, possible, rare or avoid"),
        optional("context", TEXT, "where it holds"),
        optional("stated_effect", TEXT, "what the source says of the effect"),
        column("source", TEXT, "source"),
    ),
    ("pair_id",),
)

PUBLISHED_MEMBERS = TableSchema(
    "published_members",
    "one member of such a combination",
    (
        column("pair_id", TEXT, "the combination"),
        optional("level", SMALL, "octaves above its lowest; null: not stated", "octaves"),
        column("count", SMALL, "players or parts", "parts"),
        column("instrument", TEXT, "instrument or group as the rules name it"),
        column("words", WORDS, "keys of instruments and families that it stands for"),
    ),
    ("pair_id", "level", "instrument"),
)

SETTINGS = TableSchema(
    "settings",
    "one threshold or choice",
    (
        column("name", TEXT, "name"),
        column("value", TEXT, "value as text"),
        column("unit", TEXT, "unit"),
        column("meaning", TEXT, "what it decides"),
        column("source", TEXT, "where the value comes from"),
    ),
    ("name",),
)
