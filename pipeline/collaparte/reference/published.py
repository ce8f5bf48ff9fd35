"""What handbooks say of doublings: combinations of instruments, and who is in each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from collaparte.reference.rows import Group, Row


@dataclass(frozen=True, slots=True)
class PublishedDoubling:
    """One combination with its verdict: recommended, possible, rare or avoid."""

    pair_id: str
    kind: str
    parts: int
    span_octaves: int | None
    verdict: str
    context: str
    stated_effect: str
    source: str

    @classmethod
    def of(cls, row: Row) -> PublishedDoubling:
        """The combination of one row of the file."""
        return cls(
            row["id"],
            row["kind"],
            int(row["parts"]),
            int(row["span_octaves"]) if row["span_octaves"] else None,
            row["verdict"],
            row["context"],
            row["stated_effect"],
            row["source"],
        )


@dataclass(frozen=True, slots=True)
class PublishedMember:
    """One member of a combination; `level` counts octaves from its lowest, None: not stated."""

    pair_id: str
    level: int | None
    count: int
    instrument: str

    @classmethod
    def of(cls, row: Row) -> PublishedMember:
        """The member of one row of the file."""
        level = int(row["level"]) if row["level"] else None
        return cls(row["pair_id"], level, int(row["count"]), row["instrument"])


def meant_by(name: str, groups: Mapping[str, Group]) -> Iterator[str]:
    """The keys of instruments and names of families that a name of the rules stands for."""
    members = groups[name].members if name in groups else ()
    if not members:
        yield name
    for member in members:
        yield from meant_by(member, groups)
