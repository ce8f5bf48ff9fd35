"""The tables of layers and textures."""

from __future__ import annotations

from collaparte.schema.columns import DEGREE, FLAG, INDEX, KEY, REAL, SMALL, TEXT, TICK, WORD
from collaparte.schema.declaring import BAR, column, optional, partner, table

_SPAN = (
    column("start_bar_index", INDEX, "first bar"),
    column("end_bar_index", INDEX, "last bar"),
    column("start_bar_key", KEY, "key of the first bar"),
    column("start_bar", WORD, "number of the first bar as printed"),
    column("end_bar", WORD, "number of the last bar as printed"),
    column("bars", INDEX, "bars", "bars"),
)

_LINE_MEASURES = (
    column("sounding_share", REAL, "time in which it sounds ÷ time of the window", "share"),
    column("attacks", REAL, "notes that begin in the window", "notes a bar"),
    column("moves", REAL, "of them those on another pitch than the one before", "notes a bar"),
    column("held", REAL, "time of long notes ÷ its sounding time", "share"),
    column("repeated", REAL, "time of repeated notes ÷ its sounding time", "share"),
    column("figured", REAL, "time of notes of figures ÷ its sounding time", "share"),
    column("leaps", REAL, "steps of three semitones and more ÷ all steps", "share"),
    column("kept_rhythm", REAL, "onsets where the bar before had one ÷ onsets of either", "share"),
    column("highest", REAL, "time in which no line is higher ÷ sounding time of all", "share"),
    column("lowest", REAL, "time in which no line is lower ÷ sounding time of all", "share"),
)

_ROLE_DEGREES = tuple(
    column(f"as_{role}", REAL, "how far it has that role with its company, 0 to 1")
    for role in (
        "leading_line", "countermelody", "sustained_harmony", "repeated_notes", "figuration",
        "bass", "pedal_point", "short_chords", "filling",
    )
)  # fmt: skip

_LEAD_POINTS = tuple(
    column(f"lead_by_{name}", REAL, f"points that it leads: {meaning}", "points")
    for name, meaning in {
        "highest_in_bar": "time in the bar in which no line is higher",
        "sounding_in_bar": "time in the bar in which it sounds",
        "moves": "its moves beside those of the line that has most",
        "busy": "how often it moves",
        "values": "its different note values beside those of the line that has most",
        "values_around": "the same over eight bars either way",
        "lines_below": "share of the other lines that are lower",
        "steps": "share of its steps that are of one or two semitones",
        "held": "time of long notes",
        "fresh": "it was silent not long before",
        "layer_lines": "share of the lines that are of its layer",
        "repeated": "it is of repeated notes",
        "voice": "it is a voice",
        "upper": "it is the first line of its instrument",
        "theme_bars": "bars in which its groups of five notes come",
        "theme_lines": "lines that have its groups of five notes",
        "theme_long_lines": "lines that have its melodies of ten notes",
    }.items()
)
"""Weight × evidence; the weights stand in `lead_weights.csv`."""

LAYERS = table(
    "layers",
    "one line in one bar, with the layer that it is part of",
    ("bar_index", "line_key"),
    *BAR,
    column("line_key", KEY, "the line"),
    optional("instrument", WORD, "instrument of the line"),
    optional("family", WORD, "family of that instrument"),
    column("ensemble", WORD, "chorus, solo_voice, section or player"),
    column("layer", SMALL, "number of the layer in the bar, from 0, from the top of the score"),
    column("layer_lines", SMALL, "lines in that layer", "lines"),
    column("layer_span_key", KEY, "span of the layer that the bar belongs to"),
    column("pitch_line", SMALL, "number within the layer; lines of one number share pitches"),
    column("role", WORD, "role of the layer, of the greatest degree: leading_line, bass, …"),
    column("part_kind", WORD, "of the greatest degree: line, sustained, repeated, figured, chords"),
    column("leads", FLAG, "greatest lead score of the bar; a background layer only where all are"),
    column(
        "lead_score", REAL, "its points, minus the most of the bar; and a share of both neighbours"
    ),
    *_LEAD_POINTS,
    column("company_lines", REAL, "lines that it goes with, by degrees, itself included", "lines"),
    column("company_share", REAL, "its part of the bar by roots of part-time; s of the textures"),
    *_ROLE_DEGREES,
    column("sounding_ticks", TICK, "time in which it sounds in the bar itself", "ticks"),
    *_LINE_MEASURES,
    optional("nearest_line_key", KEY, "line of the bar at the least distance; null where alone"),
    optional("nearest_distance", REAL, "distance of the two, by which layers are made, 0 to 1"),
    optional("nearest_rhythm", REAL, "onsets in common ÷ onsets while both sound", "share"),
    optional("nearest_pitch", REAL, "likeness of pitch with it, 0 to 1"),
)

