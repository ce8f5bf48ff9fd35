"""Every note as music21 reads it: a fixed sample always, all of it with `-m full`."""

from __future__ import annotations

from pathlib import Path

import pytest
from classes import CLASSES

import compare

MOST = 0.002
"""Share of the notes that no class of notes may hold for."""

STEP = 16
NAMED = (
    "bach/bwv171.6.mxl",
    "bach/bwv175.7.mxl",
    "bach/bwv190.7-inst.mxl",
    "bach/bwv248.23-2.mxl",
    "bach/bwv248.9-1.mxl",
    "bach/bwv846.mxl",
    "beach/prayer_of_a_tired_child.musicxml",
    "beethoven/opus18no1/movement3.mxl",
    "haydn/opus1no1/movement3.mxl",
    "haydn/opus74no1/movement1.mxl",
    "monteverdi/madrigal.4.1.mxl",
    "mozart/k155/movement3.mxl",
    "schoenberg/opus19/movement6.mxl",
    "schubert/Lindenbaum.xml",
    "schumann_clara/opus17/movement3.xml",
    "schumann_robert/opus41no1/movement2.mxl",
    "trecento/PMFC_01-Rex quem metrorum.xml",
    "trecento/PMFC_13_04-Credo Cursor.xml",
    "trecento/PMFC_13_14-Gloria.xml",
    "trecento/PMFC_24_17-Doctorum principem-Melodia suavissima-Vir mitis.xml",
)
"""Files of the bundled corpus in which differences of every kind were seen."""


def _sample() -> list[Path]:
    """The named files, and every sixteenth of the others: 60."""
    named, others = [], []
    for path in compare.bundled():
        (named if path.as_posix().endswith(NAMED) else others).append(path)
    return (named + others[::STEP])[:60]


def _hold_to_account(total: compare.Tally) -> None:
    told = "\n".join(compare.table(total))
    assert total.unclassified == [], told
    assert total.notes > 0
    for kind in CLASSES:
        if kind.notes is not None:
            assert total.holds[kind.name] <= MOST * total.notes, told


def test_sample_of_the_bundled_corpus() -> None:
    paths = _sample()
    assert len(paths) == 60
    total = compare.compare_files(paths, workers=2)
    assert total.unread == []
    assert total.unclassified == [], "\n".join(compare.table(total))
    assert total.notes > 40_000


def test_three_movements(scores: Path) -> None:
    smallest = sorted(compare.scores_in(scores), key=lambda path: (path.stat().st_size, path))[:3]
    total = compare.compare_files(smallest, workers=2)
    assert total.unclassified == [], "\n".join(compare.table(total))
    assert total.notes > 0


@pytest.mark.full
def test_bundled_corpus() -> None:
    paths = compare.bundled()
    assert len(paths) >= 654
    total = compare.compare_files(paths, workers=2)
    assert total.unread == []
    _hold_to_account(total)


@pytest.mark.full
def test_folder(scores: Path) -> None:
    _hold_to_account(compare.compare_files(compare.scores_in(scores), workers=2))
