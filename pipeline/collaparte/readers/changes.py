"""Changes of instrument within a part: by the file's own change, by transposition, by words.

The file's own `instrument-change` counts as it stands. A transposition that only a sister of a
woodwind has (clarinet in A after clarinet in B flat) changes to that sister; in brass it is
another crook, and the instrument stays. Words ("muta in Piccolo", or the name of a sister alone)
are believed as long as the transposition in force is customary for the instrument that they name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from collaparte.readers.instruments import Identity
from collaparte.readers.meanings import Meaning
from collaparte.readers.signs import Places, Sign
from collaparte.readers.transpositions import customary, key_of_sound, offsets, sizes
from collaparte.reference import Reference
from collaparte.remarks import Remark

Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Changes:
    """Instruments of each part with those that it changes to, and the one of every event.

    `identity` is -1 where nothing changes in the part.
    """

    identities: tuple[tuple[Identity, ...], ...]
    identity: Integers
    remarks: tuple[Remark, ...]


def changes_of(
    places: Places,
    bar: Integers,
    transposition: Integers,
    identities: Sequence[tuple[Identity, ...]],
    signs: Sequence[Sign],
    reference: Reference,
) -> Changes:
    """The instrument of every event in parts that change theirs.

    Parameters
    ----------
    bar, transposition
        Bar of every event, and the semitones in force on it.
    signs
        Directions of kind `instrument`.
    """
    result = [list(found) for found in identities]
    identity = np.full(len(places.part), -1, np.int64)
    remarks: list[Remark] = []
    for part, found in enumerate(identities):
        if len(found) != 1 or found[0].instrument is None:
            continue
        own = np.flatnonzero(places.part == part)
        used = np.unique(transposition[own]).tolist()
        said = sorted((sign for sign in signs if sign.part == part), key=_stated_first)
        if len(used) < 2 and not said:
            continue
        changes = _PartChanges(result[part], reference)
        codes = np.zeros(len(own), np.int64)
        for value in used:
            codes[transposition[own] == value] = changes.by_transposition(value)
        for sign in said:
            later = np.flatnonzero(places.onset[own] >= sign.time)
            if not len(later):
                continue
            first = later[np.argmin(places.onset[own][later])]
            remark = changes.objection(sign, int(codes[first]), int(transposition[own[first]]))
            if remark is not None:
                place = int(bar[own[first]])
                remarks.append(replace(remark, bar_index=place, part_index=part))
                continue
            for value in used:
                same = later[transposition[own[later]] == value]
                if len(same):
                    codes[same] = changes.by_sign(sign, codes[same], value)
        if codes.any():
            identity[own] = codes
    return Changes(tuple(tuple(found) for found in result), identity, tuple(remarks))


def _stated_first(sign: Sign) -> tuple[int, bool]:
    return sign.time, sign.meaning.id != "sound"


class _PartChanges:
    """The instruments that one part comes to use."""

    def __init__(self, found: list[Identity], reference: Reference) -> None:
        self.found = found
        self.reference = reference

    def by_transposition(self, semitones: int) -> int:
        """The instrument at a transposition: the first one, or a sister that alone has it."""
        key = str(self.found[0].instrument)
        if semitones in offsets(self.reference)[key] or self.found[0].family == "brass":
            return 0
        sister = self.size(self.sisters(key), semitones)
        return 0 if sister is None else self.code(sister, "transposition", "likely")

    def objection(self, sign: Sign, code: int, semitones: int) -> Remark | None:
        """What speaks against a change in words where it stands."""
        key = self.wanted(sign.meaning)
        if key is None or sign.meaning.id == "sound" or self.is_a(self.found[code], key):
            return None
        if semitones in customary(key, self.reference):
            return None
        name = self.reference.instruments[key].english[0]
        return Remark(
            "change_against_transposition",
            f"“{sign.meaning.text}” asks for the {name}, and the transposition that follows "
            f"({semitones:+d} semitones) is not one of its customs.",
            "The part was left with the instrument before.",
            "warning",
        )

    def by_sign(self, sign: Sign, codes: Integers, semitones: int) -> Integers:
        """Instruments after a direction, of events with one transposition and those before it."""
        key = self.wanted(sign.meaning)
        stated = sign.meaning.id == "sound"
        if key is None or not (stated or semitones in customary(key, self.reference)):
            return codes
        kept = np.array([self.is_a(self.found[code], key) for code in codes.tolist()])
        if kept.all():
            return codes
        size = self.size(sizes(self.reference).get(key, ()), semitones) or key
        basis = ("sound_id", "certain") if stated else ("words", "likely")
        return np.where(kept, codes, self.code(size, *basis))

    def wanted(self, meaning: Meaning) -> str | None:
        """Key of the instrument that a direction asks for; None where it asks for none."""
        key = self.key_of(meaning)
        stated = meaning.id == "sound"
        return key if key is not None and (stated or self.plausible(key, meaning)) else None

    def is_a(self, identity: Identity, key: str) -> bool:
        """True where the identity is that instrument, or a size of it."""
        return identity.instrument in (key, *sizes(self.reference).get(key, ()))

    def size(self, keys: Sequence[str], semitones: int) -> str | None:
        """The first of the keys that is printed at a transposition."""
        rows = self.reference.instruments
        return next((key for key in keys if rows[key].printed_transposition == semitones), None)

    def key_of(self, meaning: Meaning) -> str | None:
        """Key of the instrument that a direction names."""
        if meaning.id == "sound":
            return key_of_sound(meaning.target or "", self.reference)
        return meaning.target_key if meaning.target_key in self.reference.instruments else None

    def plausible(self, key: str, meaning: Meaning) -> bool:
        """True for a change in words, and for the bare name of what the player may take up."""
        if meaning.id == "change_inst":
            return True
        known = {item.instrument for item in self.found}
        known.update(self.found[0].alternatives)
        own = self.reference.instruments[str(self.found[0].instrument)]
        other = self.reference.instruments[key]
        return meaning.id == "named" and (key in known or own.subfamily == other.subfamily)

    def sisters(self, key: str) -> list[str]:
        """Other sizes of the same generic instrument."""
        table = sizes(self.reference)
        return [
            sister
            for generic, keys in table.items()
            if key == generic or key in keys
            for sister in keys
            if sister != key
        ]

    def code(self, key: str, basis: str, confidence: str) -> int:
        """Number of the identity with this instrument, made where it is new."""
        first = self.found[0]
        for number, item in enumerate(self.found):
            if item.instrument == key:
                return number
        row = self.reference.instruments[key]
        self.found.append(
            replace(
                first,
                instrument=key,
                family=row.family,
                basis=basis,
                confidence=confidence,
                crook=None,
                label=f"{first.label}, {row.english[0]}",
            )
        )
        return len(self.found) - 1
