"""Scenes by texture: which voices a texture has, and how each moves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from studies.harmony import Key
from studies.plan import Copy, Scene, Voice

Copies = Mapping[str, Sequence[Copy]]


def _copies(copies: Copies, name: str) -> tuple[Copy, ...]:
    return tuple(copies.get(name, ()))


def chorus(rhythm: str, copies: Copies, role: str = "leading_line") -> tuple[Voice, ...]:
    """Four voices in the same rhythm."""
    return (
        Voice("S", "S", role, rhythm, "hymn", centre=70, copies=_copies(copies, "S")),
        Voice("B", "B", "bass", rhythm, "ground", below=("S",), copies=_copies(copies, "B")),
        Voice(
            "A", "A", "filling", rhythm, "inner", shape="level", centre=65, below=("S",),
            above=("B",), copies=_copies(copies, "A"),
        ),
        Voice(
            "T", "T", "filling", rhythm, "inner", shape="level", centre=60, below=("A",),
            above=("B",), copies=_copies(copies, "T"),
        ),
    )  # fmt: skip


def block(
    key: Key, progression: str, rhythm: str, copies: Copies, dynamic: str, text: str, **more: Any
) -> Scene:
    """The chorus in the same rhythm, and what goes with it."""
    return Scene("one_block", key, progression, chorus(rhythm, copies), dynamic, text=text, **more)


def one_line(
    key: Key, progression: str, rhythm: str, seat: str, copies: Sequence[Copy], dynamic: str,
    **more: Any,
) -> Scene:  # fmt: skip
    """One melody in unison and octaves."""
    voice = Voice("line", seat, "leading_line", rhythm, "melody", copies=tuple(copies))
    return Scene("one_line", key, progression, (voice,), dynamic, **more)


def lead(name: str, seat: str, rhythm: str, copies: Sequence[Copy] = (), **more: Any) -> Voice:
    """A melody that leads."""
    return Voice(name, seat, "leading_line", rhythm, "melody", copies=tuple(copies), **more)


def counter(name: str, seat: str, rhythm: str, copies: Sequence[Copy] = (), **more: Any) -> Voice:
    """A melody beside the leading one."""
    more = {"shape": "valley"} | more
    return Voice(name, seat, "countermelody", rhythm, "counter", copies=tuple(copies), **more)


def ground(name: str, seat: str, rhythm: str, copies: Sequence[Copy] = (), **more: Any) -> Voice:
    """A bass line."""
    return Voice(name, seat, "bass", rhythm, "bass", copies=tuple(copies), **more)


def background(
    how: str, seats: Sequence[str], copies: Copies, centre: int, **more: Any
) -> tuple[Voice, ...]:
    """Chords behind a melody: `held`, `repeated`, `after` (after the beat) or `tremolo`."""
    role = {
        "held": "sustained_harmony",
        "tremolo": "repeated_notes",
        "repeated": "repeated_notes",
        "after": "short_chords",
    }[how]
    found: list[Voice] = []
    for place, seat in enumerate(seats):
        found.append(
            Voice(
                seat, seat, role, "chords", "chord", how, shape="level",
                centre=centre - 4 * place, below=tuple(voice.name for voice in found[-1:]),
                copies=_copies(copies, seat), **more,
            )
        )  # fmt: skip
    return tuple(found)


def pedal(name: str, seat: str, rhythm: str, copies: Sequence[Copy] = (), **more: Any) -> Voice:
    """The tonic, held or struck again and again."""
    return Voice(
        name, seat, "pedal_point", rhythm, "pedal", shape="level", copies=tuple(copies), **more
    )


def figure(
    name: str, seat: str, rhythm: str, shape: str, copies: Sequence[Copy] = (), **more: Any
) -> Voice:
    """A broken chord."""
    return Voice(
        name, seat, "figuration", rhythm, "figure", shape=shape, copies=tuple(copies), **more
    )


def fugato(
    seats: Sequence[tuple[str, int]], rhythm: str, bars: int, copies: Copies, delay: int = 2
) -> tuple[Voice, ...]:
    """Voices (seat, height) that enter one after the other with the same subject."""
    found: list[Voice] = []
    for place, (seat, centre) in enumerate(seats):
        found.append(
            Voice(
                seat, seat, "leading_line" if place == 0 else "countermelody", rhythm, "counter",
                centre=centre, bars=(1 + place * delay, bars),
                follows=found[0].name if found and place else "",
                follows_after=place * delay, copies=_copies(copies, seat),
            )
        )  # fmt: skip
    return tuple(found)