LAYER_SPANS = table(
    "layer_spans",
    "one layer as long as it keeps its lines and its role",
    ("layer_span_key",),
    column("layer_span_key", KEY, "key of the span"),
    *_SPAN,
    column("role", WORD, "role of the layer"),
    column("part_kind", WORD, "kind of most of the time of its lines in the first bar"),
    column("lines", SMALL, "lines in the layer", "lines"),
    column("instruments", TEXT, "their instruments, sorted"),
    column("leads_bars", INDEX, "bars in which a line of it leads", "bars"),
    column("sounding_share", REAL, "mean of the bars: of its line that sounds most", "share"),
    column("moves", REAL, "mean of the bars: of its line that moves most", "notes a bar"),
    column("leaps", REAL, "mean of bars and lines", "share"),
    column("kept_rhythm", REAL, "mean of bars and lines", "share"),
)

TEXTURES = table(
    "textures",
    "one bar, with its texture; the six measures count lines, layers and roles by degrees",
    ("bar_index",),
    *BAR,
    optional("concentration", REAL, "Σ s², s = share of a layer by root of part-time", "share"),
    optional("one_pitch_class", REAL, "time in which one pitch class sounds ÷ sounding time"),
    optional("lines", REAL, "leading lines and countermelodies, three at most, ÷ 3", "share"),
    optional("sustained", REAL, "Σ s over sustained harmony and pedal points", "share"),
    optional("repeated", REAL, "Σ s over repeated notes", "share"),
    optional("figured", REAL, "Σ s over figuration", "share"),
    optional("texture", WORD, "nearest of the seven textures; null: nothing sounds"),
    optional("next_texture", WORD, "second nearest"),
    optional("margin", REAL, "(d2 − d1) ÷ (d2 + d1) of their distances; under 0.1: between two"),
    optional("passage_texture", WORD, "texture when a change has a cost"),
    optional("handbook_word", WORD, "a word for reading, by rule from the roles"),
    column("layers", SMALL, "layers of the bar", "layers"),
    column("present_lines", SMALL, "lines that play in the bar", "lines"),
    column("onsets_per_quarter", REAL, "different onsets ÷ length of the bar", "onsets a quarter"),
    column("pace", WORD, "slow, moderate or fast, by onsets a quarter"),
    optional("pitches", REAL, "mean number of pitches while anything sounds", "pitches"),
    optional("fullness", WORD, "thin, medium or full, by pitches"),
    optional("spread_semitones", REAL, "mean distance of highest and lowest pitch", "semitones"),
    optional("lowest", SMALL, "lowest pitch of the bar", "MIDI"),
    optional("highest", SMALL, "highest pitch of the bar", "MIDI"),
    optional("weight", REAL, "lines that play ÷ lines of the movement", "share"),
    optional("background", WORD, "sustained, repeated, figured, joined by +; none"),
    optional("woodwind_share", REAL, "part-time of the woodwind ÷ part-time of all", "share"),
    optional("brass_share", REAL, "the same of the brass", "share"),
    optional("string_share", REAL, "the same of bowed strings", "share"),
    optional("voice_share", REAL, "the same of voices", "share"),
    column("chorus_present", FLAG, "a line of the chorus sounds"),
    optional("dynamic_degree", DEGREE, "mean of the notes that begin around the bar", "degrees"),
)

TEXTURE_PASSAGES = table(
    "texture_passages",
    "one run of bars with one passage_texture",
    ("passage_key",),
    column("passage_key", KEY, "key of the passage, in order of time"),
    *_SPAN,
    column("texture", WORD, "passage_texture of its bars"),
    column("mean_margin", REAL, "mean margin of its bars, 0 to 1"),
    column("same_bars", INDEX, "bars of it whose own texture is the passage's", "bars"),
    column("leading_instruments", TEXT, "instruments that lead in it, sorted"),
)

_MEETING_LINE = (
    column("line_key", KEY, "upper line in score order"),
    optional("instrument", WORD, "instrument of the line"),
    optional("family", WORD, "family of that instrument"),
    column("ensemble", WORD, "chorus, solo_voice, section or player"),
    optional("layer_before", SMALL, "layer of the line in the last bar before the meeting"),
    optional("role_before", WORD, "role of that layer"),
    optional("layer_after", SMALL, "layer of the line in the first bar after the meeting"),
    optional("role_after", WORD, "role of that layer"),
)

LINE_MEETINGS = table(
    "line_meetings",
    "one joining of two free lines in one, or one parting of them",
    ("start_ticks", "line_key", "partner_line_key", "kind"),
    column("kind", WORD, "join or part"),
    column("start_ticks", TICK, "start of their doubling, or its end where they part", "ticks"),
    column("start_quarters", REAL, "the same", "quarters"),
    *BAR,
    column("bars_free", INDEX, "free bars directly before a join, or after a part", "bars"),
    column("bars_together", INDEX, "bars together after a join, or before a part", "bars"),
    column("strict", FLAG, "a doubling of these bars passes the strict thresholds"),
    *_MEETING_LINE,
    *(partner(column) for column in _MEETING_LINE),
)
