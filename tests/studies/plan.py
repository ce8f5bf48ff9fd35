"""What is decided about a study before a note of it is composed."""

from __future__ import annotations

from dataclasses import dataclass, field

from studies.harmony import Key


@dataclass(frozen=True)
class Copy:
    """A planted doubling: a seat that goes with the voice.

    `kind` is `same` (unison or octaves), `displaced`, `reiterated`, `main_notes`, or `along`
    (`steps` diatonic steps away: parallel thirds and sixths). `bars` counts from 1 in the scene.
    """

    seat: str
    octaves: int = 0
    kind: str = "same"
    steps: int = 0
    bars: tuple[int, int] | None = None


@dataclass(frozen=True)
class Voice:
    """An independent line of a scene.

    `rhythm` gives the lengths bar by bar (`w h q e s`, a dot after, `r` before for rests), over
    and over again; `chords` is one note a chord. `manner` is melody, counter, inner, bass,
    figure, chord or pedal; `how` says what becomes of its notes: plain, held, repeated, after
    (after the beat), tremolo.
    """

    name: str
    seat: str
    role: str
    rhythm: str
    manner: str
    how: str = "plain"
    low: int = 0
    high: int = 127
    centre: int | None = None
    shape: str = "arch"
    bars: tuple[int, int] | None = None
    above: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    follows: str = ""
    follows_after: int = 0
    """Bars after which it imitates the voice `follows`."""
    copies: tuple[Copy, ...] = ()


@dataclass(frozen=True)
class Chords:
    """A planted chordal doubling: the chords of some voices, in close position elsewhere."""

    seat: str
    of: tuple[str, ...]
    low: int
    high: int


@dataclass(frozen=True)
class Worded:
    """A planted doubling in words: empty bars with the words, and the seat that is meant."""

    seat: str
    text: str
    with_seat: str
    octaves: int = 0


@dataclass(frozen=True)
class Beats:
    """Unpitched percussion: a rhythm bar by bar."""

    seat: str
    rhythm: str
    bars: tuple[int, int] | None = None


@dataclass(frozen=True)
class Says:
    """A technique in words: from a bar of the scene to a bar of it, and the word that ends it."""

    seat: str
    text: str
    term: str
    bars: tuple[int, int]
    ends: str = ""
    ends_term: str = ""


@dataclass(frozen=True)
class Scene:
    """One passage: a key, a progression, one texture and who has what."""

    texture: str
    key: Key
    progression: str
    voices: tuple[Voice, ...]
    dynamic: str
    leading: str = ""
    """Dynamic of the voices that lead, where it differs."""
    swell: str = ""
    """crescendo or diminuendo over the last two bars."""
    text: str = ""
    chords: tuple[Chords, ...] = ()
    worded: tuple[Worded, ...] = ()
    beats: tuple[Beats, ...] = ()
    says: tuple[Says, ...] = ()


@dataclass(frozen=True)
class Part:
    """A part of the score: seats (players) by staff; `becomes` a change of instrument."""

    part_id: str
    label: str
    name: str
    seats: tuple[tuple[str, ...], ...]
    becomes: tuple[tuple[int, str, str], ...] = ()
    """Number of the scene, from 1, before which it changes; label; words at the change."""
    shown_by: str = "words"
    """How the file tells a change: words (and the transposition) alone, or beside them `sound`
    (its own element) or `ids` (every note names its instrument)."""


@dataclass(frozen=True)
class Study:
    """A whole study."""

    stem: str
    title: str
    opening: str
    """Words of the tempo."""
    beats_per_minute: int
    time: tuple[int, int]
    parts: tuple[Part, ...]
    scenes: tuple[Scene, ...]
    number: int = 0
    groups: tuple[tuple[str, str, str], ...] = field(default=())
    """Brackets: name, id of the first and the last part."""
