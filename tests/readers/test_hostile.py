"""Broken files and files made to harm: one remark, the run goes on, nothing outside is touched."""

from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from events import events, rows, state, tables_of
from hostile import (
    BOMBS,
    FIRST_NOTE,
    PLAIN,
    ROOT,
    with_doctype,
    within_first_bar,
    zipped,
)
from test_container import archive, container_of

from collaparte.schema import Tables
from scores import bar, element, note, part, score

TABLES = ("movements", "parts", "lines", "bars", "play_order", "notes", "directions", "remarks")
PLAIN_EVENTS = [(0, 4, 72, "C5"), (4, 4, 74, "D5")]


def failure(tables: Tables) -> tuple[str, str]:
    """Code and message of the one remark of a score that could not be read."""
    assert state(tables) == "failed"
    assert set(tables) == set(TABLES)
    assert {name: tables[name].num_rows for name in TABLES[1:-1]} == dict.fromkeys(TABLES[1:-1], 0)
    ((severity, code, message, done),) = rows(
        tables, "remarks", "severity", "code", "message", "done"
    )
    assert severity == "error"
    assert "\n" not in message
    assert message.endswith(".")
    assert done
    return code, message


@pytest.mark.parametrize(
    ("data", "code", "sentence"),
    [
        (b"", "empty_file", "The file is empty."),
        (PLAIN[:FIRST_NOTE], "broken_xml", "breaks off in line 3"),
        (PLAIN[:-5], "broken_xml", "breaks off in line 5"),
        (PLAIN.replace(b"</pitch>", b"</peach>", 1), "broken_xml", "Line 3 is not well-formed"),
        (b"<mei/>".replace(b"mei", b"score"), "not_a_score", "root element is score"),
        (b"<html><body>404</body></html>", "not_a_score", "web page"),
        (score(), "no_parts", "no part"),
        (ROOT + b"<score-partwise/>", "no_parts", "no part"),
        (PLAIN.replace(b"Flute", b"Fl\xf6te"), "broken_xml", "Line 2 is not the UTF-8 text"),
        (within_first_bar(b"&nbsp;"), "broken_xml", "Line 3 .* entity"),
        (archive({"a.txt": b"x"}), "no_score_in_zip", "holds no MusicXML score"),
        (zipped(PLAIN)[:-30], "broken_zip", "damaged"),
        (
            archive({"../../a.xml": PLAIN, **container_of('full-path="../../a.xml"')}),
            "unsafe_zip",
            "outside the zip archive",
        ),
    ],
)
def test_broken_file_fails_with_one_sentence(data: bytes, code: str, sentence: str) -> None:
    found, message = failure(tables_of(data))
    assert found == code
    assert re.search(sentence, message), message


@pytest.mark.parametrize(
    "data",
    [
        PLAIN.decode().encode("utf-16"),
        PLAIN.replace(b'"UTF-8"', b'"UTF-16"').decode().encode("utf-16-be"),
        PLAIN.replace(b'"UTF-8"', b'"UTF-16"'),
        PLAIN.replace(b'"UTF-8"', b'"ISO-8859-1"').replace(b"Flute", b"Fl\xf6te"),
        b"\xef\xbb\xbf" + PLAIN,
        b"\n\n" + PLAIN,
        zipped(PLAIN),
        archive({"__MACOSX/._a.xml": b"\0\5", "a.xml": PLAIN}),
        archive({"../../b.xml": b"<a/>", "a.xml": PLAIN, **container_of('full-path="a.xml"')}),
    ],
)
def test_unusual_file_is_read_all_the_same(data: bytes) -> None:
    tables = tables_of(data, "score.bin")
    assert state(tables) == "read"
    assert events(tables) == PLAIN_EVENTS


