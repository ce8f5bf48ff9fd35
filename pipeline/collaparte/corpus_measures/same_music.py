"""The same music twice: movements that are more than 80% alike.

The fingerprint of a movement is the set of what its lines play over three notes at a time: two
intervals, each with the length of the note that it starts from. It is the same at any pitch and
under any names. Two movements are as alike as their sets: twice the common elements ÷ the
elements of both (L. R. Dice, 1945), where one part, of one of the two, is left out if that brings
them nearer; so a copy that lacks a part is found as well. That counts only where at least three
parts are there. Longer elements miss the same music under another text: a syllable more on one
note spoils all that hold it (the Gratias and the Dona nobis pacem of Bach's Mass in B minor have
88% of their notes in common and 81% of such elements, but 61% of those over six notes). Other
movements of one hand reach about 40%.

Of movements with the same music the first by movement_id that counts goes on counting.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
from scipy import sparse

from collaparte.remarks import Remark, remarks_table
from collaparte.schema import Tables
from collaparte.settings import Settings

INTERVALS = 2
"""Intervals of one element of a fingerprint."""

SEVERAL_PARTS = 1 << 15
"""Stands for the part of an element that several parts play."""

Hashes = npt.NDArray[np.uint64]


@dataclass(frozen=True)
class Fingerprint:
    """The elements of one movement.

    Attributes
    ----------
    elements
        Sorted hashes, none twice.
    part
        Index of the part that alone plays the element, else `SEVERAL_PARTS`.
    parts
        Parts that play at least one element.
    """

    elements: Hashes
    part: npt.NDArray[np.int64]
    parts: int


def same_music(
    corpus: Mapping[str, Mapping[str, pa.Table]], settings: Settings
) -> dict[str, Tables]:
    """New `movements` and `remarks` of the movements whose music an earlier one has.

    `same_music_as` names the earlier one, and `counts` becomes false where it counts.
    """
    prints = {
        name: fingerprint(corpus[name]["notes"])
        for name in sorted(corpus)
        if "notes" in corpus[name]
    }
    enough = [
        name
        for name, found in prints.items()
        if len(found.elements) >= settings.fingerprint_elements
    ]
    alike = _alike([prints[name] for name in enough], settings.same_music_share)
    earliest: dict[str, tuple[str, float]] = {}
    for earlier, later, share in alike:
        if enough[later] not in earliest:
            first = earliest.get(enough[earlier], (enough[earlier],))[0]
            earliest[enough[later]] = first, share
    counting = {name: _counts(corpus[name]) for name in {first for first, _ in earliest.values()}}
    changed = {}
    for name, (first, share) in sorted(earliest.items()):
        counts = _counts(corpus[name]) and not counting[first]
        counting[first] |= counts
        changed[name] = _flagged(name, corpus[name], first, share, counts)
    return changed


def fingerprint(notes: pa.Table) -> Fingerprint:
    """The fingerprint of one movement from its `notes`; of a chord in a line the top note counts.

    Grace and cue notes and notes without pitch are left out.
    """
    left_out = pc.or_(pc.or_(notes["is_grace"], notes["is_cue"]), pc.is_null(notes["midi"]))
    kept = notes.filter(pc.invert(left_out))
    line, part, onset, length, midi = (
        kept[name].to_numpy().astype(np.int64)
        for name in ("line_key", "part_index", "onset_ticks", "duration_ticks", "midi")
    )
    order = np.lexsort((-midi, onset, line))
    line, onset = line[order], onset[order]
    top = np.ones(len(line), np.bool_)
    top[1:] = (line[1:] != line[:-1]) | (onset[1:] != onset[:-1])
    order = order[top]
    line, part, length, midi = line[top], part[order], length[order], midi[order]
    count = max(0, len(line) - INTERVALS)
    step = _mixed(
        length[:-1].astype(np.uint64) * np.uint64(256) + (np.diff(midi) + 128).astype(np.uint64)
    )
    hashed = np.zeros(count, np.uint64)
    for place in range(INTERVALS):
        hashed = _mixed(hashed ^ step[place : place + count])
    within = line[:count] == line[INTERVALS:]
    return _set_of(hashed[within], part[:count][within])


def _mixed(values: Hashes) -> Hashes:
    """Hashes of 64-bit numbers: the finalizer of SplitMix64 (Steele, Lea and Flood 2014)."""
    values = values + np.uint64(0x9E3779B97F4A7C15)
    values = (values ^ (values >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    values = (values ^ (values >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return values ^ (values >> np.uint64(31))


def _set_of(hashed: Hashes, part: npt.NDArray[np.int64]) -> Fingerprint:
    elements, number = np.unique(hashed, return_inverse=True)
    least = np.full(len(elements), SEVERAL_PARTS)
    greatest = np.full(len(elements), -1)
    np.minimum.at(least, number, part)
    np.maximum.at(greatest, number, part)
    alone = np.where(least == greatest, least, SEVERAL_PARTS)
    return Fingerprint(elements, alone, len(np.unique(part)))


def _alike(prints: list[Fingerprint], share: float) -> list[tuple[int, int, float]]:
    """Pairs of movements more alike than `share`: earlier, later, how alike; by later, earlier."""
    if len(prints) < 2:
        return []
    sizes = np.array([len(found.elements) for found in prints])
    _, column = np.unique(np.concatenate([found.elements for found in prints]), return_inverse=True)
    row = np.repeat(np.arange(len(prints)), sizes)
    has = sparse.csr_matrix((np.ones(len(row), np.int32), (row, column)))
    common = (has @ has.T).tocoo()
    # However a part is left out, the smaller set and as much of the other as is common stay.
    near = (common.row < common.col) & (
        (2 - share) * common.data > share * np.minimum(sizes[common.row], sizes[common.col])
    )
    pairs = sorted(zip(common.col[near].tolist(), common.row[near].tolist(), strict=True))
    found = [
        (earlier, later, similarity(prints[earlier], prints[later])) for later, earlier in pairs
    ]
    return [pair for pair in found if pair[2] > share]


def similarity(one: Fingerprint, other: Fingerprint) -> float:
    """How alike two movements are, from 0 to 1."""
    shared = np.isin(one.elements, other.elements, assume_unique=True)
    common = int(shared.sum())
    together = len(one.elements) + len(other.elements)
    spare = max(
        _most_of_one_part(one, ~shared),
        _most_of_one_part(other, ~np.isin(other.elements, one.elements, assume_unique=True)),
    )
    return 2 * common / (together - spare) if together else 0.0


def _most_of_one_part(found: Fingerprint, wanting: npt.NDArray[np.bool_]) -> int:
    """The most of the elements that the other movement lacks that one part alone plays."""
    alone = found.part[wanting & (found.part != SEVERAL_PARTS)]
    return int(np.bincount(alone).max()) if found.parts >= 3 and len(alone) else 0


def _counts(tables: Mapping[str, pa.Table]) -> bool:
    return bool(tables["movements"]["counts"][0].as_py())


def _flagged(
    name: str, tables: Mapping[str, pa.Table], first: str, share: float, counts: bool
) -> Tables:
    movements = tables["movements"]
    for column, value in (("same_music_as", first), ("counts", counts)):
        place = movements.schema.get_field_index(column)
        field = movements.schema.field(place)
        movements = movements.set_column(place, field, pa.array([value], field.type))
    remark = remarks_table(
        name,
        [
            Remark(
                "same_music",
                f"The movement is {100 * share:.0f}% alike to {first}.",
                "It counts, since the other does not." if counts else "It does not count.",
                stage="corpus",
            )
        ],
    )
    before = [tables["remarks"]] if "remarks" in tables else []
    return {
        "movements": movements,
        "remarks": pa.concat_tables([*before, remark]).unify_dictionaries(),
    }
