"""How long pairs of lines sound together and double each other."""

from typing import Any

import pytest

from collaparte.measures.activity import pair_activity
from collaparte.measures.doublings import doublings
from collaparte.measures.sonorities import sonorities
from collaparte.schema import TICKS
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score

TUNE = [60, 62, 64, 65, 67, 65, 64, 62]


def rows(*lines: Line) -> list[dict[str, Any]]:
    tables = score(lines)
    tables |= doublings(tables, None, Settings())
    tables |= sonorities(tables, None, Settings())
    made: list[dict[str, Any]] = pair_activity(tables, None, Settings())[
        "pair_activity"
    ].to_pylist()
    return made


def test_every_kind_of_a_pair_is_told_from_both_sides() -> None:
    found = rows(Line(melody(TUNE), "flute"), Line(melody(TUNE), "oboe"))
    assert len(found) == 2 * 8 * 2
    assert {(row["instrument"], row["partner_instrument"]) for row in found} == {
        ("flute", "oboe"),
        ("oboe", "flute"),
    }
    told = [row for row in found if row["stretches"]]
    assert [(row["kind"], row["strict"]) for row in told] == [("unison", False)] * 2
    assert [row["doubled_ticks"] for row in told] == [8 * TICKS] * 2
    assert {row["together_ticks"] for row in found} == {8 * TICKS}
    assert {row["chance_shift_ticks"] for row in found} == {None}


def test_a_strict_stretch_counts_in_both_rows() -> None:
    tune = melody(TUNE + TUNE)
    told = [row for row in rows(Line(tune), Line(tune)) if row["stretches"]]
    assert [row["strict"] for row in told] == [False, True] * 2


@pytest.mark.parametrize(("start", "quarters"), [(0, 8), (6, 2), (7.5, 0.5)])
def test_time_together(start: float, quarters: float) -> None:
    found = rows(Line(melody(TUNE)), Line([Note(start, 20, 40)]))
    assert {row["together_ticks"] for row in found} == {int(quarters * TICKS)}


def test_lines_that_never_sound_together_have_no_row() -> None:
    assert rows(Line(melody(TUNE)), Line([Note(8, 1, 40)])) == []
