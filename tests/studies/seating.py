"""Parts that most studies share."""

from __future__ import annotations

from studies.instruments import INSTRUMENTS
from studies.plan import Part

VOICES = (
    Part("S", "soprano", "Soprano", (("S",),)),
    Part("A", "alto", "Alto", (("A",),)),
    Part("T", "tenor", "Tenor", (("T",),)),
    Part("B", "bass", "Bass", (("B",),)),
)
STRINGS = (
    Part("vn1", "violin-1", "Violin I", (("vn1",),)),
    Part("vn2", "violin-2", "Violin II", (("vn2",),)),
    Part("va", "viola", "Viola", (("va1", "va2"),)),
    Part("vc", "violoncello", "Violoncello", (("vc",),)),
    Part("db", "double-bass", "Double Bass", (("db",),)),
)
HARP = Part("hp", "harp", "Harp", (("hp1",), ("hp2",)))


def part(
    seat: str,
    label: str,
    name: str = "",
    becomes: tuple[int, str, str] | None = None,
    shown_by: str = "words",
) -> Part:
    """A part with one player, who may change to another instrument."""
    changes = (becomes,) if becomes else ()
    return Part(seat, label, name or INSTRUMENTS[label].name, ((seat,),), changes, shown_by)


def pair(part_id: str, label: str, name: str) -> Part:
    """Two players on one staff: the seats end in 1 and 2."""
    return Part(part_id, label, name, ((f"{part_id}1", f"{part_id}2"),))


def groups(wood: tuple[str, str], brass: tuple[str, str]) -> tuple[tuple[str, str, str], ...]:
    """The brackets of the score."""
    return (
        ("Woodwind", *wood), ("Brass", *brass), ("Chorus", "S", "B"), ("Strings", "vn1", "db"),
    )  # fmt: skip
