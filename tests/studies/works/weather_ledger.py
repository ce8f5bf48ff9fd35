"""Weather Ledger: C major. Piccolo trumpet in F, sarrusophone in B flat, organ."""

from __future__ import annotations

from studies.harmony import Key
from studies.plan import Beats, Chords, Copy, Part, Says, Scene, Study, Worded
from studies.seating import STRINGS, VOICES, groups, pair, part
from studies.textures import (
    background,
    chorus,
    counter,
    figure,
    fugato,
    ground,
    lead,
    one_line,
    pedal,
)  # fmt: skip

_C, _A, _F = Key(0, "major"), Key(0, "minor"), Key(-1, "major")

WEATHER_LEDGER = Study(
    stem="weather_ledger",
    number=7,
    title="Weather Ledger",
    opening="Maestoso",
    beats_per_minute=76,
    time=(4, 4),
    parts=(
        part("fl", "flute"),
        part("ob", "oboe", "Oboe 1"),
        part("ob2", "oboe", "Oboe 2", (3, "english-horn", "muta in Corno inglese"), "sound"),
        pair("cl", "clarinet-bflat", "Clarinet in B♭ 1.2"),
        part("bn", "bassoon"),
        part("sar", "sarrusophone-bflat"),
        part("hn", "horn-f"),
        part("ptp", "trumpet-piccolo-f"),
        part("tpt", "trumpet-d"),
        part("tbn", "trombone"),
        part("btb", "bass-trombone"),
        part("timp", "timpani"),
        part("cym", "cymbals"),
        Part("org", "organ", "Organ", (("org1",), ("org2",))),
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("fl", "sar"), ("hn", "btb")),
    scenes=(
        one_line(
            _A, "i | iv | V | i | VI | iv ii/6 | V7 | i",
            "h q q | q. e q q | q q h | h q q", "B",
            (
                Copy("T"), Copy("A", 1), Copy("S", 1), Copy("bn"), Copy("btb"), Copy("vc"),
                Copy("db", -1), Copy("va1", 1), Copy("vn2", 1), Copy("hn", bars=(5, 8)),
                Copy("tbn", bars=(5, 8)),
            ),
            "f", text="En-ter the wind in the ledg-er of weath-er, north by the chim-ney and "
            "gray,",
        ),
        Scene(
            "melody_over_sustained_harmony", _C,
            "I | IV | V7/65 | I | vi | ii/6 | V7 | I",
            (
                lead("page", "ob", "q. e q q | h q q | q e e q q | h. rq",
                     (Copy("cl1", -1), Copy("cl2", -1), Copy("fl", 1), Copy("ob2", bars=(5, 8))),
                     low=64),
                *background("held", ("org1", "vn2", "va1"), {}, 66, low=50),
                ground("bass", "org2", "h h | h q q", (Copy("db", -1), Copy("sar", -1)), high=50,
                       low=40),
            ),
            "p", leading="mp", swell="crescendo",
            beats=(Beats("cym", "rw | w"),),
            says=(Says("cym", "lasciar vibrare", "let_ring", (1, 8)),),
        ),
        Scene(
            "melody_over_repeated_notes", _C,
            "I | V7/65 | I | IV | ii/6 | V | V7 | I",
            (
                lead("song", "S", "h q q | q q h | h q q | h h",
                     (Copy("A"), Copy("ob"), Copy("ptp", 1), Copy("vn1", 1, "displaced")),
                     low=62, high=74),
                ground("bass", "B", "h h | h q q | q q h | h h", (Copy("vc"), Copy("btb"),
                       Copy("bn", -1)), low=48),
                *background("repeated", ("vn2", "va1", "tbn"), {}, 62),
                *background("after", ("hn", "tpt"), {}, 60),
            ),
            "mf", text="High on the hill the glass is fall-ing, bring in the wash-ing and wait,",
            swell="diminuendo",
        ),
        Scene(
            "two_lines", _A,
            "i | V/6 | i | iv | i/6 | ii7 | V | i",
            (
                lead("horn", "ob2", "h q q | q. e q q | q q h | h. rq",
                     (Copy("va1"), Copy("cl1")), low=57, high=74),
                counter("bow", "vc", "q q q q | h q e e | q. e h | h q q",
                        (Copy("bn"), Copy("hn", 0, bars=(5, 8))), low=46, high=62),
                figure("rain", "vn1", "e e e e e e e e", "fall", (), low=66, high=88),
            ),
            "mp",
            worded=(Worded("db", "col Violoncello", "vc", -1),),
            says=(Says("vn1", "spiccato", "spiccato", (1, 8), "arco", "arco"),),
        ),
        Scene(
            "three_or_more_lines", _F,
            "I | V7 | I | IV | ii | V | V7 | I",
            fugato(
                (("S", 71), ("T", 60), ("A", 65), ("B", 52)),
                "q. e q q | q q e e q | h q q | q q h", 8,
                {
                    "S": (Copy("vn1"), Copy("ob")), "T": (Copy("va1"), Copy("tbn")),
                    "A": (Copy("vn2"), Copy("cl1"), Copy("cl2")),
                    "B": (Copy("vc"), Copy("bn"), Copy("sar", -1)),
                }, delay=1,
            ),
            "f", text="Fog on the Tues-day and fog on the Thurs-day,", swell="crescendo",
        ),
        Scene(
            "one_block", _C,
            "I V/6 | I IV | V7/V V | I | IV I/64 | ii7 V | I/64 V7 | I",
            (
                *chorus(
                    "h h | q q h | h h | h q q",
                    {
                        "B": (Copy("bn", -1), Copy("btb"), Copy("db", -1), Copy("vc")),
                        "A": (Copy("cl1"), Copy("cl2"), Copy("vn2"), Copy("ob2")),
                        "S": (Copy("fl", 1), Copy("ob"), Copy("vn1", 1), Copy("tpt"),
                              Copy("ptp", bars=(5, 8))),
                        "T": (Copy("hn"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "q q q q | h h"),
            ),
            "ff", text="Close the great ledg-er and op-en the shut-ters, morn-ing has signed it in "
            "gold,",
            chords=(Chords("org1", ("S", "A", "T", "B"), 55, 78),),
            beats=(Beats("cym", "w | rh h", (5, 8)),),
        ),
    ),
)  # fmt: skip
