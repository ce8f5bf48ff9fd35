"""The planted textures, layers and roles of the studies: what is reached does not get lost.

At least 95% of all planted bars, and every pair of lines of one layer. `planted.py` lists the
bars that are missed, with the distances of both textures.
"""

from __future__ import annotations

import pytest
from planted import Bar, planted_bars, recall, right, role_recall

from collaparte.settings import Settings

REACHED = 0.95
REACHED_RECALL = 1
REACHED_ROLES = {
    "leading_line": 0.89,
    "countermelody": 0.55,
    "sustained_harmony": 0.97,
    "repeated_notes": 0.99,
    "figuration": 0.95,
    "bass": 0.65,
    "pedal_point": 0.65,
    "short_chords": 0.35,
}
"""In bars of lines. Short chords that stay on one chord are found as repeated notes. Left out is
filling, which is planted in blocks alone."""


@pytest.fixture(scope="module")
def bars() -> list[Bar]:
    return list(planted_bars(Settings()))


def test_every_texture_is_planted_and_found(bars: list[Bar]) -> None:
    assert len({bar.planted for bar in bars}) == 7
    assert {bar.planted for bar in bars if right(bar)} == {bar.planted for bar in bars}


def test_share_of_all_planted_bars_with_the_planted_texture(bars: list[Bar]) -> None:
    assert sum(map(right, bars)) / len(bars) >= REACHED


def test_lines_of_one_planted_layer_are_found_together(bars: list[Bar]) -> None:
    assert recall(bars) >= REACHED_RECALL


@pytest.mark.parametrize("role", REACHED_ROLES)
def test_planted_roles_are_found(bars: list[Bar], role: str) -> None:
    assert role_recall(bars)[role] >= REACHED_ROLES[role]
