"""Measures of lines, pairs and bars on four bars reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pyarrow as pa
import pytest

from collaparte import reference
from collaparte.measures.textures.analysis import Analysis, analyse
from collaparte.measures.textures.company import companies
from collaparte.measures.textures.figures import figures
from collaparte.measures.textures.grid import grid
from collaparte.measures.textures.lines import PART_KINDS, present_lines
from collaparte.measures.textures.naming import traits
from collaparte.measures.textures.roles import ROLES
from collaparte.measures.textures.windows import windows
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score

# Four bars of 4/4. A melody, the same an octave lower, whole notes, quavers on one pitch.
TUNE = [
    *melody([76, 77, 79, 81]),
    Note(4, 2, 79), Note(6, 1, 77), Note(7, 1, 76),
    *melody([76, 77, 79, 81], start=8),
    Note(12, 4, 76),
]  # fmt: skip
OCTAVE = [replace(note, midi=note.midi - 12) for note in TUNE]
LONG = melody([60, 59, 60, 60], length=4)
QUAVERS = melody([48] * 8 + [43] * 8 + [48] * 16, length=0.5)
LINES = [
    Line(TUNE),
    Line(OCTAVE, "oboe", subfamily="oboes"),
    Line(LONG, "horn", "brass", "horns"),
    Line(QUAVERS, "cello", "string", "violins"),
]
FLUTE, OBOE, HORN, CELLO = range(4)


def analysed(lines: list[Line], settings: Settings | None = None, bar: int = 4) -> Analysis:
    tables = score(lines, bar)
    return analyse(
        tables["notes"], tables["lines"], tables["bars"], reference.load(), settings or Settings()
    )


@pytest.fixture(scope="module")
def four_bars() -> Analysis:
    return analysed(LINES)


def test_window_is_the_bar_and_half_of_each_neighbour(four_bars: Analysis) -> None:
    # All lines play in all bars (likeness 1). Bars two apart have their middles 8 quarters
    # apart, more than 4. So bar 2 is measured over bars 1, 2, 3 with weights 1/2, 1, 1/2.
    lines = four_bars.lines
    # Flute: 4, 3, 4 notes: (2 + 3 + 2) / 2 bars. Moves 3, 3, 3: bar 1 has no step into its
    # first note, and bar 3 begins on the E that bar 2 ends on.
    assert lines.attacks[1].tolist() == [3.5, 3.5, 1, 8]
    assert lines.moves[1].tolist() == [3, 3, 0.75, 0.75]
    assert lines.attacks[0, FLUTE] == (4 + 0.5 * 3) / 1.5


def test_held_repeated_and_kinds(four_bars: Analysis) -> None:
    # Long about 0.45 of the bar = 1.8 quarters: twice the mean distance of the onsets (16
    # quarters' worth of quavers, 1/2 quarter each) is only 1. Degrees rise over 0.6 of it to
    # either side, 2.16 quarters in all. The flute holds its G for 2 of 8 quarters, 6 are crotchets.
    lines = four_bars.lines
    crotchet, minim = 0.5 - 0.8 / 2.16, 0.5 + 0.2 / 2.16
    flute = (6 * crotchet + 2 * minim) / 8
    assert lines.held[1] == pytest.approx([flute, flute, 1, 0])
    assert lines.repeated[1].tolist() == [0, 0, 0, 1]
    assert lines.figured[1].tolist() == [0, 0, 0, 0]
    assert [PART_KINDS[kind] for kind in lines.kind[1]] == [
        "line", "line", "sustained", "repeated",
    ]  # fmt: skip


def test_outer_lines_and_different_values(four_bars: Analysis) -> None:
    lines = four_bars.lines
    assert lines.highest[1].tolist() == [1, 0, 0, 0]
    assert lines.lowest[1].tolist() == [0, 0, 0, 1]
    assert lines.values[1].tolist() == [2, 2, 1, 1]
    # E5 F5 G5 A5 | G5 (2) F5 E5 | E5 F5 G5 A5: 312 and 311 and 312, over 4 quarters each.
    assert lines.pitch[1, FLUTE] == pytest.approx((78.25 + 2 * 77.75 + 78.25) / 4)
    # Flute: beats 1234, 134, 1234, 1: of all places 3/4, 3/4 and 1/4 are in common with the bar
    # before, the middle one counting twice.
    assert lines.kept_rhythm[2].tolist() == [2.5 / 4, 2.5 / 4, 1, 1]


def test_pairs(four_bars: Analysis) -> None:
    pairs = four_bars.pairs
    assert pairs.rhythm[1, FLUTE, OBOE] == 1
    assert pairs.pitch[1, FLUTE, OBOE] == 1
    # All 7 weighted notes of the flute begin with one of 16 quavers; 2 with the horn's 2.
    assert pairs.rhythm[1, FLUTE, CELLO] == 7 / 16
    assert pairs.rhythm[1, FLUTE, HORN] == 2 / 7
    # Flute and cello share one pitch class alone (G, for 2 quarters): no likeness of pitch.
    assert pairs.pitch[1, FLUTE, CELLO] == 0
    assert pairs.distance[1, FLUTE, CELLO] == 9 / 16
    assert np.array_equal(pairs.distance, pairs.distance.transpose(0, 2, 1))


def test_pitch_is_the_product_of_two_shares() -> None:
    # The lower line has two of four notes of the upper one: same class in 2 of its 4 quarters
    # (it holds each for two), both its onsets in common: P = 1/2 × 1. Its F comes in early, so
    # that half of its notes alone are met by one of their class.
    upper, lower = melody([60, 62, 64, 65] * 2), melody([48, 53, 48, 53], length=2)
    assert analysed([Line(upper), Line(lower)]).pairs.pitch[0, 0, 1] == 0.5


def test_main_notes_are_one_layer_with_the_ornamented_line() -> None:
    # The lower line strikes every other quaver of the upper one, an octave lower, and holds it:
    # same class in half of its time, but all its notes are met by one of their class.
    upper = melody([72, 74, 76, 77, 79, 77, 76, 74], 0.5)
    lower = melody([60, 64, 67, 64], 1)
    found = analysed([Line(upper), Line(lower)])
    assert found.pairs.pitch[0, 0, 1] == 1
    assert found.layers.in_bar.tolist() == [1]
    # Three notes at least: two may meet by chance.
    assert analysed([Line(upper), Line(melody([60, 67], 2))]).pairs.pitch[0, 0, 1] == 0.25


def test_layers_roles_and_the_six_measures(four_bars: Analysis) -> None:
    layers = four_bars.layers
    second = layers.bar == 1
    assert layers.number[layers.layer[second]].tolist() == [0, 0, 1, 2]
    assert [ROLES[role] for role in four_bars.roles[layers.bar_of == 1]] == [
        "leading_line", "sustained_harmony", "repeated_notes",
    ]  # fmt: skip
    assert layers.line[four_bars.leads & second].tolist() == [FLUTE]
    # Part-times 8, 4, 4 quarters.
    root = np.sqrt([8, 4, 4])
    s = root / root.sum()
    # The horn moves 0.75 a bar: sustained but for 0.5 − 1.05/2.16 (1.8 moves), and background but
    # for 0.5 − 0.35/1.32 (1.1 moves), which is more. It leads, as the cello does, by e^(score ÷ 2)
    # × what is not background.
    sustained = 1 - (0.5 - 1.05 / 2.16)
    free = np.array([1, 1, 0.5 - 0.35 / 1.32, 1])
    lead = np.exp(four_bars.lead_score[second] / 2) * (free + 1e-4)
    leads = free * lead / lead.sum()
    assert four_bars.six[1] == pytest.approx(
        [
            (s**2).sum(),
            0,
            (1 + leads[HORN] + leads[CELLO]) / 3,
            s[1] * sustained * (1 - leads[HORN]),
            s[2] * (1 - leads[CELLO]),
            0,
        ],
        abs=2e-4,
    )


def test_company_of_a_line_by_distance() -> None:
    # Both begin a note a bar: R = 1. One holds it, the other lets go after a part of it, so that
    # T is that part, and the looser distance 1 − √T. Wholly together up to 0.25, not from 0.55 on.
    held = [Note(bar * 4, 4, 60 + bar) for bar in range(4)]
    for quarters, together in ((3, 1), (1, 1 / 6), (0.5, 0)):
        short = [Note(bar * 4, quarters, 72 - bar % 2) for bar in range(4)]
        found = analysed([Line(held), Line(short), Line(QUAVERS)])
        assert found.pairs.loose_distance[1, 0, 1] == pytest.approx(1 - np.sqrt(quarters / 4))
        alike = companies(found.lines, found.pairs, Settings())
        assert alike[1, 0, 1] == pytest.approx(together)
        assert alike[1].diagonal().tolist() == [1, 1, 1]


def test_company_by_layers_has_the_measures_of_the_layer(four_bars: Analysis) -> None:
    measures = four_bars.layer_measures
    assert measures.lines[1].tolist() == [2, 2, 1, 1]
    root = np.sqrt([8, 4, 4])
    s = root / root.sum()
    # Flute and oboe have half of the share of their layer each.
    assert measures.share[1] == pytest.approx([s[0] / 2, s[0] / 2, s[1], s[2]])
    assert measures.part_time[1].tolist() == [0.25] * 4
    assert measures.moves[1].tolist() == [3, 3, 0.75, 0.75]
    assert measures.one_class[1].tolist() == [False] * 4
    assert measures.lowest[1].tolist() == [0, 0, 0, 1]


def test_traits_nearest_texture_and_margin(four_bars: Analysis) -> None:
    # No second line and no single layer: the background, .289 and .292, counts in full (1/2),
    # as .495 to .505 of squares. Squared distances of 0 0 0 .248 .253 0 to melody over repeated
    # notes and over sustained harmony: .0677 and .0723.
    assert four_bars.marked[1] == pytest.approx([0, 0, 0, 0.2475, 0.2525, 0], abs=0.0002)
    named = four_bars.named
    names = [centre.texture for centre in reference.load().texture_centres]
    assert names[named.texture[1]] == "melody_over_repeated_notes"
    assert names[named.next_texture[1]] == "melody_over_sustained_harmony"
    near, far = np.sqrt(0.0677), np.sqrt(0.0723)
    assert named.margin[1] == pytest.approx((far - near) / (far + near), abs=0.001)


def test_traits_of_bars_of_each_texture() -> None:
    # Half of a trait at its setting: 0.7 of concentration, 0.75 of one pitch class, 1.6 and 2.4
    # lines, 0.125 of background. From .4 to 1 for one layer, from .5 to 1 for one pitch class.
    six = np.array(
        [
            [1, 1, 1 / 3, 0, 0, 0],
            [0.7, 0.75, 1.6 / 3, 0.1, 0, 0.025],
            [0.3, 0.5, 1, 0.4, 0, 0],
            [0.4, 0, 1 / 3, 0.4, 0.2, 0],
        ]
    )
    found = traits(six, Settings())
    assert found[0] == pytest.approx([2 / 3, 1, 0, 0, 0, 0])
    # The background is half there, and half of it is taken by the second line: 1/8, 16 to 1.
    assert found[1] == pytest.approx([1 / 3, 0.5, 1 / 6, 2 / 17, 0, 1 / 136])
    assert found[2] == pytest.approx([0, 0, 2 / 3, 0, 0, 0])
    assert found[3] == pytest.approx([0, 0, 0, 0.4, 0.1, 0])


def test_common_rhythm_counts_less_where_one_line_is_short(four_bars: Analysis) -> None:
    # Both begin a note a bar; one holds it, the other lets go after a quarter of it: T = 1/4.
    held = [Note(bar * 4, 4, 60 + bar) for bar in range(4)]
    short = [Note(bar * 4, 1, 72 - bar) for bar in range(4)]
    pairs = analysed([Line(held), Line(short), Line(QUAVERS)]).pairs
    assert (pairs.rhythm[1, 0, 1], pairs.together[1, 0, 1]) == (1, 0.25)
    assert pairs.distance[1, 0, 1] == 0.75


def test_contrary_motion_parts_lines_that_share_half_their_rhythm() -> None:
    # Common onsets: beats 1 and 3, at which both move, against each other. R = 2 / 6.
    upper = [Note(at, 1, midi) for at, midi in zip([0, 1, 2, 3], [72, 74, 76, 74], strict=True)]
    lower = [Note(at, length, midi) for at, length, midi in
             [(0, 1.5, 60), (1.5, 0.5, 62), (2, 1.5, 59), (3.5, 0.5, 60)]]  # fmt: skip
    found = analysed([Line(upper), Line(lower)])
    assert found.pairs.rhythm[0, 0, 1] == 2 / 6
    # The first notes have no direction; on beat 3 one rises and the other falls.
    assert found.pairs.contrary[0, 0, 1] == 1
    # 1/3 − 3/4 × 2/3 is less than nothing; P = 1.5/4 × 2/4 (C on beat 1, D before beat 3).
    assert found.pairs.distance[0, 0, 1] == 1 - 3 / 16
    assert found.layers.in_bar.tolist() == [2]


def test_contrary_motion_counts_in_a_subject_of_repeated_notes() -> None:
    # Upper: G struck three times, then F; lower: quarters in which it rises there. Common
    # onsets 1, 2, 3, 4 of 4 and 5: R = 4/5. Both move on beat 4 alone, against each other.
    upper = [Note(at, 1, midi) for at, midi in enumerate([67, 67, 67, 65])]
    lower = [Note(at, length, midi) for at, length, midi in
             [(0, 0.5, 50), (0.5, 0.5, 52), (1, 1, 52), (2, 1, 52), (3, 1, 53)]]  # fmt: skip
    found = analysed([Line(upper), Line(lower)])
    assert [PART_KINDS[kind] for kind in found.lines.kind[0]] == ["repeated", "repeated"]
    assert found.pairs.contrary[0, 0, 1] == 1
    # One move a bar is melodic by half and a little more: 0.9 is the threshold.
    melodic = 0.5 + 0.1 / 1.08
    assert found.pairs.distance[0, 0, 1] == pytest.approx(1 - (4 / 5 - melodic * 0.75 / 5))


def test_tremolo_meets_tremolo_and_written_repeats() -> None:
    strokes = {"tremolo_strokes": 3}
    upper = [Note(bar * 4, 4, 60 + bar, strokes) for bar in range(4)]
    lower = [Note(bar * 4 + half, 2, 55 + bar, strokes) for bar in range(4) for half in (0, 2)]
    written = [Note(i / 4, 0.25, 64 + i // 16) for i in range(64)]
    blows = [Note(bar * 4, 1, 72 + bar) for bar in range(4)]
    pairs = analysed([Line(upper), Line(lower), Line(written), Line(blows)]).pairs
    # 1 of 1 and 2 beginnings and 16 strokes a bar in common: (1 + 16) ÷ (1 + 2 − 1 + 16).
    assert pairs.rhythm[1, 0, 1] == pytest.approx(17 / 18)
    # Of 16 written notes a bar one begins with the tremolo and 15 repeat within it.
    assert pairs.rhythm[1, 0, 2] == 1
    # The blow begins with the tremolo as it is written, and is silent for 3 of 4 quarters.
    assert (pairs.rhythm[1, 0, 3], pairs.together[1, 0, 3]) == (1, 0.25)


def test_missing_note_counts_as_silence_alone() -> None:
    # One crotchet of four is missing below: T = 3/4, and all that is left is in common.
    notes = melody([60, 62, 64, 65] * 2)
    gaps = [note for place, note in enumerate(notes) if place % 4 != 2]
    below = [replace(note, midi=note.midi - 5) for note in gaps]
    pairs = analysed([Line(notes), Line(below)]).pairs
    assert pairs.rhythm[:, 0, 1].tolist() == [1, 1]
    assert pairs.distance[:, 0, 1].tolist() == [0.25, 0.25]


@pytest.mark.parametrize("factor", [0.9, 1.1])
def test_a_little_of_a_threshold_changes_little(factor: float) -> None:
    # A degree rises over 1.2 of its threshold, so that a tenth of that moves it by 1/12 and a bit.
    given = Settings()
    names = ("held_bar_share", "held_seconds", "held_onsets", "held_moves", "kind_share")
    settings = replace(given, **{name: factor * getattr(given, name) for name in names})
    lines = [Line(melody([60, 62] * 4, 2)), Line(melody([72, 74, 76, 77] * 4))]
    here, there = analysed(lines), analysed(lines, settings)
    assert np.abs(here.lines.held - there.lines.held).max() < 0.1
    assert np.abs(here.lines.kinds - there.lines.kinds).max() < 0.2
    assert here.lines.held[1].tolist() != there.lines.held[1].tolist()


def test_short_chords_with_rests_between_are_no_line_and_no_figure() -> None:
    # After each beat a quaver of a triad up and down: it sounds half the time, in one rhythm.
    after = [Note(place + 0.5, 0.5, (60, 64, 67, 64)[place % 4]) for place in range(16)]
    found = analysed([Line(TUNE), Line(after)])
    assert found.lines.sounding[1].tolist() == [1, 0.5]
    # Bars 2 and 3 of the window, with weights 1 and 1/2, have the rhythm of the bar before.
    assert found.lines.kept_rhythm[1, 1] == 0.75
    assert [PART_KINDS[kind] for kind in found.lines.kind[1]] == ["line", "chords"]
    full = [replace(note, onset=note.onset - 0.5, length=1) for note in after]
    kinds = analysed([Line(TUNE), Line(full)]).lines.kind[1]
    assert [PART_KINDS[kind] for kind in kinds] == ["line", "figured"]


def test_a_layer_of_held_and_repeated_notes_counts_as_both() -> None:
    # Horn and tremolo change chords together: one layer, twice 4 quarters beside 4 of the tune.
    held = melody([60, 62, 60, 62], length=4)
    tremolo = [Note(bar * 4, 4, 55 - bar % 2, {"tremolo_strokes": 3}) for bar in range(4)]
    found = analysed([Line(TUNE), Line(held), Line(tremolo)])
    assert found.layers.in_bar.tolist() == [2, 2, 2, 2]
    assert [PART_KINDS[kind] for kind in found.lines.kind[1]] == ["line", "sustained", "repeated"]
    root = np.sqrt([4, 8])
    both = root[1] / root.sum()
    # Less what leads a little, and what of the horn is not sustained at 1 move a bar.
    assert found.six[1, 3:] == pytest.approx([both / 2, both / 2, 0], abs=0.01)


def test_imitation_parts_voices_of_one_rhythm() -> None:
    # Quavers in both voices; the lower has bar by bar what the upper had a bar before.
    line = [72, 74, 76, 77, 79, 81, 83, 84, 83, 81, 79, 77, 79, 77, 76, 74,
            72, 71, 69, 71, 72, 74, 76, 77, 76, 77, 79, 81, 79, 77, 76, 74]  # fmt: skip
    upper = melody(line, 0.5)
    lower = melody([midi - 12 for midi in [81, 79, 77, 79, 77, 76, 74, 72, *line[:24]]], 0.5)
    free = analysed([Line(upper), Line(lower)])
    assert free.pairs.rhythm[1, 0, 1] == 1
    assert free.pairs.imitation[2, 0, 1] > 0.7
    assert free.layers.in_bar.tolist()[1:] == [2, 2, 2]
    # In thirds below at the same time it is no imitation.
    parallel = analysed([Line(upper), Line([replace(n, midi=n.midi - 3) for n in upper])])
    assert parallel.layers.in_bar.tolist() == [1, 1, 1, 1]


def test_bass_and_after_beat_are_one_layer() -> None:
    bass = [Note(bar * 4 + beat, 0.5, 43) for bar in range(4) for beat in range(4)]
    after = [Note(bar * 4 + beat + 0.5, 0.5, 60) for bar in range(4) for beat in range(4)]
    found = analysed([Line(TUNE), Line(after), Line(bass)])
    assert found.pairs.rhythm[2, 1, 2] == 0
    layers = found.layers
    assert layers.number[layers.layer[layers.bar == 2]].tolist() == [0, 1, 1]


def test_strokes_on_one_note_of_a_chord_are_strokes_on_all() -> None:
    upper = Line([Note(0, 4, 64, {"staff": 1})], part=0)
    lower = Line([Note(0, 4, 60, {"staff": 1, "tremolo_strokes": 3})], part=0)
    assert analysed([upper, lower]).lines.repeated[0].tolist() == [1, 1]


def test_short_bars_in_fast_time_reach_further() -> None:
    tables = score([Line(melody([60, 62] * 12))], bar_quarters=3)
    fast = tables["bars"].set_column(
        tables["bars"].schema.get_field_index("tempo_quarters_per_minute"),
        "tempo_quarters_per_minute",
        pa.array([240.0] * 8),
    )

    def window(bars: pa.Table) -> list[float]:
        ground = grid(tables["notes"], tables["lines"], bars, 100)
        present, _ = present_lines(ground, Settings())
        return windows(ground, present, Settings()).weight[4].tolist()

    assert window(tables["bars"]) == [0, 0, 0.5, 1, 0.5, 0, 0]
    # 2.4 seconds are 9.6 quarters: three bars of three quarters.
    assert window(fast) == [0.5, 0.5, 0.5, 1, 0.5, 0.5, 0.5]


def figured(pitches: list[int], length: float = 0.5) -> list[bool]:
    tables = score([Line(melody(pitches, length))])
    found = figures(grid(tables["notes"], tables["lines"], tables["bars"], 100), Settings())
    return found.figured.tolist()


@pytest.mark.parametrize(
    ("pitches", "wanted"),
    [
        ([60, 64] * 4, True),  # alternating
        ([60, 67, 64, 67] * 2, True),  # broken chord
        ([48, 55, 60, 64, 67, 72, 67, 64], True),  # arpeggio up and down
        ([60, 62, 64, 65, 67, 69, 71, 72], False),  # scale
        ([60, 64, 62, 65, 64, 67, 65, 69], True),  # broken thirds: every other step is a leap
    ],
)
def test_figures_of_eight_quavers(pitches: list[int], wanted: bool) -> None:
    assert figured(pitches) == [wanted] * 8


def test_tremolos() -> None:
    strokes = [Note(0, 4, 60, {"tremolo_strokes": 3})]
    paired = [Note(0, 2, 60, {"tremolo_pair": 1}), Note(2, 2, 64, {"tremolo_pair": 1})]
    lines = analysed([Line(strokes), Line(paired), Line(melody([72], length=4))]).lines
    assert lines.repeated[0].tolist() == [1, 0, 0]
    assert lines.figured[0].tolist() == [0, 1, 0]
    # Two onsets in four quarters: twice their mean distance is the length of the held note.
    assert lines.held[0].tolist() == [0, 0, 0.5]


def test_three_equal_pitches_are_repeated_two_are_not() -> None:
    lines = analysed([Line(melody([60, 60, 60, 62])), Line(melody([60, 60, 62, 62]))]).lines
    assert lines.repeated[0].tolist() == [0.75, 0]


def test_one_voice_alone_is_one_line_and_a_voice_with_a_resting_partner_is_not() -> None:
    alone = analysed([Line(TUNE)])
    assert alone.six[:, :2].tolist() == [[1, 1]] * 4
    # The partner answers on the last quaver of each bar: two layers, never together.
    answer = [Note(bar * 4 + 3.5, 0.5, 60 + bar) for bar in range(4)]
    short = [replace(note, length=min(note.length, 0.5)) for note in TUNE]
    both = analysed([Line(short), Line(answer)])
    assert both.layers.in_bar.tolist() == [2, 2, 2, 2]
    assert both.six[:3, 1].tolist() == [0, 0, 0]
