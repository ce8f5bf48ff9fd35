"""Doubled shares of the question and of plain loops are the same, in both directions."""

from __future__ import annotations

from pathlib import Path

import pytest
from doubled_shares import PAIRS, Counts, both, length, report

import collaparte
from collaparte.schema import TICKS

LAMPS = Path(collaparte.__file__).parent / "invented" / "harbour_lamps.musicxml"


def test_harbour_lamps() -> None:
    """Strict: the bassoon doubles the bass for 15 quarters of bars 3 to 6 (see the headline).

    The bass sings 40; the oboe has 8 quarters with the soprano's 48.
    """
    pairs = [("bassoon", "voice-bass-choir"), ("oboe", "voice-soprano-choir")]
    counts = both(LAMPS, pairs)
    assert counts.asked == counts.counted
    told = {
        key[:2]: (doubled / TICKS, sounding / TICKS)
        for key, (doubled, sounding) in counts.counted.items()
    }
    assert told["voice-bass-choir", "bassoon"] == (15, 40)
    assert told["bassoon", "voice-bass-choir"][0] == 15
    assert told["voice-soprano-choir", "oboe"] == (8, 48)
    assert report(counts).count("tick for tick") == 4


def test_real_movements(scores: Path, capsys: pytest.CaptureFixture[str]) -> None:
    counts = both(scores)
    with capsys.disabled():
        print("\n" + report(counts))
    assert {key[:2] for key in counts.counted} == {
        way for one, other in PAIRS for way in ((one, other), (other, one))
    }
    assert counts.asked == counts.counted


def test_a_difference_is_told() -> None:
    key = ("oboe", "flute", "one")
    assert report(Counts({key: (1, 2)}, {key: (2, 2)})).splitlines()[1].split() == [
        "oboe", "by", "flute", "1", "0.500000", "1.000000", "NO"
    ]  # fmt: skip


def test_length_of_a_union() -> None:
    assert length([(5, 6), (0, 3), (1, 2), (2, 4), (4, 5)]) == 6
    assert length([]) == 0
