"""The form of a score: repeats, endings and jumps, and the order in which bars are performed.

Repeat and ending marks may stand in some parts only; their union is the form of the score.
"""

from __future__ import annotations

from dataclasses import dataclass, field

MOST_PERFORMED = 64
"""Times the written length; a form that asks for more is not followed."""


@dataclass
class BarForm:
    """Marks of one bar: `repeat_end` is the times that the passage is played, 0: no mark."""

    repeat_start: bool = False
    repeat_end: int = 0
    ending: tuple[int, ...] = ()
    jump: str | None = None
    mark: str | None = None


@dataclass
class _Performance:
    form: list[BarForm]
    limit: int
    order: list[tuple[int, int]] = field(default_factory=list)
    played: dict[int, int] = field(default_factory=dict)

    def play(self, bar: int) -> None:
        self.played[bar] = self.played.get(bar, 0) + 1
        self.order.append((bar, self.played[bar]))


def play_order(form: list[BarForm]) -> tuple[list[tuple[int, int]], bool]:
    """Bars in the order of performance.

    Repeats are taken as often as they say and endings by their numbers; after a da capo or
    dal segno repeats are not taken again and last endings are played, as is the custom
    (common practice, no source).

    Returns
    -------
    order, complete
        (bar index, times it has been played) in order of performance; false where the form
        does not come to an end and the order was cut.
    """
    run = _Performance(form, MOST_PERFORMED * max(len(form), 1))
    bar, start, times = 0, 0, 1
    jumped = False
    while bar < len(form) and len(run.order) < run.limit:
        marks = form[bar]
        if marks.repeat_start and start != bar:
            start, times = bar, 1
        if marks.ending and not _plays(form, bar, times, jumped):
            bar = _after_ending(form, bar)
            continue
        run.play(bar)
        if marks.jump == "fine" and jumped:
            break
        if marks.jump == "tocoda" and jumped:
            bar = _find(form, "coda", bar + 1)
            continue
        total = marks.repeat_end
        if total and marks.ending:
            total = max(total, max(_numbers(form, start)))
        if total and times < total and not jumped:
            times += 1
            bar = start
            continue
        if total:
            start, times = bar + 1, 1
        if marks.jump in ("dacapo", "dalsegno") and not jumped:
            jumped = True
            start, times = 0, 1
            bar = 0 if marks.jump == "dacapo" else _find(form, "segno", 0)
            continue
        bar += 1
    return run.order, bar >= len(form) or len(run.order) < run.limit


def _plays(form: list[BarForm], bar: int, times: int, jumped: bool) -> bool:
    ending = form[bar].ending
    if jumped:
        following = _after_ending(form, bar)
        return following >= len(form) or not form[following].ending
    return times in ending


def _after_ending(form: list[BarForm], bar: int) -> int:
    ending = form[bar].ending
    while bar < len(form) and form[bar].ending == ending:
        bar += 1
    return bar


def _numbers(form: list[BarForm], start: int) -> list[int]:
    """Numbers of the endings that follow each other from a repeated passage on."""
    numbers = [1]
    inside = False
    for marks in form[start:]:
        if marks.ending:
            inside = True
            numbers += marks.ending
        elif inside:
            break
    return numbers


def _find(form: list[BarForm], mark: str, default: int) -> int:
    return next((bar for bar, marks in enumerate(form) if marks.mark == mark), default)
