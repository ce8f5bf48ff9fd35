"""The store: a state is there wholly or not at all; the same tables give the same bytes."""

from __future__ import annotations

import hashlib
import json
import os
import random
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collaparte import reference, store
from collaparte.errors import StoreError
from collaparte.movement import Movement
from collaparte.readers.unread import movements_table
from collaparte.schema import TABLES, Tables, keys, table_of
from collaparte.settings import Settings, settings_table
from collaparte.store import Draft, State, objects

PIPELINE = Path(__file__).parents[1] / "pipeline"


@pytest.fixture(scope="module")
def common() -> Tables:
    return {**reference.load().tables(), "settings": settings_table(Settings())}


def bars_played(movement_id: str, order: list[int]) -> pa.Table:
    """`play_order` of one movement; the rows stand in this order of performed_index."""
    index = np.array(order, np.int32)
    return table_of(
        "play_order",
        movement_id,
        {
            "performed_index": index,
            "bar_index": index,
            "bar_key": keys(movement_id, index),
            "bar": [str(number + 1) for number in order],
            "pass": np.ones(len(order), np.int16),
        },
    )


def result(movement_id: str, order: Iterable[int] = (0, 1, 2)) -> tuple[str, Tables]:
    movement = Movement(movement_id, f"{movement_id}.xml", movement_id, "A work")
    rows = list(order)
    played = {"play_order": bars_played(movement_id, rows)} if rows else {}
    return movement_id, {"movements": movements_table(movement, "read"), **played}


def content(state: State) -> dict[str, list[dict[str, object]]]:
    """All rows of the tables of movements, by table."""
    return {
        name: [row for path in state.files[name] for row in pq.read_table(path).to_pylist()]
        for name in ("movements", "play_order")
    }


def bytes_of(root: Path) -> dict[str, str]:
    """Checksums of everything in a store that is not made for convenience, by path."""
    paths = [root / "current.json", *sorted((root / "objects").iterdir())]
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in paths}


def test_state_names_files_movements_and_settings(tmp_path: Path, common: Tables) -> None:
    store.commit(tmp_path, [result("b"), result("a", [2, 0, 1])], common, Settings())
    state = store.current(tmp_path)
    assert state.files.keys() == TABLES.keys()
    assert list(state.movements) == ["a", "b"]
    assert state.settings["matched_share"] == 0.75
    assert state.libraries["pyarrow"] == pa.__version__
    played = content(state)["play_order"]
    assert [(row["movement_id"], row["performed_index"]) for row in played] == [
        ("a", 0), ("a", 1), ("a", 2), ("b", 0), ("b", 1), ("b", 2),
    ]  # fmt: skip
    for paths in state.files.values():
        for path in paths:
            assert path.is_absolute()
            assert path.stem == hashlib.sha256(path.read_bytes()).hexdigest()
    with pytest.raises(TypeError):
        state.files["notes"] = ()  # type: ignore[index]


def test_every_table_reads_back_as_declared_with_meanings_and_units(
    tmp_path: Path, common: Tables
) -> None:
    store.commit(tmp_path, [result("a")], common, Settings())
    for name, paths in store.current(tmp_path).files.items():
        file = pq.ParquetFile(paths[0])
        declared = TABLES[name].arrow()
        assert file.schema_arrow.equals(declared), name
        for column in TABLES[name].columns:
            metadata = file.schema_arrow.field(column.name).metadata
            assert metadata[b"meaning"].decode() == column.meaning
        metadata = file.metadata.metadata
        assert metadata[b"row"].decode() == TABLES[name].row
        assert [item["name"] for item in json.loads(metadata[b"columns"])] == declared.names
        text = b"".join(metadata.values())
        assert str(tmp_path).encode() not in text
        assert os.uname().nodename.encode() not in text


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    orders=st.dictionaries(
        st.text("abcxyz", min_size=1, max_size=3),
        st.integers(0, 6).flatmap(lambda size: st.permutations(range(size))),
        max_size=6,
    ),
    seed=st.integers(0, 1000),
)
def test_order_of_movements_and_rows_makes_no_difference(
    tmp_path_factory: pytest.TempPathFactory,
    common: Tables,
    orders: dict[str, list[int]],
    seed: int,
) -> None:
    roots = [tmp_path_factory.mktemp("store") for _ in range(2)]
    mixed = [result(name, order) for name, order in orders.items()]
    random.Random(seed).shuffle(mixed)
    store.commit(roots[0], mixed, common, Settings())
    store.commit(
        roots[1], [result(name, sorted(order)) for name, order in orders.items()], common,
        Settings(), threads=2,
    )  # fmt: skip
    assert bytes_of(roots[0]) == bytes_of(roots[1])


