"""The leading line: recurrence of themes, evidence and its weights."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from test_texture_measures import LINES, TUNE, analysed

from collaparte import reference
from collaparte.measures.textures.grid import grid
from collaparte.measures.textures.lead import lead_scores, leaders
from collaparte.measures.textures.themes import Recurrence, note_groups, recurrence
from collaparte.reference.rows import LeadWeight
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score

SUBJECT = [72, 74, 76, 77]  # with the next note: C D E F | G
COUNTER = [64, 62, 65, 67]


def of_lines(lines: list[list[Note]]) -> Recurrence:
    tables = score([Line(notes) for notes in lines])
    ground = grid(tables["notes"], tables["lines"], tables["bars"], 100)
    return recurrence(ground, note_groups(ground))


def test_theme_handed_on_in_transposition() -> None:
    # Bars 1 and 2: the upper line has C D E F | G. Bars 4 and 5: the lower one has it a fifth
    # lower. Each has five notes in a group, four in the first bar and one in the second.
    upper = melody([*SUBJECT, 79])
    lower = [replace(note, onset=note.onset + 12, midi=note.midi - 7) for note in upper]
    found = of_lines([upper, lower])
    assert found.elsewhere[:, 0].tolist() == [1, 1, 0, 0, 0]
    assert found.elsewhere[:, 1].tolist() == [0, 0, 0, 1, 1]
    assert found.before.tolist() == [[0, 0], [0, 0], [0, 0], [0, 1], [0, 1]]
    assert np.array_equal(found.handed, found.before)
    # The group begins in two bars and in two lines: log2 of 2.
    assert found.bars[0, 0] == found.lines[3, 1] == 1


def test_return_in_the_same_line_is_not_handed_on() -> None:
    notes = [*melody([*SUBJECT, 79]), *melody([*SUBJECT, 79], start=12)]
    found = of_lines([notes])
    assert found.before[:, 0].tolist() == [0, 0, 0, 1, 1]
    assert found.handed.max() == found.lines.max() == 0


def test_steps_of_the_staff_make_major_and_minor_one_theme() -> None:
    major = melody([60, 62, 64, 65, 67])
    minor = [
        replace(note, onset=note.onset + 12, midi=midi)
        for note, midi in zip(major, [60, 62, 63, 65, 67], strict=True)
    ]
    assert of_lines([major, minor]).handed[3, 1] == 1


@pytest.mark.parametrize(
    "other",
    [
        melody([60, 62, 60, 62, 60], start=12),  # two pitches
        melody([64, 62, 65, 67, 69], start=12),  # other intervals
        [Note(12, 1, 60), Note(13, 2, 62), Note(15, 1, 64), Note(16, 1, 65), Note(17, 1, 67)],
        melody([60, 62, 64, 65, 67], start=5),  # one bar away
    ],
)
def test_what_is_no_recurrence(other: list[Note]) -> None:
    assert of_lines([melody([*SUBJECT, 79]), other]).elsewhere.max() == 0


def test_evidence_of_the_tune() -> None:
    found = analysed(LINES)
    second = found.layers.bar == 1
    shown = {name: values[second].tolist() for name, values in found.evidence.items()}
    assert shown["highest"] == [1, 0, 0, 0]
    assert shown["pitches"] == [1, 1, 0.5, 0.5]
    assert shown["moves"] == [1, 1, 0.25, 0.25]
    assert shown["layer_lines"] == [0.5, 0.5, 0.25, 0.25]
    assert shown["upper"] == [1, 1, 1, 1]
    assert shown["sustained"] == [0, 0, 1, 0]
    assert (shown["height"][0], shown["height"][3]) == (1, 0)


def test_fresh_after_a_silent_bar() -> None:
    late = [Note(4, 4, 60), Note(8, 4, 62), Note(12, 4, 64)]
    fresh = analysed([Line(TUNE), Line(late)]).lines.fresh
    assert fresh[:, 0].tolist() == [0, 0, 0, 0]
    assert fresh[1:, 1] == pytest.approx(np.exp([0, -0.5, -1]))


def test_scores_add_up_and_neighbours_count() -> None:
    found = analysed(LINES)
    weights = {"highest": LeadWeight("highest", 2.0, "test")}
    alone = replace(Settings(), lead_neighbour=0.0)
    # Flute 2, others 0: relative to the best 0 and −2.
    score_of = lead_scores(found.evidence, weights, found.layers, alone)
    assert score_of[found.layers.bar == 1].tolist() == [0, -2, -2, -2]
    near = lead_scores(found.evidence, weights, found.layers, Settings())
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


def test_every_weight_has_its_evidence() -> None:
    assert reference.load().lead_weights.keys() <= analysed(LINES).evidence.keys()
