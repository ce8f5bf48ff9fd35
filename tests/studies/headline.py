"""How long low winds double the chorus, added up tick by tick from the plain count."""

from __future__ import annotations

from studies.lines import CountedLine, LineName, Stretch, lines_of
from studies.melody import QUARTER
from studies.registers import LOW_TOP
from studies.score import Score


def headline(score: Score, counted: list[Stretch]) -> dict[str, float]:
    """Quarters sung and doubled, strictly, in unison or octaves: of any voice, and of all voices.

    The wind note is low, and the time is that in which both notes sound.
    """
    lines = {line.name: line for line in lines_of(score)}
    sung = {
        name: {time for note in line.notes for time in range(note.onset, note.end)}
        for name, line in lines.items()
        if line.unit == "chorus"
    }
    doubled: dict[LineName, set[int]] = {name: set() for name in sung}
    for item in counted:
        if not item.strict or item.kind not in ("unison", "octave"):
            continue
        for voice, wind, side in ((item.a, item.b, 0), (item.b, item.a, 1)):
            if voice in sung and _is_wind(lines[wind]):
                for pair in item.pairs:
                    note, other = pair[side], pair[1 - side]
                    if other.pitch.midi <= LOW_TOP[wind.instrument]:
                        start, end = max(note.onset, other.onset), min(note.end, other.end)
                        doubled[voice].update(range(start, end))
    return {
        "sung_quarters": len(set().union(*sung.values())) / QUARTER,
        "doubled_quarters": len(set().union(*doubled.values())) / QUARTER,
        "sung_voice_quarters": sum(map(len, sung.values())) / QUARTER,
        "doubled_voice_quarters": sum(map(len, doubled.values())) / QUARTER,
    }


def _is_wind(line: CountedLine) -> bool:
    return line.family in ("woodwind", "brass")