def test_numbering_of_words_makes_no_difference(tmp_path: Path, common: Tables) -> None:
    movement_id, tables = result("a")
    plain = tables["play_order"]
    other = pa.DictionaryArray.from_arrays(pa.array([2, 1, 0], pa.int32()), ["3", "2", "1", "9"])
    position = plain.schema.get_field_index("bar")
    renumbered = plain.set_column(position, plain.schema.field("bar"), other)
    assert renumbered.to_pylist() == plain.to_pylist()
    store.commit(tmp_path / "1", [(movement_id, tables)], common, Settings())
    tables = {**tables, "play_order": renumbered}
    store.commit(tmp_path / "2", [(movement_id, tables)], common, Settings())
    assert bytes_of(tmp_path / "1") == bytes_of(tmp_path / "2")


def test_drafts_on_disk_give_the_same_bytes_as_tables_in_memory(
    tmp_path: Path, common: Tables
) -> None:
    results = [result("b", [1, 0]), result("a", [])]
    store.commit(tmp_path / "1", results, common, Settings())
    root = tmp_path / "2"
    with store.locked(root), store.private_folder(root) as folder:
        for movement_id, tables in results:
            Draft(folder, movement_id).put({"play_order": bars_played(movement_id, [7])})
            Draft(folder, movement_id).put(tables)
        drafts = {movement_id: Draft(folder, movement_id) for movement_id, _ in results}
        assert [list(draft) for draft in drafts.values()] == [
            ["movements", "play_order"],
            ["movements"],
        ]
        store.commit(root, drafts.items(), common, Settings())
    assert not folder.exists()
    assert bytes_of(root) == bytes_of(tmp_path / "1")


