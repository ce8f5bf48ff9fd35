"""Questions about who doubles whom, each held to rows worked out by hand.

All scores here go in quarters, four to a bar. TUNE has twelve notes, so it fills bars 1 to 3 and
passes the strict thresholds.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from score_store import TUNE, Piece, answer
from score_tables import Line, Note, melody

CHORUS = {"family": "voice", "subfamily": "choir voices", "ensemble": "chorus"}
STRING = {"family": "string", "subfamily": "violins", "ensemble": "section"}


def oboe(*notes: Note) -> Line:
    return Line(notes, "oboe", "woodwind", "oboes")


def violin(*notes: Note) -> Line:
    return Line(notes, "violin", **STRING)


def tune(shift: int = 0, start: float = 0, **marks: Any) -> list[Note]:
    """TUNE, so many semitones higher, from a quarter on."""
    return [Note(start + at, 1, midi + shift, marks or None) for at, midi in enumerate(TUNE)]


def row_of(rows: list[dict[str, Any]], **facts: Any) -> dict[str, Any]:
    """The one row with these values."""
    (found,) = [row for row in rows if facts.items() <= row.items()]
    return found


# Work one: the oboe plays TUNE, then a note of twelve quarters: 24 quarters, six bars. Two violins
# play TUNE with it, a third an octave lower; then two of them go elsewhere for six quarters.
# Work two: an oboe and a violin that never meet on a pitch.
TWO_WORKS = {
    "one": Piece(
        [
            oboe(*tune(12), Note(12, 12, 70)),
            violin(*tune(12)),
            violin(*tune(12), *melody((50, 52, 54, 55, 57, 59), start=12)),
            violin(*tune(0)),
        ],
        {"composer": "Ann", "composer_id": "ann"},
    ),
    "two": Piece([oboe(*tune(12)), violin(*tune(18))], {"composer": "Ben", "composer_id": "ben"}),
}


def test_partners_by_interval(tmp_path: Path) -> None:
    """In unison 12 of 24 quarters, two violins at once counting once; work two 0 of 12."""
    rows = answer(tmp_path, TWO_WORKS, "partners-of-an-instrument", instrument="oboe")
    assert [row["interval_semitones"] for row in rows] == [-12, 0]
    assert row_of(rows, interval_semitones=0) == {
        "stratum": "different instruments",
        "partner": "violin",
        "interval_semitones": 0,
        "share": (12 / 24 + 0 / 12) / 2,
        "pooled_share": 12 / 36,
        "quarters": 12,
        "works_doubled": 1,
        "works": 2,
    }


def test_partners_of_one_instrument_stand_below(tmp_path: Path) -> None:
    """Violin with violin: of 12 + 18 + 12 quarters of work one the first two lines have 12 each.

    Work two has one violin, so nobody who could: it is missing.
    """
    rows = answer(tmp_path, TWO_WORKS, "partners-of-an-instrument", instrument="violin")
    assert [row["stratum"] for row in rows][:2] == ["different instruments"] * 2
    row = row_of(rows, stratum="one instrument", interval_semitones=0)
    assert (row["share"], row["works"], row["quarters"]) == (24 / 42, 1, 24)


def test_movements_that_do_not_count_are_left_out(tmp_path: Path) -> None:
    pieces = {**TWO_WORKS, "two": Piece(TWO_WORKS["two"].lines, {"counts": False})}
    rows = answer(tmp_path / "a", pieces, "partners-of-an-instrument")
    assert row_of(rows, interval_semitones=0)["share"] == 12 / 24
    every = answer(tmp_path / "b", pieces, "partners-of-an-instrument", every_movement=True)
    assert row_of(every, interval_semitones=0)["works"] == 2


def test_rate_of_a_pair(tmp_path: Path) -> None:
    """Doubled 12; with a violin sounding 12 + 6; three stretches in six bars (the long note's too).

    E: 3 stretches (one with each violin) ÷ 6 bars; work two doubles never: 0 of 12, 12, 3 bars.
    """
    rows = answer(tmp_path, TWO_WORKS, "rate-of-a-pair", instrument="oboe", partner="violin")
    assert rows[0] == {
        "work_id": "one",
        "composer": "Ann",
        "f1": 12 / 24,
        "f2": 12 / 18,
        "e": 100 * 3 / 6,
        "doubled_quarters": 12,
        "together_quarters": 18,
        "sounding_quarters": 24,
        "stretches": 3,
        "bars": 6,
        "works": 1,
    }
    assert (rows[1]["work_id"], rows[1]["f1"], rows[1]["f2"], rows[1]["bars"]) == ("two", 0, 0, 3)
    last = rows[2]
    assert (last["work_id"], last["works"], last["f1"]) == (None, 2, 12 / 24 / 2)
    assert (last["f2"], last["e"]) == (12 / 18 / 2, 50 / 2)


def test_a_line_is_no_partner_of_its_own(tmp_path: Path) -> None:
    """One oboe: no pair. Two in turn: their opportunity is nothing, so F2 is empty."""
    alone = {"one": Piece([oboe(*tune())])}
    assert answer(tmp_path / "a", alone, "rate-of-a-pair", partner="oboe") == []
    in_turn = {"one": Piece([oboe(*tune()), oboe(*tune(start=12))])}
    first = answer(tmp_path / "b", in_turn, "rate-of-a-pair", partner="oboe")[0]
    assert (first["together_quarters"], first["f1"], first["f2"]) == (0, 0, None)


def at_f(*pitches: int, start: float, length: float = 1) -> list[Note]:
    return [
        Note(start + at * length, length, midi, {"dynamic_degree": 7.0})
        for at, midi in enumerate(pitches)
    ]


# The oboe's TUNE at f begins on C5 (72): within two semitones lie 72 and 74, which are five of its
# twelve quarters. A C5 of five quarters at f stands alone; one of four at p does not count.
# In work two a C5 of four quarters at f stands alone, though there is a flute.
AT = {
    "one": Piece(
        [
            Line(tune(24), "flute"),
            oboe(
                *tune(12, dynamic_degree=7.0),
                *at_f(72, start=12, length=5),
                Note(17, 4, 72, {"dynamic_degree": 4.0}),
            ),
        ]
    ),
    "two": Piece(
        [
            Line(melody((84, 83)), "flute"),
            oboe(*at_f(72, start=4, length=4)),
        ],
        {"counts": False},
    ),
}


def asked(folder: Path, pieces: dict[str, Piece], **values: Any) -> list[dict[str, Any]]:
    stated = {"instrument": "oboe", "pitch": "C5", "dynamic": "f", **values}
    return answer(folder, pieces, "partners-at", **stated)


def test_partners_at(tmp_path: Path) -> None:
    """An octave above 5 of 5 + 5 quarters in work one, 0 of 4 in work two."""
    assert asked(tmp_path, AT) == [
        {
            "stratum": "different instruments",
            "partner": "flute",
            "interval_semitones": 12,
            "share": (5 / 10 + 0 / 4) / 2,
            "pooled_share": 5 / 14,
            "quarters": 5,
            "lift": None,
            "lift_note": "collaparte build --chance fills it",
            "works_doubled": 1,
            "works": 2,
            "invented": 1,
            "passages": "one, 1–3",
        }
    ]


def test_partners_at_other_heights_dynamics_and_works(tmp_path: Path) -> None:
    """Exactly C5: two of TUNE's notes, of 2 + 5; only counting works; p: nobody."""
    (row,) = asked(tmp_path / "a", AT, within=0, counting=True)
    assert (row["share"], row["works"]) == (2 / 7, 1)
    assert asked(tmp_path / "b", AT, dynamic="p") == []
    (row,) = asked(tmp_path / "c", AT, dynamic="mf", dynamic_within=1)
    assert row["quarters"] == 5
    assert asked(tmp_path / "d", AT, technique="flutter") == []


@pytest.mark.parametrize(
    ("expected", "lift", "note"),
    [(3.0, 2.0, None), (1.5, None, "chance expects too little to divide by")],
)
def test_lift_of_partners_at(
    tmp_path: Path, expected: float, lift: float | None, note: str | None
) -> None:
    """The pair doubles 12 quarters; its rows unison and octave expect twice as told.

    2 × 3 are 6 quarters: lift 2. 2 × 1.5 are 3: under the four that it takes to divide.
    """
    pieces = {name: Piece(piece.lines, piece.facts, (0.0, expected)) for name, piece in AT.items()}
    (row,) = asked(tmp_path, pieces)
    assert (row["lift"], row["lift_note"]) == (lift, note)


def test_at_most_five_passages_from_different_works(tmp_path: Path) -> None:
    """Seven works; two stretches in the first, of which the longer is named."""
    lines = AT["one"].lines
    pieces = {f"work-{number}": Piece(lines) for number in range(7)}
    twice = [
        Line([*tune(24), *tune(24, 32)], "flute"),
        oboe(*tune(12), *tune(12, 32, dynamic_degree=7.0)),
    ]
    pieces["work-0"] = Piece(twice)
    (row,) = asked(tmp_path, pieces)
    passages = row["passages"].split("; ")
    assert len(passages) == len({text.split(",")[0] for text in passages}) == 5
    assert row["works_doubled"] == 7
    only = {"work-0": Piece(twice)}
    assert asked(tmp_path / "only", only)[0]["passages"] == "work-0, 9–11"


def test_who_doubles_each_voice(tmp_path: Path) -> None:
    """Violin: 12 of the soprano's 16 notes. Oboe: 12 of the alto's 24, which is not more than half.

    The alto sings with the soprano's violin nowhere; voices do not double voices here.
    """
    voices = [
        Line([*tune(12), *melody((71, 73, 75, 77), start=12)], "voice-soprano-choir", **CHORUS),
        Line([*tune(7), *tune(6, start=12)], "voice-alto-choir", **CHORUS),
        Line(tune(0), "voice-bass-choir", **CHORUS),
    ]
    lines = [*voices, violin(*tune(12)), oboe(*tune(19))]
    rows = answer(tmp_path, {"one": Piece(lines)}, "who-doubles-each-voice")
    assert row_of(rows, voice="line 0") == {
        "movement_id": "one",
        "chorus": "certain",
        "voice": "line 0",
        "partner": "line 3",
        "instrument": "violin",
        "intervals": "0",
        "share": 12 / 16,
        "doubled": 12,
        "notes": 16,
        "bars": "1–3",
    }
    assert [(row["voice"], row["intervals"]) for row in rows] == [("line 0", "0"), ("line 2", "12")]
    half = answer(tmp_path / "half", {"one": Piece(lines)}, "who-doubles-each-voice", share=0.49)
    assert row_of(half, voice="line 1")["share"] == 12 / 24


def test_chance_by_kind(tmp_path: Path) -> None:
    """One pair, 12 quarters in unison, of which chance expects 3 and 6; octaves: none doubled."""
    lines = [oboe(*tune(12)), violin(*tune(12))]
    rows = answer(tmp_path, {"one": Piece(lines, expected=(3.0, 6.0))}, "chance-by-kind")
    assert row_of(rows, kind="unison", strict=True) == {
        "kind": "unison",
        "strict": True,
        "doubled_quarters": 12,
        "shift_quarters": 3,
        "shift_share": 3 / 12,
        "harmony_quarters": 6,
        "harmony_share": 6 / 12,
        "note": None,
    }
    assert row_of(rows, kind="octave", strict=True)["harmony_share"] is None
    whole = row_of(rows, kind="all of the same line", strict=True)
    assert (whole["doubled_quarters"], whole["harmony_quarters"]) == (12, 4 * 6)


def test_chance_that_was_not_computed(tmp_path: Path) -> None:
    lines = [oboe(*tune(12)), violin(*tune(12))]
    rows = answer(tmp_path, {"one": Piece(lines)}, "chance-by-kind")
    row = row_of(rows, kind="unison", strict=False)
    assert (row["doubled_quarters"], row["shift_share"], row["harmony_share"]) == (12, None, None)
    assert row["note"] == "collaparte build --chance fills the columns of chance"


def test_published_pairs(tmp_path: Path) -> None:
    """Oboe and violins in unison, D75: 12 of the oboe's 24 quarters and 0 of 12.

    By pairs of lines 12 + 12 + 0 of the 12 + 18 + 12 quarters that they sound together; 0 of 12.
    """
    rows = answer(tmp_path, TWO_WORKS, "published-pairs")
    row = row_of(rows, pair_id="D75")
    assert (row["upper"], row["lower"], row["kind"]) == ("oboe", "violins", "unison")
    assert (row["works_doubled"], row["works"], row["quarters"]) == (1, 2, 12)
    assert row["f1"] == (12 / 24 + 0 / 12) / 2
    assert row["f2"] == (24 / 42 + 0 / 12) / 2
    assert row_of(rows, pair_id="D19")["lift_note"] == "no work calls for both"


def test_published_octaves_have_their_order(tmp_path: Path) -> None:
    """Flute above oboe is recommended (D28), oboe above flute is to be avoided (D38)."""
    pieces = {"one": Piece([Line(tune(12), "flute"), oboe(*tune())], expected=(0.0, 6.0))}
    row = row_of(answer(tmp_path / "a", pieces, "published-pairs"), pair_id="D28")
    assert (row["interval_semitones"], row["f1"], row["f2"], row["lift"]) == (-12, 1, 1, 12 / 6)
    avoided = answer(tmp_path / "b", pieces, "published-pairs", verdict="avoid")
    row = row_of(avoided, pair_id="D38")
    assert (row["f1"], row["quarters"], row["works_doubled"], row["works"]) == (0, 0, 0, 1)
