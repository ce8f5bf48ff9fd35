"""Fits of the centres and the stability of labels, on bars and scores made up here."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("sklearn")

from click.testing import CliRunner

import collaparte
from collaparte import reference, refit
from collaparte.commands import refit_textures
from collaparte.errors import UsageError
from collaparte.refit.fits import Bars, centres, resampled_agreement, split_agreement
from collaparte.refit.sensitivity import (
    PARAMETERS,
    agreement_by_parameter,
    agreement_under_change,
    labels,
)
from collaparte.settings import Settings
from score_tables import Line, melody, score

START = np.array([centre.traits for centre in reference.load().texture_centres])


def clouds(spread: float, movements: int = 8) -> Bars:
    """Bars about the frozen centres, of every texture in every movement."""
    chance = np.random.default_rng(7)
    six = np.tile(START, (movements * 6, 1))
    six += chance.normal(0, spread, six.shape)
    return Bars(six, np.repeat(np.arange(movements), len(six) // movements))


def test_fit_finds_what_the_bars_lie_about() -> None:
    bars = clouds(0.02)
    found, label = centres(bars.marked, START)
    assert np.abs(found - START).max() < 0.02
    assert label.tolist() == list(range(7)) * 48


def test_pull_draws_centres_to_the_start() -> None:
    bars = clouds(0.02)
    away = Bars(bars.marked + 0.1, bars.movement)
    free, _ = centres(away.marked, START)
    pulled, label = centres(away.marked, START, pull=0.25)
    # Of a cluster of 48 bars the start weighs as 12: a fifth of the way back.
    assert (free - pulled) == pytest.approx((free - START) / 5)
    assert len(label) == len(away.marked)


def test_agreement_is_whole_with_clear_clusters_and_less_in_a_cloud() -> None:
    clear, cloud = clouds(0.01), clouds(0.4)
    for agreement in (resampled_agreement, split_agreement):
        assert agreement(clear, START, 3, seed=1) == [1, 1, 1]
        assert max(agreement(cloud, START, 3, seed=1)) < 0.95
        assert agreement(cloud, START, 3, seed=1) == agreement(cloud, START, 3, seed=1)


@pytest.fixture(scope="module")
def scores_of_chance() -> list[dict[str, object]]:
    chance = np.random.default_rng(3)
    return [
        score(
            [
                Line(melody(chance.integers(48, 80, 64).tolist(), length))
                for length in (0.5, 1, 2, 1.5)
            ],
            movement_id=f"m{number}",
        )
        for number in range(3)
    ]


def test_labels_change_with_parameters_notes_and_lines(scores_of_chance) -> None:
    found = agreement_under_change(scores_of_chance, 2, Settings())
    assert list(found) == [
        "all parameters ±10%", "all parameters ±20%", "3% of notes lost", "one line lost",
    ]  # fmt: skip
    assert all(len(values) == 2 for values in found.values())
    assert min(found["one line lost"]) < 1
    assert found == agreement_under_change(scores_of_chance, 2, Settings())


def test_each_parameter_alone(scores_of_chance) -> None:
    rows = agreement_by_parameter(scores_of_chance[:1], Settings())
    assert [row["parameter"] for row in rows] == list(PARAMETERS)
    assert all(row[change] <= 1 for row in rows for change in ("-20%", "-10%", "+10%", "+20%"))
    assert min(row["+20%"] for row in rows) < 1


def test_labels_of_silence(scores_of_chance) -> None:
    silent = score([Line([])], movement_id="silent")
    assert labels([silent], Settings()).tolist() == [-1]


def test_command_on_a_store(tmp_path: Path) -> None:
    collaparte.build(store=tmp_path / "store")
    answer = collaparte.open(tmp_path / "store").sql
    told = refit.stability(answer, 2, 1, Settings()).to_pylist()
    by_name = {row["figure"]: row for row in told}
    assert by_name["resampled movements"]["trial"] == 0.964
    assert by_name["all parameters ±10%"]["times"] == 1
    assert all(row["least"] <= row["mean"] <= 1 for row in told)
    run = CliRunner().invoke(
        refit_textures.command,
        ["--store", str(tmp_path / "store"), "--pairs", "2", "--draws", "1"],
        catch_exceptions=False,
    )
    assert run.exit_code == 0
    assert "three_or_more_lines" in run.output
    assert "halves of the movements" in run.output


def test_one_movement_is_too_few(tmp_path: Path) -> None:
    (tmp_path / "one.musicxml").write_text(
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Flute</part-name>'
        '</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1'
        "</divisions></attributes><note><pitch><step>C</step><octave>5</octave></pitch>"
        "<duration>4</duration></note></measure></part></score-partwise>"
    )
    collaparte.build(tmp_path / "one.musicxml", tmp_path / "store")
    with pytest.raises(UsageError, match="at least two movements with a texture"):
        refit.fitted_centres(collaparte.open(tmp_path / "store").sql, Settings())
