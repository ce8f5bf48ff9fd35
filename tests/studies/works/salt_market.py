"""Salt Market: D major, three beats. Alto flute, piccolo trumpet in A, bass trumpet in D."""

from __future__ import annotations

from studies.harmony import Key
from studies.plan import Beats, Chords, Copy, Says, Scene, Study, Worded
from studies.seating import HARP, STRINGS, VOICES, groups, pair, part
from studies.textures import (
    background,
    block,
    chorus,
    figure,
    fugato,
    ground,
    lead,
    one_line,
    pedal,
)  # fmt: skip

_D, _H, _G = Key(2, "major"), Key(2, "minor"), Key(1, "major")

SALT_MARKET = Study(
    stem="salt_market",
    number=5,
    title="Salt Market",
    opening="Vivace",
    beats_per_minute=132,
    time=(3, 4),
    parts=(
        part("fl1", "flute", "Flute 1"),
        part("fl2", "flute", "Flute 2", (4, "alto-flute", "muta in Flauto contralto in Sol")),
        part("ob", "oboe"),
        pair("cl", "clarinet-a", "Clarinet in A 1.2"),
        part("bn", "bassoon"),
        part("hn", "horn-f"),
        part("ptp", "trumpet-piccolo-a"),
        part("btp", "trumpet-bass-d"),
        part("tbn", "trombone"),
        part("tuba", "tuba"),
        part("timp", "timpani"),
        part("tmb", "tambourine"),
        part("sd", "snare-drum"),
        HARP,
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("fl1", "bn"), ("hn", "tuba")),
    scenes=(
        one_line(
            _D, "I | IV | V7 | I | vi | ii | V7 | I",
            "q q q | h q | q. e q | h q", "vn1",
            (
                Copy("vn2", -1), Copy("va1", -1), Copy("vc", -2), Copy("fl1"), Copy("fl2"),
                Copy("ob"), Copy("cl1", -1), Copy("cl2", -1), Copy("bn", -2),
                Copy("ptp", bars=(5, 8)),
            ),
            "f", beats=(Beats("tmb", "q e e q | q q q"),),
            says=(
                Says("ptp", "campane in aria", "bells_up", (5, 8)),
            ),
        ),
        Scene(
            "melody_over_repeated_notes", _D,
            "I | V7/65 | I | IV | ii/6 | V | V7 | I",
            (
                lead("market", "cl1", "q. e e e | q q q | e e q q | h rq",
                     (Copy("cl2", 0, "along", -2), Copy("ob", 0, bars=(5, 8))), low=66, high=84),
                ground("bass", "vc", "h q | q q q", (Copy("db", -1), Copy("bn"))),
                *background("tremolo", ("vn2", "va1"), {}, 66),
                *background("after", ("hn", "btp"), {}, 62),
                pedal("drum", "timp", "q rh | q q q"),
            ),
            "p", leading="mf", swell="crescendo",
            says=(Says("timp", "coperti", "coperti", (1, 8), "scoperti", "scoperti"),),
        ),
        block(
            _H, "i | V/6 | i | iv | V | VI | ii/6 V | i",
            "q q q | h q | q q q | h q",
            {
                "B": (Copy("bn", -1), Copy("tbn")),
                "A": (Copy("cl1", -1), Copy("cl2", -1)),
                "S": (Copy("fl1", 1), Copy("ob"), Copy("vn1", 0, "reiterated")),
                "T": (Copy("btp"), Copy("hn")),
            },
            "mf", "Salt by the pound and the pinch and the pal-let, salt for the stone and the "
            "step,",
            says=(Says("hn", "cuivré", "brassy", (1, 8), "ordinario", "ord"),),
        ),
        Scene(
            "melody_over_figuration", _G,
            "I | vi | IV | V7 | I | ii7 | V7 | I",
            (
                lead("song", "fl2", "q. e e e | q. e e e | e e e e e e | h rq",
                     (Copy("hn", -1, "main_notes"), Copy("vn1", 1)), low=62, high=76),
                ground("bass", "vc", "h. | h q", (), low=40, high=58),
                figure("scales", "hp1", "e e e e e e", "up", (), low=58, high=82),
                pedal("drum", "timp", "h. | rh."),
                figure("weights", "va1", "e e e e e e", "rock", (Copy("cl1"),), low=52, high=70),
            ),
            "mp", leading="mf",
            worded=(Worded("db", "col Violoncello", "vc", -1),),
            says=(Says("timp", "bacchette di spugna", "sponge", (1, 8), "bacchette ordinarie",
                       "ordinary_sticks"),),
        ),
        Scene(
            "three_or_more_lines", _H,
            "i | V | i | iv | i/6 | ii | V7 | i",
            fugato(
                (("A", 65), ("S", 71), ("B", 53), ("T", 60)),
                "q. e q | q q q | h q | q e e q", 8,
                {
                    "A": (Copy("cl1"), Copy("vn2")), "S": (Copy("ob"), Copy("vn1")),
                    "B": (Copy("bn"), Copy("vc")), "T": (Copy("hn"), Copy("va1")),
                }, delay=1,
            ),
            "mf", text="Weigh it a-gain and a-gain for the cap-tain,", swell="crescendo",
        ),
        Scene(
            "one_block", _D,
            "I | V7/65 | I | IV | V7/V | V | I/64 V7 | I",
            (
                *chorus(
                    "h q | q q q | q h | h q",
                    {
                        "B": (Copy("hp2"), Copy("tuba", -1), Copy("db", -1), Copy("vc"),
                              Copy("bn")),
                        "A": (Copy("cl1"), Copy("cl2"), Copy("vn2")),
                        "S": (Copy("fl1", 1), Copy("ptp"), Copy("ob"), Copy("vn1", 1)),
                        "T": (Copy("hn"), Copy("btp"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "q q q | h q"),
            ),
            "ff", text="White are the ta-bles and white are the hands of us, white is the road to "
            "the sea,",
            chords=(Chords("hp1", ("S", "A", "T", "B"), 57, 76),),
            beats=(Beats("sd", "q e e q | q q rq"),),
        ),
    ),
)  # fmt: skip
