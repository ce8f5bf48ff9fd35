"""Bars and lines of a stretch of a movement as the reader has them, for the listing of bars."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from collaparte.questions import OpenStore

_SIGNS: dict[float, str] = {0: "", 1: "#", -1: "b", 2: "##", -2: "bb"}
_TECHNIQUES = {"pizz": "pizz.", "mute_on": "muted", "spiccato": "spicc."}


@dataclass(frozen=True)
class Bar:
    """One bar: its printed number, metre, key, and place in ticks."""

    number: str
    start: int
    end: int
    metre: str
    fifths: int | None


@dataclass(frozen=True)
class Sound:
    """One note as it sounds; `height` is None where it has no pitch, `state` how it is played."""

    start: int
    end: int
    height: int | None
    name: str
    strokes: int
    trill: bool
    state: tuple[str, ...]
    techniques: tuple[str, ...]

    @property
    def shakes(self) -> bool:
        """It is a tremolo or a roll."""
        return self.strokes > 0 or bool({"tremolo", "roll"} & set(self.techniques))


@dataclass
class Row:
    """Lines that play the same notes throughout; the notes are those of the first."""

    names: list[str]
    intervals: list[int]
    sounds: list[Sound]

    @property
    def label(self) -> str:
        """The names of its lines, each with its distance from the first."""
        named = zip(self.names, self.intervals, strict=True)
        lines = " + ".join(name + octaves(interval) for name, interval in named)
        state = self.sounds[0].state
        return f"{lines} <{', '.join(state)}>" if state else lines

    @property
    def short(self) -> str:
        """The name of the first line and how many go with it."""
        return self.names[0] + (f" +{len(self.names) - 1}" if len(self.names) > 1 else "")


def read_bars(store: OpenStore, movement_key: int, first: int, count: int) -> list[Bar]:
    found = store.sql(
        "SELECT bar, start_ticks, start_ticks + length_ticks, coalesce(time_signature, '?'), "
        f"key_fifths FROM bars WHERE movement_key = {movement_key} "
        f"AND bar_index BETWEEN {first} AND {first + count - 1} ORDER BY bar_index"
    )
    return [Bar(*row) for row in found.fetchall()]


def read_rows(store: OpenStore, movement_key: int, start: int, end: int) -> list[Row]:
    """What the lines play between two moments (ticks), in score order; silent ones are left out."""
    found = store.sql(
        "SELECT line_key, onset_ticks, onset_ticks + duration_ticks, midi, step, alter, octave, "
        "display_pitch, tremolo_strokes, ornament, techniques, dynamic FROM notes "
        f"WHERE movement_key = {movement_key} AND NOT is_grace AND NOT is_cue "
        f"AND onset_ticks < {end} AND onset_ticks + duration_ticks > {start} "
        "ORDER BY line_key, onset_ticks, midi"
    )
    sounds: dict[int, list[Sound]] = defaultdict(list)
    for line, *facts in found.fetchall():
        sounds[line].append(_sound(*facts))
    names = _names(store, movement_key)
    rows: dict[object, Row] = {}
    for line, played in sounds.items():
        row = rows.setdefault(shape(played, start, end), Row([], [], played))
        row.names.append(names[line])
        row.intervals.append(interval_of(played, row.sounds))
    return list(rows.values())


def _sound(
    start: int,
    end: int,
    height: int | None,
    step: str,
    alter: float,
    octave: int,
    place: str | None,
    strokes: int | None,
    ornament: str | None,
    techniques: Sequence[str],
    dynamic: str | None,
) -> Sound:
    name = (place or "X") if height is None else _pitch(step, alter, octave)
    words = [_TECHNIQUES[one] for one in techniques if one in _TECHNIQUES]
    state = tuple([dynamic, *words] if dynamic else words)
    trill = ornament == "trill"
    return Sound(start, end, height, name, strokes or 0, trill, state, tuple(techniques))


def _names(store: OpenStore, movement_key: int) -> dict[int, str]:
    """A short name of each line, from the printed name of its part."""
    found = store.sql(
        "SELECT line_key, part_index, coalesce(abbreviation, name, player), player FROM lines "
        f"LEFT JOIN parts USING (movement_key, part_index) WHERE movement_key = {movement_key} "
        "ORDER BY line_key"
    ).fetchall()
    common: dict[int, set[str]] = {}
    for _, part, _, player in found:
        words = set(player.split(", "))
        common[part] = common.get(part, words) & words
    names = {}
    for line, part, short, player in found:
        own = [word for word in player.split(", ") if word not in common[part]]
        names[line] = " ".join([short, *own])
    often = Counter(names.values())
    return {
        line: names[line] if often[names[line]] == 1 else player for line, _, _, player in found
    }


def _pitch(step: str, alter: float, octave: int) -> str:
    return f"{step}{_SIGNS.get(alter, f'{alter:+g}')}{octave}"


def shape(sounds: Sequence[Sound], start: int, end: int) -> object:
    """What is equal for the same notes in any octave, played alike, between two moments."""
    lowest = sounds[0].height
    return tuple(
        (
            max(one.start, start),
            min(one.end, end),
            one.name if one.height is None or lowest is None else one.height - lowest,
            one.strokes,
            one.trill,
            one.techniques,
        )
        for one in sounds
    ), (lowest or 0) % 12


def interval_of(sounds: Sequence[Sound], other: Sequence[Sound]) -> int:
    return (sounds[0].height or 0) - (other[0].height or 0)


def octaves(interval: int) -> str:
    if interval == 0:
        return ""
    way = "higher" if interval > 0 else "lower"
    number = abs(interval) // 12
    return f" (8ve {way})" if number == 1 else f" ({number} 8ves {way})"


def within(sounds: Iterable[Sound], bar: Bar) -> list[Sound]:
    return [one for one in sounds if one.start < bar.end and one.end > bar.start]
