"""What is compared, and by which rates."""

from __future__ import annotations

from dataclasses import dataclass

from collaparte.schema import TICKS

TOGETHER = "any of these"
"""The kind of the rows that count all chosen kinds together."""


@dataclass(frozen=True)
class Choice:
    """What a person chose to compare; `OpenStore.compare` says what each means."""

    line: str
    partners: tuple[str, ...]
    by: str = "composer"
    strict: bool = True
    kinds: tuple[str, ...] = ("unison", "octave")
    against: str | None = None
    collection: str | None = None
    encoder: str | None = None
    every_movement: bool = False
    half: str | None = None
    seed: int | None = None

    @property
    def labels(self) -> tuple[str, ...]:
        """The kinds of the table's rows: each chosen one, and of several all together."""
        return (TOGETHER, *self.kinds) if len(self.kinds) > 1 else self.kinds

    @property
    def counted(self) -> tuple[tuple[str, str], ...]:
        """Each kind of doubling with a label under which it counts."""
        alone = tuple((kind, kind) for kind in self.kinds)
        return alone + tuple((kind, TOGETHER) for kind in self.kinds if len(self.kinds) > 1)


@dataclass(frozen=True)
class Rate:
    """A ratio of two amounts: what they are called, and how much of each makes one unit."""

    name: str
    numerator: str
    denominator: str
    numerator_unit: int
    denominator_unit: int
    in_words: str


RATES = (
    Rate("F1", "doubled", "sounding", TICKS, TICKS, "doubled time ÷ time in which the line sounds"),
    Rate(
        "F2",
        "doubled",
        "together",
        TICKS,
        TICKS,
        "doubled time ÷ time in which the line and a partner both sound",
    ),
    Rate(
        "E",
        "stretches",
        "bars",
        1,
        100,
        "stretches of doubling per 100 bars in which the line sounds",
    ),
)
