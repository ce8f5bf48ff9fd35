"""What the tables know of real scores: instruments, registers and words, in shares.

At least 99% of the pitched notes have an instrument, 95% a register class; at least 95% of the
texts in words are understood or about tempo and expression only. What is left is printed.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc
import pytest

from collaparte import manifest, readers, reference
from collaparte.settings import Settings


@pytest.fixture(scope="module")
def tables(scores: Path) -> dict[str, pa.Table]:
    """Notes and directions of all scores that can be read."""
    found: dict[str, list[pa.Table]] = {"notes": [], "directions": []}
    for entry in manifest.from_path(scores):
        one = readers.read(entry.read_bytes(), entry.movement, reference.load(), Settings())
        assert one["movements"]["state"].to_pylist() == ["read"], entry.movement.movement_id
        for name, parts in found.items():
            parts.append(one[name])
    return {name: pa.concat_tables(parts).unify_dictionaries() for name, parts in found.items()}


@pytest.mark.parametrize(("column", "least"), [("instrument", 0.99), ("register_class", 0.95)])
def test_pitched_notes_have_an_instrument_and_a_register(
    tables: dict[str, pa.Table], column: str, least: float
) -> None:
    notes = tables["notes"]
    pitched = notes.filter(pc.invert(notes["is_unpitched"]))
    without = pitched.filter(pc.is_null(pitched[column]))
    print(f"{column}: {1 - len(without) / len(pitched):.2%} of {len(pitched)} pitched notes")
    rest = Counter(
        zip(without["movement_id"].to_pylist(), without["instrument"].to_pylist(), strict=True)
    )
    for (movement, instrument), count in rest.most_common():
        print(f"  {count} without {column}: {instrument or 'unknown'} in {movement}")
    assert len(pitched) > 0
    assert 1 - len(without) / len(pitched) >= least


def test_texts_are_understood(tables: dict[str, pa.Table]) -> None:
    directions = tables["directions"]
    texts = directions.filter(pc.equal(directions["element"], "words"))
    left = texts.filter(pc.is_valid(texts["not_understood"]))
    print(f"texts: {1 - len(left) / len(texts):.2%} of {len(texts)} understood or not ours")
    for text, count in Counter(left["text"].to_pylist()).most_common():
        print(f"  {count} not understood: {text}")
    assert 1 - len(left) / len(texts) >= 0.95
