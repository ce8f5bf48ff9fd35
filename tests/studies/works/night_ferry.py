"""Night Ferry: E flat major. Saxophones, contrabass clarinet, celesta; humming, spiccato."""

from __future__ import annotations

from studies.harmony import Key
from studies.plan import Beats, Chords, Copy, Part, Says, Scene, Study, Worded
from studies.seating import STRINGS, VOICES, groups, pair, part
from studies.textures import (
    background,
    block,
    chorus,
    counter,
    figure,
    fugato,
    ground,
    lead,
    pedal,
)  # fmt: skip

_ES, _C, _B = Key(-3, "major"), Key(-3, "minor"), Key(-2, "major")

NIGHT_FERRY = Study(
    stem="night_ferry",
    number=4,
    title="Night Ferry",
    opening="Adagio tranquillo",
    beats_per_minute=66,
    time=(4, 4),
    parts=(
        part("fl", "flute"),
        part("ob", "oboe", "Oboe 1"),
        part("ob2", "oboe", "Oboe 2", (4, "english-horn", "muta in Corno inglese"), "sound"),
        part("cl", "clarinet-bflat"),
        part("asx", "saxophone-alto"),
        part("bsx", "saxophone-baritone"),
        part("kcl", "contrabass-clarinet"),
        part("bn", "bassoon"),
        pair("hn", "horn-f", "Horn in F 1.2"),
        part("tpt", "trumpet-bflat"),
        part("tbn", "trombone"),
        part("timp", "timpani"),
        part("trg", "triangle"),
        Part("cel", "celesta", "Celesta", (("cel1",), ("cel2",))),
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("fl", "bn"), ("hn", "tbn")),
    scenes=(
        Scene(
            "melody_over_sustained_harmony", _ES,
            "I | iii | IV | V7 | vi | ii/6 | V7 | I",
            (
                lead("night", "asx", "h q q | q e e h | q. e q q | h. rq",
                     (Copy("va1"), Copy("fl", 1, bars=(5, 8))), low=58),
                *background(
                    "held", ("S", "A", "T"),
                    {"S": (Copy("hn1"),), "A": (Copy("hn2"),), "T": (Copy("tbn"),)}, 68,
                ),
                ground("bass", "vc", "h h | h q q",
                       (Copy("db", -1), Copy("bn"), Copy("kcl", -1)), high=53, low=41),
            ),
            "pp", leading="p",
            says=(
                *(
                    Says(voice, "bocca chiusa", "bocca_chiusa", (1, 8), "bocca aperta",
                         "open_mouth")
                    for voice in ("S", "A", "T")
                ),
                Says("va1", "senza vibrato", "no_vib", (1, 8), "vibrato", "vib"),
            ),
        ),
        block(
            _C, "i | V/6 | i/6 iv | V | VI iv | ii/6 V | i/64 V7 | i",
            "q q h | h q q | h h | q q h",
            {
                "B": (Copy("bsx"), Copy("bn", -1)),
                "A": (Copy("cl", -1),),
                "S": (Copy("ob"), Copy("ob2"), Copy("vn1", 1)),
                "T": (Copy("va1"), Copy("hn1"), Copy("vc", 0, "reiterated")),
            },
            "p", "Late the fer-ry, low the en-gine, no one speaks and all are lis-tening, "
            "black the wa-ter, white the rail,",
            swell="crescendo",
        ),
        Scene(
            "two_lines", _ES,
            "I | V7 | I/6 | IV | ii | V | vi | V",
            (
                lead("tenor", "T", "h q q | q q h | q. e h | h q q",
                     (Copy("B"), Copy("hn1"), Copy("hn2"), Copy("vc")), low=48, high=62),
                counter("oboe", "ob", "q e e q q | h q q | q q e e q | h h",
                        (Copy("vn1"), Copy("fl", 1)), low=65),
                *background("after", ("vn2", "va1"), {}, 64),
            ),
            "mp", text="Row of the win-dows, a row of the stars, counts us a-cross and a-cross,",
            says=(Says("vn1", "spiccato", "spiccato", (1, 8), "ordinario", "ord"),),
        ),
        Scene(
            "melody_over_figuration", _B,
            "I | vi | ii7 | V7 | I | IV | V7 | I",
            (
                lead("song", "ob2", "h q q | q. e h | q q q. e | h. rq",
                     (Copy("asx", 0, "along", -2), Copy("vn1", 1)), low=60),
                ground("bass", "db", "h h | h q q", (),
                       low=31, high=50),
                figure("bells", "cel1", "e e e e e e e e", "wave", (Copy("fl"),), low=68, high=92),
                figure("wheel", "vn2", "e e e e e e e e", "rock", (Copy("cl"),), low=57, high=76),
            ),
            "p", leading="mp",
            worded=(Worded("bn", "col Basso", "db", 1),),
            beats=(Beats("trg", "rh. q | rw"),),
        ),
        Scene(
            "three_or_more_lines", _C,
            "i | V | i | V7/iv | iv | ii | V7 | i",
            fugato(
                (("S", 70), ("A", 65), ("T", 60), ("B", 52)),
                "q q e e q | q. e h | q e e q q | h h", 8,
                {
                    "S": (Copy("vn1"), Copy("cl")), "A": (Copy("vn2"), Copy("ob2")),
                    "T": (Copy("va1"), Copy("bsx")), "B": (Copy("vc"), Copy("bn")),
                }, delay=1,
            ),
            "mf", text="Who holds the wheel and who holds the bell,", swell="crescendo",
        ),
        Scene(
            "one_block", _ES,
            "I V | vi | IV I/64 | V | I IV | ii/6 V | I/64 V7 | I",
            (
                *chorus(
                    "h h | q q h | h q q | h h",
                    {
                        "B": (Copy("bn"), Copy("bsx"), Copy("db", -1), Copy("kcl", -1)),
                        "A": (Copy("cl"), Copy("vn2"), Copy("asx")),
                        "S": (Copy("fl", 1), Copy("ob"), Copy("vn1", 1), Copy("tpt")),
                        "T": (Copy("cel2", 1), Copy("hn1"), Copy("hn2"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "h q q | q q h"),
            ),
            "f", text="Land, and the lan-terns come down to the land-ing, hand o-ver hand on the "
            "rope,",
            chords=(Chords("cel1", ("S", "A", "T", "B"), 70, 89),),
        ),
    ),
)  # fmt: skip
