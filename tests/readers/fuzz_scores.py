"""Three small invented scores that use most of what real ones do, as seeds of mutations."""

from __future__ import annotations

from scores import (
    attributes,
    backup,
    bar,
    barline,
    direction,
    dynamics,
    element,
    forward,
    instrument,
    key,
    midi_instrument,
    note,
    part,
    rest,
    score,
    time,
    timewise,
    transpose,
    tremolo,
    wedge,
    words,
)


def _lyric(text: str, syllabic: str = "single") -> str:
    return element("lyric", element("syllabic", syllabic) + element("text", text), number=1)


def choral() -> bytes:
    """A chorus of two with clarinet, horn and contrabass: lyrics, ties, transpositions."""
    soprano = part(
        bar(
            attributes(keys=key(2), times=time("3/4")),
            direction(dynamics("p"), offset=element("offset", 1)),
            note("F#5", 4, voice=1, lyric=_lyric("Glo", "begin")),
            note("G5", 2, voice=1, lyric=_lyric("ri", "middle"), tie="start"),
        ),
        bar(
            note("G5", 2, voice=1, tie="stop"),
            note("E5", 4, voice=1, lyric=_lyric("a", "end")),
            barline(repeat="backward", ending=("1", "stop")),
        ),
        bar(barline(location="left", ending=("2", "start")), rest(6, measure=True)),
        name="Soprano",
        divisions=2,
    )
    bass = part(
        bar(note("D3", 6, lyric=_lyric("Lux"))),
        bar(note("A2", 3), note("A3", 3)),
        bar(note("D3", 6)),
        name="Bass",
        divisions=2,
    )
    clarinet = part(
        bar(
            attributes(transposes=transpose(-2, -1)),
            direction(words("dolce"), dynamics("pp")),
            note("G#5", 8, notations=element("articulations", "<staccato/><accent/>")),
            note("A5", 4, notations=tremolo(3)),
        ),
        bar(
            direction(wedge("crescendo")),
            note("A5", 4),
            direction(wedge("stop"), dynamics("f")),
            attributes(transposes=transpose(-3, -2)),
            note("G5", 8),
        ),
        bar(rest(12, measure=True)),
        name="Clarinet in B♭",
        divisions=4,
        entry=instrument("P3-I1", "Clarinet")
        + midi_instrument("P3-I1", midi_channel=1, midi_program=72),
    )
    horns = part(
        bar(
            attributes(transposes=transpose(-7, -4)),
            direction(words("a 2")),
            note("A4", 3, ratio="3:2"),
            note("B4", 3, ratio="3:2"),
            note("C#5", 3, ratio="3:2"),
            note("E4", 9),
            note("G4", 9, chord=True),
        ),
        bar(rest(18)),
        bar(note("A4", 18, tie="start"), note("E4", 18, chord=True, tie="start")),
        name="Horns 1. 2. in F",
        divisions=6,
    )
    contrabass = part(
        bar(
            attributes(transposes=transpose(0, 0, -1, double="above")),
            direction(words("pizz.")),
            note("D3", 1),
            rest(2),
        ),
        bar(note("A2", 3)),
        bar(direction(words("arco")), note("D3", 3)),
        name="Violoncello e Contrabbasso",
        divisions=1,
    )
    return score(soprano, bass, clarinet, horns, contrabass, head=element("movement-title", "Lux"))


def keyboard() -> bytes:
    """A harp on two staves beside timpani and drums: voices, graces, cues, ornaments."""
    harp = part(
        bar(
            attributes(times=time("2/4"), staves=2, transposes=transpose(-2, number=2)),
            note("C5", grace='slash="yes"', voice=1, staff=1),
            note("D5", 4, voice=1, staff=1, notations="<arpeggiate/>"),
            note("F5", 4, chord=True, voice=1, staff=1, notehead="diamond"),
            backup(4),
            note("E4", 2, voice=2, staff=1, notations=tremolo(2, "start")),
            note("G4", 2, voice=2, staff=1, notations=tremolo(2, "stop")),
            backup(4),
            forward(2, voice=5, staff=2),
            note("C3", 2, voice=5, staff=2, tie="start"),
        ),
        bar(
            note("C3", 2, voice=5, staff=2, tie="stop"),
            note("Bb2", 2, cue=True, voice=5, staff=2),
            backup(4),
            note("D5", 4, voice=1, staff=1, notations=element("ornaments", "<trill-mark/>")),
        ),
        name="Harp",
        divisions=2,
    )
    timpani = part(
        bar(note("D3", 1), note("A2", 1, notations=element("ornaments", "<tremolo>3</tremolo>"))),
        bar(note("unpitched E4", 2, instrument="P2-I2")),
        name="Timpani",
        entry=instrument("P2-I1", "Timpani")
        + instrument("P2-I2", "Bass Drum")
        + midi_instrument("P2-I2", midi_unpitched=36),
    )
    return score(harp, timpani)


def formal() -> bytes:
    """Repeats, jumps, a measure repeated by a sign, a quarter tone; bars outside, parts within."""
    flute = part(
        bar(
            attributes(times=time("4/4")),
            direction(element("rehearsal", "A"), sound=element("sound", segno="1")),
            note("C5", 4),
        ),
        bar(
            attributes(styles=element("measure-repeat", 1, type="start")),
            rest(4, measure=True),
        ),
        bar(note("C5", 4, alter="0.5"), barline(repeat="backward", times=2)),
        bar(
            direction(words("D.S. al Fine"), sound=element("sound", dalsegno="1")),
            note("B4", 4),
            implicit="yes",
            number="X1",
        ),
        name="Flute",
    )
    violin = part(
        bar(note("C5", 4)), bar(note("D5", 4)), bar(note("E5", 4)), bar(rest(4)), name="Violin I"
    )
    return timewise(flute, violin)
