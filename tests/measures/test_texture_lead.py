"""The leading line: recurrence of themes, evidence and its weights."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from test_texture_measures import LINES, QUAVERS, TUNE, analysed

from collaparte import reference
from collaparte.measures.textures.grid import grid
from collaparte.measures.textures.lead import lead_points, lead_scores, leaders
from collaparte.measures.textures.themes import Recurrence, note_groups, recurrence
from collaparte.reference.rows import LeadWeight
from collaparte.schema import TABLES
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score

SUBJECT = [72, 74, 76, 77]  # with the next note: C D E F | G
COUNTER = [64, 62, 65, 67]


def of_lines(lines: list[list[Note]]) -> Recurrence:
    tables = score([Line(notes) for notes in lines])
    ground = grid(tables["notes"], tables["lines"], tables["bars"], 100)
    return recurrence(ground, note_groups(ground))


def test_theme_comes_back_in_transposition() -> None:
    # Bars 1 and 2: the upper line has C D E F | G. Bars 4 and 5: the lower one has it a fifth
    # lower. Each has five notes in a group, four in the first bar and one in the second. The
    # group begins in two bars and in two lines: log2 of 2.
    upper = melody([*SUBJECT, 79])
    lower = [replace(note, onset=note.onset + 12, midi=note.midi - 7) for note in upper]
    found = of_lines([upper, lower])
    assert found.bars.tolist() == [[1, 0], [1, 0], [0, 0], [0, 1], [0, 1]]
    assert np.array_equal(found.lines, found.bars)
    assert found.long_lines.max() == 0


def test_return_in_the_same_line_is_of_one_line() -> None:
    notes = [*melody([*SUBJECT, 79]), *melody([*SUBJECT, 79], start=12)]
    found = of_lines([notes])
    assert found.bars[:, 0].tolist() == [1, 1, 0, 1, 1]
    assert found.lines.max() == 0


def test_long_melody_comes_back_in_other_note_values() -> None:
    pitches = [72, 74, 76, 77, 79, 77, 76, 79, 81, 83]
    found = of_lines([melody(pitches), melody(pitches, length=2, start=12)])
    assert found.lines.max() == 0
    assert found.long_lines[:, 0].tolist() == [1, 1, 1, 0, 0, 0, 0, 0]
    assert found.long_lines[:, 1].tolist() == [0, 0, 0, 1, 1, 1, 1, 1]
    assert of_lines([melody(pitches[:9]), melody(pitches[:9], start=12)]).long_lines.max() == 0


def test_steps_of_the_staff_make_major_and_minor_one_theme() -> None:
    major = melody([60, 62, 64, 65, 67])
    minor = [
        replace(note, onset=note.onset + 12, midi=midi)
        for note, midi in zip(major, [60, 62, 63, 65, 67], strict=True)
    ]
    assert of_lines([major, minor]).lines[3, 1] == 1


@pytest.mark.parametrize(
    "other",
    [
        melody([60, 62, 60, 62, 60], start=12),  # two pitches
        melody([64, 62, 65, 67, 69], start=12),  # other intervals
        [Note(12, 1, 60), Note(13, 2, 62), Note(15, 1, 64), Note(16, 1, 65), Note(17, 1, 67)],
    ],
)
def test_what_is_no_recurrence(other: list[Note]) -> None:
    assert of_lines([melody([*SUBJECT, 79]), other]).lines.max() == 0


def test_evidence_of_the_tune() -> None:
    found = analysed(LINES)
    second = found.layers.bar == 1
    shown = {name: values[second].tolist() for name, values in found.evidence.items()}
    assert shown["highest_in_bar"] == [1, 0, 0, 0]
    assert shown["moves"] == [1, 1, 0.25, 0.25]
    assert shown["busy"] == pytest.approx(np.log2([4, 4, 1.75, 1.75]))
    assert shown["layer_lines"] == [0.5, 0.5, 0.25, 0.25]
    assert shown["lines_below"] == pytest.approx([1, 2 / 3, 1 / 3, 0])
    assert shown["upper"] == [1, 1, 1, 1]
    assert shown["repeated"] == [0, 0, 0, 1]
    # Note values of the windows, flute and oboe: 2, 2, 3, 2 (bar 4 is one long note); others 1.
    assert shown["values"] == [1, 1, 0.5, 0.5]
    assert shown["values_around"] == pytest.approx([1, 1, 11 / 24, 11 / 24])


def test_lines_in_unison_count_by_half() -> None:
    found = analysed([Line(TUNE), Line(TUNE), Line(QUAVERS)])
    below = found.evidence["lines_below"]
    assert below[found.layers.bar == 0].tolist() == [0.75, 0.75, 0]
    assert analysed([Line(TUNE)]).evidence["lines_below"].max() == 0


def test_values_around_are_of_bars_up_to_eight_away() -> None:
    # The lower line plays in bars 1 and 12 alone, and has fewer note values in the last.
    varied = [Note(0, 2, 60), Note(2, 1, 62), Note(3, 1, 64)]
    upper = [replace(note, onset=note.onset + 4 * bar) for bar in range(12) for note in varied]
    found = analysed([Line(upper), Line([*varied, Note(44, 4, 60)])])
    around = found.evidence["values_around"][found.layers.line == 1]
    assert around.tolist() == [1, 0.5]


def test_fresh_after_a_silent_bar() -> None:
    late = [Note(4, 4, 60), Note(8, 4, 62), Note(12, 4, 64)]
    fresh = analysed([Line(TUNE), Line(late)]).lines.fresh
    assert fresh[:, 0].tolist() == [0, 0, 0, 0]
    assert fresh[1:, 1] == pytest.approx(np.exp([0, -0.5, -1]))


def test_scores_add_up_and_neighbours_count() -> None:
    found = analysed(LINES)
    weights = {"highest_in_bar": LeadWeight("highest_in_bar", 2.0, "test")}
    alone = replace(Settings(), lead_neighbour=0.0)
    points = lead_points(found.evidence, weights)
    # Flute 2, others 0: relative to the best 0 and −2.
    score_of = lead_scores(points, found.layers, alone)
    assert score_of[found.layers.bar == 1].tolist() == [0, -2, -2, -2]
    near = lead_scores(points, found.layers, Settings())
    assert near[found.layers.bar == 1] == pytest.approx([0, -2.8, -2.8, -2.8])
    assert near[found.layers.bar == 0] == pytest.approx([0, -2.4, -2.4, -2.4])
    none = np.zeros(len(found.layers.bar_of), np.bool_)
    assert (
        leaders(found.layers, near, none).reshape(4, 4).tolist()
        == [[True, False, False, False]] * 4
    )


def test_background_leads_only_where_nothing_else_sounds() -> None:
    found = analysed(LINES)
    layers, score = found.layers, -np.arange(len(found.layers), dtype=np.float64)
    background = np.zeros(len(layers.bar_of), np.bool_)
    # The flute, its octave below, then a held line and a bass: layers 0, 0, 1, 2 of each bar.
    background[layers.layer[layers.bar == 0]] = True
    background[layers.layer[(layers.bar == 1) & (layers.line < 2)]] = True
    leads = leaders(layers, score, background).reshape(4, 4)
    assert leads.argmax(axis=1).tolist() == [0, 2, 0, 0]
    assert leads.sum(axis=1).tolist() == [1, 1, 1, 1]


def test_every_weight_has_its_evidence_and_its_column() -> None:
    weights = reference.load().lead_weights.keys()
    assert weights <= analysed(LINES).evidence.keys()
    columns = [column.name for column in TABLES["layers"].columns]
    assert {name for name in columns if name.startswith("lead_by_")} == {
        f"lead_by_{name}" for name in weights
    }
