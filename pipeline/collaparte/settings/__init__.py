"""Thresholds and choices, frozen; each is written to the table `settings` with unit and source."""

from __future__ import annotations

from dataclasses import dataclass, fields

import pyarrow as pa

from collaparte.schema import TABLES
from collaparte.settings.declaring import setting
from collaparte.settings.textures import TextureSettings

CHANCE_DRAWS = 19
"""Draws of each null model in a build with chance."""

_TRIAL = "definitions of the project, after a trial on 96 orchestral movements"


@dataclass(frozen=True)
class DoublingThresholds:
    """What a stretch of one kind needs, inclusive and strict."""

    matched: int
    changes: int
    strict_matched: int
    strict_changes: int
    strict_pitches: int = 1


@dataclass(frozen=True)
class Settings(TextureSettings):
    """All thresholds and choices of a build; part of what a table depends on."""

    register_scheme: str = setting(
        "default",
        "",
        "scheme of registers: the default of each instrument, or the name of a scheme that is "
        "taken where an instrument has it",
        "Rimsky-Korsakov 1922; other schemes as named in register_bands",
    )
    chord_rank_share: float = setting(
        0.05,
        "share of onsets",
        "a staff has a second line from this share of its onsets with more than one pitch on",
        "common practice, no source",
    )
    chorus_lines: int = setting(
        3,
        "lines",
        "vocal lines that sing together for most of their time make a guessed chorus",
        "definitions of the project",
    )
    tremolo_notes_per_second: float = setting(
        11.0,
        "notes a second",
        "a tremolo of more notes a second is an effect, not notes to be counted",
        "common practice, no source",
    )
    usual_tempo: float = setting(
        100.0,
        "quarters a minute",
        "tempo that a tremolo is judged by where the score states none",
        "common practice, no source",
    )
    word_hairpin_bars: int = setting(
        4,
        "bars",
        "how long cresc. and dim. in words last when no level follows",
        "definitions of the project",
    )
    joint_silence_quarters: int = setting(
        4, "quarters", "a longer joint silence ends a doubling", _TRIAL
    )
    matched_share: float = setting(
        0.75, "share of onsets", "share of the union of onsets that must be matched", _TRIAL
    )
    unison: DoublingThresholds = setting(
        DoublingThresholds(4, 3, 10, 7, 4),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling at the unison",
        _TRIAL,
    )
    octave: DoublingThresholds = setting(
        DoublingThresholds(4, 3, 10, 7, 4),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling at one constant distance of octaves",
        _TRIAL,
    )
    octave_displaced: DoublingThresholds = setting(
        DoublingThresholds(4, 3, 14, 10, 4),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling at octaves that change on the way",
        _TRIAL,
    )
    reiterated: DoublingThresholds = setting(
        DoublingThresholds(4, 3, 6, 4),
        "matched notes after joining, pitch changes; strict: the same and distinct pitches",
        "doubling in which one line holds what the other repeats",
        _TRIAL,
    )
    main_notes: DoublingThresholds = setting(
        DoublingThresholds(4, 3, 10, 7),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling of the main notes of a fuller line",
        _TRIAL,
    )
    chordal: DoublingThresholds = setting(
        DoublingThresholds(3, 2, 12, 4, 2),
        "attacks, different chords; strict: the same and distinct pitches of the top line",
        "doubling of chords by chords",
        "definitions of the project; the strict ones raised until chance gives none",
    )
    parallel_thirds: DoublingThresholds = setting(
        DoublingThresholds(8, 6, 10, 8, 4),
        "matched notes, joint moves; strict: the same and distinct pitches",
        "lines that go in parallel thirds",
        _TRIAL,
    )
    parallel_sixths: DoublingThresholds = setting(
        DoublingThresholds(8, 6, 10, 8, 4),
        "matched notes, joint moves; strict: the same and distinct pitches",
        "lines that go in parallel sixths",
        _TRIAL,
    )
    repeat_gap_quarters: int = setting(
        1, "quarters", "repeated notes are joined across a gap up to this", _TRIAL
    )
    reiterated_excess_percent: int = setting(
        20, "percent", "the repeating line has more than this many onsets more", _TRIAL
    )
    fuller_line_percent: int = setting(
        125, "percent", "onsets that a fuller line has at least, of those of its main notes", _TRIAL
    )
    parallel_ends_percent: int = setting(
        80, "percent", "matched notes of parallel lines that end together, at least", _TRIAL
    )
    parallel_durations: int = setting(
        2, "lengths", "different lengths of the notes of parallel lines, at least", _TRIAL
    )
    covered_percent: int = setting(
        50,
        "percent",
        "a stretch covered by more than this by kinds of higher rank is left out",
        _TRIAL,
    )
    chance_draws: int = setting(
        0,
        "draws",
        "draws of each null model behind the time that chance would give; 0: none",
        "definitions of the project",
    )
    shift_margin_bars: int = setting(
        8,
        "bars",
        "a shift of the shift null keeps so far from either end of the movement, at least",
        "definitions of the project",
    )
    same_music_share: float = setting(
        0.8,
        "share of fingerprints",
        "movements that are more alike have the same music",
        "definitions of the project",
    )
    fingerprint_elements: int = setting(
        24,
        "elements",
        "a movement with fewer different elements in its fingerprint is compared with none",
        "definitions of the project",
    )
    continuo_players: tuple[str, ...] = setting(
        (
            "continuo",
            "violoncello",
            "double-bass",
            "cello-and-bass",
            "violone",
            "viola-da-gamba",
            "bassoon",
            "dulcian",
            "harpsichord",
            "organ",
            "theorbo",
            "lute",
        ),
        "instruments",
        "in a movement with a continuo these play one bass, which is no finding",
        "common practice, no source",
    )
    resamples: int = setting(
        2000, "resamples", "bootstrap corpora behind one interval", "definitions of the project"
    )
    permutations: int = setting(
        9999,
        "permutations",
        "permutations of labels behind one p-value",
        "definitions of the project; p = (b + 1) / (m + 1), Phipson and Smyth 2010",
    )
    confidence: float = setting(
        0.95, "share of samples", "how often an interval is meant to cover", "common practice"
    )
    seed: int = setting(
        1844,
        "",
        "seed of resampling, permutation and the halves of the corpus; any number serves",
        "definitions of the project",
    )
    least_works: int = setting(
        5,
        "works",
        "fewer have no interval and no contrast",
        "definitions of the project; Cameron, Gelbach and Miller 2008",
    )
    enough_works: int = setting(
        10,
        "works",
        "an interval on fewer comes with a warning",
        "definitions of the project; Cameron, Gelbach and Miller 2008",
    )
    lift_quarters: int = setting(
        4,
        "quarters",
        "no lift where chance expects less doubled time",
        "definitions of the project",
    )


def settings_table(settings: Settings) -> pa.Table:
    """The `settings` table: one row a field, in order of name."""
    rows = [
        {
            "name": item.name,
            "value": _text(getattr(settings, item.name)),
            **{key: item.metadata[key] for key in ("unit", "meaning", "source")},
        }
        for item in sorted(fields(settings), key=lambda item: item.name)
    ]
    return pa.Table.from_pylist(rows, schema=TABLES["settings"].arrow())


def _text(value: object) -> str:
    if isinstance(value, DoublingThresholds):
        return ", ".join(str(getattr(value, item.name)) for item in fields(value))
    if isinstance(value, tuple):
        return ", ".join(value)
    return str(value)
