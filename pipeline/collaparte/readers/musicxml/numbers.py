"""Numbers as files write them; `None` where a text is none, or none that a score can mean."""

from __future__ import annotations

import re

_WHOLE = re.compile(r"\s*\+?0*([0-9]{1,4})\s*")
_FARTHEST = 127


def whole(text: str | None) -> int | None:
    """A whole number from 0 to 9999: of staves, bars, beats, strokes, times, programs."""
    found = _WHOLE.fullmatch(text or "")
    return int(found.group(1)) if found else None


def interval(text: str | None) -> int | None:
    """A number of semitones, steps, octaves or fifths, up or down, rounded if it is broken."""
    try:
        value = float(text or "")
    except ValueError:
        return None
    return round(value) if abs(value) <= _FARTHEST else None
