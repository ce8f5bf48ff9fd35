"""Comparisons: rates by hand, what is missing and what is 0, refusals, contrasts of 12 works."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import collaparte
from collaparte.comparison import Comparison
from collaparte.errors import UsageError
from simulated_corpus import Doubling, Piece, Player, store_of

DUET = (Player("oboe", 0, 40), Player("clarinet-bflat", 0, 40))


def compared(
    folder: Path,
    pieces: Sequence[Piece],
    line: str = "oboe",
    partner: str | tuple[str, ...] = "clarinet",
    **choices: Any,
) -> Comparison:
    return collaparte.open(store_of(folder, pieces)).compare(line, partner, **choices)


def rows(comparison: Comparison) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = comparison.table.to_arrow_table().to_pylist()
    return found


def means(comparison: Comparison, kind: str = "unison") -> dict[str, Any]:
    """Mean of each rate, of the only group."""
    return {row["rate"]: row["mean"] for row in rows(comparison) if row["kind"] == kind}


def by(composer: str, **facts: Any) -> dict[str, Any]:
    return {"composer": composer, **facts}


def test_rates_by_hand(tmp_path: Path) -> None:
    # The oboe plays 40 quarters, 10 bars; a clarinet with it in quarters 0 to 20 or 10 to 30.
    piece = Piece(
        "one",
        [Player("oboe", 0, 40), Player("clarinet-bflat", 0, 20), Player("clarinet-a", 10, 30)],
        [
            Doubling(0, 1, 0, 8),
            Doubling(0, 2, 14, 20),
            Doubling(0, 1, 16, 18),  # within the one before: no more time, one more stretch
            Doubling(0, 2, 22, 26, "octave"),
            Doubling(0, 1, 8, 13, "unison", strict=False),
        ],
    )
    strict = compared(tmp_path, [piece], kinds=("unison", "octave"))
    assert means(strict) == pytest.approx({"F1": 14 / 40, "F2": 14 / 30, "E": 3 / 10 * 100})
    assert means(strict, "octave") == pytest.approx({"F1": 4 / 40, "F2": 4 / 30, "E": 10})
    together = means(strict, "any of these")
    assert together == pytest.approx({"F1": 18 / 40, "F2": 18 / 30, "E": 40})
    inclusive = compared(tmp_path, [piece], kinds=("unison",), strict=False)
    assert means(inclusive) == pytest.approx({"F1": 19 / 40, "F2": 19 / 30, "E": 40})
    amounts = {row["rate"]: (row["numerator"], row["denominator"]) for row in rows(inclusive)}
    assert amounts == {"F1": (19, 40), "F2": (19, 30), "E": (4, pytest.approx(0.1))}


def test_the_other_side_of_a_pair(tmp_path: Path) -> None:
    piece = Piece(
        "one", [Player("oboe", 0, 40), Player("bassoon", 20, 28)], [Doubling(0, 1, 20, 24)]
    )
    found = means(compared(tmp_path, [piece], "bassoon", "oboe"))
    assert found == pytest.approx({"F1": 4 / 8, "F2": 4 / 8, "E": 50})


@pytest.mark.parametrize("word", ["clarinet", "clarinet-a", "clarinets"])
def test_a_generic_instrument_stands_for_its_sizes(tmp_path: Path, word: str) -> None:
    piece = Piece("one", [Player("oboe", 0, 8), Player("clarinet-a", 0, 8)], [Doubling(0, 1, 0, 4)])
    assert means(compared(tmp_path, [piece], partner=word))["F1"] == 0.5


def test_what_is_missing_and_what_is_0(tmp_path: Path) -> None:
    pieces = [
        Piece("doubles", DUET, [Doubling(0, 1, 0, 20)], by("a")),
        Piece("never", DUET, (), by("a")),
        Piece("no clarinet", [Player("oboe", 0, 40)], (), by("a")),
        Piece("no oboe", [Player("clarinet-a", 0, 40)], (), by("a")),
        Piece("in turn", [Player("oboe", 0, 20), Player("clarinet-a", 20, 40)], (), by("a")),
    ]
    found = {
        row["rate"]: row for row in rows(compared(tmp_path, pieces)) if row["kind"] == "unison"
    }
    # Half in one work, 0 in two; of the two in which they sound together, half and 0.
    assert (found["F1"]["works"], found["F1"]["mean"]) == (3, pytest.approx(1 / 6))
    assert (found["F2"]["works"], found["F2"]["mean"]) == (2, pytest.approx(1 / 4))


def test_a_movement_without_the_partner_belongs_to_its_work(tmp_path: Path) -> None:
    pieces = [
        Piece("work.1", DUET, [Doubling(0, 1, 0, 20)], {"work_id": "work"}),
        Piece("work.2", [Player("oboe", 0, 60)], (), {"work_id": "work"}),
    ]
    found = rows(compared(tmp_path, pieces))[0]
    assert (found["works"], found["movements"]) == (1, 2)
    assert found["mean"] == pytest.approx(20 / 100)


def test_movements_that_are_left_out(tmp_path: Path) -> None:
    pieces = [
        Piece("good", DUET, (), by("a")),
        Piece("again", DUET, (), by("a", counts=False, same_music_as="good")),
        Piece("invented", DUET, (), by("a", counts=False)),
        Piece("torso", DUET, (), by("a", scoring_complete="no")),
        Piece("failed", DUET, (), by("a", state="failed")),
    ]
    few, every = (compared(tmp_path, pieces, every_movement=every) for every in (False, True))
    assert [row["works"] for row in rows(few)[:1] + rows(every)[:1]] == [1, 4]
    for words in (
        "1 that could not be read",
        "1 that have the music of another",
        "1 that are stated not to count",
        "1 that lack parts of their scoring",
    ):
        assert words in few.method
        assert words not in every.method


def test_strata_do_not_stand_on_top(tmp_path: Path) -> None:
    piece = Piece(
        "one",
        [
            Player("oboe", 0, 40),
            Player("oboe", 0, 40),
            Player("bassoon", 0, 40),
            Player("continuo", 0, 40),
            Player("voice-bass-choir", 0, 40),
        ],
        [Doubling(0, 1, 0, 40), Doubling(2, 3, 0, 30), Doubling(0, 2, 0, 10)],
    )
    found = rows(
        compared(tmp_path, [piece], "woodwind", ("woodwind", "continuo"), kinds=["unison"])
    )
    assert [
        (row["partner"], row["stratum"], row["mean"]) for row in found if row["rate"] == "F1"
    ] == [
        ("woodwind", "different instruments", pytest.approx((10 + 0 + 10) / 120)),
        ("continuo", "different instruments", 0),
        ("woodwind", "one instrument", 1),
        ("continuo", "continuo and its doublers", 30 / 40),
    ]


def test_the_chorus_is_a_partner(tmp_path: Path) -> None:
    players = [Player("bassoon", 0, 40), Player("voice-bass-choir", 0, 40)]
    piece = Piece("one", players, [Doubling(0, 1, 0, 10)])
    assert means(compared(tmp_path, [piece], "bassoon", "chorus"))["F1"] == 0.25


def corpus(effect: float, works: tuple[int, int] = (12, 12), seed: int = 1) -> list[Piece]:
    """Works of one to three movements by two composers; the second doubles more by `effect`."""
    chance = np.random.default_rng(seed)
    pieces = []
    for composer, count, more in (("Adam", works[0], 0.0), ("Bela", works[1], effect)):
        for work in range(count):
            rate = 0.3 + more + 0.05 * chance.standard_normal()
            for movement in range(chance.integers(1, 4)):
                length = int(chance.integers(60, 120))
                end = int(np.clip(rate, 0.02, 0.98) * length)
                players = [Player("oboe", 0, length), Player("clarinet-a", 0, length)]
                pieces.append(
                    Piece(
                        f"{composer}.{work}.{movement}",
                        players,
                        [Doubling(0, 1, 0, end)],
                        by(composer, work_id=f"{composer}.{work}"),
                    )
                )
    return pieces


def test_a_contrast_of_12_works_a_side(tmp_path: Path) -> None:
    comparison = compared(tmp_path, corpus(effect=0.15), kinds=("unison", "octave"))
    adam, bela = (
        row for row in rows(comparison) if row["kind"] == "unison" and row["rate"] == "F1"
    )
    assert (adam["works"], bela["works"]) == (12, 12)
    assert adam["low"] < adam["mean"] < adam["high"] < bela["low"] < bela["mean"] < bela["high"]
    assert bela["difference"] == pytest.approx(bela["mean"] - adam["mean"])
    assert bela["difference"] == pytest.approx(0.15, abs=0.05)
    assert bela["p"] < 0.01
    # Three tests: unison, octave (no difference, p = 1), both together (as unison).
    assert bela["q"] == pytest.approx(bela["p"] * 3 / 2, abs=0.001)
    assert adam["p"] is None
    assert adam["remarks"] == "the others are set against it"
    assert "(tests: F1 3, F2 3, E 3)" in comparison.method


def test_p_values_of_corpora_without_an_effect_are_spread(tmp_path: Path) -> None:
    p_values = []
    for seed in range(10):
        folder = tmp_path / str(seed)
        folder.mkdir()
        comparison = compared(folder, corpus(0.0, seed=seed), kinds=["unison"])
        p_values += [row["p"] for row in rows(comparison) if row["rate"] == "F1" and row["p"]]
    assert len(p_values) == 10
    assert min(p_values) > 0.001
    assert 0.25 < np.mean(p_values) < 0.75


def test_contrasts_of_few_works_are_refused_in_plain_words(tmp_path: Path) -> None:
    comparison = compared(tmp_path, corpus(0.3, (12, 4)), kinds=["unison"])
    adam, bela = (row for row in rows(comparison) if row["rate"] == "F1")
    assert adam["low"] is not None
    assert bela["mean"] is not None
    assert (bela["low"], bela["difference"], bela["p"], bela["q"]) == (None, None, None, None)
    assert bela["remarks"] == (
        "4 works: no interval under 5; no contrast with Adam: 4 works here, each side needs 5"
    )
    assert (
        "No contrast was drawn with Adam: each needs at least 5 works on each side (1 refused)"
        in (comparison.method)
    )


def test_few_works_have_a_warning_and_the_range_without_one(tmp_path: Path) -> None:
    found = rows(compared(tmp_path, corpus(0.0, (5, 5)), kinds=["unison"]))[0]
    assert found["without_one_low"] < found["mean"] < found["without_one_high"]
    assert found["remarks"].startswith("5 works: the interval may cover too rarely")


def test_groups_and_whom_they_are_set_against(tmp_path: Path) -> None:
    store = collaparte.open(store_of(tmp_path, corpus(0.1, (6, 7))))
    default = store.compare("oboe", "clarinet", kinds=["unison"])
    chosen = store.compare("oboe", "clarinet", kinds=["unison"], against="Adam")
    with_p = [
        [row["composer"] for row in rows(comparison) if row["p"] and row["rate"] == "F1"]
        for comparison in (default, chosen)
    ]
    assert with_p == [["Adam"], ["Bela"]]
    whole = rows(store.compare("oboe", "clarinet", by="corpus", kinds=["unison"]))
    assert [(row["corpus"], row["works"]) for row in whole] == [("all works", 13)] * 3
    assert len(rows(store.compare("oboe", "clarinet", by="work", kinds=["unison"]))) == 3 * 13


def test_halves_share_no_work_and_make_the_whole(tmp_path: Path) -> None:
    store = collaparte.open(store_of(tmp_path, corpus(0.1)))
    explore, confirm, whole = (
        {row["work"] for row in rows(store.compare("oboe", "clarinet", by="work", half=half))}
        for half in ("explore", "confirm", None)
    )
    assert not explore & confirm
    assert explore | confirm == whole
    assert len(explore) == len(confirm) == 12
    assert "there to explore" in store.compare("oboe", "clarinet", half="explore").method


def test_the_seed_decides_and_is_printed(tmp_path: Path) -> None:
    store = collaparte.open(store_of(tmp_path, corpus(0.05)))
    one, again, other = (store.compare("oboe", "clarinet", seed=seed) for seed in (3, 3, 4))
    assert rows(one) == rows(again)
    assert rows(one) != rows(other)
    assert "Seed 4." in other.method
    alone = rows(store.compare("oboe", "clarinet", seed=3, kinds=["unison"]))
    assert [row["low"] for row in alone] == [
        row["low"] for row in rows(one) if row["kind"] == "unison"
    ]


def test_lift_where_chance_was_computed(tmp_path: Path) -> None:
    doublings = [Doubling(0, 1, 0, 20)]
    pieces = [
        Piece("a", DUET, doublings, by("x"), chance=(0.5, 2.5)),
        Piece("b", DUET, doublings, by("x"), chance=(None, 2.5)),
        Piece("c", DUET, doublings, by("y"), chance=(0.5, 3.9)),
    ]
    comparison = compared(tmp_path, pieces, kinds=["unison"])
    x, y = (row for row in rows(comparison) if row["rate"] == "F1")
    assert (x["lift"], x["ratio_to_shift"]) == (40 / 5, 20 / 0.5)
    assert (y["lift"], y["ratio_to_shift"]) == (None, None)
    assert "no lift: chance expects under 4 quarters" in y["remarks"]
    assert "Lift = doubled time" in comparison.method


def test_without_chance_the_command_is_named(tmp_path: Path) -> None:
    comparison = compared(tmp_path, [Piece("a", DUET)])
    assert rows(comparison)[0]["lift"] is None
    assert "collaparte build --chance" in comparison.method


def test_what_the_encodings_lack_is_said(tmp_path: Path) -> None:
    players = [*DUET, Player(None, 0, 20)]
    facts = {"collection": "c", "encoder": "e"}
    comparison = compared(tmp_path, [Piece("a", players, (), by("x", **facts))])
    assert comparison.encodings.to_arrow_table().to_pylist() == [
        {
            "composer": "x",
            "works": 1,
            "movements": 1,
            "collections": "c",
            "encoders": "e",
            "unknown_instrument": 20 / 100,
            "unknown_dynamic": 0.5,
            "unknown_register": 0,
        }
    ]
    assert "20.0% has no known instrument" in comparison.method
    assert "50.0% have no dynamic and 0.0% no register" in comparison.method


def test_one_collection_or_encoder(tmp_path: Path) -> None:
    pieces = [
        Piece("a", DUET, (), {"collection": "first", "encoder": "one"}),
        Piece("b", DUET, (), {"collection": "second", "encoder": "one"}),
    ]
    store = collaparte.open(store_of(tmp_path, pieces))
    assert rows(store.compare("oboe", "clarinet", collection="first"))[0]["works"] == 1
    assert rows(store.compare("oboe", "clarinet", encoder="one"))[0]["works"] == 2
    by_collection = rows(store.compare("oboe", "clarinet", by="collection", kinds=["unison"]))
    assert [row["collection"] for row in by_collection[:2]] == ["first", "second"]


def test_the_method_names_thresholds_versions_and_seed(tmp_path: Path) -> None:
    method = compared(tmp_path, [Piece("a", DUET)]).method
    for words in (
        "the strict thresholds: unison at least 10 matched notes or attacks and 7 changes",
        "F1 = doubled time ÷ time in which the line sounds",
        "2000 resamples",
        "Seed 1844",
        "duckdb 2",
        "scipy 1",
        "pyarrow",
    ):
        assert words in method
    assert "\n" not in method


def test_a_pair_that_no_work_calls_for(tmp_path: Path) -> None:
    comparison = compared(tmp_path, [Piece("a", DUET)], partner="bassoon")
    assert rows(comparison) == []
    assert "in 0 movements of 0 works" in comparison.method
    assert not any(section[1].fetchall() for section in comparison.sections())


@pytest.mark.parametrize(
    ("choices", "words"),
    [
        ({"partner": "clarinett"}, "there is no instrument clarinett; did you mean clarinet?"),
        ({"partner": "qqqqqq"}, "there is no instrument qqqqqq; write an instrument, a subfamily"),
        ({"by": "composr"}, "by is one of .*, not composr; did you mean composer?"),
        ({"kinds": ["unsion"]}, "kinds is one of .*, not unsion; did you mean unison?"),
        ({"kinds": []}, "name at least one kind"),
        ({"partner": "cello"}, "there is no instrument cello; did you mean violoncello"),
        ({"partner": ("clarinet", "clarinet")}, "at least one partner, and each once"),
        ({"half": "left"}, "half is one of explore, confirm, not left"),
        ({"against": "Zoe"}, "no composer Zoe has works for oboe and clarinet; there are x"),
        ({"collection": "none"}, "no movement is left to compare"),
    ],
)
def test_wrong_choices(tmp_path: Path, choices: dict[str, Any], words: str) -> None:
    with pytest.raises(UsageError, match=words):
        compared(tmp_path, [Piece("a", DUET, (), by("x"))], **choices)
