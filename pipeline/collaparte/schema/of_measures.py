"""The tables that measures give."""

from __future__ import annotations

import pyarrow as pa

from collaparte.schema.columns import (
    DEGREE,
    FLAG,
    INDEX,
    KEY,
    REAL,
    SMALL,
    TICK,
    WORD,
    WORDS,
)
from collaparte.schema.declaring import BAR, column, optional, partner, table

_SIDE = (
    column("line_key", KEY, "line of the note"),
    optional("instrument", WORD, "instrument of the note"),
    optional("family", WORD, "family of that instrument"),
    column("ensemble", WORD, "chorus, solo_voice, section or player"),
    column("midi", SMALL, "sounding pitch", "MIDI"),
    optional("register_class", WORD, "register of the note"),
    optional("register_scheme", WORD, "scheme of that register"),
    optional("dynamic_degree", DEGREE, "dynamic of the note", "degrees"),
    column("techniques", WORDS, "techniques of the note"),
)

DOUBLINGS = table(
    "doublings",
    "one stretch in which two lines go together",
    ("doubling_key",),
    column("doubling_key", KEY, "key of the stretch"),
    column("kind", WORD, "unison, octave, octave_displaced, reiterated, main_notes …"),
    column("same_line", FLAG, "true for unison, octave, octave_displaced and reiterated"),
    column("strict", FLAG, "passes the strict thresholds, not only the inclusive ones"),
    column("basis", WORD, "notes, or words: what words say is doubled without being notated"),
    column("line_a", KEY, "upper line in score order"),
    column("line_b", KEY, "lower line in score order"),
    column("part_a", SMALL, "part of line a"),
    column("part_b", SMALL, "part of line b"),
    optional("instrument_a", WORD, "instrument of line a"),
    optional("instrument_b", WORD, "instrument of line b"),
    optional("family_a", WORD, "family of line a"),
    optional("family_b", WORD, "family of line b"),
    column("ensemble_a", WORD, "ensemble of line a"),
    column("ensemble_b", WORD, "ensemble of line b"),
    optional("interval_semitones", SMALL, "sounding b minus a; null where it changes", "semitones"),
    column("start_ticks", TICK, "start of the first matched note", "ticks"),
    column("end_ticks", TICK, "end of the last overlap of matched notes", "ticks"),
    column("start_quarters", REAL, "start of the first matched note", "quarters"),
    column("end_quarters", REAL, "end of the last overlap of matched notes", "quarters"),
    column("start_bar_index", INDEX, "bar of the start"),
    column("end_bar_index", INDEX, "bar of the last matched note"),
    column("start_bar", WORD, "number of that bar as printed"),
    column("end_bar", WORD, "number of that bar as printed"),
    column("matched_notes", INDEX, "matched onsets"),
    column("added_notes", pa.list_(pa.int64()), "keys of notes that a chord adds to the other's"),
    column("pitch_changes", INDEX, "steps between matched onsets in which both lines change pitch"),
    column("distinct_pitches", SMALL, "different matched pitches of the line that has fewer"),
    column("matched_ticks", TICK, "union of the overlaps of matched notes", "ticks"),
    column("share_a", REAL, "share of the matched notes' own time in a that overlaps", "share"),
    column("share_b", REAL, "the same of b", "share"),
)

DOUBLED_NOTES = table(
    "doubled_notes",
    "one matched note, told once from each side",
    ("note_key", "partner_note_key", "kind"),
    column("note_key", KEY, "the note"),
    column("partner_note_key", KEY, "the note that doubles it"),
    column("doubling_key", KEY, "stretch that the pair belongs to"),
    column("kind", WORD, "kind of the stretch"),
    column("same_line", FLAG, "as in doublings"),
    column("strict", FLAG, "as in doublings"),
    column("ticks", TICK, "overlap of the two notes", "ticks"),
    column("start_ticks", TICK, "start of the overlap", "ticks"),
    *BAR,
    column("interval_semitones", SMALL, "sounding partner minus own", "semitones"),
    *_SIDE,
    *(partner(column) for column in _SIDE),
)

_INSTRUMENT = (
    optional("instrument", WORD, "instrument of the line"),
    optional("family", WORD, "family of that instrument"),
    column("ensemble", WORD, "chorus, solo_voice, section or player"),
)

SONORITIES = table(
    "sonorities",
    "one stretch during which no note starts or ends",
    ("sonority_key",),
    column("sonority_key", KEY, "key of the sonority, in order of time"),
    column("start_ticks", TICK, "start in written order", "ticks"),
    column("ticks", TICK, "length", "ticks"),
    column("start_quarters", REAL, "start", "quarters"),
    *BAR,
    column("lines_sounding", SMALL, "different lines that sound", "lines"),
    column("distinct_pitches", SMALL, "different pitches that sound", "pitches"),
    column("distinct_pitch_classes", SMALL, "different pitch classes", "pitch classes"),
    column("lowest", SMALL, "lowest sounding pitch", "MIDI"),
    column("highest", SMALL, "highest sounding pitch", "MIDI"),
    optional(
        "spread_semitones", SMALL, "highest minus lowest; null under two pitches", "semitones"
    ),
    optional("widest_gap", SMALL, "widest interval between neighbouring pitches", "semitones"),
    optional("gap_above", SMALL, "pitch below that gap; of several the lowest", "MIDI"),
    optional("lowest_interval", SMALL, "interval between the two lowest pitches", "semitones"),
)

