"""Naming textures by eye: fair draw, nothing told before the answer, answers kept."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import by_eye
import numpy as np
import pytest

from collaparte.questions import OpenStore
from collaparte.schema import keys
from score_store import Piece, opened
from score_tables import Line, melody

BARS = 240
WORDS = list(by_eye.TEXTURES)


def movement(name: str, passages: Sequence[tuple[int, str]]) -> Piece:
    """A movement whose passages are told by their bars and texture, in order."""
    runs, textures = [], []
    at = 0
    for number, (bars, texture) in enumerate(passages):
        runs.append(
            {
                "passage_key": int(keys(name, np.array([number]))[0]),
                "start_bar_index": at,
                "end_bar_index": at + bars - 1,
                "start_bar": str(at + 1),
                "end_bar": str(at + bars),
                "bars": bars,
                "texture": texture,
            }
        )
        textures += [bar(name, at + each, texture) for each in range(bars)]
        at += bars
    return Piece(
        [Line(melody([60, 62, 64, 65] * BARS))],
        written={"texture_passages": runs, "textures": textures},
    )


def bar(name: str, index: int, texture: str) -> dict[str, Any]:
    return {
        "bar_index": index,
        "bar_key": int(keys(name, np.array([index]))[0]),
        "bar": str(index + 1),
        "texture": WORDS[0] if index % 2 else texture,
        "passage_texture": texture,
        "margin": 0.5,
    }


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> OpenStore:
    """Three movements: many short passages of two textures, few long ones, and bars alone."""
    many = [(2, WORDS[each % 2]) for each in range(80)]
    few = [(12, WORDS[each % 2]) for each in range(6)]
    alone = [(1, WORDS[2]), (3, WORDS[3])]
    pieces = {
        name: movement(name, passages)
        for name, passages in (("many", many), ("few", few), ("alone", alone))
    }
    return opened(tmp_path_factory.mktemp("by_eye"), pieces)


@pytest.fixture
def file(tmp_path: Path, store: OpenStore) -> Path:
    by_eye.write(tmp_path / "answers.csv", by_eye.draw(store, 5))
    return tmp_path / "answers.csv"


def words(store: OpenStore, passages: Sequence[by_eye.Passage]) -> list[str]:
    """The program's words, as if all were answered."""
    answered = [by_eye.replace(each, answer=WORDS[0]) for each in passages]
    return [each.word for each in by_eye.compared(store, answered)]


def test_twenty_of_a_texture_evenly_from_the_movements(store: OpenStore) -> None:
    drawn = by_eye.draw(store, 5)
    told = zip((each.movement_id for each in drawn), words(store, drawn), strict=True)
    assert Counter(told) == {
        ("few", WORDS[0]): 3,
        ("few", WORDS[1]): 3,
        ("many", WORDS[0]): 17,
        ("many", WORDS[1]): 17,
        ("alone", WORDS[3]): 1,
    }
    assert [each.number for each in drawn] == list(range(1, len(drawn) + 1))


def test_of_a_long_passage_eight_bars_are_shown(store: OpenStore) -> None:
    long = [each for each in by_eye.draw(store, 5) if each.movement_id == "few"]
    assert {each.bars for each in long} == {8}
    assert all(int(each.last_bar) - int(each.first_bar) == 7 for each in long)


def test_the_seed_decides(store: OpenStore) -> None:
    drawn = by_eye.draw(store, 5)
    assert by_eye.draw(store, 5) == drawn
    assert [each.first_bar for each in by_eye.draw(store, 6)] != [each.first_bar for each in drawn]


def test_the_order_does_not_tell_the_texture(tmp_path: Path) -> None:
    """A texture with few passages is not found earlier or later than one with many."""
    rare = range(0, 220, 10)
    passages = [(2, WORDS[index in rare]) for index in range(0, 220, 2)]
    uneven = opened(tmp_path, {"piece": movement("piece", passages)})
    numbers = [
        each.number
        for seed in range(40)
        for each in by_eye.draw(uneven, seed)
        if each.first_bar_index in rare
    ]
    assert len(numbers) == 40 * 20
    assert np.mean(numbers) == pytest.approx(20.5, abs=1.5), "1 to 40, four standard errors"


def test_the_program_says_nothing_before_the_answer(store: OpenStore, file: Path) -> None:
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert set(rows[0]) == {each.name for each in by_eye.fields(by_eye.Passage)}
    assert not any(word in file.read_text(encoding="utf-8") for word in WORDS)
    texts = [by_eye.shown(store, each) for each in by_eye.read(file).values()]
    offered = [Counter(word for word in WORDS for _ in range(text.count(word))) for text in texts]
    assert all(each == dict.fromkeys(WORDS, 1) for each in offered)


