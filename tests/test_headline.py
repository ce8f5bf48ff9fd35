"""The headline answered by the program, held to the answer worked out by hand.

Harbour Lamps (invented, `pipeline/collaparte/invented/harbour_lamps.musicxml`), 16 bars of four
quarters. The README tells the reckoning; in short:

sung        bars 3-10 and 13-16: 48 quarters; S, A, T sing all of them, B rests in bars 9-10 and
            sings 40: 3 x 48 + 40 = 184 quarters of voice time
strict      bassoon an octave below the bass, bars 3-6: 12 + 1 + 1 + 1 = 15 quarters (the last
            note is a quarter against a half); clarinet an octave below the alto, bars 13-16: 16
inclusive   and clarinet in unison with the tenor, bars 7-8: 7 quarters (7 notes); horn in unison
            with the bass, bars 13-14: 8 quarters, the first on F3, which is not low: 7
not low     oboe in unison with the soprano, bars 9-10, middle: 8; flute above the soprano, high
decoys      clarinet half a beat after the tenor (9-10), bassoon meets the tenor once (10), flute
            meets the soprano twice (8), bassoon on every second note of the bass (13-16)
"""

from pathlib import Path
from typing import Any

import pytest

import collaparte


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Any:
    package = Path(collaparte.__file__).parent
    store = tmp_path_factory.mktemp("store")
    collaparte.build(package / "invented" / "harbour_lamps.musicxml", store, chance=True)
    return collaparte.open(store)


def answer(opened: Any, **parameters: Any) -> dict[str, Any]:
    """The row of the movement."""
    return rows(opened, **parameters)[0]


def rows(opened: Any, **parameters: Any) -> list[dict[str, Any]]:
    relation = opened.ask("low-winds-double-chorus", **parameters)
    return [dict(zip(relation.columns, row, strict=True)) for row in relation.fetchall()]


def test_strict_figures(opened: Any) -> None:
    row = answer(opened)
    assert row["chorus"] == "certain"
    assert (row["doubled_quarters"], row["sung_quarters"]) == (31, 48)
    assert row["any_voice"] == row["any_voice_strict"] == 31 / 48
    assert row["voice_time"] == row["voice_time_strict"] == 31 / 184
    assert (row["passages"], row["bars"]) == (2, "3–6, 13–16")
    assert row["instruments"] == "clarinet-bflat (-12), bassoon (-12)"
    assert row["voices"] == "Alto, Bass"
    assert row["any_register"] == 39 / 48
    assert (row["on_thirds_of_the_range"], row["on_transferred"]) == (0, 0)


def test_inclusive_figures(opened: Any) -> None:
    row = answer(opened, strict=False)
    assert row["doubled_quarters"] == 38
    assert row["any_voice"] == row["any_voice_inclusive"] == 38 / 48
    assert row["voice_time"] == row["voice_time_inclusive"] == 45 / 184
    assert (row["passages"], row["bars"]) == (2, "3–8, 13–16")
    assert row["instruments"] == "clarinet-bflat (0, -12), bassoon (-12), horn-f (0)"
    assert row["voices"] == "Alto, Tenor, Bass"
    assert row["any_register"] == 46 / 48


def test_without_horns_the_bass_loses_seven_quarters(opened: Any) -> None:
    row = answer(opened, winds="woodwind", strict=False)
    assert (row["any_voice"], row["voice_time"]) == (38 / 48, 38 / 184)
    assert answer(opened, winds="woodwind_horn", strict=False)["voice_time"] == 45 / 184


def test_main_notes_count_when_asked(opened: Any) -> None:
    """Bassoon in halves against the bass: only B flat 2, G2, B flat 2 and F2 are low.

    They last one quarter with the bass in bars 14 (twice) and 15, four in bar 16.
    """
    row = answer(opened, strict=False, kinds=["main_notes"])
    assert (row["doubled_quarters"], row["voices"]) == (7, "Bass")


def test_another_register(opened: Any) -> None:
    """Middle: oboe with soprano 8 quarters (strict); flute on G5 in bar 15, 2 quarters."""
    row = answer(opened, register="middle")
    assert row["doubled_quarters"] == 10


def test_the_row_of_the_corpus_is_that_of_its_only_movement(opened: Any) -> None:
    movement, corpus = rows(opened)
    assert corpus["movement_id"] == "corpus"
    for name in ("any_voice", "voice_time", "doubled_quarters", "voice_quarters", "any_register"):
        assert corpus[name] == pytest.approx(movement[name])
    assert (corpus["works"], corpus["any_voice_mean"]) == (1, pytest.approx(31 / 48))
    assert (corpus["any_voice_low"], corpus["any_voice_high"]) == (None, None)
    assert "fewer than 5 works: no interval" in corpus["note"]


def test_sixteen_bars_have_no_shift(opened: Any) -> None:
    _, corpus = rows(opened)
    assert corpus["by_chance"] is None
    assert corpus["note"].startswith("by_chance: too few bars to shift")
