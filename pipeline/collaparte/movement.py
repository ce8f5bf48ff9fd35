"""What is stated about one movement before its file is read.

The manifest makes these; readers and the build take them. Nothing here knows where a file lies.
"""

from __future__ import annotations

import re
import unicodedata
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

    `work_stated` is false where nobody said which work the movement belongs to: then the file may.
    `voices` is `chorus` or `solo` where the manifest states what the vocal parts of the
    movement are, `parts` what it states about single parts (which outranks `voices`).
    """

    movement_id: str
    file_name: str
    work_id: str
    work: str
    work_stated: bool = True
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


def short_name(text: str) -> str:
    """A name in lower-case letters and figures of any script, without accents; may be empty."""
    letters = unicodedata.normalize("NFKD", text).casefold()
    plain = "".join(letter for letter in letters if not unicodedata.combining(letter))
    return re.sub(r"[^\w]+", "-", plain).strip("-_")
