"""The Tide Table: F major. Mutes, plucked strings, divided violas, two players on a staff."""

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

_F, _D = Key(-1, "major"), Key(-1, "minor")

TIDE_TABLE = Study(
    stem="tide_table",
    number=1,
    title="The Tide Table",
    opening="Andante con moto",
    beats_per_minute=84,
    time=(4, 4),
    parts=(
        part("fl1", "flute", "Flute 1"),
        part("fl2", "flute", "Flute 2", (4, "piccolo", "muta in Flauto piccolo")),
        pair("ob", "oboe", "Oboe 1.2"),
        part("cl", "clarinet-bflat"),
        part("bn", "bassoon"),
        part("cbn", "contrabassoon"),
        pair("hn", "horn-f", "Horn in F 1.2"),
        part("tpt", "trumpet-d"),
        part("tbn", "trombone"),
        part("tuba", "tuba"),
        part("timp", "timpani"),
        part("glk", "glockenspiel"),
        part("trg", "triangle"),
        HARP,
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("fl1", "cbn"), ("hn", "tuba")),
    scenes=(
        one_line(
            _D, "i | iv | V | i | VI | ii/6 V | i/6 ii/6 | V",
            "q. e q q | h q q | q q q. e | w", "vn1",
            (
                Copy("vn2"), Copy("va1", -1), Copy("vc", -1), Copy("bn", -1),
                Copy("ob1", bars=(5, 8)), Copy("ob2", bars=(5, 8)),
            ),
            "mf", swell="diminuendo",
            says=(Says("vn1", "sul G", "sul_string", (1, 4), "ordinario", "ord"),),
        ),
        Scene(
            "melody_over_sustained_harmony", _F,
            "I | I/6 IV | V7/65 | I | vi | IV ii/6 | V7 | I",
            (
                lead("song", "cl", "q. e q q | q e e h | q e e q q | h. rq",
                     (Copy("fl1", 1), Copy("fl2", 1, "along", -2, (5, 8)))),
                ground("bass", "vc", "h h | q q h", (Copy("db", -1),), high=55),
                *background("held", ("hn1", "vn2", "va1"), {}, 62),
            ),
            "p", leading="mp", swell="crescendo",
            says=(
                Says("vc", "pizz.", "pizz", (1, 8), "arco", "arco"),
            ),
        ),
        block(
            _F, "I | V7/65 I | IV I/64 | V | I/6 IV | ii7 V | vi ii/6 | V7 I",
            "h h | q q h | h q q | q q h",
            {
                "B": (Copy("bn", -1), Copy("cbn", -1, bars=(5, 8))),
                "A": (Copy("cl", -1),),
                "S": (Copy("fl1", 1), Copy("vn2", 0, "reiterated")),
                "T": (Copy("hn1"), Copy("hn2")),
            },
            "mf", "Tell the tide-ta-ble slow-ly, lan-terns num-ber the hours, wa-ter keeps the "
            "reck-on-ing, har-bour keeps the light.",
            swell="crescendo",
        ),
        Scene(
            "melody_over_figuration", Key(-2, "major"),
            "I | vi | ii7 | V7 | I | IV | V7 | I",
            (
                lead("song", "vn1", "q. e e e e e | e e q. e e e | e e e e e e q | h. rq",
                     (Copy("fl2", 1), Copy("hn1", -1, "main_notes")), low=62),
                ground("bass", "vc", "h h | h q q", (Copy("tuba", -1, "displaced"),), high=58),
                figure("waves", "hp1", "e e e e e e e e", "wave", (), low=60, high=84),
                figure("ripples", "va1", "e e e e e e e e", "rock", (Copy("cl"),), high=74),
                figure("eddies", "va2", "e e e e e e e e", "up", (), high=68,
                       below=("ripples",)),
            ),
            "mp", leading="mf",
            beats=(Beats("trg", "rh. q | rh rq q"),),
            says=(
                Says("vn1", "con sordino", "mute_on", (1, 8), "senza sordino", "mute_off"),
                Says("va1", "div.", "div", (1, 8), "unis.", "unis"),
            ),
            worded=(Worded("db", "col Violoncello", "vc", -1),),
        ),
        Scene(
            "three_or_more_lines", _F,
            "I | V | I | V7 | vi | ii/6 | I/64 V | I",
            fugato(
                (("T", 60), ("A", 66), ("S", 72), ("B", 52)),
                "q. e q q | e e q h | q q e e q | h. rq", 8,
                {
                    "T": (Copy("bn"), Copy("va1")), "A": (Copy("ob1"),),
                    "S": (Copy("vn1"), Copy("tpt")), "B": (Copy("vc"), Copy("tbn")),
                }, delay=1,
            ),
            "mf", text="Ebb and flow are writ-ten, ebb and flow are sung,",
            says=(Says("ob1", "en dehors", "solo_prominent", (1, 8)),),
        ),
        Scene(
            "one_block", _F,
            "I | IV V | vi ii/6 | V | I/6 IV | V7/V V7 | I/64 V7 | I",
            (
                *chorus(
                    "h h | h q q | h h | h h",
                    {
                        "B": (Copy("hp2"), Copy("bn", -1), Copy("tuba", -1), Copy("db", -1),
                              Copy("vc")),
                        "A": (Copy("ob1"), Copy("vn2")),
                        "S": (Copy("fl1", 1), Copy("glk", 2), Copy("vn1", 1)),
                        "T": (Copy("hn1"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "q rq q q | q q h"),
            ),
            "ff", text="Turn the page of the o-cean, turn and the lamps are lit,",
            chords=(Chords("hp1", ("S", "A", "T", "B"), 58, 75),),
            says=(Says("timp", "rullo", "roll", (8, 8)),),
        ),
    ),
)  # fmt: skip
