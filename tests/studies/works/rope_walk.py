"""Rope Walk: A major. Horns in E, trumpet in D, clarinets in A; contact of the bow, the hand."""

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

_A, _E, _FIS = Key(3, "major"), Key(4, "major"), Key(3, "minor")

ROPE_WALK = Study(
    stem="rope_walk",
    number=2,
    title="Rope Walk",
    opening="Allegro moderato",
    beats_per_minute=104,
    time=(4, 4),
    parts=(
        part("pic", "piccolo"),
        part("fl", "flute"),
        part("ob", "oboe"),
        part("cl", "clarinet-a", "Clarinet in A 1"),
        part("cl2", "clarinet-a", "Clarinet in A 2",
             (3, "bass-clarinet-a", "muta in Clarinetto basso in La"), "sound"),
        part("bn", "bassoon"),
        pair("hn", "horn-e", "Horn in E 1.2"),
        part("tpt", "trumpet-d"),
        part("tbn", "trombone"),
        part("btb", "bass-trombone"),
        part("timp", "timpani"),
        part("cym", "cymbals"),
        part("bd", "bass-drum"),
        HARP,
        *VOICES,
        *STRINGS,
    ),
    groups=groups(("pic", "bn"), ("hn", "btb")),
    scenes=(
        Scene(
            "melody_over_repeated_notes", _A,
            "I | ii/6 V | I | IV | I/6 ii | V7/65 I | ii7 V7 | I",
            (
                lead("walk", "vn1", "q. e q q | e e q q q | h q e e | h. rq",
                     (Copy("fl"), Copy("pic", 1, bars=(5, 8)))),
                ground("bass", "vc", "h h | q q h", (Copy("db", -1), Copy("bn"))),
                *background("repeated", ("hn1", "hn2", "va1"), {}, 64),
            ),
            "mf", leading="f", swell="diminuendo",
            says=(Says("db", "at the frog", "at_frog", (1, 4), "ordinario", "ord"),),
        ),
        block(
            _FIS, "i | iv V | VI ii | V | i V/6 | i/6 iv | i/64 V7 | i",
            "h q q | q q h | h h | q q h",
            {
                "B": (Copy("bn", -1), Copy("btb")),
                "A": (Copy("cl", -1), Copy("cl2", -1, bars=(1, 4))),
                "S": (Copy("fl", 1), Copy("ob"), Copy("vn2", 0, "reiterated")),
                "T": (Copy("hn1"), Copy("hn2")),
            },
            "mp", "Walk the rope-walk, back-ward go-ing, hemp up-on the fin-gers turn-ing, "
            "twist the day in-to the strand,",
            says=(Says("hn1", "chiuso", "stopped", (5, 8), "aperto", "open_horn"),),
        ),
        Scene(
            "two_lines", _A,
            "I | V/6 | vi | iii | IV | I/6 | ii7 | V",
            (
                lead("above", "S", "h q q | q q h", (Copy("A"), Copy("vn1"), Copy("tpt")),
                     low=62, high=74),
                counter("below", "B", "q q h | h q q",
                        (Copy("T"), Copy("cl2"), Copy("tbn")), low=48, high=62),
            ),
            "f", text="All the long shed hears our step, all the long tide waits for us,",
            swell="diminuendo",
        ),
        Scene(
            "melody_over_figuration", _E,
            "I | vi | IV | V7 | I/6 | ii7 | V7 | I",
            (
                lead("song", "ob", "h q q | q. e q q | q e e h | h. rq",
                     (Copy("cl", -1), Copy("fl", 0, "along", 2, (1, 8))), low=64),
                ground("bass", "db", "h h | h q q", (Copy("cl2", 1, "displaced"),), low=30),
                figure("threads", "vn2", "e e e e e e e e", "up", (), low=58, high=79),
                figure("strands", "va1", "e e e e e e e e", "fall", (Copy("hp1"),),
                       low=50, high=72),
            ),
            "p", leading="mp",
            says=(
                Says("vn2", "sul tasto", "sul_tasto", (1, 8), "ordinario", "ord"),
                Says("fl", "frullato", "flutter", (5, 6), "ordinario", "ord"),
            ),
            worded=(Worded("bn", "col Contrabasso", "db"),),
        ),
        Scene(
            "three_or_more_lines", _FIS,
            "i | V | i | V7/iv | iv | i/6 | ii7 V7 | i",
            fugato(
                (("B", 54), ("T", 60), ("A", 65), ("S", 71)),
                "h q e e | q q h | e e q q q | h h", 8,
                {
                    "B": (Copy("bn"), Copy("vc")), "T": (Copy("hn1"), Copy("va1")),
                    "A": (Copy("cl"), Copy("vn2")), "S": (Copy("ob"), Copy("vn1")),
                }, delay=1,
            ),
            "mf", text="One pulls, one turns, one counts the paces,", swell="crescendo",
        ),
        Scene(
            "one_block", _A,
            "I IV | V I | vi ii | V7/V V | I/6 IV | ii/6 V | I/64 V7 | I",
            (
                *chorus(
                    "h h | q q h | h h | h q q",
                    {
                        "B": (Copy("hp2"), Copy("btb", -1), Copy("db", -1), Copy("vc")),
                        "A": (Copy("cl"), Copy("vn2")),
                        "S": (Copy("pic", 1), Copy("fl"), Copy("vn1", 1), Copy("tpt")),
                        "T": (Copy("hn1"), Copy("hn2"), Copy("tbn"), Copy("va1")),
                    },
                ),
                pedal("drum", "timp", "q q rh | q q q q"),
            ),
            "ff", text="Haul it a-way to the har-bour, haul and the ship shall ride,",
            chords=(Chords("hp1", ("S", "A", "T", "B"), 57, 76),),
            beats=(Beats("cym", "rw | rh rq q", (5, 8)), Beats("bd", "h rh", (5, 8))),
        ),
    ),
)  # fmt: skip