SONORITY_MEMBERS = table(
    "sonority_members",
    "one note sounding in one sonority",
    ("sonority_key", "note_key"),
    column("sonority_key", KEY, "the sonority"),
    column("note_key", KEY, "the note"),
    column("line_key", KEY, "line of the note"),
    column("start_ticks", TICK, "start of the sonority", "ticks"),
    column("ticks", TICK, "length of the sonority", "ticks"),
    *BAR,
    *_INSTRUMENT,
    column("midi", SMALL, "sounding pitch", "MIDI"),
    optional("register_class", WORD, "low, middle, high or very_high"),
    column("is_attack", FLAG, "the note begins with the sonority"),
    column("is_lowest", FLAG, "no lower pitch sounds in the sonority"),
)

REGISTER_USE = table(
    "register_use",
    "one register class of one line, with the spread of the line",
    ("line_key", "register_class"),
    column("line_key", KEY, "the line"),
    *_INSTRUMENT,
    optional("register_class", WORD, "low, middle, high or very_high; null: no band is known"),
    column("ticks", TICK, "time of the line's notes in this class", "ticks"),
    column("notes", INDEX, "notes of the line in this class", "notes"),
    column("share", REAL, "share of the time of all notes of the line", "share"),
    column("lowest", SMALL, "lowest pitch of the line", "MIDI"),
    column("percentile_5", SMALL, "pitch at or below which 5% of the line's time lies", "MIDI"),
    column("quartile_1", SMALL, "the same for 25%", "MIDI"),
    column("median", SMALL, "the same for 50%", "MIDI"),
    column("quartile_3", SMALL, "the same for 75%", "MIDI"),
    column("percentile_95", SMALL, "the same for 95%", "MIDI"),
    column("highest", SMALL, "highest pitch of the line", "MIDI"),
)

MELODIC_PATTERNS = table(
    "melodic_patterns",
    "four notes in a row of one line, not all of one pitch, of all lines that play them alike",
    ("bar_index", "last_bar_index", "midi", "interval_1", "interval_2", "interval_3"),
    *BAR,
    column("last_bar_index", INDEX, "bar in which the fourth note begins"),
    column("midi", SMALL, "pitch of the first note; of notes begun together the highest", "MIDI"),
    column("interval_1", SMALL, "step from the first note to the second", "semitones"),
    column("interval_2", SMALL, "step from the second note to the third", "semitones"),
    column("interval_3", SMALL, "step from the third note to the fourth", "semitones"),
    column("leads", FLAG, "a line that plays them leads the bar in which they begin"),
)

UNISON_GROUPS = table(
    "unison_groups",
    "one stretch in which the same three or more lines are on one line",
    ("group_key",),
    column("group_key", KEY, "key of the group"),
    column("start_ticks", TICK, "start", "ticks"),
    column("end_ticks", TICK, "end", "ticks"),
    column("start_quarters", REAL, "start", "quarters"),
    column("end_quarters", REAL, "end", "quarters"),
    column("start_bar_index", INDEX, "bar of the first common onset"),
    column("end_bar_index", INDEX, "bar of the last common onset"),
    column("start_bar", WORD, "number of that bar as printed"),
    column("end_bar", WORD, "number of that bar as printed"),
    column("lines", SMALL, "lines in the group", "lines"),
    column("families", SMALL, "different families among them", "families"),
    column("has_chorus", FLAG, "a line of the chorus is among them"),
    column("common_onsets", INDEX, "onsets at which all lines begin a note"),
    column("pitch_changes", INDEX, "changes of pitch of the top line between them"),
)

GROUP_MEMBERS = table(
    "group_members",
    "one line in one unison group",
    ("group_key", "line_key"),
    column("group_key", KEY, "the group"),
    column("line_key", KEY, "the line"),
    *_INSTRUMENT,
    optional(
        "interval_to_lowest",
        SMALL,
        "distance above the lowest line at the common onsets; null where it changes",
        "semitones",
    ),
)

PAIR_ACTIVITY = table(
    "pair_activity",
    "one kind and strictness of one line and a partner that ever sound together, from each side",
    ("line_key", "partner_line_key", "kind", "strict"),
    column("line_key", KEY, "the line"),
    *_INSTRUMENT,
    column("partner_line_key", KEY, "the partner"),
    *(partner(column) for column in _INSTRUMENT),
    column("kind", WORD, "kind of doubling"),
    column("same_line", FLAG, "as in doublings"),
    column("strict", FLAG, "counts strict stretches only; else all"),
    column("together_ticks", TICK, "time in which both lines sound", "ticks"),
    column("doubled_ticks", TICK, "union of the overlaps of their matched notes", "ticks"),
    column("stretches", INDEX, "stretches of doubling"),
    optional("chance_shift_ticks", REAL, "doubled time that the shift null expects", "ticks"),
    optional("chance_harmony_ticks", REAL, "doubled time that the harmony null expects", "ticks"),
)

_NULL_SIDE = (*_INSTRUMENT, optional("register_class", WORD, "register of the notes"))

CHANCE_DOUBLED = table(
    "chance_doubled",
    "one span of a doubling in one null draw, from each side; only after a build with --chance",
    ("model", "draw", "line_key", "partner_line_key", "kind", "strict", "start_ticks", "ticks"),
    column("model", WORD, "shift or harmony"),
    column("draw", SMALL, "number of the draw, from 0"),
    column("kind", WORD, "kind of doubling"),
    column("same_line", FLAG, "as in doublings"),
    column("strict", FLAG, "as in doublings"),
    column("start_ticks", TICK, "start of the span, in the time of the line", "ticks"),
    column("ticks", TICK, "length: matched notes, touching each other", "ticks"),
    column("line_key", KEY, "the line"),
    *_NULL_SIDE,
    column("partner_line_key", KEY, "the partner"),
    *(partner(column) for column in _NULL_SIDE),
)
