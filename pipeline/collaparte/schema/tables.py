"""The tables, one declaration each; the users' page of tables is printed from these."""

from __future__ import annotations

from types import MappingProxyType

import pyarrow as pa

from collaparte.schema.columns import (
    DEGREE,
    FLAG,
    INDEX,
    KEY,
    REAL,
    SMALL,
    TEXT,
    TICK,
    WORD,
    WORDS,
    Column,
    TableSchema,
)


def _c(name: str, kind: pa.DataType, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


def _o(name: str, kind: pa.DataType, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit, optional=True)


_MOVEMENT = (
    _c("movement_id", WORD, "short name of the movement, for people"),
    _c("movement_key", KEY, "key of the movement: every other key shifted right by 24 bits"),
)
_BAR = (
    _c("bar_index", INDEX, "bar of the file, counted from 0"),
    _c("bar_key", KEY, "key of the bar"),
    _c("bar", WORD, "bar number as printed"),
)


def _table(name: str, row: str, order: tuple[str, ...], *columns: Column) -> TableSchema:
    return TableSchema(name, row, (*_MOVEMENT, *columns), ("movement_id", *order))


MOVEMENTS = _table(
    "movements",
    "one score file",
    (),
    _c("work_id", WORD, "short name of the work"),
    _c("work", WORD, "title of the work"),
    _o("movement", TEXT, "number or name of the movement within the work"),
    _o("title", TEXT, "title of the movement"),
    _o("composer_id", WORD, "short name of the composer"),
    _o("composer", WORD, "name of the composer"),
    _o("composer_born", SMALL, "year of birth", "year"),
    _o("composer_died", SMALL, "year of death", "year"),
    _o("year_from", SMALL, "first year of composition", "year"),
    _o("year_to", SMALL, "last year of composition", "year"),
    _o("collection", WORD, "collection that the file belongs to"),
    _c("invented", FLAG, "true for demonstration music that the project made up"),
    _c("source_kind", WORD, "file, or package (read in place from an installed package)"),
    _o("source_address", TEXT, "where the file comes from"),
    _o("sha256", TEXT, "checksum of the file's bytes"),
    _o("bytes", pa.int64(), "size of the file", "bytes"),
    _o("format", WORD, "format of the file"),
    _o("encoder", TEXT, "who encoded the file, as it says"),
    _o("software", TEXT, "program that wrote the file, as it says"),
    _o("edition", TEXT, "printed edition that the file follows"),
    _o("reader", WORD, "reader that read the file"),
    _o("bars", INDEX, "bars of the file", "bars"),
    _o("quarters", REAL, "length in written order", "quarters"),
    _o("parts", SMALL, "parts of the file"),
    _o("lines", SMALL, "lines with at least one note"),
    _c("scoring_complete", WORD, "yes, no or unknown: does the file hold every part of the work"),
    _o("same_music_as", TEXT, "movement_id of an earlier movement with the same music"),
    _c("counts", FLAG, "used in statistics"),
    _o("licence_notes", TEXT, "licence of the notes"),
    _o("licence_other", TEXT, "licence of other layers of the file, annotations for instance"),
    _o("rights_text", TEXT, "rights line of the file, as it stands there"),
    _o("attribution", TEXT, "whom to name when notes or figures are shown"),
    _c("may_show_notation", FLAG, "the notation may be shown"),
    _c("may_share_events", FLAG, "tables of its notes may be passed on"),
    _o("rights_basis", TEXT, "what the two rows before rest on"),
    _c("state", WORD, "read, failed or skipped"),
)

PARTS = _table(
    "parts",
    "one part of the file",
    ("part_index",),
    _c("part_index", SMALL, "order of the part in the file, from 0"),
    _c("part_key", KEY, "key of the part"),
    _c("part_id", TEXT, "id of the part in the file"),
    _o("name", TEXT, "name as printed"),
    _o("abbreviation", TEXT, "abbreviation as printed"),
    _o("bracket", TEXT, "names of the groups that the part stands in, outermost first"),
    _c("staves", SMALL, "staves of the part"),
    _o("instrument", WORD, "key of the instrument (table instruments); null where not known"),
    _o("family", WORD, "woodwind, brass, percussion, keyboard, plucked, string or voice"),
    _o("ensemble_element", WORD, "what the file's own ensemble or solo element says"),
    _o("sound_id", TEXT, "sound id of the first instrument, as the file has it"),
    _o("midi_program", SMALL, "program of the first instrument, from 1"),
    _c("transposition_semitones", SMALL, "sounding minus written pitch at the start", "semitones"),
    _o("instrument_basis", WORD, "correction, name, transposition, sound_id, …"),
    _o("instrument_confidence", WORD, "certain, likely or guess"),
)

LINES = _table(
    "lines",
    "one line: what one player, one section or one voice sings or plays on one instrument",
    ("line_key",),
    _c("line_key", KEY, "key of the line, in score order from the top"),
    _c("part_index", SMALL, "part that the line belongs to"),
    _o("part_name", WORD, "name of the part as printed"),
    _c("player", TEXT, "name of the line as a reader of the score would say it"),
    _c("line_basis", WORD, "part, staff, voice, rank, words, name or instrument"),
    _o("instrument", WORD, "key of the instrument; null where not known"),
    _o("instrument_basis", WORD, "as in parts"),
    _o("instrument_confidence", WORD, "certain, likely or guess"),
    _o("family", WORD, "family of the instrument"),
    _o("subfamily", WORD, "subfamily of the instrument: flutes, horns …"),
    _c("ensemble", WORD, "chorus, solo_voice, section or player"),
    _c("ensemble_basis", WORD, "manifest, file, name, bracket, instrument or guess"),
    _c("ensemble_confidence", WORD, "certain, likely or guess"),
    _o("players", SMALL, "players of the line; null for a section of unknown size"),
    _c("sounding_ticks", TICK, "length of the union of its notes", "ticks"),
    _c("notes", INDEX, "notes that sound, grace and cue notes left out"),
    _o("lowest", SMALL, "lowest sounding pitch", "MIDI"),
    _o("highest", SMALL, "highest sounding pitch", "MIDI"),
)

BARS = _table(
    "bars",
    "one bar of the file",
    ("bar_index",),
    *_BAR,
    _c("start_ticks", TICK, "start in written order", "ticks"),
    _c("length_ticks", TICK, "length: the longest of all parts", "ticks"),
    _c("start_quarters", REAL, "start in written order", "quarters"),
    _c("length_quarters", REAL, "length", "quarters"),
    _o("bar_label", TEXT, "number as displayed where the file gives another text for it"),
    _o("bar_print", TEXT, "number when the first full bar counts as 1"),
    _c("bar_group", INDEX, "bar_index of the bar that this one completes, or its own"),
    _c("implicit", FLAG, "its number is never printed"),
    _o("time_signature", WORD, "time signature in force"),
    _o("key_fifths", SMALL, "concert key in force: sharps above 0, flats below", "fifths"),
    _o("rehearsal", TEXT, "rehearsal mark within the bar"),
    _o("tempo_words", TEXT, "words of tempo within the bar"),
    _o("tempo_quarters_per_minute", REAL, "tempo in force at its start", "quarters a minute"),
    _c("repeat_start", FLAG, "a repeat begins here"),
    _o("repeat_end", SMALL, "a repeat ends here: times the passage is played"),
    _o("ending", TEXT, "numbers of the ending that the bar stands in"),
    _o("jump", WORD, "dacapo, dalsegno, tocoda or fine at its end"),
    _o("mark", WORD, "segno or coda at its start"),
)

PLAY_ORDER = _table(
    "play_order",
    "one bar as performed",
    ("performed_index",),
    _c("performed_index", INDEX, "order in performance, from 0"),
    *_BAR,
    _c("pass", SMALL, "how many times the bar has been played, this time included"),
)

_NOTE_FACTS = (
    _o("instrument", WORD, "key of the instrument"),
    _o("family", WORD, "family of the instrument"),
    _c("ensemble", WORD, "chorus, solo_voice, section or player"),
)

NOTES = _table(
    "notes",
    "one note of one line, ties merged",
    ("note_key",),
    _c("note_key", KEY, "key of the note: by part, onset, pitch from the top, line"),
    _c("line_key", KEY, "key of its line"),
    _c("part_index", SMALL, "part that the note stands in"),
    _c("staff", SMALL, "staff within the part, from 1"),
    _o("voice", WORD, "voice as the file has it"),
    *_NOTE_FACTS,
    _c("onset_ticks", TICK, "onset in written order", "ticks"),
    _c("duration_ticks", TICK, "length, ties merged; 0 for a grace note", "ticks"),
    _c("onset_quarters", REAL, "onset", "quarters"),
    _c("duration_quarters", REAL, "length", "quarters"),
    *_BAR,
    _c("beat", REAL, "beat of the bar, from 1, in units of the time signature", "beats"),
    _o("step", WORD, "letter of the SOUNDING pitch as spelled"),
    _o("alter", DEGREE, "alteration of the sounding pitch", "semitones"),
    _o("octave", SMALL, "octave of the sounding pitch; 4 begins with middle C"),
    _o("midi", SMALL, "sounding pitch to the nearest semitone; null where unpitched", "MIDI"),
    _c("cents", SMALL, "distance from that semitone", "cents"),
    _o("written_midi", SMALL, "pitch as written", "MIDI"),
    _o("register_class", WORD, "low, middle, high or very_high"),
    _o("register", WORD, "the instrument's own name for that band"),
    _o("register_scheme", WORD, "scheme that the band comes from"),
    _o("dynamic", WORD, "dynamic in force, as printed"),
    _o("dynamic_degree", DEGREE, "1 pppp to 10 ffff, fractions within a hairpin", "degrees"),
    _c("dynamic_basis", WORD, "own_staff, other_staff, hairpin, word or none"),
    _o("dynamic_accent", WORD, "sf, fp and their like on this note"),
    _o("hairpin", WORD, "crescendo or diminuendo in force"),
    _c("techniques", WORDS, "techniques in force, by the ids of terms, sorted"),
    _c("articulations", WORDS, "articulations on the note, sorted"),
    _c("hidden_articulations", WORDS, "those of them that are not printed, sorted"),
    _o("ornament", WORD, "trill and its like"),
    _o("tremolo_strokes", SMALL, "strokes of a tremolo on the note", "strokes"),
    _o("tremolo_type", WORD, "single, double or unmeasured"),
    _o("tremolo_pair", KEY, "one key for the two notes of a tremolo between notes"),
    _o("lyric", TEXT, "syllable under the note"),
    _o("syllabic", WORD, "single, begin, middle or end"),
    _c("is_grace", FLAG, "grace note"),
    _o("grace_order", SMALL, "order among the grace notes of one onset, from 0"),
    _c("is_cue", FLAG, "printed for another player's guidance, silent"),
    _c("is_unpitched", FLAG, "without a pitch"),
    _c("is_printed", FLAG, "printed"),
    _c("tie_in", FLAG, "a tie comes in from a note that does not end here"),
    _c("derived", FLAG, "sounds by an octave sign over the part, not written out"),
    _c("inferred", FLAG, "copied by a sign that repeats bars"),
    _c("pitch_uncertain", FLAG, "the sounding pitch cannot be told from the file"),
    _o("display_pitch", WORD, "where an unpitched note stands on the staff"),
    _o("gm_key", SMALL, "percussion key of an unpitched note, from 0", "MIDI"),
    _o("gliss_to", KEY, "note that a glissando or slide leads to"),
    _c("source_notes", pa.list_(pa.int32()), "indexes of the note elements in the part, from 0"),
)

DIRECTIONS = _table(
    "directions",
    "one direction as printed",
    ("direction_key",),
    _c("direction_key", KEY, "key of the direction, in order of time and part"),
    *_BAR,
    _c("onset_ticks", TICK, "place in written order", "ticks"),
    _c("onset_quarters", REAL, "place", "quarters"),
    _o("end_ticks", TICK, "end of a hairpin or a dashed line", "ticks"),
    _c("part_index", SMALL, "part that it stands in"),
    _o("staff", SMALL, "staff that it is written for; null: the whole part"),
    _o("voice", WORD, "voice that it is written for"),
    _c("kind", WORD, "dynamic, hairpin, technique, players, doubling, instrument, tempo, …"),
    _o("text", TEXT, "as printed, white space folded"),
    _o("understood_as", TEXT, "ids of what was understood, sorted; null where nothing was"),
    _o("not_understood", TEXT, "words of it that were not understood"),
    _o("target_line_key", KEY, "line meant by words of doubling"),
    _c("is_printed", FLAG, "printed; false for a sound element without text"),
)

_SIDE = (
    _c("line_key", KEY, "line of the note"),
    _o("instrument", WORD, "instrument of the note"),
    _o("family", WORD, "family of that instrument"),
    _c("ensemble", WORD, "chorus, solo_voice, section or player"),
    _c("midi", SMALL, "sounding pitch", "MIDI"),
    _o("register_class", WORD, "register of the note"),
    _o("register_scheme", WORD, "scheme of that register"),
    _o("dynamic_degree", DEGREE, "dynamic of the note", "degrees"),
    _c("techniques", WORDS, "techniques of the note"),
)


def _partner(column: Column) -> Column:
    return Column(
        f"partner_{column.name}",
        column.type,
        f"the same of the partner: {column.meaning}",
        column.unit,
        column.optional,
    )


DOUBLINGS = _table(
    "doublings",
    "one stretch in which two lines go together",
    ("doubling_key",),
    _c("doubling_key", KEY, "key of the stretch"),
    _c("kind", WORD, "unison, octave, octave_displaced, reiterated, main_notes …"),
    _c("same_line", FLAG, "true for unison, octave, octave_displaced and reiterated"),
    _c("strict", FLAG, "passes the strict thresholds, not only the inclusive ones"),
    _c("basis", WORD, "notes or words"),
    _c("line_a", KEY, "upper line in score order"),
    _c("line_b", KEY, "lower line in score order"),
    _c("part_a", SMALL, "part of line a"),
    _c("part_b", SMALL, "part of line b"),
    _o("instrument_a", WORD, "instrument of line a"),
    _o("instrument_b", WORD, "instrument of line b"),
    _o("family_a", WORD, "family of line a"),
    _o("family_b", WORD, "family of line b"),
    _c("ensemble_a", WORD, "ensemble of line a"),
    _c("ensemble_b", WORD, "ensemble of line b"),
    _o("interval_semitones", SMALL, "sounding b minus a; null where it changes", "semitones"),
    _c("start_ticks", TICK, "start of the first matched note", "ticks"),
    _c("end_ticks", TICK, "end of the last overlap of matched notes", "ticks"),
    _c("start_quarters", REAL, "start of the first matched note", "quarters"),
    _c("end_quarters", REAL, "end of the last overlap of matched notes", "quarters"),
    _c("start_bar_index", INDEX, "bar of the start"),
    _c("end_bar_index", INDEX, "bar of the last matched note"),
    _c("start_bar", WORD, "number of that bar as printed"),
    _c("end_bar", WORD, "number of that bar as printed"),
    _c("matched_notes", INDEX, "matched onsets"),
    _c("added_notes", pa.list_(pa.int64()), "keys of notes that a chord adds to the other's"),
    _c("pitch_changes", INDEX, "steps between matched onsets in which both lines change pitch"),
    _c("distinct_pitches", SMALL, "different matched pitches of the line that has fewer"),
    _c("matched_ticks", TICK, "union of the overlaps of matched notes", "ticks"),
    _c("share_a", REAL, "share of the matched notes' own time in a that overlaps", "share"),
    _c("share_b", REAL, "the same of b", "share"),
)

DOUBLED_NOTES = _table(
    "doubled_notes",
    "one matched note, told once from each side",
    ("note_key", "partner_note_key", "kind"),
    _c("note_key", KEY, "the note"),
    _c("partner_note_key", KEY, "the note that doubles it"),
    _c("doubling_key", KEY, "stretch that the pair belongs to"),
    _c("kind", WORD, "kind of the stretch"),
    _c("same_line", FLAG, "as in doublings"),
    _c("strict", FLAG, "as in doublings"),
    _c("ticks", TICK, "overlap of the two notes", "ticks"),
    _c("start_ticks", TICK, "start of the overlap", "ticks"),
    *_BAR,
    _c("interval_semitones", SMALL, "sounding partner minus own", "semitones"),
    *_SIDE,
    *(_partner(column) for column in _SIDE),
)

_INSTRUMENT = (
    _o("instrument", WORD, "instrument of the line"),
    _o("family", WORD, "family of that instrument"),
    _c("ensemble", WORD, "chorus, solo_voice, section or player"),
)

SONORITIES = _table(
    "sonorities",
    "one stretch during which no note starts or ends",
    ("sonority_key",),
    _c("sonority_key", KEY, "key of the sonority, in order of time"),
    _c("start_ticks", TICK, "start in written order", "ticks"),
    _c("ticks", TICK, "length", "ticks"),
    _c("start_quarters", REAL, "start", "quarters"),
    *_BAR,
    _c("lines_sounding", SMALL, "different lines that sound", "lines"),
    _c("distinct_pitches", SMALL, "different pitches that sound", "pitches"),
    _c("distinct_pitch_classes", SMALL, "different pitch classes", "pitch classes"),
    _c("lowest", SMALL, "lowest sounding pitch", "MIDI"),
    _c("highest", SMALL, "highest sounding pitch", "MIDI"),
    _o("spread_semitones", SMALL, "highest minus lowest; null under two pitches", "semitones"),
    _o("widest_gap", SMALL, "widest interval between neighbouring pitches", "semitones"),
    _o("gap_above", SMALL, "pitch below that gap; of several the lowest", "MIDI"),
    _o("lowest_interval", SMALL, "interval between the two lowest pitches", "semitones"),
)

SONORITY_MEMBERS = _table(
    "sonority_members",
    "one note sounding in one sonority",
    ("sonority_key", "note_key"),
    _c("sonority_key", KEY, "the sonority"),
    _c("note_key", KEY, "the note"),
    _c("line_key", KEY, "line of the note"),
    _c("ticks", TICK, "length of the sonority", "ticks"),
    *_BAR,
    *_INSTRUMENT,
    _c("midi", SMALL, "sounding pitch", "MIDI"),
    _o("register_class", WORD, "low, middle, high or very_high"),
    _c("is_attack", FLAG, "the note begins with the sonority"),
)

REGISTER_USE = _table(
    "register_use",
    "one register class of one line, with the spread of the line",
    ("line_key", "register_class"),
    _c("line_key", KEY, "the line"),
    *_INSTRUMENT,
    _o("register_class", WORD, "low, middle, high or very_high; null: no band is known"),
    _c("ticks", TICK, "time of the line's notes in this class", "ticks"),
    _c("notes", INDEX, "notes of the line in this class", "notes"),
    _c("share", REAL, "share of the time of all notes of the line", "share"),
    _c("lowest", SMALL, "lowest pitch of the line", "MIDI"),
    _c("percentile_5", SMALL, "pitch at or below which 5% of the line's time lies", "MIDI"),
    _c("quartile_1", SMALL, "the same for 25%", "MIDI"),
    _c("median", SMALL, "the same for 50%", "MIDI"),
    _c("quartile_3", SMALL, "the same for 75%", "MIDI"),
    _c("percentile_95", SMALL, "the same for 95%", "MIDI"),
    _c("highest", SMALL, "highest pitch of the line", "MIDI"),
)

UNISON_GROUPS = _table(
    "unison_groups",
    "one stretch in which the same three or more lines are on one line",
    ("group_key",),
    _c("group_key", KEY, "key of the group"),
    _c("start_ticks", TICK, "start", "ticks"),
    _c("end_ticks", TICK, "end", "ticks"),
    _c("start_quarters", REAL, "start", "quarters"),
    _c("end_quarters", REAL, "end", "quarters"),
    _c("start_bar_index", INDEX, "bar of the first common onset"),
    _c("end_bar_index", INDEX, "bar of the last common onset"),
    _c("start_bar", WORD, "number of that bar as printed"),
    _c("end_bar", WORD, "number of that bar as printed"),
    _c("lines", SMALL, "lines in the group", "lines"),
    _c("families", SMALL, "different families among them", "families"),
    _c("has_chorus", FLAG, "a line of the chorus is among them"),
    _c("common_onsets", INDEX, "onsets at which all lines begin a note"),
    _c("pitch_changes", INDEX, "changes of pitch of the top line between them"),
)

GROUP_MEMBERS = _table(
    "group_members",
    "one line in one unison group",
    ("group_key", "line_key"),
    _c("group_key", KEY, "the group"),
    _c("line_key", KEY, "the line"),
    *_INSTRUMENT,
    _o(
        "interval_to_lowest",
        SMALL,
        "distance above the lowest line at the common onsets; null where it changes",
        "semitones",
    ),
)

PAIR_ACTIVITY = _table(
    "pair_activity",
    "one kind and strictness of one line and a partner that ever sound together, from each side",
    ("line_key", "partner_line_key", "kind", "strict"),
    _c("line_key", KEY, "the line"),
    *_INSTRUMENT,
    _c("partner_line_key", KEY, "the partner"),
    *(_partner(column) for column in _INSTRUMENT),
    _c("kind", WORD, "kind of doubling"),
    _c("same_line", FLAG, "as in doublings"),
    _c("strict", FLAG, "counts strict stretches only; else all"),
    _c("together_ticks", TICK, "time in which both lines sound", "ticks"),
    _c("doubled_ticks", TICK, "union of the overlaps of their matched notes", "ticks"),
    _c("stretches", INDEX, "stretches of doubling"),
    _o("chance_shift_ticks", REAL, "doubled time that the shift null expects", "ticks"),
    _o("chance_harmony_ticks", REAL, "doubled time that the harmony null expects", "ticks"),
)

INSTRUMENTS = TableSchema(
    "instruments",
    "one instrument of the reference data",
    (
        _c("key", TEXT, "the one name of the instrument in all tables"),
        _c("english", TEXT, "English name; variants after a semicolon"),
        _o("french", TEXT, "French name"),
        _o("german", TEXT, "German name"),
        _o("italian", TEXT, "Italian name"),
        _c("family", TEXT, "family"),
        _c("subfamily", TEXT, "subfamily"),
        _c("role", TEXT, "instrument, continuo or group"),
        _c("generic", FLAG, "stands until size, crook or key letter is known"),
        _o("sounding_low", SMALL, "lowest sounding pitch", "MIDI"),
        _o("sounding_high", SMALL, "highest sounding pitch", "MIDI"),
        _c("source_range", TEXT, "source of the range"),
    ),
    ("key",),
)

REGISTER_BANDS = TableSchema(
    "register_bands",
    "one band of one instrument in one scheme",
    (
        _c("key", TEXT, "instrument"),
        _c("scheme", TEXT, "scheme"),
        _c("is_default", FLAG, "the scheme that counts unless settings say otherwise"),
        _c("class", TEXT, "low, middle, high or very_high"),
        _c("band", TEXT, "the instrument's own name for it"),
        _o("sounding_low", SMALL, "lowest pitch; null: open downwards", "MIDI"),
        _o("sounding_high", SMALL, "highest pitch; null: open upwards", "MIDI"),
        _c("source", TEXT, "source"),
    ),
    ("key", "scheme", "sounding_low"),
)

SETTINGS = TableSchema(
    "settings",
    "one threshold or choice",
    (
        _c("name", TEXT, "name"),
        _c("value", TEXT, "value as text"),
        _c("unit", TEXT, "unit"),
        _c("meaning", TEXT, "what it decides"),
        _c("source", TEXT, "where the value comes from"),
    ),
    ("name",),
)

REMARKS = _table(
    "remarks",
    "one kind of oddity in one movement",
    ("severity", "stage", "code", "part_index", "message"),
    _c("stage", WORD, "where it was noticed: reading, measuring"),
    _c("severity", WORD, "error (the score is not in the tables), warning or note"),
    _c("code", WORD, "code of the kind"),
    _o("bar_index", INDEX, "first bar"),
    _o("bar", TEXT, "number of that bar as printed"),
    _o("part_index", SMALL, "first part"),
    _o("part", TEXT, "name of that part"),
    _c("count", INDEX, "how often"),
    _c("message", TEXT, "one plain sentence"),
    _c("done", TEXT, "what was done about it"),
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
            UNISON_GROUPS,
            GROUP_MEMBERS,
            SONORITIES,
            SONORITY_MEMBERS,
            REGISTER_USE,
            INSTRUMENTS,
            REGISTER_BANDS,
            SETTINGS,
            REMARKS,
        )
    }
)
"""Every table by name, in the order in which people meet them."""
