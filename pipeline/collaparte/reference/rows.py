"""The rows of the reference files, one frozen class a file.

Columns keep the names of the files where these are plain; cells that hold a list are tuples,
empty cells of numbers are None.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Row = Mapping[str, str]


def _list(cell: str) -> tuple[str, ...]:
    return tuple(cell.split(";")) if cell else ()


def _number(cell: str) -> int | None:
    return int(cell) if cell else None


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument, voice or group; `low` and `high` bound its sounding range (MIDI)."""

    key: str
    english: tuple[str, ...]
    french: tuple[str, ...]
    german: tuple[str, ...]
    italian: tuple[str, ...]
    family: str
    subfamily: str
    role: str
    generic: bool
    printed_transposition: int | None
    low: int | None
    high: int | None
    nearest_sound_id: str
    source_range: str
    source_transposition: str
    source_names: str
    note: str

    @classmethod
    def of(cls, row: Row) -> Instrument:
        """The instrument of one row of the file."""
        return cls(
            row["key"],
            _list(row["english"]),
            _list(row["french"]),
            _list(row["german"]),
            _list(row["italian"]),
            row["family"],
            row["subfamily"],
            row["role"],
            row["generic"] == "yes",
            _number(row["printed_transposition"]),
            _number(row["sounding_low_midi"]),
            _number(row["sounding_high_midi"]),
            row["nearest_sound_id"],
            row["source_range"],
            row["source_transposition"],
            row["source_names"],
            row["note"],
        )


@dataclass(frozen=True, slots=True)
class Group:
    """A name for several instruments that rules use beside the keys."""

    key: str
    meaning: str
    members: tuple[str, ...]
    source: str

    @classmethod
    def of(cls, row: Row) -> Group:
        """The group of one row of the file."""
        return cls(row["key"], row["meaning"], _list(row["members"]), row["source"])


@dataclass(frozen=True, slots=True)
class TranspositionRule:
    """One printed convention; `semitones` = sounding minus written."""

    key: str
    rule: str
    semitones: int
    is_default: bool
    source: str
    note: str

    @classmethod
    def of(cls, row: Row) -> TranspositionRule:
        """The rule of one row of the file."""
        return cls(
            row["key"],
            row["rule"],
            int(row["semitones_sounding_minus_written"]),
            row["is_default"] == "yes",
            row["source"],
            row["note"],
        )


