"""The same music twice: found as a copy, transposed, renamed, with a part missing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pytest

from collaparte.build import build
from collaparte.corpus_measures import measure_corpus
from collaparte.corpus_measures.same_music import fingerprint, same_music, similarity
from collaparte.movement import Movement
from collaparte.readers.unread import movements_table
from collaparte.schema import Tables, empty, table_of
from collaparte.settings import Settings

PARTS = 4
NOTES = 120

Music = list[list[tuple[int, int]]]
"""For each part its notes: length in ticks and pitch."""


def composed(seed: int, parts: int = PARTS) -> Music:
    """Parts that move by steps and leaps in notes of several lengths, each in its own way."""
    chance = np.random.default_rng(seed)
    return [
        [
            (int(chance.choice([240, 480, 720, 960])), int(pitch))
            for pitch in 60 + np.clip(np.cumsum(chance.integers(-4, 5, NOTES)), -30, 30)
        ]
        for _ in range(parts)
    ]


def transposed(music: Music, semitones: int) -> Music:
    return [[(length, pitch + semitones) for length, pitch in part] for part in music]


def notes_of(music: Music) -> pa.Table:
    """The columns of `notes` that a fingerprint is made of."""
    rows = [
        (line, sum(length for length, _ in part[:place]), *part[place])
        for line, part in enumerate(music)
        for place in range(len(part))
    ]
    line, onset, length, pitch = zip(*rows, strict=True)
    flags = [False] * len(rows)
    return pa.table(
        {
            "line_key": line,
            "part_index": line,
            "onset_ticks": onset,
            "duration_ticks": length,
            "midi": pitch,
            "is_grace": flags,
            "is_cue": flags,
        }
    )


def movement(name: str, music: Music | None, counts: bool = True) -> Tables:
    stated = Movement(name, f"{name}.xml", work_id=name, work=name, counts=counts)
    tables = {"movements": movements_table(stated, "read"), "remarks": empty("remarks")}
    return tables if music is None else {**tables, "notes": notes_of(music)}


def found(**corpus: Tables) -> dict[str, tuple[str | None, bool]]:
    """Of each movement that was flagged: what it is the same as, and whether it counts."""
    return {
        name: (
            tables["movements"]["same_music_as"][0].as_py(),
            tables["movements"]["counts"][0].as_py(),
        )
        for name, tables in same_music(corpus, Settings()).items()
    }


@pytest.mark.parametrize(
    "copy",
    [
        composed(1),
        transposed(composed(1), 5),
        transposed(composed(1), -7)[::-1],
        composed(1)[:-1],
        transposed(composed(1), 2)[1:],
    ],
    ids=["copy", "transposed", "parts in another order", "a part missing", "the top part missing"],
)
def test_a_copy_is_found_and_does_not_count(copy: Music) -> None:
    original, other = composed(1), composed(2)
    for one, two in ((original, copy), (copy, original)):
        assert found(a=movement("a", one), b=movement("b", other), c=movement("c", two)) == {
            "c": ("a", False)
        }


def test_different_movements_are_left_alone() -> None:
    corpus = {name: movement(name, composed(seed)) for seed, name in enumerate("abcdef")}
    assert same_music(corpus, Settings()) == {}


def test_one_part_in_common_is_not_the_same_music() -> None:
    one, other = composed(1), composed(2)
    assert found(a=movement("a", one), b=movement("b", [one[0], *other[1:]])) == {}


def test_of_two_parts_none_is_left_out() -> None:
    # A solo and a duet with the same upper part: half of the duet is other music.
    duet = composed(1, parts=2)
    assert found(a=movement("a", duet), b=movement("b", duet[:1])) == {}


def test_similarity_by_hand() -> None:
    # Three parts whose leaps of 1 to 15 semitones make each pair of intervals a new one: 14 notes
    # are 12 elements, so 36 in all; a second movement lacks one part and has 24.
    music = [
        [(240 * (part + 1), 60 + sum(range(1, place + 1)) % 40) for place in range(14)]
        for part in range(3)
    ]
    whole, lacking = fingerprint(notes_of(music)), fingerprint(notes_of(music[:2]))
    assert (len(whole.elements), len(lacking.elements)) == (36, 24)
    assert similarity(whole, lacking) == 1  # 2 · 24 ÷ (36 + 24 − 12): the spare part is left out
    two_parts = replace(whole, parts=2)
    assert similarity(two_parts, lacking) == pytest.approx(48 / 60)


def test_a_few_changed_notes_do_not_hide_the_same_music() -> None:
    music = composed(1)
    changed = [list(part) for part in music]
    for part in changed:
        length, pitch = part[50]
        part[50] = (length, pitch + 1)
    assert found(a=movement("a", music), b=movement("b", changed)) == {"b": ("a", False)}


def test_every_copy_names_the_first() -> None:
    music = composed(1)
    assert found(a=movement("a", music), b=movement("b", music), c=movement("c", music)) == {
        "b": ("a", False),
        "c": ("a", False),
    }


def test_the_first_that_counts_goes_on_counting() -> None:
    music = composed(1)
    corpus = {
        "a": movement("a", music, counts=False),
        "b": movement("b", music),
        "c": movement("c", music),
    }
    assert found(**corpus) == {"b": ("a", True), "c": ("a", False)}


def test_movements_without_notes_or_with_very_few_are_compared_with_none() -> None:
    short = [part[:7] for part in composed(1)]
    assert (
        found(
            a=movement("a", short),
            b=movement("b", short),
            c=movement("c", None),
            d=movement("d", None),
        )
        == {}
    )


def test_of_chords_the_top_note_counts_and_of_grace_notes_none() -> None:
    music = composed(1)
    plain = notes_of(music)
    below = plain.set_column(4, "midi", pa.array([pitch.as_py() - 9 for pitch in plain["midi"]]))
    grace = plain.set_column(5, "is_grace", pa.array([True] * len(plain)))
    ornate = pa.concat_tables([below, grace, plain])
    assert fingerprint(ornate).elements.tolist() == fingerprint(plain).elements.tolist()


def test_what_was_found_is_told_beside_earlier_remarks() -> None:
    music = composed(1)
    before = table_of(
        "remarks",
        "b",
        {
            "stage": ["reading"],
            "severity": ["note"],
            "code": ["odd"],
            "count": [1],
            "message": ["Odd."],
            "done": ["Nothing."],
        },
    )
    corpus = {"a": movement("a", music), "b": {**movement("b", music), "remarks": before}}
    measured = measure_corpus(corpus, Settings())
    assert measured["a"] == corpus["a"]
    remarks = measured["b"]["remarks"].to_pylist()
    assert [(row["code"], row["message"]) for row in remarks] == [
        ("odd", "Odd."),
        ("same_music", "The movement is 100% alike to a."),
    ]
    assert measured["b"]["notes"] == corpus["b"]["notes"]


SCORE = """<score-partwise version="4.0"><part-list>{names}</part-list>{parts}</score-partwise>"""
NAME = '<score-part id="P{number}"><part-name>{name}</part-name></score-part>'
PART = (
    '<part id="P{number}"><measure number="1"><attributes><divisions>240</divisions></attributes>'
    "{notes}</measure></part>"
)
NOTE = (
    "<note><pitch><step>{step}</step><alter>{alter}</alter><octave>{octave}</octave></pitch>"
    "<duration>{length}</duration></note>"
)


def score(music: Music, names: list[str]) -> str:
    listed = [NAME.format(number=number, name=name) for number, name in enumerate(names)]
    parts = []
    for number, part in enumerate(music):
        notes = [
            NOTE.format(
                step="CCDDEFFGGAAB"[pitch % 12],
                alter=int(pitch % 12 in (1, 3, 6, 8, 10)),
                octave=pitch // 12 - 1,
                length=length,
            )
            for length, pitch in part
        ]
        parts.append(PART.format(number=number, notes="".join(notes)))
    return SCORE.format(names="".join(listed), parts="".join(parts))


def test_from_scores_to_the_store(tmp_path: Path) -> None:
    folder = tmp_path / "scores"
    folder.mkdir()
    music = composed(1)
    names = ["Flute", "Oboe", "Violin", "Violoncello"]
    (folder / "first.musicxml").write_text(score(music, names))
    (folder / "other.musicxml").write_text(score(composed(2), names))
    renamed = score(transposed(music, 3)[1:], ["Traversflöte", "Viola", "Bassoon"])
    (folder / "renamed.musicxml").write_text(renamed)
    build(folder, tmp_path / "store")
    with duckdb.connect(tmp_path / "store" / "collaparte.duckdb", read_only=True) as database:
        rows = database.sql(
            "SELECT movement_id, same_music_as, counts FROM movements ORDER BY ALL"
        ).fetchall()
    assert rows == [("first", None, True), ("other", None, True), ("renamed", "first", False)]


def test_real_movements_with_the_same_music(scores: Path, tmp_path: Path) -> None:
    """Where the Mass in B minor is there, its Dona nobis pacem is the Gratias; nothing else is."""
    build(scores, tmp_path / "store", workers=2)
    with duckdb.connect(tmp_path / "store" / "collaparte.duckdb", read_only=True) as database:
        rows = database.sql(
            "SELECT movement_id, same_music_as FROM movements WHERE same_music_as IS NOT NULL"
        ).fetchall()
    assert set(rows) <= {("bach_bwv-232_23", "bach_bwv-232_06")}
    if (scores / "Bach_BWV.232_06.mxl").exists() and (scores / "Bach_BWV.232_23.mxl").exists():
        assert rows
