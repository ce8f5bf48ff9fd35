"""Harmonics, tremolos, ornaments, tuplets, ossias: items 23 to 30 of the list of pitfalls."""

from __future__ import annotations

from fractions import Fraction

import pytest
from events import assert_events, assert_remark, events, quarters, rows, tables_of

from scores import (
    attributes,
    backup,
    bar,
    element,
    note,
    part,
    score,
    tremolo,
)


def harmonic(*content: str) -> str:
    inner = "".join(f"<{name}/>" for name in content)
    return element("technical", element("harmonic", inner))


def artificial(touching: str, sounding: str | None = None, *, marked: bool = True) -> bytes:
    """D4 with a diamond above it, and as a third note the sounding pitch where one is given."""
    tones = [
        note("D4", 4, notations=harmonic("artificial", "base-pitch") if marked else ""),
        note(
            touching,
            4,
            chord=True,
            notehead="diamond",
            notations=harmonic("artificial", "touching-pitch") if marked else "",
        ),
    ]
    if sounding is not None:
        tones.append(
            note(sounding, 4, chord=True, notations=harmonic("artificial", "sounding-pitch"))
        )
    return score(part(bar(*tones), bar(note("E4", 4)), name="Violin"))


@pytest.mark.parametrize(
    ("touching", "midi", "sounding"),
    [("G4", 86, "D6"), ("A4", 81, "A5"), ("F#4", 90, "F#6")],
)
@pytest.mark.parametrize("marked", [True, False])
def test_pitfall_23_base_and_touched_note_are_one_sound(
    touching: str, midi: int, sounding: str, *, marked: bool
) -> None:
    """Fourth: two octaves; fifth: octave and fifth; major third: two octaves and a third."""
    data = artificial(touching, marked=marked)
    tables = assert_events(data, [(0, 4, midi, sounding), (4, 4, 64, "E4")], plain=False)
    assert sorted(rows(tables, "notes", "source_notes")) == [[0, 1], [2]]


def test_pitfall_23_a_sounding_pitch_that_is_given_wins() -> None:
    assert_events(artificial("G4", "D6"), [(0, 4, 86, "D6"), (4, 4, 64, "E4")], plain=False)


def test_pitfall_23_another_interval_leaves_the_pitch_uncertain() -> None:
    tables = tables_of(artificial("E4"))
    assert rows(tables, "notes", "onset_quarters", "pitch_uncertain") == [
        (0.0, True),
        (4.0, False),
    ]


def test_pitfall_23_a_touched_note_alone_leaves_the_pitch_uncertain() -> None:
    data = score(
        part(
            bar(note("G4", 4, notehead="diamond", notations=harmonic("natural", "touching-pitch"))),
            name="Violin",
        )
    )
    tables = tables_of(data)
    assert rows(tables, "notes", "onset_quarters", "duration_quarters", "pitch_uncertain") == [
        (0.0, 4.0, True)
    ]


def test_pitfall_23_a_natural_harmonic_at_its_sounding_pitch() -> None:
    data = score(
        part(bar(note("A5", 4, notations=harmonic("natural", "sounding-pitch"))), name="Violin")
    )
    assert_events(data, [(0, 4, 81, "A5")])


def test_pitfall_24_a_tremolo_on_one_note_is_one_event() -> None:
    data = score(
        part(
            bar(
                note("C5", 2, notations=tremolo(3)),
                note("D5", 1, notations=tremolo(1)),
                note("E5", 1, notations=tremolo(0, "unmeasured")),
            ),
            name="Violin",
        )
    )
    tables = assert_events(data, [(0, 2, 72, "C5"), (2, 1, 74, "D5"), (3, 1, 76, "E5")])
    assert rows(tables, "notes", "tremolo_strokes", "tremolo_type") == [
        (3, "single"),
        (1, "single"),
        (0, "unmeasured"),
    ]
    assert rows(tables, "notes", "tremolo_pair") == [None, None, None]


def test_pitfall_25_the_two_notes_of_a_tremolo_cover_the_whole_span() -> None:
    data = score(
        part(
            bar(
                note("C4", 4, type_="whole", ratio="2:1", notations=tremolo(3, "start")),
                note("E4", 4, type_="whole", ratio="2:1", notations=tremolo(3, "stop")),
            ),
            bar(note("F4", 8)),
            divisions=2,
            name="Violin",
        )
    )
    tables = assert_events(data, [(0, 4, 64, "E4"), (0, 4, 60, "C4"), (4, 4, 65, "F4")])
    pairs = dict(rows(tables, "notes", "midi", "tremolo_pair"))
    assert pairs[60] is not None
    assert pairs[60] == pairs[64]
    assert pairs[65] is None
    assert rows(tables, "notes", "tremolo_strokes", "tremolo_type", midi=60) == [(3, "double")]
    assert rows(tables, "notes", "tremolo_strokes", "tremolo_type", midi=64) == [(3, "double")]


