"""The instruments of the studies: names, clefs, comfortable sounding ranges, transpositions.

Keys, subfamilies and transpositions are those of the reference data; a test compares them.
"""

from __future__ import annotations

from dataclasses import dataclass

from studies.pitches import Interval


@dataclass(frozen=True)
class Instrument:
    """One instrument as a part names it; the range is what is comfortable, in MIDI numbers."""

    key: str
    name: str
    abbreviation: str
    family: str
    subfamily: str
    low: int
    high: int
    clef: str = "G2"
    sounds: Interval = Interval(0, 0)
    """Sounding minus written."""
    sound_id: str = ""
    program: int = 1

    @property
    def pitched(self) -> bool:
        """It plays pitches."""
        return self.clef != "percussion"


def _make() -> dict[str, Instrument]:
    rows = (
        # label; key; name; abbreviation; family; subfamily; range; clef; semitones, steps; sound
        ("piccolo", "piccolo", "Piccolo", "Picc.", "woodwind", "flutes", 76, 103, "G2", 12, 7,
         "wind.flutes.flute.piccolo", 73),
        ("piccolo-dflat", "piccolo", "Piccolo in D♭", "Picc.", "woodwind", "flutes", 77, 103,
         "G2", 13, 8, "wind.flutes.flute.piccolo", 73),
        ("flute", "flute", "Flute", "Fl.", "woodwind", "flutes", 60, 93, "G2", 0, 0,
         "wind.flutes.flute", 74),
        ("alto-flute", "alto-flute", "Alto Flute in G", "A. Fl.", "woodwind", "flutes", 55, 84,
         "G2", -5, -3, "wind.flutes.flute.alto", 74),
        ("oboe", "oboe", "Oboe", "Ob.", "woodwind", "oboes", 60, 86, "G2", 0, 0,
         "wind.reed.oboe", 69),
        ("english-horn", "english-horn", "English Horn in F", "E. H.", "woodwind", "oboes", 52, 79,
         "G2", -7, -4, "wind.reed.english-horn", 70),
        ("clarinet-eflat", "clarinet-eflat", "Clarinet in E♭", "E♭ Cl.", "woodwind", "clarinets",
         58, 91, "G2", 3, 2, "wind.reed.clarinet.eflat", 72),
        ("clarinet-aflat", "clarinet-aflat", "Clarinet in A♭", "A♭ Cl.", "woodwind", "clarinets",
         63, 96, "G2", 8, 5, "wind.reed.clarinet.piccolo.aflat", 72),
        ("clarinet-bflat", "clarinet-bflat", "Clarinet in B♭", "Cl.", "woodwind", "clarinets",
         50, 86, "G2", -2, -1, "wind.reed.clarinet.bflat", 72),
        ("clarinet-a", "clarinet-a", "Clarinet in A", "Cl.", "woodwind", "clarinets", 50, 85,
         "G2", -3, -2, "wind.reed.clarinet.a", 72),
        ("bass-clarinet", "bass-clarinet", "Bass Clarinet in B♭", "B. Cl.", "woodwind",
         "clarinets", 38, 70, "G2", -14, -8, "wind.reed.clarinet.bass", 72),
        ("bass-clarinet-a", "bass-clarinet", "Bass Clarinet in A", "B. Cl.", "woodwind",
         "clarinets", 37, 69, "G2", -15, -9, "wind.reed.clarinet.bass", 72),
        ("contrabass-clarinet", "contrabass-clarinet", "Contrabass Clarinet in B♭", "Cb. Cl.",
         "woodwind", "clarinets", 28, 58, "G2", -26, -15, "wind.reed.clarinet.contrabass", 72),
        ("bassoon", "bassoon", "Bassoon", "Bn.", "woodwind", "bassoons", 36, 67, "F4", 0, 0,
         "wind.reed.bassoon", 71),
        ("contrabassoon", "contrabassoon", "Contrabassoon", "Cbn.", "woodwind", "bassoons", 24, 53,
         "F4", -12, -7, "wind.reed.contrabassoon", 71),
        ("saxophone-alto", "saxophone-alto", "Alto Saxophone in E♭", "A. Sax.", "woodwind",
         "saxophones", 51, 78, "G2", -9, -5, "wind.reed.saxophone.alto", 66),
        ("saxophone-baritone", "saxophone-baritone", "Baritone Saxophone in E♭", "Bar. Sax.",
         "woodwind", "saxophones", 38, 66, "G2", -21, -12, "wind.reed.saxophone.baritone", 68),
        ("sarrusophone-eflat", "contrabass-sarrusophone", "Contrabass Sarrusophone in E♭",
         "Cb. Sarr.", "woodwind", "sarrusophones", 25, 53, "G2", -33, -19,
         "wind.reed.sarrusaphone", 71),
        ("sarrusophone-bflat", "contrabass-sarrusophone", "Contrabass Sarrusophone in B♭",
         "Cb. Sarr.", "woodwind", "sarrusophones", 23, 50, "G2", -38, -22,
         "wind.reed.sarrusaphone", 71),
        ("horn-f", "horn-f", "Horn in F", "Hn.", "brass", "horns", 41, 74, "G2", -7, -4,
         "brass.french-horn", 61),
        ("horn-e", "horn", "Horn in E", "Hn.", "brass", "horns", 41, 74, "G2", -8, -5,
         "brass.french-horn", 61),
        ("horn-eflat", "horn", "Horn in E♭", "Hn.", "brass", "horns", 41, 74, "G2", -9, -5,
         "brass.french-horn", 61),
        ("trumpet-bflat", "trumpet-bflat", "Trumpet in B♭", "Tpt.", "brass", "trumpets", 55, 81,
         "G2", -2, -1, "brass.trumpet.bflat", 57),
        ("trumpet-c", "trumpet-c", "Trumpet in C", "Tpt.", "brass", "trumpets", 57, 82,
         "G2", 0, 0, "brass.trumpet.c", 57),
        ("trumpet-d", "trumpet-d", "Trumpet in D", "Tpt.", "brass", "trumpets", 58, 84,
         "G2", 2, 1, "brass.trumpet.d", 57),
        ("trumpet-piccolo-f", "trumpet-piccolo", "Piccolo Trumpet in F", "Picc. Tpt.", "brass",
         "trumpets", 66, 88, "G2", 5, 3, "brass.trumpet.piccolo", 57),
        ("trumpet-piccolo-a", "trumpet-piccolo", "Piccolo Trumpet in A", "Picc. Tpt.", "brass",
         "trumpets", 66, 88, "G2", 9, 5, "brass.trumpet.piccolo", 57),
        ("trumpet-piccolo", "trumpet-piccolo", "Piccolo Trumpet in B♭", "Picc. Tpt.", "brass",
         "trumpets", 66, 88, "G2", 10, 6, "brass.trumpet.piccolo", 57),
        ("trumpet-bass-d", "trumpet-bass", "Bass Trumpet in D", "B. Tpt.", "brass", "trumpets",
         45, 69, "G2", -10, -6, "brass.trumpet.bass", 57),
        ("cornet-aflat", "cornet", "Cornet in A♭", "Cnt.", "brass", "cornets", 53, 78,
         "G2", -4, -2, "brass.cornet", 57),
        ("trombone", "trombone-tenor", "Tenor Trombone", "Tbn.", "brass", "trombones", 43, 69,
         "F4", 0, 0, "brass.trombone.tenor", 58),
        ("bass-trombone", "trombone-bass", "Bass Trombone", "B. Tbn.", "brass", "trombones", 36, 62,
         "F4", 0, 0, "brass.trombone.bass", 58),
        ("wagner-tuba-bass", "wagner-tuba-bass", "Bass Wagner Tuba in F", "B. W. Tuba", "brass",
         "wagner tubas", 38, 62, "G2", -19, -11, "brass.wagner-tuba", 59),
        ("tuba", "tuba", "Tuba", "Tuba", "brass", "tubas", 29, 55, "F4", 0, 0, "brass.tuba", 59),
        ("timpani", "timpani", "Timpani", "Timp.", "percussion", "timpani", 40, 57, "F4", 0, 0,
         "drum.timpani", 48),
        ("glockenspiel", "glockenspiel", "Glockenspiel", "Glk.", "percussion", "tuned percussion",
         79, 108, "G2", 24, 14, "pitched-percussion.glockenspiel", 10),
        ("crotales", "crotales", "Crotales", "Crot.", "percussion", "tuned percussion", 84, 108,
         "G2", 24, 14, "metal.crotales", 15),
        ("triangle", "triangle", "Triangle", "Trgl.", "percussion", "untuned percussion", 0, 0,
         "percussion", 0, 0, "metal.triangle", 1),
        ("cymbals", "cymbals", "Cymbals", "Cym.", "percussion", "untuned percussion", 0, 0,
         "percussion", 0, 0, "metal.cymbal.clash", 1),
        ("snare-drum", "snare-drum", "Snare Drum", "S. D.", "percussion", "untuned percussion",
         0, 0, "percussion", 0, 0, "drum.snare-drum", 1),
        ("bass-drum", "bass-drum", "Bass Drum", "B. D.", "percussion", "untuned percussion", 0, 0,
         "percussion", 0, 0, "drum.bass-drum", 1),
        ("tambourine", "tambourine", "Tambourine", "Tamb.", "percussion", "untuned percussion",
         0, 0, "percussion", 0, 0, "drum.tambourine", 1),
        ("celesta", "celesta", "Celesta", "Cel.", "keyboard", "keyboards", 60, 103, "G2", 12, 7,
         "keyboard.celesta", 9),
        ("organ", "organ", "Organ", "Org.", "keyboard", "keyboards", 36, 88, "G2", 0, 0,
         "keyboard.organ.pipe", 20),
        ("piano", "piano", "Piano", "Pno.", "keyboard", "keyboards", 28, 98, "G2", 0, 0,
         "keyboard.piano", 1),
        ("harp", "harp", "Harp", "Hp.", "plucked", "harps", 31, 96, "G2", 0, 0, "pluck.harp", 47),
        ("guitar", "guitar", "Guitar", "Gtr.", "plucked", "guitars", 40, 74, "G2", -12, -7,
         "pluck.guitar.nylon-string", 25),
        ("mandolin", "mandolin", "Mandolin", "Mand.", "plucked", "mandolins", 55, 86, "G2", 0, 0,
         "pluck.mandolin", 26),
        ("soprano", "voice-soprano-choir", "Soprano", "S.", "voice", "choir voices", 60, 80, "G2",
         0, 0, "voice.soprano", 53),
        ("alto", "voice-alto-choir", "Alto", "A.", "voice", "choir voices", 55, 74, "G2", 0, 0,
         "voice.alto", 53),
        ("tenor", "voice-tenor-choir", "Tenor", "T.", "voice", "choir voices", 48, 68, "G2-8",
         0, 0, "voice.tenor", 53),
        ("bass", "voice-bass-choir", "Bass", "B.", "voice", "choir voices", 40, 62, "F4", 0, 0,
         "voice.bass", 53),
        ("violin-1", "violin", "Violin I", "Vn. I", "string", "violins", 55, 93, "G2", 0, 0,
         "strings.violin", 41),
        ("violin-2", "violin", "Violin II", "Vn. II", "string", "violins", 55, 88, "G2", 0, 0,
         "strings.violin", 41),
        ("viola", "viola", "Viola", "Va.", "string", "violas", 48, 79, "C3", 0, 0,
         "strings.viola", 42),
        ("violoncello", "violoncello", "Violoncello", "Vc.", "string", "violoncellos", 36, 69,
         "F4", 0, 0, "strings.cello", 43),
        ("double-bass", "double-bass", "Double Bass", "Db.", "string", "double basses", 28, 53,
         "F4", -12, -7, "strings.contrabass", 44),
    )  # fmt: skip
    return {row[0]: Instrument(*row[1:9], Interval(row[9], row[10]), *row[11:]) for row in rows}


INSTRUMENTS = _make()
