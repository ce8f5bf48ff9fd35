"""What is stated about one movement before its file is read.

The manifest makes these; readers and the build take them. Nothing here knows where a file lies.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Rights:
    """What is known about the right to use a score, and on what basis."""

    licence_notes: str | None = None
    licence_other: str | None = None
    attribution: str | None = None
    may_show_notation: bool = False
    may_share_events: bool = False
    basis: str | None = None


@dataclass(frozen=True)
class PartStatement:
    """What the manifest states about one part; it outranks what the file says.

    `part` is the part's id in the file, its printed name, or its index written as digits.
    """

    part: str
    instrument: str | None = None
    ensemble: str | None = None


@dataclass(frozen=True)
class Movement:
    """One movement of the corpus: names, dates, rights and corrections.

    `voices` is `chorus` or `solo` where the manifest states what the vocal parts of the
    movement are, `parts` what it states about single parts (which outranks `voices`).
    """

    movement_id: str
    file_name: str
    work_id: str
    work: str
    movement: str | None = None
    title: str | None = None
    composer_id: str | None = None
    composer: str | None = None
    composer_born: int | None = None
    composer_died: int | None = None
    year_from: int | None = None
    year_to: int | None = None
    collection: str | None = None
    source_kind: str = "file"
    source_address: str | None = None
    edition: str | None = None
    invented: bool = False
    scoring_complete: str = "unknown"
    counts: bool = True
    voices: str | None = None
    parts: tuple[PartStatement, ...] = ()
    rights: Rights = field(default_factory=Rights)