def test_pitfall_25_chords_and_two_pairs_in_a_bar() -> None:
    data = score(
        part(
            bar(
                note("C4", 1, ratio="2:1", notations=tremolo(2, "start")),
                note("E4", 1, chord=True, ratio="2:1"),
                note("G4", 1, ratio="2:1", notations=tremolo(2, "stop")),
                note("D4", 1, ratio="2:1", notations=tremolo(2, "start")),
                note("F4", 1, ratio="2:1", notations=tremolo(2, "stop")),
                note("A4", 1, chord=True, ratio="2:1"),
            ),
            bar(note("C4", 4)),
            name="Piano",
        )
    )
    tables = assert_events(
        data,
        [
            (0, 2, 67, "G4"),
            (0, 2, 64, "E4"),
            (0, 2, 60, "C4"),
            (2, 2, 69, "A4"),
            (2, 2, 65, "F4"),
            (2, 2, 62, "D4"),
            (4, 4, 60, "C4"),
        ],
    )
    pairs = {
        quarters(ticks): {
            pair for _, pair in rows(tables, "notes", "midi", "tremolo_pair", onset_ticks=ticks)
        }
        for ticks in rows(tables, "notes", "onset_ticks")
    }
    assert len(pairs[Fraction(0)]) == len(pairs[Fraction(2)]) == 1
    assert pairs[Fraction(0)] != pairs[Fraction(2)]


def test_pitfall_25_a_pair_within_a_triplet() -> None:
    """24:8 is a triplet of halves times two: each note a third of a quarter's two."""
    data = score(
        part(
            bar(
                note("C4", 1, ratio="24:8", notations=tremolo(3, "start")),
                note("E4", 1, ratio="24:8", notations=tremolo(3, "stop")),
                note("F4", 1),
            ),
            divisions=3,
        )
    )
    assert_events(
        data,
        [
            (0, Fraction(2, 3), 64, "E4"),
            (0, Fraction(2, 3), 60, "C4"),
            (Fraction(2, 3), Fraction(1, 3), 65, "F4"),
        ],
    )


def test_pitfall_26_trills_under_other_names() -> None:
    marks = [
        "<ornaments><trill-mark/></ornaments>",
        '<articulations><other-articulation smufl="ornamentTrill"/></articulations>',
        '<ornaments><other-ornament smufl="ornamentTrill"/></ornaments>',
    ]
    data = score(part(bar(*(note("C5", 1, notations=mark) for mark in marks), note("D5", 1))))
    tables = assert_events(
        data, [(0, 1, 72, "C5"), (1, 1, 72, "C5"), (2, 1, 72, "C5"), (3, 1, 74, "D5")]
    )
    named = rows(tables, "notes", "ornament")
    assert "trill" in named[0]
    assert named == [named[0], named[0], named[0], None]


@pytest.mark.parametrize(
    ("plain", "hidden"),
    [("mordent", "ornamentMordent"), ("inverted-mordent", "ornamentShortTrill")],
)
def test_pitfall_26_mordents_and_turns_are_one_event(plain: str, hidden: str) -> None:
    """The zigzag without a stroke is the standard's inverted mordent, SMuFL's short trill."""
    data = score(
        part(
            bar(
                note("C5", 2, notations=f"<ornaments><{plain}/></ornaments>"),
                note(
                    "C5",
                    1,
                    notations="<articulations>"
                    f'<other-articulation smufl="{hidden}"/></articulations>',
                ),
                note(
                    "D5",
                    1,
                    notations="<ornaments><turn/><accidental-mark>sharp</accidental-mark>"
                    "</ornaments>",
                ),
            )
        )
    )
    tables = assert_events(data, [(0, 2, 72, "C5"), (2, 1, 72, "C5"), (3, 1, 74, "D5")])
    first, second, turn = rows(tables, "notes", "ornament")
    assert first is not None
    assert second is not None
    assert "turn" in turn


def test_pitfall_27_nested_tuplets_by_their_durations() -> None:
    """Five in the time of four within a triplet, 15:8 of a quarter's eighth part: 2/15 each."""
    data = score(
        part(
            bar(
                *(note("C5", 4, ratio="15:8") for _ in range(5)),
                *(note("D5", 20, ratio="3:2") for _ in range(2)),
                note("E5", 60),
            ),
            divisions=30,
        )
    )
    assert_events(
        data,
        [
            *((Fraction(2 * place, 15), Fraction(2, 15), 72, "C5") for place in range(5)),
            (Fraction(2, 3), Fraction(2, 3), 74, "D5"),
            (Fraction(4, 3), Fraction(2, 3), 74, "D5"),
            (2, 2, 76, "E5"),
        ],
    )


