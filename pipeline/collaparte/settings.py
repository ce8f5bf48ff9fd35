"""Thresholds and choices, frozen; each is written to the table `settings` with unit and source."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any

import pyarrow as pa

from collaparte.schema import TABLES


def _setting(default: Any, unit: str, meaning: str, source: str) -> Any:
    return field(default=default, metadata={"unit": unit, "meaning": meaning, "source": source})


CHANCE_DRAWS = 19
"""Draws of each null model in a build with chance."""

_TRIAL = "definitions of the project, after a trial on 96 orchestral movements"
_TEXTURES = "definitions of the project: parameters of a trial on 96 orchestral movements"
_BELOW = (
    "definitions of the project: a trial on 96 movements had the round value just above, which so "
    "many notes have that the least change of it changes labels"
)


@dataclass(frozen=True)
class DoublingThresholds:
    """What a stretch of one kind needs, inclusive and strict."""

    matched: int
    changes: int
    strict_matched: int
    strict_changes: int
    strict_pitches: int = 1


@dataclass(frozen=True)
class Settings:
    """All thresholds and choices of a build; part of what a table depends on."""

    register_scheme: str = _setting(
        "default",
        "",
        "scheme of registers: the default of each instrument, or the name of a scheme that is "
        "taken where an instrument has it",
        "Rimsky-Korsakov 1922; other schemes as named in register_bands",
    )
    chord_rank_share: float = _setting(
        0.05,
        "share of onsets",
        "a staff has a second line from this share of its onsets with more than one pitch on",
        "common practice, no source",
    )
    chorus_lines: int = _setting(
        3,
        "lines",
        "vocal lines that sing together for most of their time make a guessed chorus",
        "definitions of the project",
    )
    tremolo_notes_per_second: float = _setting(
        11.0,
        "notes a second",
        "a tremolo of more notes a second is an effect, not notes to be counted",
        "common practice, no source",
    )
    usual_tempo: float = _setting(
        100.0,
        "quarters a minute",
        "tempo that a tremolo is judged by where the score states none",
        "common practice, no source",
    )
    word_hairpin_bars: int = _setting(
        4,
        "bars",
        "how long cresc. and dim. in words last when no level follows",
        "definitions of the project",
    )
    joint_silence_quarters: int = _setting(
        4, "quarters", "a longer joint silence ends a doubling", _TRIAL
    )
    matched_share: float = _setting(
        0.75, "share of onsets", "share of the union of onsets that must be matched", _TRIAL
    )
    unison: DoublingThresholds = _setting(
        DoublingThresholds(4, 3, 10, 7, 4),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling at the unison",
        _TRIAL,
    )
    octave: DoublingThresholds = _setting(
        DoublingThresholds(4, 3, 10, 7, 4),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling at one constant distance of octaves",
        _TRIAL,
    )
    octave_displaced: DoublingThresholds = _setting(
        DoublingThresholds(4, 3, 14, 10, 4),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling at octaves that change on the way",
        _TRIAL,
    )
    reiterated: DoublingThresholds = _setting(
        DoublingThresholds(4, 3, 6, 4),
        "matched notes after joining, pitch changes; strict: the same and distinct pitches",
        "doubling in which one line holds what the other repeats",
        _TRIAL,
    )
    main_notes: DoublingThresholds = _setting(
        DoublingThresholds(4, 3, 10, 7),
        "matched notes, pitch changes; strict: the same and distinct pitches",
        "doubling of the main notes of a fuller line",
        _TRIAL,
    )
    chordal: DoublingThresholds = _setting(
        DoublingThresholds(3, 2, 12, 4, 2),
        "attacks, different chords; strict: the same and distinct pitches of the top line",
        "doubling of chords by chords",
        "definitions of the project; the strict ones raised until chance gives none",
    )
    parallel_thirds: DoublingThresholds = _setting(
        DoublingThresholds(8, 6, 10, 8, 4),
        "matched notes, joint moves; strict: the same and distinct pitches",
        "lines that go in parallel thirds",
        _TRIAL,
    )
    parallel_sixths: DoublingThresholds = _setting(
        DoublingThresholds(8, 6, 10, 8, 4),
        "matched notes, joint moves; strict: the same and distinct pitches",
        "lines that go in parallel sixths",
        _TRIAL,
    )
    repeat_gap_quarters: int = _setting(
        1, "quarters", "repeated notes are joined across a gap up to this", _TRIAL
    )
    reiterated_excess_percent: int = _setting(
        20, "percent", "the repeating line has more than this many onsets more", _TRIAL
    )
    fuller_line_percent: int = _setting(
        125, "percent", "onsets that a fuller line has at least, of those of its main notes", _TRIAL
    )
    parallel_ends_percent: int = _setting(
        80, "percent", "matched notes of parallel lines that end together, at least", _TRIAL
    )
    parallel_durations: int = _setting(
        2, "lengths", "different lengths of the notes of parallel lines, at least", _TRIAL
    )
    covered_percent: int = _setting(
        50,
        "percent",
        "a stretch covered by more than this by kinds of higher rank is left out",
        _TRIAL,
    )
    chance_draws: int = _setting(
        0,
        "draws",
        "draws of each null model behind the time that chance would give; 0: none",
        "definitions of the project",
    )
    shift_margin_bars: int = _setting(
        8,
        "bars",
        "a shift of the shift null keeps so far from either end of the movement, at least",
        "definitions of the project",
    )
    same_music_share: float = _setting(
        0.8,
        "share of fingerprints",
        "movements that are more alike have the same music",
        "definitions of the project",
    )
    fingerprint_elements: int = _setting(
        24,
        "elements",
        "a movement with fewer different elements in its fingerprint is compared with none",
        "definitions of the project",
    )
    continuo_players: tuple[str, ...] = _setting(
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
    present_share: float = _setting(
        0.1,
        "share of the bar",
        "a line counts in a bar from this sounding share, or when it begins a note in it",
        _TEXTURES,
    )
    context_bars: int = _setting(
        3,
        "bars",
        "neighbours on each side that a window can reach",
        _TEXTURES,
    )
    context_quarters: float = _setting(
        4.0,
        "quarters",
        "the middles of bars beyond the nearest lie at most this far apart",
        _TEXTURES,
    )
    context_seconds: float = _setting(
        2.4,
        "seconds",
        "the same in fast tempos: four quarters at 100 quarters a minute",
        "definitions of the project",
    )
    context_likeness: float = _setting(
        0.45,
        "Jaccard index",
        "neighbours whose lines are less alike end a window",
        _BELOW,
    )
    neighbour_weight: float = _setting(
        0.5,
        "weight",
        "what a neighbour with the same lines counts beside the bar itself",
        _TEXTURES,
    )
    held_bar_share: float = _setting(
        0.45,
        "share of the bar",
        "a held note is at least this long",
        _BELOW,
    )
    held_seconds: float = _setting(
        0.54,
        "seconds",
        "a held note is at least this long",
        "definitions of the project: just below a half of 2/4 at 100 quarters a minute",
    )
    held_onsets: float = _setting(
        2.0,
        "mean distances of onsets",
        "a held note is at least this long",
        _TEXTURES,
    )
    leap_semitones: int = _setting(
        3,
        "semitones",
        "a step from here on is a leap",
        _TEXTURES,
    )
    short_note_share: float = _setting(
        0.3,
        "share of the bar",
        "equal leaping notes up to this length make a figure",
        _TEXTURES,
    )
    figure_leaps: float = _setting(
        0.75,
        "share of steps",
        "equal short notes leap at least so often in a figure",
        _TEXTURES,
    )
    kind_share: float = _setting(
        0.45,
        "share of time",
        "held, repeated or figured time that decides the kind of a line",
        _TEXTURES,
    )
    held_moves: float = _setting(
        1.8,
        "moves a bar",
        "a sustained line moves less often",
        _BELOW,
    )
    held_moves_share: float = _setting(
        0.8,
        "share of moves",
        "a sustained line moves less than this share of the busiest line",
        _TEXTURES,
    )
    chord_moves: float = _setting(
        0.9,
        "moves a bar",
        "a line of chords moves less often",
        _BELOW,
    )
    chord_moves_share: float = _setting(
        0.5,
        "share of moves",
        "a line of chords moves less than this share of the busiest line",
        _TEXTURES,
    )
    held_distance: float = _setting(
        0.3,
        "distance",
        "greatest distance of two sustained lines",
        _TEXTURES,
    )
    held_together: float = _setting(
        0.5,
        "share of time",
        "two sustained lines of one layer sound together at least so long",
        "definitions of the project",
    )
    contrary_weight: float = _setting(
        0.75,
        "weight",
        "what contrary motion counts against two lines that share part of their rhythm",
        "definitions of the project",
    )
    figure_weight: float = _setting(
        0.65,
        "weight",
        "what the common rhythm of a figure and a line counts",
        "definitions of the project",
    )
    imitation_quarters: float = _setting(
        16.0,
        "quarters",
        "an imitation begins at most so long after its model",
        "definitions of the project",
    )
    turns_together: float = _setting(
        0.25,
        "share of time",
        "two lines of background that sound by turns sound together at most so long",
        "definitions of the project",
    )
    layer_cut: float = _setting(
        0.42,
        "distance",
        "greatest mean distance at which lines are joined to one layer",
        _TEXTURES,
    )
    pitch_line_share: float = _setting(
        0.9,
        "share",
        "lines of a layer from this likeness of pitch are on one line of pitches",
        _TEXTURES,
    )
    pitch_line_moves_share: float = _setting(
        0.5,
        "share of moves",
        "of two lines on one line of pitches the calmer moves at least so often",
        "definitions of the project",
    )
    met_notes: int = _setting(
        3,
        "notes",
        "a line that has the main notes of another has at least so many",
        "definitions of the project",
    )
    lead_neighbour: float = _setting(
        0.2,
        "weight",
        "what the bars before and after count when the leading line is chosen",
        "definitions of the project, on the 22 movements that the weights were fitted on",
    )
    lead_floor: float = _setting(
        -6.0,
        "score",
        "the least that a line can have there",
        "definitions of the project",
    )
    lead_moves: float = _setting(
        0.34,
        "moves a bar",
        "a leading line moves at least so often",
        _TEXTURES,
    )
    held_lead_moves: float = _setting(
        1.0,
        "moves a bar",
        "a sustained layer leads where another could only when it moves more often",
        "definitions of the project",
    )
    kept_rhythm_share: float = _setting(
        0.75,
        "share of bars",
        "a figure that keeps its rhythm so often is no leading line",
        _TEXTURES,
    )
    counter_share: float = _setting(
        0.4,
        "share",
        "moves and sounding share of a countermelody against the leading layer",
        _TEXTURES,
    )
    counter_moves: float = _setting(
        0.9,
        "moves a bar",
        "a countermelody moves at least so often",
        _BELOW,
    )
    low_pitch: int = _setting(
        55,
        "MIDI",
        "a lowest layer whose mean pitch lies below can be the bass",
        _TEXTURES,
    )
    bass_counter_share: float = _setting(
        0.8,
        "share of moves",
        "a lowest layer is a countermelody from this share of the moves of the leading layer",
        _TEXTURES,
    )
    bass_counter_moves: float = _setting(
        2.0,
        "moves a bar",
        "the same: moves at least so often",
        _TEXTURES,
    )
    bass_leaps: float = _setting(
        0.5,
        "share of steps",
        "a lowest layer that leaps so often is the bass",
        "definitions of the project",
    )
    leapy_share: float = _setting(
        0.7,
        "share of steps",
        "a line that leaps so often is figuration",
        _TEXTURES,
    )
    figuration_notes: int = _setting(
        3,
        "notes",
        "fewer notes in the window make no figuration of leaps",
        _TEXTURES,
    )
    figuration_moves: float = _setting(
        3.0,
        "moves a bar",
        "a line that leaps is figuration only when it moves so often",
        "definitions of the project: a slow melody of broken chords is a melody",
    )
    passage_change_cost: float = _setting(
        0.3,
        "distance",
        "what a change of texture costs within a passage",
        _TEXTURES,
    )
    one_line_share: float = _setting(
        0.8,
        "share of time",
        "one pitch class sounds so long in a bar of one line",
        _TEXTURES,
    )
    pace_moderate: float = _setting(
        1.2,
        "onsets a quarter",
        "from here the pace is moderate, below slow",
        _TEXTURES,
    )
    pace_fast: float = _setting(
        2.7,
        "onsets a quarter",
        "from here the pace is fast",
        _TEXTURES,
    )
    pitches_medium: float = _setting(
        5.2,
        "pitches",
        "from here the sound is medium, below thin",
        _TEXTURES,
    )
    pitches_full: float = _setting(
        11.3,
        "pitches",
        "from here the sound is full",
        _TEXTURES,
    )
    background_sustained: float = _setting(
        0.28,
        "share of part-time",
        "from here a sustained background is there",
        _TEXTURES,
    )
    background_repeated: float = _setting(
        0.25,
        "share of part-time",
        "from here a background of repeated notes is there",
        _TEXTURES,
    )
    background_figured: float = _setting(
        0.24,
        "share of part-time",
        "from here a background of figuration is there",
        _TEXTURES,
    )
    resamples: int = _setting(
        2000, "resamples", "bootstrap corpora behind one interval", "definitions of the project"
    )
    permutations: int = _setting(
        9999,
        "permutations",
        "permutations of labels behind one p-value",
        "definitions of the project; p = (b + 1) / (m + 1), Phipson and Smyth 2010",
    )
    confidence: float = _setting(
        0.95, "share of samples", "how often an interval is meant to cover", "common practice"
    )
    seed: int = _setting(
        1844,
        "",
        "seed of resampling, permutation and the halves of the corpus; any number serves",
        "definitions of the project",
    )
    least_works: int = _setting(
        5,
        "works",
        "fewer have no interval and no contrast",
        "definitions of the project; Cameron, Gelbach and Miller 2008",
    )
    enough_works: int = _setting(
        10,
        "works",
        "an interval on fewer comes with a warning",
        "definitions of the project; Cameron, Gelbach and Miller 2008",
    )
    lift_quarters: int = _setting(
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
