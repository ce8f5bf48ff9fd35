"""Scores damaged at random: the reader never raises, and its tables always keep their schema.

`pytest tests/readers/test_fuzz.py --fuzz 10000` reads more of them than the usual run.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable

import pyarrow as pa
import pyarrow.compute as pc
import pytest
from events import state, tables_of
from fuzz_scores import choral, formal, keyboard

from collaparte.schema import TABLES, Tables

SEEDS = (choral(), keyboard(), formal())
READ = ("movements", "parts", "lines", "bars", "play_order", "notes", "directions", "remarks")
TOKEN = re.compile(rb"<[^<>]+>|[^<>]+")
NUMBERS = (
    b"0",
    b"-1",
    b"1",
    b"3",
    b"7",
    b"255",
    b"99999999999",
    b"1e9",
    b"0.333",
    b"x",
    b"",
    b"\xd9\xa4",
)
FAR = 1 << 62


def flip_bytes(data: bytes, chance: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        changed[chance.randrange(len(changed))] = chance.choice(b"<>/&\"' 01\x00\xff=aC")
    return bytes(changed)


def truncate(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def replace_number(data: bytes, chance: random.Random) -> bytes:
    found = chance.choice(list(re.finditer(rb">(-?\d+)<|\"(-?\d+)\"", data)))
    inner = 1 if found.group(1) is not None else 2
    return data[: found.start(inner)] + chance.choice(NUMBERS) + data[found.end(inner) :]


def replace_word(data: bytes, chance: random.Random) -> bytes:
    found = chance.choice(list(re.finditer(rb"[>\"]([^<>\"\n]+)[<\"]", data)))
    other = chance.choice(list(re.finditer(rb"[>\"]([^<>\"\n]+)[<\"]", data)))
    return data[: found.start(1)] + other.group(1) + data[found.end(1) :]


def change_tokens(data: bytes, chance: random.Random) -> bytes:
    """One tag or text doubled, left out, or changed with another: seldom well-formed."""
    tokens = TOKEN.findall(data)
    at, other = chance.randrange(len(tokens)), chance.randrange(len(tokens))
    match chance.randrange(3):
        case 0:
            tokens.insert(at, tokens[at])
        case 1:
            del tokens[at]
        case _:
            tokens[at], tokens[other] = tokens[other], tokens[at]
    return b"".join(tokens)


def change_elements(data: bytes, chance: random.Random) -> bytes:
    """One whole element doubled, left out, or put elsewhere: well-formed throughout."""
    tokens = TOKEN.findall(data)
    start = chance.choice(
        [at for at, token in enumerate(tokens) if re.match(rb"<[^/?!]", token)][1:]
    )
    end = end_of_element(tokens, start)
    element = tokens[start:end]
    match chance.randrange(3):
        case 0:
            tokens[end:end] = element
        case 1:
            del tokens[start:end]
        case _:
            del tokens[start:end]
            inside = [at for at, token in enumerate(tokens) if token.startswith(b"</")]
            place = chance.choice(inside)
            tokens[place:place] = element
    return b"".join(tokens)


def end_of_element(tokens: list[bytes], start: int) -> int:
    depth = 0
    for at in range(start, len(tokens)):
        token = tokens[at]
        if token.startswith(b"</"):
            depth -= 1
        elif token.startswith(b"<") and not token.endswith(b"/>"):
            depth += 1
        if depth == 0:
            return at + 1
    return len(tokens)


MUTATIONS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    *(change_elements,) * 4,
    *(replace_number,) * 3,
    *(replace_word,) * 3,
    flip_bytes,
    change_tokens,
    truncate,
)


def damaged(number: int) -> bytes:
    """The score of this number, always the same."""
    chance = random.Random(number)
    data = chance.choice(SEEDS)
    for _ in range(chance.choice((1, 1, 2, 3))):
        data = chance.choice(MUTATIONS)(data, chance) or data
        if not TOKEN.search(data) or not re.search(rb">(-?\d+)<", data):
            break
    return data


def faults(tables: Tables) -> list[str]:
    """What is wrong with the tables of one score."""
    if set(tables) != set(READ):
        return [f"tables {sorted(tables)}"]
    found = []
    for name, table in tables.items():
        if not table.schema.equals(TABLES[name].arrow()):
            found.append(f"{name}: another schema")
        try:
            table.validate(full=True)
        except pa.ArrowInvalid as error:
            found.append(f"{name}: {error}")
        for column in TABLES[name].columns:
            values = table[column.name]
            if values.null_count and not column.optional:
                found.append(f"{name}.{column.name}: null")
            if column.unit == "ticks" and (pc.max(pc.abs(values)).as_py() or 0) >= FAR:
                found.append(f"{name}.{column.name}: beyond all measure")
            if (
                pa.types.is_floating(values.type)
                and pc.any(pc.invert(pc.is_finite(values))).as_py()
            ):
                found.append(f"{name}.{column.name}: not finite")
    return found + faults_of_state(tables)


def faults_of_state(tables: Tables) -> list[str]:
    errors = pc.sum(pc.equal(tables["remarks"]["severity"].cast(pa.string()), "error")).as_py() or 0
    match state(tables):
        case "failed" if errors == 1 and not any(tables[name].num_rows for name in READ[1:-1]):
            return []
        case "read" if errors == 0 and faults_of_places(tables) == []:
            return []
        case "read":
            return faults_of_places(tables) or ["read, with an error"]
    return [f"state {state(tables)} with {errors} errors"]


def faults_of_places(tables: Tables) -> list[str]:
    """Rows that point at bars or lines that are not there, or lie before the start."""
    keys = {
        "bar_key": set(tables["bars"]["bar_key"].to_pylist()),
        "line_key": set(tables["lines"]["line_key"].to_pylist()),
    }
    lost = [
        f"{name}.{key}: not there"
        for name, key in (
            ("notes", "bar_key"),
            ("directions", "bar_key"),
            ("play_order", "bar_key"),
            ("notes", "line_key"),
        )
        if not set(tables[name][key].to_pylist()) <= keys[key]
    ]
    early = [
        f"notes.{column}: below 0"
        for column in ("onset_ticks", "duration_ticks")
        if (pc.min(tables["notes"][column]).as_py() or 0) < 0
    ]
    return lost + early


@pytest.mark.parametrize("number", range(len(SEEDS)))
def test_seeds_are_read_whole(number: int) -> None:
    tables = tables_of(SEEDS[number])
    assert state(tables) == "read"
    assert faults(tables) == []
    assert tables["notes"].num_rows > 5


def test_damaged_scores_always_give_tables_of_the_schema(fuzz_cases: int) -> None:
    found: dict[int, object] = {}
    states = {"read": 0, "failed": 0}
    for number in range(fuzz_cases):
        try:
            tables = tables_of(damaged(number))
        except Exception as error:
            found[number] = repr(error)
            continue
        if wrong := faults(tables):
            found[number] = wrong
        states[state(tables)] += 1
    assert not found, f"{len(found)} of {fuzz_cases}: {dict(list(found.items())[:20])}"
    assert min(states.values()) > fuzz_cases // 10, states