def test_pitfall_27_rounded_triplets_are_read_as_they_stand() -> None:
    data = score(
        part(
            bar(
                note("C5", 3, ratio="3:2"),
                note("D5", 3, ratio="3:2"),
                note("E5", 4, ratio="3:2"),
                note("F5", 10),
            ),
            bar(note("G5", 40)),
            divisions=10,
        )
    )
    assert_events(
        data,
        [
            (0, Fraction(3, 10), 72, "C5"),
            (Fraction(3, 10), Fraction(3, 10), 74, "D5"),
            (Fraction(3, 5), Fraction(2, 5), 76, "E5"),
            (1, 1, 77, "F5"),
            (2, 4, 79, "G5"),
        ],
    )


def test_pitfall_27_elevenths_and_thirteenths_are_exact() -> None:
    data = score(
        part(
            bar(*(note("C5", 1) for _ in range(11)), attributes(divisions=13), note("D5", 39)),
            divisions=11,
        )
    )
    assert_events(
        data,
        [
            *((Fraction(place, 11), Fraction(1, 11), 72, "C5") for place in range(11)),
            (1, 3, 74, "D5"),
        ],
    )


def test_pitfall_27_seventeenths_go_to_the_nearest_tick_and_meet_again() -> None:
    """The tie across the seventeenth holds, the bar is whole, and a remark says what was done."""
    ticks = 11_531_520
    data = score(
        part(
            bar(note("C5", 5, tie="start"), note("C5", 8, tie="stop"), note("D5", 4)),
            bar(note("E5", 17)),
            divisions=17,
        )
    )
    tables = tables_of(data)
    assert rows(tables, "notes", "onset_ticks", "duration_ticks", "midi") == [
        (0, round(Fraction(13 * ticks, 17)), 72),
        (round(Fraction(13 * ticks, 17)), ticks - round(Fraction(13 * ticks, 17)), 74),
        (ticks, ticks, 76),
    ]
    assert_remark(tables, "tick", "fraction", "round")


def test_pitfall_28_an_arpeggio_is_simultaneous() -> None:
    up = '<arpeggiate number="1" direction="up"/>'
    data = score(
        part(
            bar(
                note("C4", 4, notations=up),
                note("E4", 4, chord=True, notations=up),
                note("G4", 4, chord=True, notations=up),
            ),
            name="Harp",
        )
    )
    assert_events(data, [(0, 4, 67, "G4"), (0, 4, 64, "E4"), (0, 4, 60, "C4")])


@pytest.mark.parametrize("line", ["glissando", "slide"])
def test_pitfall_29_a_glissando_links_two_events(line: str) -> None:
    data = score(
        part(
            bar(
                note("C4", 2, notations=element(line, "gliss.", type="start", number=1)),
                note("G4", 2, notations=element(line, type="stop", number=1)),
            ),
            name="Trombone",
        )
    )
    tables = assert_events(data, [(0, 2, 60, "C4"), (2, 2, 67, "G4")])
    first, second = rows(tables, "notes", "note_key", "gliss_to")
    assert first[1] == second[0]
    assert second[1] is None


@pytest.mark.parametrize("kind", ["ossia", "cue", "alternate"])
def test_pitfall_30_a_staff_that_is_not_played(kind: str) -> None:
    """Its notes stay in the table as silent ones, like cue notes, and a remark says so."""
    details = element("staff-details", element("staff-type", kind), number=2)
    data = score(
        part(
            bar(
                attributes(staves=2, details=details),
                note("C5", 4, staff=1, voice=1),
                backup(4),
                note("E5", 4, staff=2, voice=2),
            )
        )
    )
    tables = assert_events(data, [(0, 4, 76, "E5", "cue"), (0, 4, 72, "C5")], plain=False)
    assert_remark(tables, "alternate", kind)


@pytest.mark.parametrize("kind", ["regular", "editorial"])
def test_pitfall_30_other_staves_are_played(kind: str) -> None:
    details = element("staff-details", element("staff-type", kind), print_object="no")
    data = score(part(bar(attributes(details=details), note("C5", 4))))
    assert_events(data, [(0, 4, 72, "C5")])


def test_pitfall_30_a_staff_becomes_regular_again() -> None:
    def details(kind: str) -> str:
        return attributes(details=element("staff-details", element("staff-type", kind)))

    data = score(
        part(
            bar(note("C5", 4)),
            bar(details("ossia"), note("D5", 4)),
            bar(details("regular"), note("E5", 4)),
        )
    )
    tables = tables_of(data)
    assert events(tables) == [(0, 4, 72, "C5"), (4, 4, 74, "D5", "cue"), (8, 4, 76, "E5")]
