"""Textures, roles and layers found in the invented studies against those planted in them.

    PYTHONPATH=tests python tests/textures/planted.py

A voice of a study with all who double it is one planted layer; in one block all voices are one.
Every planted bar counts. In a fugato the voices enter one by one: while one or two have entered,
one line or two lines are planted. Bars that are missed are listed with the distances of both
textures from the bar's traits.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Any

from collaparte import reference
from collaparte.manifest import from_path
from collaparte.measures.textures.analysis import Analysis, analyse
from collaparte.measures.textures.roles import ROLES
from collaparte.readers import read
from collaparte.resources import __file__ as _package
from collaparte.settings import Settings
from studies.found import named_lines

TRUTHS = Path(__file__).parents[1] / "studies" / "truth"
SCORES = Path(_package).parent / "invented"


@dataclass(frozen=True)
class Bar:
    """One planted bar: its texture, the one found, how many voices sound, layers of lines."""

    study: str
    bar: int
    planted: str
    found: str
    distances: tuple[float, float]
    """Of the planted texture and of the one found."""
    voices: int
    planted_layer: dict[int, int]
    found_layer: dict[int, int]
    roles: tuple[tuple[str, str], ...]
    """Planted and found of each line; not of the voices of a block, which are one layer."""


def planted_bars(settings: Settings) -> Iterator[Bar]:
    """All planted bars of all studies."""
    facts = reference.load()
    for file in sorted(TRUTHS.glob("*.truth.json")):
        study = file.name.removesuffix(".truth.json")
        (entry,) = from_path(SCORES / f"{study}.mxl")
        tables = read(entry.read_bytes(), entry.movement, facts, settings)
        found = analyse(tables["notes"], tables["lines"], tables["bars"], facts, settings)
        truth = json.loads(file.read_text(encoding="utf-8"))
        for scene in truth["scenes"]:
            yield from _bars_of(study, scene, found, tables, facts)


def _bars_of(
    study: str, scene: dict[str, Any], found: Analysis, tables: Any, facts: Any
) -> Iterator[Bar]:
    places = {key: place for place, key in enumerate(tables["lines"]["line_key"].to_pylist())}
    lines = [(told, places[key]) for key, told in named_lines(tables).items()]
    printed = tables["bars"]["bar"].to_pylist()
    names = [centre.texture for centre in facts.texture_centres]
    centres = {centre.texture: centre.traits for centre in facts.texture_centres}
    for bar in range(scene["first_bar"], scene["last_bar"] + 1):
        place = printed.index(str(bar))
        rows = found.layers.bar == place
        ours = dict(
            zip(found.layers.line[rows].tolist(), found.layers.layer[rows].tolist(), strict=True)
        )
        theirs, roles, sounding = {}, [], set()
        for number, layer in enumerate(scene["layers"]):
            for line in (place for told, place in lines if told in layer["lines"]):
                if layer["first_bar"] <= bar <= layer["last_bar"] and line in ours:
                    sounding.add(number)
                    block = scene["texture"] == "one_block" and layer["role"] != "pedal_point"
                    theirs[line] = 0 if block else number
                    if not block:
                        roles.append((layer["role"], ROLES[found.roles[ours[line]]]))
        away = {name: math.dist(centre, found.marked[place]) for name, centre in centres.items()}
        planted = _entered(scene["texture"], len(sounding))
        named = names[found.named.texture[place]]
        yield Bar(
            study, bar, planted, named, (away[planted], away[named]),
            len(sounding), theirs, ours, tuple(roles),
        )  # fmt: skip


def _entered(texture: str, voices: int) -> str:
    """The texture of a scene in a bar with so many of its voices."""
    lines = {1: "one_line", 2: "two_lines"}
    return lines.get(voices, texture) if texture == "three_or_more_lines" else texture


def right(bar: Bar) -> bool:
    """The planted texture was found."""
    return bar.planted == bar.found


def recall(bars: list[Bar]) -> float:
    """Pairs of lines of one planted layer that are found in one layer ÷ all such pairs."""
    together = [
        bar.found_layer[one] == bar.found_layer[other]
        for bar in bars
        for one, other in combinations(bar.planted_layer, 2)
        if bar.planted_layer[one] == bar.planted_layer[other]
    ]
    return sum(together) / len(together)


def role_recall(bars: list[Bar]) -> dict[str, float]:
    """Lines with the planted role ÷ lines planted in it, in bars of lines, by role."""
    roles = Counter(pair for bar in bars for pair in bar.roles)
    planted = Counter(pair[0] for bar in bars for pair in bar.roles)
    return {role: roles[role, role] / count for role, count in planted.items()}


def main() -> None:
    bars = list(planted_bars(Settings()))
    print(f"planted bars with the planted texture: {sum(map(right, bars))} of {len(bars)}")
    print(f"recall of pairs of lines in one planted layer: {recall(bars):.3f}")
    for bar in bars:
        if not right(bar):
            ours, theirs = bar.distances[1], bar.distances[0]
            print(
                f"  {bar.study} {bar.bar}: planted {bar.planted} at {theirs:.2f}, "
                f"found {bar.found} at {ours:.2f}, voices {bar.voices}"
            )
    roles = Counter(pair for bar in bars for pair in bar.roles)
    print("lines with the planted role:")
    for role, share in sorted(role_recall(bars).items()):
        print(f"  {role:<18} {share:.2f}")
    print("roles, planted and found, in bars of lines:")
    for (planted, found), count in roles.most_common():
        print(f"  {planted:<18} {found:<18} {count}")


if __name__ == "__main__":
    main()
