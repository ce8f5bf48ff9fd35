"""Glass Buoys: A flat major, three beats. Cornet in A flat, small clarinets, piccolo in D flat."""

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
    ground,
    lead,
    pedal,
)  # fmt: skip

_AS, _F, _ES = Key(-4, "major"), Key(-4, "minor"), Key(-3, "major")

GLASS_BUOYS = Study(
    stem="glass_buoys",
    number=3,
    title="Glass Buoys",
    opening="Tempo di valzer lento",
    beats_per_minute=96,
    time=(3, 4),
    parts=(
        part("fl1", "flute", "Flute 1"),
        part("fl2", "flute", "Flute 2", (3, "piccolo-dflat", "muta in Flauto piccolo in Des")),
        part("ob", "oboe"),
        part("acl", "clarinet-aflat"),
        part("ecl", "clarinet-eflat"),
        part("cl", "clarinet-bflat"),
        part("bn", "bassoon"),
        part("hn", "horn-f"),
        pair("cnt", "cornet-aflat", "Cornet in A♭ 1.2"),
        part("tbn", "trombone"),
        part("tuba", "tuba"),
        part("timp", "timpani"),
        part("trg", "triangle"),
        HARP,
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("fl1", "bn"), ("hn", "tuba")),
    scenes=(
        Scene(
            "melody_over_sustained_harmony", _AS,
            "I | vi | IV | V7 | I | ii7 | V7 | I",
            (
                lead("glass", "ecl", "h q | q q q | q. e q | h rq",
                     (Copy("fl1"), Copy("fl2", bars=(1, 4)), Copy("acl", 1, bars=(5, 8)))),
                *background("held", ("hn", "cl", "va1"), {}, 62),
                ground("bass", "vc", "h. | h q", (Copy("db", -1),), high=56),
            ),
            "p", leading="mp", swell="crescendo",
            says=(Says("vc", "a punta d'arco", "at_tip", (1, 8), "ordinario", "ord"),),
        ),
        Scene(
            "melody_over_repeated_notes", _AS,
            "I | V/6 | vi | iii | IV | I/6 | ii/6 | V",
            (
                lead("song", "S", "h q | q q q | h q | h q",
                     (Copy("A"), Copy("cnt1"), Copy("cnt2"), Copy("vn1", 1)), low=62, high=74),
                ground("bass", "vc", "h q | q q q", (Copy("db", -1), Copy("bn"))),
                *background("repeated", ("vn2", "va1", "tbn"), {}, 62),
            ),
            "mf", text="Green glass, blue glass, float-ing and hold-ing the nets of the moon,",
            says=(Says("vc", "solo", "solo", (1, 8), "tutti", "tutti"),),
        ),
        block(
            _F, "i | iv | V | i | VI | ii/6 | i/64 V | i",
            "h q | q h | q q q | h q",
            {
                "B": (Copy("bn", -1), Copy("vc")),
                "A": (Copy("cl", -1),),
                "S": (Copy("fl2", 2), Copy("ob"), Copy("vn1", 0, "reiterated")),
                "T": (Copy("hn"), Copy("tbn")),
            },
            "p", "Dark is the deep and cold the line, thin is the glass that bears it,",
        ),
        Scene(
            "melody_over_figuration", _ES,
            "I | IV | V7 | I | vi | ii7 | V7 | I",
            (
                lead("song", "vn1", "q. e e e | q. e e e | e e e e e e | h rq",
                     (Copy("fl1"), Copy("cnt1", -1, "main_notes"),
                      Copy("vn2", 0, "along", -2)), low=66),
                ground("bass", "vc", "h q | h.", (), low=40),
                figure("bells", "hp1", "e e e e e e", "wave", (), low=60, high=84),
                figure("rings", "hp2", "q q q", "rock", (), low=44, high=62),
            ),
            "mp", leading="mf",
            says=(
                Says("hp1", "armonici", "harmonics", (1, 4), "ordinario", "ord"),
                Says("cnt1", "con sordino", "mute_on", (1, 8), "senza sordino", "mute_off"),
            ),
            worded=(Worded("db", "col Violoncello", "vc", -1),),
            beats=(Beats("trg", "rh q | q rh"),),
        ),
        Scene(
            "two_lines", _F,
            "i | V/6 | i | iv | VI | ii | V7 | i",
            (
                lead("reed", "ob", "q q q | q. e q | h q | q q q",
                     (Copy("acl", 1), Copy("va1", -1)), low=62),
                counter("bow", "vc", "h q | q q q | q. e q | h q",
                        (Copy("bn"), Copy("tbn", 1, "displaced")), low=43, high=57),
            ),
            "mp",
        ),
        Scene(
            "one_block", _AS,
            "I | IV | V7 | I | ii7 | V | I/64 V | I",
            (
                *chorus(
                    "h q | q q q | h q | q h",
                    {
                        "B": (Copy("hp2"), Copy("tuba", -1), Copy("db", -1), Copy("vc")),
                        "A": (Copy("cl"), Copy("vn2"), Copy("cnt2")),
                        "S": (Copy("fl1", 1), Copy("ecl"), Copy("vn1", 1), Copy("cnt1")),
                        "T": (Copy("hn"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "q rq q | q q q"),
            ),
            "f", text="Rise with the wa-ter and ring, ring till the boats are a-wake,",
            chords=(Chords("hp1", ("S", "A", "T", "B"), 56, 75),),
            says=(Says("hp1", "non arpeggiato", "non_arpeggio", (1, 8)),),
        ),
    ),
)  # fmt: skip
