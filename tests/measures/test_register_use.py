"""Time in each register, and time-weighted quantiles of a line."""

from collaparte.measures.registers import register_use
from collaparte.settings import Settings
from score_tables import Line, Note, score


def note(onset: float, length: float, midi: int, register: str | None) -> Note:
    return Note(onset, length, midi, {"register_class": register})


def test_time_notes_and_share_of_each_class() -> None:
    line = [note(0, 1, 50, "low"), note(1, 2, 60, "middle"), note(3, 1, 52, "low")]
    rows = register_use(score([Line([]), Line(line)]), None, Settings())["register_use"].to_pylist()
    assert [
        (row["register_class"], row["notes"], row["share"], row["line_key"] & 0xFF) for row in rows
    ] == [("low", 2, 0.5, 1), ("middle", 1, 0.5, 1)]


def test_quantiles_weigh_pitches_by_their_time() -> None:
    """Ten quarters: 1 on 40, 4 on 50, 4 on 60, 1 on 70."""
    line = [
        note(0, 4, 60, None),
        note(4, 1, 40, None),
        note(5, 4, 50, None),
        note(9, 1, 70, None),
    ]
    other = [note(0, 100, 90, None)]
    row, _ = register_use(score([Line(line), Line(other)]), None, Settings())[
        "register_use"
    ].to_pylist()
    assert row["register_class"] is None
    assert (row["lowest"], row["highest"]) == (40, 70)
    assert (row["percentile_5"], row["quartile_1"], row["median"]) == (40, 50, 50)
    assert (row["quartile_3"], row["percentile_95"]) == (60, 70)


def test_a_single_pitch_is_every_quantile() -> None:
    (row,) = register_use(score([Line([note(0, 1, 60, "low")])]), None, Settings())[
        "register_use"
    ].to_pylist()
    assert {row[name] for name in ("lowest", "percentile_5", "median", "percentile_95")} == {60}


def test_grace_notes_do_not_count() -> None:
    grace = Note(0, 1, 30, {"is_grace": True})
    (row,) = register_use(score([Line([grace, note(0, 1, 60, "low")])]), None, Settings())[
        "register_use"
    ].to_pylist()
    assert (row["lowest"], row["notes"]) == (60, 1)
