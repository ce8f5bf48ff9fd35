"""The audit: which pair-bars come on the sheet, and figures by hand from coded ones."""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import collaparte
from collaparte.audit import score, strata_of
from collaparte.errors import UsageError
from collaparte.statistics import wilson
from simulated_corpus import Doubling, Piece, Player, store_of

PLAYERS = [
    Player("oboe", 0, 80),
    Player("oboe", 0, 80),
    Player("bassoon", 40, 80),
    Player("voice-bass-choir", 0, 40),
]
# Of 20 bars: oboes together in all, each with the bassoon in 10, with the bass in 10.
PAIR_BARS = 20 + 2 * 10 + 2 * 10
DOUBLINGS = [
    Doubling(0, 1, 0, 40),
    Doubling(0, 1, 40, 60, "octave", strict=False),
    Doubling(0, 3, 0, 8),
    Doubling(0, 3, 0, 4, "parallel_thirds"),  # ranks below the unison of the same bar
]


def sheet(folder: Path, sample: int, seed: int, **facts: Any) -> list[dict[str, Any]]:
    store = store_of(folder, [Piece("one", PLAYERS, DOUBLINGS, facts)])
    found: list[dict[str, Any]] = (
        collaparte.open(store).audit(sample, seed).to_arrow_table().to_pylist()
    )
    return found


def test_every_pair_bar_once_where_there_is_room(tmp_path: Path) -> None:
    rows = sheet(tmp_path, 1000, 7)
    assert Counter(row["stratum"] for row in rows) == {
        "unison, strict, woodwind + woodwind": 10,
        "octave, inclusive, woodwind + woodwind": 5,
        "unison, strict, chorus + woodwind": 2,
        "not detected, woodwind + woodwind": 5 + 20,
        "not detected, chorus + woodwind": 18,
    }
    assert len({(row["bar"], row["line_a"], row["line_b"]) for row in rows}) == PAIR_BARS
    assert {row["sampling_rate"] for row in rows} == {1}
    assert [row["item"] for row in rows] == list(range(1, PAIR_BARS + 1))
    assert {row["coder_1"] + row["coder_2"] + row["note"] for row in rows} == {""}
    assert {(row["kind"] == "none") == (row["detected"] == "no") for row in rows} == {True}


def test_an_address_and_a_rate_by_hand(tmp_path: Path) -> None:
    rows = sheet(tmp_path, 12, 7)
    # Six detected: two of each of three strata; six others: three of each of two.
    assert Counter((row["stratum"], row["population"], row["sampled"]) for row in rows) == {
        ("unison, strict, woodwind + woodwind", 10, 2): 2,
        ("octave, inclusive, woodwind + woodwind", 5, 2): 2,
        ("unison, strict, chorus + woodwind", 2, 2): 2,
        ("not detected, woodwind + woodwind", 25, 3): 3,
        ("not detected, chorus + woodwind", 18, 3): 3,
    }
    octave = next(row for row in rows if row["kind"] == "octave")
    assert octave["sampling_rate"] == 2 / 5
    assert (octave["movement_id"], octave["part_a"]) == ("one", "oboe")
    assert (octave["line_a"], octave["line_b"]) == ("oboe 0", "oboe 1")
    assert 11 <= int(octave["bar"]) <= 15
    assert octave["bar_index"] == int(octave["bar"]) - 1


def test_the_seed_alone_decides(tmp_path: Path) -> None:
    one, again, other = (
        sheet(tmp_path / name, 12, seed) for name, seed in (("a", 7), ("b", 7), ("c", 8))
    )
    assert one == again
    assert one != other


def test_the_same_music_twice_and_empty_stores(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="in no bar do two lines sound together"):
        sheet(tmp_path, 12, 7, same_music_as="another")


def test_few_places_make_coarse_strata() -> None:
    cells = [
        ("unison", "strict", "brass + string", 40),
        ("unison", "strict", "brass + woodwind", 30),
        ("unison", "strict", "brass + brass", 30),
        ("octave", "strict", "chorus + string", 10),
        ("none", "none", "brass + brass", 500),
        ("none", "none", "chorus + string", 100),
    ]
    names = [
        sorted({of.name for of in strata_of(cells, sample) if "not" not in of.name})
        for sample in (8, 6, 4, 2)
    ]
    assert names == [
        [
            "octave, strict, chorus + string",
            "unison, strict, brass + brass",
            "unison, strict, brass + string",
            "unison, strict, brass + woodwind",
        ],
        [
            "octave, strict, with voices",
            "unison, strict, one family",
            "unison, strict, two families",
        ],
        ["octave, strict", "unison, strict"],
        ["detected"],
    ]


CELLS = st.dictionaries(
    st.tuples(
        st.sampled_from(["unison", "octave", "chordal", "none"]),
        st.sampled_from(["strict", "inclusive"]),
        st.sampled_from(["brass + brass", "chorus + string", "brass + string"]),
    ),
    st.integers(1, 300),
    min_size=1,
)