@dataclass(frozen=True, slots=True)
class Crook:
    """One crook of horn, trumpet or cornet with its names and offsets (sounding minus written)."""

    keys: tuple[str, ...]
    crook: str
    german: str
    french: str
    italian: str
    old_italian: str
    treble_clef: int
    old_bass_clef: int | None
    note: str
    source: str

    @classmethod
    def of(cls, row: Row) -> Crook:
        """The crook of one row of the file; `keys` are the instruments that use it."""
        return cls(
            (row["key"], *_list(row["also_for"])),
            row["crook"],
            row["name_de"],
            row["name_fr"],
            row["name_it"],
            row["name_it_old"],
            int(row["treble_clef"]),
            _number(row["old_bass_clef"]),
            row["note"],
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class Abbreviation:
    """One abbreviation in one language; `usage` is score or catalogue."""

    normalised: str
    abbreviation: str
    language: str
    key: str
    usage: str
    source: str

    @classmethod
    def of(cls, row: Row) -> Abbreviation:
        """The abbreviation of one row of the file."""
        return cls(
            row["normalised"],
            row["abbreviation"],
            row["language"],
            row["key"],
            row["usage"],
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class RegisterBand:
    """One band of one instrument in one scheme, bounded by sounding pitches (MIDI).

    `low` and `high` are inclusive; None is open outwards. Rows of kind scope, open_string, drum
    and notation are no bands and have no class.
    """

    key: str
    scheme: str
    is_default: bool
    kind: str
    register_class: str
    band: str
    low: int | None
    high: int | None
    description: str
    source: str

    @classmethod
    def of(cls, row: Row) -> RegisterBand:
        """The band of one row of the file."""
        return cls(
            row["key"],
            row["scheme"],
            row["is_default"] == "yes",
            row["kind"],
            row["class"],
            row["band"],
            _number(row["sounding_low_midi"]),
            _number(row["sounding_high_midi"]),
            row["description"],
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class Term:
    """One technique, its words in four languages and the state group that it belongs to.

    `families` uses the words of the page (strings, wind, voices, choir, all …), `ends` names
    terms, or groups as `group:name`, that it ends besides those of its own group.
    """

    id: str
    group: str
    is_default: bool
    families: tuple[str, ...]
    meaning: str
    italian: tuple[str, ...]
    french: tuple[str, ...]
    german: tuple[str, ...]
    english: tuple[str, ...]
    abbreviations: tuple[str, ...]
    ends: tuple[str, ...]
    source: str

    @classmethod
    def of(cls, row: Row) -> Term:
        """The term of one row of the file."""
        return cls(
            row["id"],
            row["group"],
            row["is_default"] == "yes",
            _list(row["family"]),
            row["meaning"],
            _list(row["italian"]),
            _list(row["french"]),
            _list(row["german"]),
            _list(row["english"]),
            _list(row["abbreviations"]),
            _list(row["ends"]),
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class TermVariant:
    """Another form of a term; `families` narrows or widens where it holds, empty as the term."""

    id: str
    families: tuple[str, ...]
    form: str
    source: str

    @classmethod
    def of(cls, row: Row) -> TermVariant:
        """The variant of one row of the file."""
        return cls(row["id"], _list(row["family"]), row["form"], row["source"])


@dataclass(frozen=True, slots=True)
class DirectionWord:
    """A word of directions that is no technique: hairpins, modifiers, numbers, doubling, jumps.

    `kind` says what it does in a text; of kind `dynamic`, the id is a mark of the dynamics.
    """

    id: str
    kind: str
    meaning: str
    italian: tuple[str, ...]
    french: tuple[str, ...]
    german: tuple[str, ...]
    english: tuple[str, ...]
    abbreviations: tuple[str, ...]
    source: str

    @classmethod
    def of(cls, row: Row) -> DirectionWord:
        """The word of one row of the file."""
        return cls(
            row["id"],
            row["kind"],
            row["meaning"],
            _list(row["italian"]),
            _list(row["french"]),
            _list(row["german"]),
            _list(row["english"]),
            _list(row["abbreviations"]),
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class PlainWord:
    """A whole word or phrase of tempo, expression or heading, without meaning for our tables."""

    words: str
    kind: str
    language: str
    source: str

    @classmethod
    def of(cls, row: Row) -> PlainWord:
        """The words of one row of the file."""
        return cls(row["words"], row["kind"], row["language"], row["source"])


@dataclass(frozen=True, slots=True)
class Glyph:
    """A glyph of music fonts that stands for text, by its SMuFL name and character."""

    character: str
    name: str
    text: str
    source: str

    @classmethod
    def of(cls, row: Row) -> Glyph:
        """The glyph of one row of the file."""
        character = chr(int(row["code_point"].removeprefix("U+"), 16))
        return cls(character, row["name"], row["text"], row["source"])


@dataclass(frozen=True, slots=True)
class Dynamic:
    """One mark of the scale; `degree` is its rank, 1 pppp to 10 ffff."""

    mark: str
    degree: int
    meaning: str
    source: str

    @classmethod
    def of(cls, row: Row) -> Dynamic:
        """The mark of one row of the file."""
        return cls(row["mark"], int(row["rank"]), row["meaning"], row["source"])


@dataclass(frozen=True, slots=True)
class DynamicAccent:
    """One accent, changing mark or modifier with the level that follows.

    `kind` is accent, level or modifier; `degree_after` a degree of the scale of dynamics,
    `degrees` a step in degrees; `lasts` is note, phrase or until_next.
    """

    mark: str
    kind: str
    is_accent: bool
    level_at: str
    level_after: str
    degree_after: float | None
    degrees: int | None
    lasts: str
    effect: str
    source: str

    @classmethod
    def of(cls, row: Row) -> DynamicAccent:
        """The accent of one row of the file."""
        return cls(
            row["mark"],
            row["kind"],
            row["accent"] == "yes",
            row["level_at"],
            row["level_after"],
            float(row["rank_after"]) if row["rank_after"] else None,
            _number(row["degrees"]),
            row["lasts"],
            row["effect"],
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class MidiProgram:
    """One program of General MIDI, from 1; `key` is None where no instrument of ours is meant."""

    program: int
    name: str
    key: str | None
    source: str

    @classmethod
    def of(cls, row: Row) -> MidiProgram:
        """The program of one row of the file."""
        return cls(int(row["program"]), row["name"], row["key"] or None, row["source"])


@dataclass(frozen=True, slots=True)
class PartName:
    """One spelling, plural or old name of a part beside those of the instruments.

    `key` is empty where the name is known and no instrument of the table; `family` says then
    what it belongs to. `size_open`: the name leaves the size open and the usual one is given.
    """

    name: str
    language: str
    key: str
    family: str
    size_open: bool
    source: str

    @classmethod
    def of(cls, row: Row) -> PartName:
        """The name of one row of the file."""
        return cls(
            row["name"],
            row["language"],
            row["key"],
            row["family"],
            row["size_open"] == "yes",
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class PartNameWord:
    """One word that stands beside instruments in names of parts, and what it does there.

    `kind` is solo, chorus, section, ordinal, count, and, or, key (before a key letter), flat,
    sharp, natural, high or low (after one), aside (what follows is no statement) or ignored.
    """

    word: str
    language: str
    kind: str
    value: str
    source: str

    @classmethod
    def of(cls, row: Row) -> PartNameWord:
        """The word of one row of the file."""
        return cls(row["word"], row["language"], row["kind"], row["value"], row["source"])


@dataclass(frozen=True, slots=True)
class Size:
    """One size or variety of a generic instrument, the usual one first."""

    generic: str
    key: str
    source: str

    @classmethod
    def of(cls, row: Row) -> Size:
        """The size of one row of the file."""
        return cls(row["generic"], row["key"], row["source"])


@dataclass(frozen=True, slots=True)
class TextureCentre:
    """The centre of one texture: its traits, in the order of the file's columns."""

    texture: str
    traits: tuple[float, ...]
    source: str

    @classmethod
    def of(cls, row: Row) -> TextureCentre:
        """The centre of one row of the file."""
        names = [name for name in row if name not in ("texture", "source")]
        return cls(row["texture"], tuple(float(row[name]) for name in names), row["source"])


@dataclass(frozen=True, slots=True)
class LeadWeight:
    """What one piece of evidence counts when the leading line is chosen."""

    evidence: str
    weight: float
    source: str

    @classmethod
    def of(cls, row: Row) -> LeadWeight:
        """The weight of one row of the file."""
        return cls(row["evidence"], float(row["weight"]), row["source"])
