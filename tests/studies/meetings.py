"""Where two lines that were free join in one, and where two that were one part again."""

from __future__ import annotations

from studies.lines import CountedLine, LineName, Stretch, lines_of
from studies.planted import Row, line_row
from studies.score import Score

_SAME_LINE = ("unison", "octave", "octave_displaced", "reiterated")
_BARS = 4
"""So long the lines are free on the one side, and together on the other."""


def meetings(score: Score, planted: list[Row], counted: list[Stretch]) -> list[Row]:
    """Joinings and partings at the edges of what is planted, told at their beat."""
    lines = {line.name: line for line in lines_of(score)}
    same: dict[tuple[LineName, LineName], list[Stretch]] = {}
    for item in counted:
        if item.kind in _SAME_LINE:
            same.setdefault((item.a, item.b), []).append(item)
    wanted: dict[tuple[LineName, LineName], list[int]] = {}
    for row in planted:
        wanted.setdefault((row["a"], row["b"]), []).extend((row["start"], row["end"]))
    span = _BARS * score.bar
    found = []
    for pair, stretches in same.items():
        for item in stretches:
            if item.kind not in ("unison", "octave") or item.end - item.start < span:
                continue
            for kind, moment, free in (
                ("join", item.start, (item.start - span, item.start)),
                ("part", item.end, (item.end, item.end + span)),
            ):
                if moment not in wanted.get(pair, ()):
                    continue
                if not _free(score, [lines[name] for name in pair], free, stretches):
                    continue
                found.append(
                    {
                        "kind": kind,
                        "line": line_row(pair[0]),
                        "partner": line_row(pair[1]),
                        "bar": score.bar_of(moment),
                        "quarter": moment / 12,
                    }
                )
    return sorted(found, key=lambda row: (row["quarter"], row["kind"], str(row)))


def _free(
    score: Score, lines: list[CountedLine], free: tuple[int, int], stretches: list[Stretch]
) -> bool:
    """Both lines play in each of the bars, and nothing makes them one there."""
    if any(item.start < free[1] and free[0] < item.end for item in stretches):
        return False
    bars = range(free[0], free[1], score.bar)
    return all(
        all(any(bar <= note.onset < bar + score.bar for note in line.notes) for bar in bars)
        for line in lines
    )
