"""The reference files hold together, and the loader tells what they say."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from itertools import pairwise

import pytest

from collaparte import reference
from collaparte.measures.kinds import KINDS
from collaparte.reference.published import meant_by
from collaparte.schema import TABLES

CLASSES = ["low", "middle", "high", "very_high"]
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
ALTERS = {"": 0, "#": 1, "##": 2, "b": -1, "bb": -2}

KEYS = {
    "instruments": ("key",),
    "sound_ids": ("sound_id",),
    "groups": ("key",),
    "transposition_rules": ("key", "rule"),
    "crooks": ("key", "crook"),
    "abbreviations": ("abbreviation", "language", "key"),
    "registers": ("key", "scheme", "kind", "band"),
    "terms": ("id",),
    "term_variants": ("id", "family", "form"),
    "direction_words": ("kind", "id"),
    "plain_words": ("words",),
    "glyphs": ("code_point",),
    "dynamics": ("mark",),
    "dynamic_accents": ("mark",),
    "midi_programs": ("program",),
    "part_names": ("name", "language", "key"),
    "part_name_words": ("word", "language", "kind"),
    "sizes": ("generic", "key"),
    "texture_centres": ("texture",),
    "lead_weights": ("evidence",),
    "doubling_pairs": ("id",),
    "doubling_members": ("pair_id", "level", "instrument"),
}

WITHOUT_SOURCES = {"sound_ids", "doubling_members"}
"""Files whose README says where their rows come from."""


@pytest.fixture(scope="module")
def facts() -> reference.Reference:
    return reference.load()


def midi(name: str) -> int:
    step, alter, octave = re.fullmatch(r"([A-G])(##|#|bb|b)?(-?\d)", name).groups()
    return STEPS[step] + ALTERS[alter or ""] + 12 * (int(octave) + 1)


def test_every_file_is_listed():
    assert set(KEYS) == set(reference.FILES)


@pytest.mark.parametrize("name", reference.FILES)
def test_every_row_has_a_source_and_its_own_key(name):
    rows = list(reference.file_rows(name))
    assert rows
    sources = [
        column
        for column in rows[0]
        if re.match("source(_|$)", column) and column not in {"source_low", "source_high"}
    ]
    assert bool(sources) == (name not in WITHOUT_SOURCES)
    assert all(row[column] for row in rows for column in sources)
    keys = [tuple(row[column] for column in KEYS[name]) for row in rows]
    assert len(set(keys)) == len(keys)


@pytest.mark.parametrize("name", reference.FILES)
def test_cells_are_clean(name):
    for row in reference.file_rows(name):
        assert None not in row
        for cell in row.values():
            assert cell is not None
            assert cell == cell.strip()
            assert unicodedata.normalize("NFC", cell) == cell


@pytest.mark.parametrize(
    ("name", "pairs"),
    [
        ("instruments", ("sounding_low", "sounding_high")),
        ("registers", ("written_low", "written_high", "sounding_low", "sounding_high")),
    ],
)
def test_midi_numbers_are_the_named_pitches(name, pairs):
    for row in reference.file_rows(name):
        for pair in pairs:
            expected = str(midi(row[pair])) if row[pair] else ""
            assert row[f"{pair}_midi"] == expected, row


def test_written_and_sounding_bounds_differ_by_the_transposition():
    for row in reference.file_rows("registers"):
        for side in ("low", "high"):
            written, sounding = row[f"written_{side}_midi"], row[f"sounding_{side}_midi"]
            if written:
                assert int(written) + int(row["transposition"]) == int(sounding), row


def test_keys_exist(facts):
    known = set(facts.instruments)
    assert set(facts.sound_ids.values()) <= known
    assert {row.key for row in facts.transposition_rules} <= known
    assert {key for row in facts.crooks for key in row.keys} <= known
    assert {row.key for row in facts.abbreviations} <= known
    assert {row.key for row in facts.registers} <= known
    assert {row.key for row in facts.midi_programs.values()} <= known | {None}
    assert not known & set(facts.groups)
    members = {member for row in facts.groups.values() for member in row.members}
    assert members <= known | set(facts.groups)
    for row in facts.instruments.values():
        assert row.role in {"instrument", "continuo", "group"}
        assert row.role != "instrument" or row.nearest_sound_id in facts.sound_ids


def test_part_names_name_a_key_or_a_family(facts):
    families = {row.family for row in facts.instruments.values()}
    for row in facts.part_names:
        assert row.language in {"en", "fr", "de", "it"}
        assert row.family in families if not row.key else row.key in facts.instruments
    for row in facts.part_name_words:
        assert bool(row.value) == (row.kind in {"ordinal", "count", "high", "low"})


def test_sizes_belong_to_generic_keys_of_their_family(facts):
    for row in facts.sizes:
        generic, size = facts.instruments[row.generic], facts.instruments[row.key]
        assert generic.generic
        assert generic.family == size.family


def test_the_printed_transposition_is_the_default_rule(facts):
    defaults = defaultdict(list)
    for row in facts.transposition_rules:
        if row.is_default:
            defaults[row.key].append(row.semitones)
    for row in facts.instruments.values():
        expected = [] if row.printed_transposition is None else [row.printed_transposition]
        assert defaults[row.key] == expected, row.key
        assert expected or row.generic or row.role == "group"


def test_crooks_fit_their_names(facts):
    natural = {
        "C": 0,
        "D-flat": 1,
        "D": 2,
        "E-flat": 3,
        "E": 4,
        "F": 5,
        "F-sharp / G-flat": 6,
        "G": 7,
        "A-flat": 8,
        "A": 9,
        "B-flat": 10,
        "B-natural": 11,
    }
    for row in facts.crooks:
        name = re.sub(r"(alto|basso|low|high|piccolo|\(.*?\))", "", row.crook).strip()
        assert row.treble_clef % 12 == natural[name], row
        assert row.old_bass_clef in {None, row.treble_clef + 12}, row
        assert row.german
        assert row.french
        assert row.italian


def test_bands_of_a_scheme_are_contiguous_and_open_outwards(facts):
    schemes = defaultdict(list)
    for row in facts.registers:
        if row.register_class:
            schemes[row.key, row.scheme].append(row)
        else:
            assert not row.is_default
            assert row.low is not None
            assert row.high is not None
    for bands in schemes.values():
        assert len({band.is_default for band in bands}) == 1
        assert bands[0].low is None
        assert bands[-1].high is None
        order = [CLASSES.index(band.register_class) for band in bands]
        assert order == sorted(set(order))
        assert order[:3] == [0, 1, 2]
        for lower, upper in pairwise(bands):
            assert upper.low == lower.high + 1


def test_one_default_scheme_for_all_that_needs_bands(facts):
    defaults = defaultdict(set)
    for row in facts.registers:
        if row.is_default:
            defaults[row.key].add(row.scheme)
    for row in facts.instruments.values():
        assert len(defaults[row.key]) <= 1
        needs = row.family in {"woodwind", "brass", "string", "voice", "keyboard"}
        assert defaults[row.key] or row.role == "group" or not needs, row.key


def test_degrees_of_dynamics_run_without_a_hole(facts):
    assert [row.degree for row in facts.dynamics.values()] == list(range(1, 11))
    for row in facts.dynamic_accents.values():
        assert row.mark not in facts.dynamics
        assert {row.level_at, row.level_after} <= {"", *facts.dynamics}
        if row.level_after:
            assert row.degree_after == facts.dynamics[row.level_after].degree


def test_terms_end_what_exists(facts):
    groups = {row.group for row in facts.terms.values()}
    for row in facts.terms.values():
        for ended in row.ends:
            if ended.startswith("group:"):
                assert ended.removeprefix("group:") in groups
            else:
                assert facts.terms[ended].group != row.group
    defaults = defaultdict(int)
    for row in facts.terms.values():
        defaults[row.group] += row.is_default
    assert set(defaults.values()) <= {0, 1}


def test_midi_programs_are_all_there(facts):
    assert list(facts.midi_programs) == list(range(1, 129))
    assert facts.midi_programs[61].key == "horn"
    assert facts.midi_programs[128].key is None


def test_members_make_up_their_combination(facts):
    families = {row.family for row in facts.instruments.values()}
    members = defaultdict(list)
    for row in facts.doubling_members:
        members[row.pair_id].append(row)
        for word in meant_by(row.instrument, facts.groups):
            assert word in facts.instruments or word in families
    for row in facts.doubling_pairs:
        assert row.kind in KINDS
        assert row.verdict in {"recommended", "possible", "rare", "avoid"}
        assert row.parts == sum(member.count for member in members[row.pair_id])
        levels = [member.level for member in members[row.pair_id] if member.level is not None]
        if levels:
            assert (min(levels), max(levels)) == (0, row.span_octaves)
    assert set(members) == {row.pair_id for row in facts.doubling_pairs}


def test_groups_of_the_rules_stand_for_keys_and_families(facts):
    assert set(meant_by("violins", facts.groups)) == {"violin"}
    assert set(meant_by("wind", facts.groups)) == {"woodwind", "brass"}
    assert set(meant_by("small-clarinet", facts.groups)) == {"clarinet-eflat", "clarinet-d"}
    assert set(meant_by("oboe", facts.groups)) == {"oboe"}


@pytest.mark.parametrize("name", reference.load().tables())
def test_tables_follow_the_schema_in_order(facts, name):
    table = facts.tables()[name]
    assert table.schema.equals(TABLES[name].arrow())
    order = list(TABLES[name].order)
    rows = [
        tuple(-1 if value is None else value for value in row.values())
        for row in table.select(order).to_pylist()
    ]
    assert rows == sorted(rows)
    for field in table.schema:
        assert field.nullable or table.column(field.name).null_count == 0


def test_read_only_and_loaded_once(facts):
    assert reference.load() is facts
    with pytest.raises(TypeError, match="does not support item assignment"):
        facts.instruments["flute"] = None
    with pytest.raises(AttributeError, match="cannot assign to field"):
        facts.terms = {}
