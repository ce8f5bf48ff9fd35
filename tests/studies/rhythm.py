"""Rhythms in letters, and the slots that they and the harmony make."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from studies.harmony import Span
from studies.melody import QUARTER, Slot

_LENGTHS = {"w": 48, "h": 24, "q": 12, "e": 6, "s": 3, "t": 4}


def cells(rhythm: str, start: int, bars: int, bar: int) -> list[tuple[int, int]]:
    """Onset and length of the notes of a rhythm that goes on for some bars."""
    patterns = [pattern.split() for pattern in rhythm.split("|")]
    found = []
    for number in range(bars):
        time = start + number * bar
        for token in patterns[number % len(patterns)]:
            length = _length(token.removeprefix("r"))
            if not token.startswith("r"):
                found.append((time, length))
            time += length
        if time != start + (number + 1) * bar:
            raise ValueError(f"{rhythm}: bar {number + 1} lasts {time - start - number * bar}")
    return found


def _length(token: str) -> int:
    length = _LENGTHS[token[0]]
    return length * 3 // 2 if token.endswith(".") else length


def slots(
    times: Sequence[tuple[int, int]],
    spans: Sequence[Span],
    target: Callable[[int], int],
    bar: int,
    turns: Sequence[int] = (),
) -> list[Slot]:
    """The slots of a line; a note is cut where the chord changes beneath it."""
    found: list[Slot] = []
    for onset, length in times:
        begin = onset
        for span in spans:
            end = min(onset + length, span.end)
            if span.start <= begin < end:
                opens = begin == span.start
                place = (begin - span.start) // length
                found.append(
                    Slot(
                        begin,
                        end - begin,
                        (span.chord,),
                        _strong(begin % bar, length),
                        target(begin),
                        opens,
                        turns[place % len(turns)] if turns and not opens else 0,
                    )
                )
                begin = end
    return found


def _strong(place: int, length: int) -> bool:
    """A beat of the bar with a note as long as it, or an even beat."""
    return place % (2 * QUARTER) == 0 or (place % QUARTER == 0 and length >= QUARTER)


def by_chord(spans: Sequence[Span], start: int, end: int) -> list[tuple[int, int]]:
    """One note a chord."""
    return [
        (max(span.start, start), min(span.end, end) - max(span.start, start))
        for span in spans
        if span.start < end and span.end > start
    ]
