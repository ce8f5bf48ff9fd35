"""Layers against the annotations: the file is sound, and agreement does not fall."""

from __future__ import annotations

from pathlib import Path

from layers import Agreement, annotations, measured

from collaparte.settings import Settings

LEAST_F1 = 0.92


def test_annotations_are_sixteen_bars_with_reasons() -> None:
    rows = annotations()
    assert len(rows) == 4
    for name, of_movement in rows.items():
        bars = {
            bar
            for row in of_movement
            for bar in range(int(row["first_bar"]), int(row["last_bar"]) + 1)
        }
        assert len(bars) in (15, 16), name
        assert all(row["reason"] for row in of_movement)


def test_f1_counts_pairs() -> None:
    assert Agreement(3, 1, 1).f1 == 0.75
    assert (Agreement(1, 2, 3) + Agreement(1, 0, 0)) == Agreement(2, 2, 3)
    assert Agreement().f1 == 0


def test_layers_of_real_scores(scores: Path) -> None:
    found = dict(measured(scores, Settings()))
    assert len(found) == 4
    assert sum(found.values(), Agreement()).f1 >= LEAST_F1
