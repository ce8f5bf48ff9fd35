"""Winter Moorings: B flat major. Bass Wagner tuba, sarrusophone in E flat, a change of crook."""

from __future__ import annotations

from studies.harmony import Key
from studies.plan import Beats, Chords, Copy, Says, Scene, Study, Worded
from studies.seating import HARP, STRINGS, VOICES, groups, pair, part
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

_B, _G, _ES = Key(-2, "major"), Key(-2, "minor"), Key(-3, "major")

WINTER_MOORINGS = Study(
    stem="winter_moorings",
    number=6,
    title="Winter Moorings",
    opening="Largo",
    beats_per_minute=58,
    time=(4, 4),
    parts=(
        part("fl", "flute"),
        pair("ob", "oboe", "Oboe 1.2"),
        part("cl", "clarinet-bflat", "Clarinet in B♭ 1"),
        part("bcl", "clarinet-bflat", "Clarinet in B♭ 2",
             (2, "bass-clarinet", "muta in Clarinetto basso")),
        part("bn", "bassoon"),
        part("sar", "sarrusophone-eflat"),
        part("hn", "horn-f", "Horn in F 1"),
        part("hn2", "horn-f", "Horn in F 2", (4, "horn-eflat", "muta in Mi♭")),
        part("ptp", "trumpet-piccolo"),
        part("tbn", "trombone"),
        part("wt", "wagner-tuba-bass"),
        part("timp", "timpani"),
        part("bd", "bass-drum"),
        HARP,
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("fl", "sar"), ("hn", "wt")),
    scenes=(
        Scene(
            "two_lines", _B,
            "I | vi | ii | V | I/6 | IV | V7 | I",
            (
                lead("snow", "vn1", "h q q | q. e h | q q q q | h. rq",
                     (Copy("ob1"), Copy("ob2"), Copy("fl", 1)), low=65),
                counter("ice", "vc", "q q h | h q q | q. e q q | h h",
                        (Copy("hn"), Copy("cl"), Copy("bcl", bars=(1, 4))), low=50, high=65),
                pedal("deep", "db", "w", (Copy("sar"), Copy("wt", 1)), low=28, high=48),
            ),
            "p", swell="crescendo",
        ),
        block(
            _G, "i | iv | i/6 V | i | VI ii/6 | V | i/64 V7 | i",
            "h h | q q h | h q q | h h",
            {
                "B": (Copy("bcl"), Copy("bn", -1)),
                "A": (Copy("cl", -1),),
                "S": (Copy("ob1"), Copy("vn2", 0, "reiterated")),
                "T": (Copy("hn"), Copy("hn2")),
            },
            "pp", "Cold iron, cold rope, cold hands on the moor-ing, sleep is a boat with its "
            "oars drawn in,",
            says=(Says("T", "falsetto", "falsetto", (5, 8)),),
        ),
        Scene(
            "melody_over_sustained_harmony", _G,
            "i | VII | III | iv | i | ii7 | V7 | i",
            (
                lead("reed", "bcl", "q. e q q | h q q | q e e q q | h. rq",
                     (Copy("va1"), Copy("bn")), low=50, high=64),
                *background(
                    "held", ("hn", "hn2", "tbn"), {"tbn": (Copy("wt", -1),)}, 64, low=50,
                ),
                ground("bass", "vc", "h h | w", (Copy("sar", -1), Copy("db", -1)), high=50),
            ),
            "p", leading="mp",
            says=(Says("va1", "sul ponticello", "sul_pont", (1, 8), "ordinario", "ord"),),
        ),
        Scene(
            "melody_over_figuration", _ES,
            "I | vi | ii7 | V7 | I | IV | V7 | I",
            (
                lead("song", "cl", "h q q | q. e h | q q e e q | h. rq",
                     (Copy("fl", 0, "along", 2), Copy("vn1", 1)), low=62, high=76),
                ground("bass", "vc", "h h | q q h", (), low=40, high=58),
                figure("frost", "hp1", "e e e e e e e e", "up", (), low=60, high=86),
                figure("drift", "va1", "e e e e e e e e", "fall", (Copy("vn2"),), low=58, high=76),
            ),
            "pp", leading="mp",
            says=(Says("hp1", "près de la table", "pres_de_la_table", (1, 8), "ordinario", "ord"),),
            worded=(Worded("db", "col Violoncello", "vc", -1),),
        ),
        Scene(
            "three_or_more_lines", _G,
            "i | V7 | i | iv | V7/III | III | V7 | i",
            fugato(
                (("T", 60), ("B", 53), ("S", 70), ("A", 64)),
                "h q q | e e q h | q q q. e | h h", 8,
                {
                    "T": (Copy("hn"), Copy("va1")), "B": (Copy("bcl"), Copy("vc")),
                    "S": (Copy("ob1"), Copy("vn1")), "A": (Copy("cl"), Copy("vn2")),
                }, delay=1,
            ),
            "mf", text="Un-der the ice there is wa-ter still count-ing,", swell="crescendo",
        ),
        Scene(
            "one_block", _B,
            "I | IV V | I vi | ii/6 V | V7/vi vi | IV V7/V | I/64 V7 | I",
            (
                *chorus(
                    "h h | h q q | q q h | h h",
                    {
                        "B": (Copy("hp2"), Copy("bn"), Copy("bcl"), Copy("db", -1), Copy("sar", -1),
                              Copy("wt")),
                        "A": (Copy("cl"), Copy("vn2"), Copy("hn2")),
                        "S": (Copy("fl", 1), Copy("ob1"), Copy("ob2"), Copy("vn1", 1),
                              Copy("ptp", bars=(5, 8))),
                        "T": (Copy("hn"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "h rh | q q h"),
            ),
            "f", text="Spring has a knock like a hull on the jet-ty, o-pen and let it come in,",
            chords=(Chords("hp1", ("S", "A", "T", "B"), 57, 76),),
            beats=(Beats("bd", "h rh"),),
        ),
    ),
)  # fmt: skip