@given(CELLS, st.integers(2, 400))
def test_every_stratum_is_drawn_from_and_the_sample_is_full(
    cells: dict[tuple[str, str, str], int], sample: int
) -> None:
    rows = [(*cell, count) for cell, count in cells.items()]
    strata = set(strata_of(rows, sample))
    assert len({stratum.name for stratum in strata}) == len(strata)
    assert all(1 <= stratum.size <= stratum.population for stratum in strata)
    assert sum(stratum.population for stratum in strata) == sum(cells.values())
    assert sum(stratum.size for stratum in strata) == min(sample, sum(cells.values()))


def coded(*rows: tuple[str, str, str, float, str, str], delimiter: str = ",") -> str:
    names = ("detected", "kind", "strictness", "sampling_rate", "coder_1", "coder_2")
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=delimiter)
    writer.writerows([names, *rows])
    return stream.getvalue()


# Detected: two unisons at rate 1/2, one of them wrong; one octave at 1/4, right.
# Not detected: one doubling missed at 1/10, one rightly passed over at 1/10.
SHEET = (
    ("yes", "unison", "strict", 0.5, "yes", "yes"),
    ("yes", "unison", "strict", 0.5, "no", "yes"),
    ("yes", "octave", "inclusive", 0.25, "Y", "1"),
    ("no", "none", "none", 0.1, "yes", "no"),
    ("no", "none", "none", 0.1, "0", "n"),
)


def figures(text: str) -> dict[tuple[str, str, str], tuple[Any, ...]]:
    rows = score(text, 0.95).fetchall()
    return {row[:3]: row[3:] for row in rows}


def test_figures_by_hand() -> None:
    found = figures(coded(*SHEET))
    # Weights 2, 2, 4: precision 6 of 8, from 64 ÷ 24 units; recall 6 of 16, from 256 ÷ 120.
    assert found["precision", "all", "coder_1"] == (6 / 8, *wilson(6 / 8, 64 / 24, 0.95), 3)
    assert found["recall", "all", "coder_1"] == pytest.approx(
        (6 / 16, *wilson(6 / 16, 256 / 120, 0.95), 3)
    )
    assert found["precision", "unison, strict", "coder_1"] == (0.5, *wilson(0.5, 2, 0.95), 2)
    assert found["precision", "octave, inclusive", "coder_1"][0] == 1
    assert found["precision", "all", "coder_2"][0] == 1
    assert found["recall", "all", "coder_2"][0] == 1
    # They agree on 3 of 5; by chance on (3 · 3 + 2 · 2) ÷ 25.
    assert found["kappa", "all", "both"] == (
        pytest.approx((3 / 5 - 13 / 25) / (12 / 25)),
        None,
        None,
        5,
    )


def test_one_coder_and_rows_left_empty() -> None:
    rows = [(*row[:4], row[4] if at else "", "") for at, row in enumerate(SHEET)]
    found = figures(coded(*rows))
    assert {coder for _, _, coder in found} == {"coder_1"}
    assert found["precision", "all", "coder_1"][3] == 2


def test_no_doubling_among_the_coded_has_no_recall() -> None:
    found = figures(coded(("no", "none", "none", 0.1, "no", "")))
    assert found["recall", "all", "coder_1"] == (None, None, None, 0)
    assert found["precision", "all", "coder_1"] == (None, None, None, 0)


def test_a_sheet_that_a_spreadsheet_wrote() -> None:
    plain = coded(*SHEET)
    rows = [(*row[:3], str(row[3]).replace(".", ","), *row[4:]) for row in SHEET]
    assert figures("\ufeff" + coded(*rows, delimiter=";")) == figures(plain)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the sheet lacks the column detected"),
        ("detected,kind\n", "the sheet lacks the column strictness"),
        (coded(), "nothing is coded"),
        (coded(("yes", "unison", "strict", 0.5, "", "")), "nothing is coded"),
        (
            coded(("yes", "unison", "strict", 0.5, "maybe", "")),
            "line 2: coder_1 is yes or no, not maybe",
        ),
        (coded(SHEET[0], ("yes", "unison", "strict", 0, "yes", "")), "line 3: sampling_rate is"),
        (coded(("yes", "unison", "strict", 1.5, "yes", "")), "line 2: sampling_rate is .* not 1.5"),
        (coded(("perhaps", "unison", "strict", 1, "yes", "")), "line 2: detected is yes or no"),
        (coded(("", "unison", "strict", 1, "yes", "")), "line 2: detected is yes or no, not empty"),
        (coded(("yes", "unsion", "strict", 1, "yes", "")), "line 2: kind is one of unison, octave"),
        (
            coded(("no", "unison", "strict", 1, "yes", "")),
            "line 2: kind is one of none, not unison",
        ),
        (coded(SHEET[0]) + "yes,unison\n", "line 3: sampling_rate is .* not empty"),
    ],
)
def test_sheets_that_cannot_be_scored(text: str, words: str) -> None:
    with pytest.raises(UsageError, match=words) as caught:
        score(text, 0.95)
    assert "\n" not in str(caught.value)