def test_row_groups_have_one_size_wherever_movements_end(
    tmp_path: Path, common: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(objects, "ROW_GROUP", 4)
    results = [result("a", range(3)), result("b", range(10)), result("c", range(3))]
    store.commit(tmp_path, results, common, Settings())
    (path,) = store.current(tmp_path).files["play_order"]
    metadata = pq.ParquetFile(path).metadata
    assert [metadata.row_group(i).num_rows for i in range(metadata.num_row_groups)] == [4, 4, 4, 4]
    assert pq.read_table(path)["performed_index"].to_pylist() == [*range(3), *range(10), *range(3)]


def test_above_a_hundred_movements_a_table_has_several_objects(
    tmp_path: Path, common: Tables
) -> None:
    results = [result(f"m{number}") for number in range(101)]
    store.commit(tmp_path, results[:100], common, Settings())
    assert len(store.current(tmp_path).files["play_order"]) == 1
    assert (tmp_path / "tables" / "play_order.parquet").is_file()
    before = content(store.current(tmp_path))
    store.commit(tmp_path, results, common, Settings())
    state = store.current(tmp_path)
    assert len(state.files["play_order"]) == 8
    assert len(state.files["notes"]) == 1, "a table without rows is one empty object"
    after = content(state)["play_order"]
    assert len(after) == len(before["play_order"]) + 3
    folder = tmp_path / "tables" / "play_order"
    assert len(list(folder.iterdir())) == len(state.files["play_order"])
    assert not folder.with_suffix(".parquet").exists()
    store.commit(tmp_path, results[:100], common, Settings())
    assert not folder.exists()
    assert content(store.current(tmp_path)) == before


def test_above_a_thousand_movements_a_table_has_more_objects(
    tmp_path: Path, common: Tables
) -> None:
    results = [result(f"m{number}") for number in range(1001)]
    store.commit(tmp_path, results, common, Settings())
    assert 32 < len(store.current(tmp_path).files["play_order"]) <= 64


def test_conveniences_show_the_present_state(tmp_path: Path, common: Tables) -> None:
    tmp_path = tmp_path / "it's a store"
    store.commit(tmp_path, [result("it's")], common, Settings())
    store.commit(tmp_path, [result("it's"), result("b")], common, Settings())
    names = {f"{name}.parquet" for name in TABLES}
    assert {path.name for path in (tmp_path / "tables").iterdir()} == names
    assert pq.read_table(tmp_path / "tables" / "movements.parquet").num_rows == 2
    with duckdb.connect(tmp_path / "collaparte.duckdb", read_only=True) as database:
        rows = database.sql("SELECT count(*) FROM play_order").fetchall()
        comments = database.sql(
            "SELECT comment FROM duckdb_columns() "
            "WHERE table_name = 'notes' AND column_name = 'duration_ticks'"
        ).fetchall()
    assert rows == [(6,)]
    assert comments == [("length, ties merged; 0 for a grace note [ticks]",)]
    assert not list(tmp_path.rglob(".unfinished-*"))


def test_objects_of_the_state_before_stay_for_its_readers(tmp_path: Path, common: Tables) -> None:
    states = []
    for order in ([0], [0, 1], [0, 1, 2]):
        store.commit(tmp_path, [result("a", order)], common, Settings())
        states.append(store.current(tmp_path))
    assert len(content(states[1])["play_order"]) == 2
    assert not states[0].files["play_order"][0].exists()
    kept = {path.name for state in states[1:] for paths in state.files.values() for path in paths}
    assert {path.name for path in (tmp_path / "objects").iterdir()} == kept


class Interrupted(BaseException):
    """As if the process ended here."""


@pytest.mark.parametrize("step", ["replace", "fsync", "link"])
def test_interrupted_commit_leaves_the_last_state(
    tmp_path: Path, common: Tables, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    old, new = [result("a", [0])], [result("a", [0, 1]), result("b")]
    roots = [tmp_path / "old", tmp_path / "new"]
    for root, results in zip(roots, (old, new), strict=True):
        store.commit(root, results, common, Settings())
    before, after = (content(store.current(root)) for root in roots)
    complete = bytes_of(roots[1])
    real = getattr(os, step)
    root = roots[0]
    seen = []
    for stop in range(1, 100):
        calls = iter(range(1, 1000))

        def interrupted(*given: object, calls: Iterable[int] = calls, stop: int = stop) -> object:
            if next(calls) == stop:  # type: ignore[call-overload]
                raise Interrupted
            return real(*given)

        monkeypatch.setattr(os, step, interrupted)
        try:
            store.commit(root, new, common, Settings())
        except Interrupted:
            monkeypatch.setattr(os, step, real)
            seen.append(content(store.current(root)))
            assert seen[-1] in (before, after)
            with duckdb.connect(root / "collaparte.duckdb", read_only=True) as database:
                assert database.sql("SELECT count(*) FROM play_order").fetchall() in (
                    [(1,)],
                    [(5,)],
                )
            for path in (root / "tables").glob("*.parquet"):
                pq.read_table(path)
            if seen[-1] == after:
                store.commit(root, old, common, Settings())
        else:
            break
    monkeypatch.setattr(os, step, real)
    assert len(seen) >= len(TABLES), "every call was the last one once"
    if step != "link":
        assert before in seen
    assert content(store.current(root)) == after
    assert set(complete.items()) <= set(bytes_of(root).items())
    assert not list(root.rglob(".unfinished-*")), "leftovers are cleared away"


def test_disk_that_fails_is_one_plain_line(
    tmp_path: Path, common: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.commit(tmp_path, [result("a")], common, Settings())

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="cannot be written: No space left on device"):
        store.commit(tmp_path, [result("b")], common, Settings())
    assert list(store.current(tmp_path).movements) == ["a"]


def test_second_writer_gets_one_plain_line(tmp_path: Path, common: Tables) -> None:
    code = (
        f"import sys; sys.path.insert(0, {str(PIPELINE)!r})\n"
        "from pathlib import Path\nfrom collaparte import store\n"
        "with store.locked(Path(sys.argv[1])):\n"
        "    print('locked', flush=True)\n    sys.stdin.read()\n"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", code, tmp_path],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert other.stdin is not None
    assert other.stdout is not None
    with other.stdin, other.stdout:
        assert other.stdout.readline() == "locked\n"
        with pytest.raises(StoreError, match="another build is writing to this store"):
            store.commit(tmp_path, [result("a")], common, Settings())
    other.wait()
    store.commit(tmp_path, [result("a")], common, Settings())
    assert list(store.current(tmp_path).movements) == ["a"]


def test_folder_of_other_things_is_no_store(tmp_path: Path, common: Tables) -> None:
    (tmp_path / "thesis.odt").write_bytes(b"years of work")
    with pytest.raises(StoreError, match=r"is no store, it holds thesis\.odt"):
        store.commit(tmp_path, [result("a")], common, Settings())
    assert [path.name for path in tmp_path.iterdir()] == ["thesis.odt"]
    with pytest.raises(StoreError, match="cannot be written"):
        store.commit(tmp_path / "thesis.odt", [result("a")], common, Settings())


POINTER = {"is": "collaparte store", "format": 1, "libraries": {}, "settings": {}, "movements": {}}
EMPTY = "0" * 64 + ".parquet"


def named(*objects: str) -> dict[str, list[str]]:
    return {name: list(objects) for name in TABLES}


@pytest.mark.parametrize(
    ("pointer", "message"),
    [
        (b"", "is damaged"),
        (b'{"is": "collap', "is damaged"),
        (b"\xff\xfe\x00", "is damaged"),
        (b"[" * 100_000, "is damaged"),
        (b"[1]", "is not of a store of collaparte"),
        (b'{"version": 3}', "is not of a store of collaparte"),
        ({**POINTER, "format": 2, "tables": {}}, "built by another version of collaparte"),
        ({**POINTER, "tables": {"notes": [EMPTY]}}, "built by another version"),
        ({**POINTER, "tables": named()}, "built by another version"),
        ({**POINTER, "tables": named("../../x.parquet")}, "built by another version"),
        ({**POINTER, "tables": named(EMPTY), "settings": 1}, "built by another version"),
        ({**POINTER, "tables": named(EMPTY)}, "the object 0{64}.parquet is miss"),
    ],
)
def test_damaged_or_foreign_pointer_is_one_plain_line(
    tmp_path: Path, pointer: bytes | dict[str, object], message: str
) -> None:
    data = pointer if isinstance(pointer, bytes) else json.dumps(pointer).encode()
    (tmp_path / "current.json").write_bytes(data)
    with pytest.raises(StoreError, match=message) as caught:
        store.current(tmp_path)
    assert "\n" not in str(caught.value)


def test_damaged_pointer_is_not_written_over(tmp_path: Path, common: Tables) -> None:
    (tmp_path / "current.json").write_bytes(b"something else")
    with pytest.raises(StoreError, match="is damaged"):
        store.commit(tmp_path, [result("a")], common, Settings())
    assert (tmp_path / "current.json").read_bytes() == b"something else"


def test_no_store(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="there is no store here"):
        store.current(tmp_path)
    with pytest.raises(StoreError, match="there is no store here"):
        store.current(tmp_path / "nowhere")


def test_tables_must_be_as_declared(tmp_path: Path, common: Tables) -> None:
    movement_id, tables = result("a")
    played = tables["play_order"]
    position = played.schema.get_field_index("pass")
    field = played.schema.field("pass")
    wide = played.set_column(position, "pass", played["pass"].cast(pa.int64()))
    holed = played.set_column(position, field, pa.nulls(3, pa.int16()))
    for wrong, message in (
        (wide, "pass: int16 not null, pass: int64"),
        (played.drop_columns(["pass"]), "not as declared: pass: int16"),
        (holed, "play_order: null in the required column pass"),
    ):
        with pytest.raises(ValueError, match=message):
            store.commit(tmp_path, [(movement_id, {"play_order": wrong})], common, Settings())
    with pytest.raises(ValueError, match="a: two results"):
        store.commit(tmp_path, [result("a"), result("a")], common, Settings())
    with pytest.raises(ValueError, match="a: chairs"):
        store.commit(tmp_path, [("a", {"chairs": played})], common, Settings())