def test_names_come_through_every_encoding() -> None:
    for codec, declared in (("utf-16", "UTF-16"), ("latin-1", "ISO-8859-1"), ("utf-8", "UTF-8")):
        text = PLAIN.decode().replace("UTF-8", declared).replace("Flute", "Flöte & Ω"[:5])
        assert rows(tables_of(text.encode(codec)), "parts", "name") == ["Flöte"]


def test_step_h_is_refused_with_its_place() -> None:
    code, message = failure(tables_of(PLAIN.replace(b"<step>D</step>", b"<step>H</step>")))
    assert code == "bad_pitch"
    assert message.startswith("Line 4 (part 1, bar 2): “H”")


def test_word_as_duration_is_refused_with_its_place() -> None:
    code, message = failure(tables_of(score(part(bar(note("C5", 4)), bar(note("D5", "long"))))))
    assert code == "bad_duration"
    assert message.startswith("Line 4 (part 1, bar 2): the duration “long”")


@pytest.mark.parametrize(
    "odd",
    [
        element("divisions", "0"),
        element("divisions", "-1"),
        element("divisions", "1e400"),
        element("divisions", "99999999999999999999999"),
        element("divisions", "9" * 5000),
        element("divisions", "\N{ARABIC-INDIC DIGIT FOUR}"),
        element("divisions", "nan"),
    ],
)
def test_impossible_divisions_never_break_the_tables(odd: str) -> None:
    data = PLAIN.replace(b"<divisions>1</divisions>", odd.encode())
    tables = tables_of(data)
    assert state(tables) in ("read", "failed")
    assert rows(tables, "remarks", "code")


@pytest.mark.parametrize(
    "duration", ["-4", "1e400", "99999999999999999999999", "9" * 5000, "", "inf"]
)
def test_impossible_duration_never_breaks_the_tables(duration: str) -> None:
    data = score(part(bar(note("C5", duration)), bar(note("D5", 4))))
    tables = tables_of(data)
    assert state(tables) in ("read", "failed")
    assert rows(tables, "remarks", "code")


def test_no_file_is_opened_for_an_entity(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("the secret")
    for declarations, use in (
        (f'[<!ENTITY e SYSTEM "{secret.as_uri()}">]', "&e;"),
        (f'[<!ENTITY % e SYSTEM "{secret.as_uri()}"> %e;]', "Flute"),
        (f'[<!NOTATION n SYSTEM "{secret.as_uri()}">]', "Flute"),
    ):
        tables = tables_of(with_doctype(declarations, use))
        code, message = failure(tables)
        assert code == "unsafe_xml"
        assert message.startswith("Line 2 ")
        assert "the secret" not in str([table.to_pydict() for table in tables.values()])


@pytest.mark.parametrize("slow_path", [b"", b"<![CDATA[ ]]>"])
def test_no_address_is_opened_for_a_doctype(slow_path: bytes) -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)
        address = f"http://127.0.0.1:{server.getsockname()[1]}/partwise.dtd"
        data = with_doctype(f'SYSTEM "{address}"', "Flute").replace(
            b"<note>", slow_path + b"<note>"
        )
        tables = tables_of(data)
        with pytest.raises(BlockingIOError):
            server.accept()
    assert events(tables) == PLAIN_EVENTS


def test_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    entries = {"../evil.xml": PLAIN, "/evil.xml": PLAIN, "a.xml": PLAIN}
    assert state(tables_of(archive(entries))) == "read"
    assert list(tmp_path.rglob("*")) == [inner]


def test_bombs_fail_within_bounded_time_and_memory() -> None:
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("hostile.py"))],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    harmless = {
        "hundred_thousand_attributes",
        "endless_text",
        "endless_digits",
    }  # odd, but well-formed
    states = {name: outcome["state"] for name, outcome in result["outcomes"].items()}
    assert {name for name in states if states[name] == "read"} <= harmless
    assert set(states) == set(BOMBS)
    for name, outcome in result["outcomes"].items():
        if name not in harmless:
            assert len(outcome["codes"]) == 1, (name, outcome)
    assert result["peak_bytes"] < 1 << 30
