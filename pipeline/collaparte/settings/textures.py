"""Thresholds and choices of layers, roles and textures."""

from __future__ import annotations

from dataclasses import dataclass

from collaparte.settings.declaring import setting

_TRIAL = "definitions of the project: parameters of a trial on 96 orchestral movements"
_BELOW = (
    "definitions of the project: a trial on 96 movements had the round value just above, which so "
    "many notes have that the least change of it changes labels"
)


@dataclass(frozen=True)
class TextureSettings:
    """What the measures of textures depend on."""

    present_share: float = setting(
        0.1,
        "share of the bar",
        "a line counts in a bar from this sounding share, or when it begins a note in it",
        _TRIAL,
    )
    degree_spread: float = setting(
        0.6,
        "share of the threshold",
        "a threshold of layers and roles is reached by degrees from this much below to above it",
        "definitions of the project",
    )
    context_bars: int = setting(
        3,
        "bars",
        "neighbours on each side that a window can reach",
        _TRIAL,
    )
    context_quarters: float = setting(
        4.0,
        "quarters",
        "the middles of bars beyond the nearest lie at most this far apart",
        _TRIAL,
    )
    context_seconds: float = setting(
        2.4,
        "seconds",
        "the same in fast tempos: four quarters at 100 quarters a minute",
        "definitions of the project",
    )
    context_likeness: float = setting(
        0.45,
        "Jaccard index",
        "neighbours whose lines are less alike end a window",
        _BELOW,
    )
    neighbour_weight: float = setting(
        0.5,
        "weight",
        "what a neighbour with the same lines counts beside the bar itself",
        _TRIAL,
    )
    held_bar_share: float = setting(
        0.45,
        "share of the bar",
        "a held note is at least this long",
        _BELOW,
    )
    held_seconds: float = setting(
        0.54,
        "seconds",
        "a held note is at least this long",
        "definitions of the project: just below a half of 2/4 at 100 quarters a minute",
    )
    held_onsets: float = setting(
        2.0,
        "mean distances of onsets",
        "a held note is at least this long",
        _TRIAL,
    )
    leap_semitones: int = setting(
        3,
        "semitones",
        "a step from here on is a leap",
        _TRIAL,
    )
    short_note_share: float = setting(
        0.3,
        "share of the bar",
        "equal leaping notes up to this length make a figure",
        _TRIAL,
    )
    figure_leaps: float = setting(
        0.75,
        "share of steps",
        "equal short notes leap at least so often in a figure",
        _TRIAL,
    )
    kind_share: float = setting(
        0.45,
        "share of time",
        "held, repeated or figured time that decides the kind of a line",
        _TRIAL,
    )
    held_moves: float = setting(
        1.8,
        "moves a bar",
        "a sustained line moves less often",
        _BELOW,
    )
    held_moves_share: float = setting(
        0.8,
        "share of moves",
        "a sustained line moves less than this share of the busiest line",
        _TRIAL,
    )
    chord_moves: float = setting(
        0.9,
        "moves a bar",
        "a line of chords moves less often",
        _BELOW,
    )
    chord_moves_share: float = setting(
        0.5,
        "share of moves",
        "a line of chords moves less than this share of the busiest line",
        _TRIAL,
    )
    chord_sounding: float = setting(
        0.7,
        "share of time",
        "a line of short chords that keeps its rhythm sounds for no more",
        "definitions of the project",
    )
    chord_kept_rhythm: float = setting(
        0.3,
        "share of bars",
        "such a line has the rhythm of the bar before in at least so many",
        "definitions of the project",
    )
    held_distance: float = setting(
        0.3,
        "distance",
        "greatest distance of two sustained lines",
        _TRIAL,
    )
    held_together: float = setting(
        0.5,
        "share of time",
        "two sustained lines of one layer sound together at least so long",
        "definitions of the project",
    )
    contrary_weight: float = setting(
        0.75,
        "weight",
        "what contrary motion counts against two lines that share part of their rhythm",
        "definitions of the project",
    )
    figure_weight: float = setting(
        0.65,
        "weight",
        "what the common rhythm of a figure and a line counts",
        "definitions of the project",
    )
    imitation_quarters: float = setting(
        16.0,
        "quarters",
        "an imitation begins at most so long after its model",
        "definitions of the project",
    )
    turns_together: float = setting(
        0.25,
        "share of time",
        "two lines of background that sound by turns sound together at most so long",
        "definitions of the project",
    )
    layer_cut: float = setting(
        0.38,
        "distance",
        "greatest mean distance at which lines are joined to one layer",
        "definitions of the project, a little under the 0.40 of a trial on 96 movements",
    )
    company_near: float = setting(
        0.25,
        "distance",
        "lines go together wholly up to here",
        "definitions of the project",
    )
    company_far: float = setting(
        0.55,
        "distance",
        "lines do not go together at all from here on",
        "definitions of the project",
    )
    pitch_line_share: float = setting(
        0.9,
        "share",
        "lines of a layer from this likeness of pitch are on one line of pitches",
        _TRIAL,
    )
    pitch_line_moves_share: float = setting(
        0.5,
        "share of moves",
        "of two lines on one line of pitches the calmer moves at least so often",
        "definitions of the project",
    )
    met_notes: int = setting(
        3,
        "notes",
        "a line that has the main notes of another has at least so many",
        "definitions of the project",
    )
    lead_neighbour: float = setting(
        0.2,
        "weight",
        "what the bars before and after count when the leading line is chosen",
        "definitions of the project, on the 22 movements that the weights were fitted on",
    )
    lead_floor: float = setting(
        -6.0,
        "score",
        "the least that a line can have there",
        "definitions of the project",
    )
    lead_spread: float = setting(
        2.0,
        "score",
        "a line that has so much less of it leads by 1/e of the best",
        "definitions of the project",
    )
    lead_moves: float = setting(
        0.34,
        "moves a bar",
        "a leading line moves at least so often",
        _TRIAL,
    )
    held_lead_moves: float = setting(
        1.1,
        "moves a bar",
        "a sustained layer leads where another could only when it moves at least so often",
        "definitions of the project",
    )
    kept_rhythm_share: float = setting(
        0.75,
        "share of bars",
        "a figure that keeps its rhythm so often is no leading line",
        _TRIAL,
    )
    counter_share: float = setting(
        0.4,
        "share",
        "moves and sounding share of a countermelody against the leading layer",
        _TRIAL,
    )
    counter_moves: float = setting(
        0.9,
        "moves a bar",
        "a countermelody moves at least so often",
        _BELOW,
    )
    low_pitch: int = setting(
        55,
        "MIDI",
        "a lowest layer whose mean pitch lies below can be the bass",
        _TRIAL,
    )
    low_pitch_spread: float = setting(
        4.0,
        "semitones",
        "the same by degrees from this much below to above",
        "definitions of the project",
    )
    bass_counter_share: float = setting(
        0.8,
        "share of moves",
        "a lowest layer is a countermelody from this share of the moves of the leading layer",
        _TRIAL,
    )
    bass_counter_moves: float = setting(
        2.0,
        "moves a bar",
        "the same: moves at least so often",
        _TRIAL,
    )
    bass_leaps: float = setting(
        0.5,
        "share of steps",
        "a lowest layer that leaps so often is the bass",
        "definitions of the project",
    )
    leapy_share: float = setting(
        0.7,
        "share of steps",
        "a line that leaps so often is figuration",
        _TRIAL,
    )
    figuration_notes: int = setting(
        3,
        "notes",
        "fewer notes in the window make no figuration of leaps",
        _TRIAL,
    )
    figuration_moves: float = setting(
        3.0,
        "moves a bar",
        "a line that leaps is figuration only when it moves so often",
        "definitions of the project: a slow melody of broken chords is a melody",
    )
    trait_one_layer: float = setting(
        0.7,
        "concentration",
        "about from here that all is one layer marks a texture",
        "definitions of the project",
    )
    trait_one_pitch_class: float = setting(
        0.75,
        "share of time",
        "about from here that one pitch class sounds marks a texture",
        "definitions of the project",
    )
    trait_second_line: float = setting(
        0.6,
        "lines beside the first",
        "about from here a second line marks a texture",
        "definitions of the project",
    )
    trait_third_line: float = setting(
        0.4,
        "lines beside two",
        "about from here a third line marks a texture",
        "definitions of the project",
    )
    trait_background: float = setting(
        0.125,
        "share",
        "about from here a background marks a texture",
        "definitions of the project",
    )
    passage_change_cost: float = setting(
        0.3,
        "distance",
        "what a change of texture costs within a passage",
        _TRIAL,
    )
    one_line_share: float = setting(
        0.8,
        "share of time",
        "one pitch class sounds so long in a bar of one line",
        _TRIAL,
    )
    pace_moderate: float = setting(
        1.2,
        "onsets a quarter",
        "from here the pace is moderate, below slow",
        _TRIAL,
    )
    pace_fast: float = setting(
        2.7,
        "onsets a quarter",
        "from here the pace is fast",
        _TRIAL,
    )
    pitches_medium: float = setting(
        5.2,
        "pitches",
        "from here the sound is medium, below thin",
        _TRIAL,
    )
    pitches_full: float = setting(
        11.3,
        "pitches",
        "from here the sound is full",
        _TRIAL,
    )
    background_sustained: float = setting(
        0.25,
        "share of part-time",
        "from here a sustained background is there",
        _BELOW,
    )
    background_repeated: float = setting(
        0.225,
        "share of part-time",
        "from here a background of repeated notes is there",
        _BELOW,
    )
    background_figured: float = setting(
        0.216,
        "share of part-time",
        "from here a background of figuration is there",
        _BELOW,
    )