def test_relabelling_the_store_changes_no_listing(tmp_path: Path) -> None:
    listings = []
    for word in WORDS[:2]:
        one = opened(tmp_path / word, {"piece": movement("piece", [(4, word), (4, word)])})
        listings.append([by_eye.shown(one, each) for each in by_eye.draw(one, 5)])
    assert listings[0] == listings[1]


def test_an_answer_is_written_once(file: Path, store: OpenStore) -> None:
    by_eye.answer(file, 3, "two lines", "7", "a remark, with a comma")
    written = by_eye.read(file)[3]
    assert (written.answer, written.second) == ("two_lines", "three_or_more_lines")
    assert written.remark == "a remark, with a comma"
    before = file.read_bytes()
    with pytest.raises(SystemExit, match="never changed"):
        by_eye.answer(file, 3, "one_line")
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("number", "first", "second", "message"),
    [
        (99, "one_line", "", "no passage 99"),
        (1, "polyphony", "", "no such texture"),
        (1, "8", "", "no such texture"),
        (1, "one_line", "1", "second choice is the first"),
    ],
)
def test_wrong_answers_are_refused(
    file: Path, number: int, first: str, second: str, message: str
) -> None:
    before = file.read_bytes()
    with pytest.raises(SystemExit, match=message):
        by_eye.answer(file, number, first, second)
    assert file.read_bytes() == before


def test_shares_deal_out_all_that_is_open(file: Path) -> None:
    numbers = set(by_eye.read(file))
    dealt = [by_eye.open_numbers(file, (share, 4)) for share in range(1, 5)]
    assert sorted(number for share in dealt for number in share) == sorted(numbers)
    assert max(map(len, dealt)) - min(map(len, dealt)) <= 1
    by_eye.answer(file, 2, "one_line")
    assert by_eye.open_numbers(file, (2, 4)) == dealt[1][1:]


def test_comparison(store: OpenStore) -> None:
    """Long passages have the texture in every second bar, the other bars are one line."""
    drawn = by_eye.draw(store, 5)
    long = [each for each in drawn if each.movement_id == "few"]
    answered = [
        by_eye.replace(each, answer=WORDS[1], second=WORDS[0], remark="why") for each in long
    ]
    found = by_eye.compared(store, [*answered, *(set(drawn) - set(long))])
    assert len(found) == 6, "only what is answered"
    assert sum(each.same for each in found) == 3
    assert all(each.same_or_second for each in found)
    assert sorted(each.own_share for each in found) == [0, 0, 0, 0.5, 0.5, 0.5]
    text = by_eye.report(found, len(drawn))
    assert f"6 of {len(drawn)} passages answered" in text
    assert "named the same: 50.0%" in text
    assert "kappa 0.00" in text
    assert "first or second choice the same: 100.0%" in text
    assert text.count("by eye one_block (second one_line), program one_line") == 3
    (row,) = [line for line in text.splitlines() if line.startswith("2 one_block")]
    assert row.split()[2:4] == ["3", "3"]
    assert by_eye.report([], 5) == "no passage is answered"


def test_asking_writes_before_it_tells(
    store: OpenStore,
    file: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    given = iter(["nonsense", "", "", "two_lines", "", "a remark", ""])
    monkeypatch.setattr("builtins.input", lambda _: next(given))
    by_eye.ask(store, file, (1, 1))
    first, after = capsys.readouterr().out.split("written down; the program says ")
    assert "no such texture" in first
    assert after.split()[0] in WORDS
    assert by_eye.read(file)[1].remark == "a remark"
    assert not by_eye.read(file)[2].answer


def test_commands(
    tmp_path: Path, store: OpenStore, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.setattr(by_eye.collaparte, "open", lambda _: store)
    file = ["--file", str(tmp_path / "answers.csv")]
    with pytest.raises(SystemExit, match="`draw` makes it"):
        by_eye.main(["answer", "1", "one_line", *file])
    by_eye.main(["draw", "STORE", "--seed", "5", *file])
    with pytest.raises(SystemExit, match="writes over no answers"):
        by_eye.main(["draw", "STORE", "--seed", "6", *file])
    by_eye.main(["answer", "1", "one_line", *file])
    by_eye.main(["show", "STORE", "--share", "1/4", *file])
    assert "Passage 5:" in capsys.readouterr().out
    by_eye.main(["show", "STORE", "2", *file])
    by_eye.main(["compare", "STORE", *file])
    out = capsys.readouterr().out
    assert "Passage 2:" in out
    assert "1 of 41 passages answered" in out
