"""Library Stairs: G major. Guitar and mandolin, crotales, contrabassoon; wood of the bow."""

from __future__ import annotations

from studies.harmony import Key
from studies.plan import Chords, Copy, Part, Says, Scene, Study, Worded
from studies.seating import STRINGS, VOICES, groups, pair, part
from studies.textures import (
    background,
    block,
    chorus,
    figure,
    fugato,
    ground,
    lead,
    pedal,
)  # fmt: skip

_G, _E, _C = Key(1, "major"), Key(1, "minor"), Key(0, "major")

LIBRARY_STAIRS = Study(
    stem="library_stairs",
    number=8,
    title="The Library Stairs",
    opening="Allegretto",
    beats_per_minute=92,
    time=(4, 4),
    parts=(
        part("fl", "flute", "Flute 1"),
        part("fl2", "flute", "Flute 2", (4, "piccolo", "muta in Flauto piccolo"), "ids"),
        part("ob", "oboe"),
        pair("cl", "clarinet-a", "Clarinet in A 1.2"),
        part("bn", "bassoon", "Bassoon 1"),
        part("cbn", "bassoon", "Bassoon 2", (3, "contrabassoon", "muta in Controfagotto")),
        pair("hn", "horn-f", "Horn in F 1.2"),
        part("tpt", "trumpet-d"),
        part("tbn", "trombone"),
        part("timp", "timpani"),
        part("cro", "crotales"),
        part("gtr", "guitar"),
        part("mnd", "mandolin"),
        Part("pno", "piano", "Piano", (("pno1",), ("pno2",))),
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("fl", "cbn"), ("hn", "tbn")),
    scenes=(
        Scene(
            "melody_over_figuration", _G,
            "I | vi | IV | V7 | I/6 | ii7 | V7 | I",
            (
                lead("stair", "mnd", "q e e q q | h q q | q. e q q | h. rq",
                     (Copy("fl"), Copy("vn1", 0, bars=(5, 8))), low=66, high=84),
                figure("steps", "gtr", "e e e e e e e e", "up", (Copy("va1"),), low=50, high=70),
                figure("rail", "pno1", "e e e e e e e e", "wave", (), low=62, high=84),
                ground("bass", "pno2", "h h | h q q", (Copy("db", -1),), low=40, high=53),
            ),
            "p", leading="mp",
            says=(
                Says("va1", "col legno", "col_legno", (1, 8), "arco", "arco"),
                Says("pno1", "8va", "octave_up", (5, 8), "loco", "loco"),
            ),
        ),
        Scene(
            "melody_over_sustained_harmony", _E,
            "i | iv | V | i | VI | ii7 | V7 | i",
            (
                lead("song", "A", "h q q | q q h | q. e q q | h h",
                     (Copy("cl1"), Copy("va1"), Copy("cl2")), low=59, high=72),
                *background("held", ("hn1", "hn2", "tbn"), {}, 62, low=48),
                ground("bass", "vc", "h h | q q h", (Copy("bn"), Copy("db", -1),
                       Copy("cbn", -1, bars=(1, 4))), low=48, high=61),
            ),
            "p", leading="mf", text="Each stair is a shelf and each shelf is a voy-age, climb with "
            "a can-dle and read,",
            says=(Says("hn1", "bouché", "stopped", (1, 4), "ouvert", "open_horn"),),
        ),
        block(
            _G, "I | V/6 I | IV ii | V | vi IV | ii7 V | I/6 ii/6 | V7 I",
            "q q h | h q q | h h | q q h",
            {
                "B": (Copy("bn"), Copy("cbn", -1)),
                "A": (Copy("cl1", -1), Copy("cl2", -1)),
                "S": (Copy("fl", 1), Copy("fl2", 1, bars=(1, 4)), Copy("ob"),
                      Copy("mnd", 0, "reiterated"),
                      Copy("cro", 2, bars=(5, 8))),
                "T": (Copy("hn1"), Copy("hn2")),
            },
            "mf", "A for the an-chor and B for the bea-con, let-ters come down to the quay,",
            swell="crescendo",
        ),
        Scene(
            "melody_over_repeated_notes", _C,
            "I | ii/6 | V7 | I | vi | IV | V7 | I",
            (
                lead("song", "vn1", "q. e e e e e | e e q. e e e | e e e e e e q | h. rq",
                     (Copy("fl2", 1), Copy("hn1", -1, "main_notes"),
                      Copy("vn2", 0, "along", -5)), low=66, high=84),
                ground("bass", "vc", "h h | h q q",
                       (Copy("tbn", 1, "displaced"),), low=43, high=57),
                *background("tremolo", ("va1", "va2"), {}, 62),
                *background("repeated", ("cl1", "gtr"), {}, 60),
            ),
            "mp", leading="f",
            worded=(Worded("db", "col Violoncello", "vc", -1),),
            says=(
                Says("va1", "div.", "div", (1, 8), "unis.", "unis"),
                Says("vn1", "sul D", "sul_string", (1, 4)),
            ),
        ),
        Scene(
            "three_or_more_lines", _E,
            "i | V | i | V7/iv | iv | ii | V7 | i",
            fugato(
                (("B", 53), ("A", 64), ("T", 60), ("S", 71)),
                "q q q e e | q. e h | e e q q q | h h", 8,
                {
                    "B": (Copy("bn"), Copy("vc")), "A": (Copy("cl1"), Copy("vn2")),
                    "T": (Copy("hn1"), Copy("va1")), "S": (Copy("ob"), Copy("vn1")),
                }, delay=1,
            ),
            "mf", text="Whose is the hand in the mar-gin, whose is the salt on the page,",
            swell="crescendo",
        ),
        Scene(
            "one_block", _G,
            "I V | vi IV | I/64 V | I | IV V7/V | V I/6 | ii7 V7 | I",
            (
                *chorus(
                    "h h | q q h | h q q | h h",
                    {
                        "B": (Copy("bn", -1), Copy("cbn", -1), Copy("db", -1), Copy("vc")),
                        "A": (Copy("cl1"), Copy("cl2"), Copy("vn2")),
                        "S": (Copy("fl", 1), Copy("fl2", 2), Copy("ob"), Copy("vn1", 1),
                              Copy("tpt")),
                        "T": (Copy("hn1"), Copy("hn2"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "q q h | h q q"),
            ),
            "ff", text="Down from the land-ing and out to the light of it, all of the books are at "
            "sea,",
            chords=(Chords("pno1", ("S", "A", "T", "B"), 57, 77),),
        ),
    ),
)  # fmt: skip
