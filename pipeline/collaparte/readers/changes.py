"""Changes of instrument within a part: by the file's own change, by transposition, by words.

The file's own `instrument-change` counts as it stands. A transposition that only a sister of the
instrument has (clarinet in A after clarinet in B flat) changes to that sister. Words ("muta in
Piccolo", or the name of a sister alone) are believed where the transposition in force is
customary for the instrument that they name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from collaparte.readers.instruments import Identity
from collaparte.readers.meanings import Meaning
from collaparte.readers.signs import Places, Sign
from collaparte.readers.transpositions import customary, offsets, sizes
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
    transposition: Integers,
    identities: Sequence[tuple[Identity, ...]],
    signs: Sequence[Sign],
    reference: Reference,
) -> Changes:
    """The instrument of every event in parts that change theirs.

    Parameters
    ----------
    transposition
        Semitones in force on every event.
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
        used = np.unique(transposition[own])
        said = sorted((sign for sign in signs if sign.part == part), key=lambda sign: sign.time)
        if len(used) < 2 and not said:
            continue
        part_changes = _PartChanges(result[part], reference)
        codes = np.zeros(len(own), np.int64)
        for value in used.tolist():
            codes[transposition[own] == value] = part_changes.by_transposition(value)
        for sign in said:
            later = places.onset[own] >= sign.time
            if not later.any():
                continue
            first = own[later][np.argmin(places.onset[own][later])]
            code = part_changes.by_sign(sign, int(transposition[first]))
            if code is not None:
                codes[later] = code
        remarks.extend(replace(remark, part_index=part) for remark in part_changes.remarks)
        if codes.any():
            identity[own] = codes
    return Changes(tuple(tuple(found) for found in result), identity, tuple(remarks))


class _PartChanges:
    """The instruments that one part comes to use."""

    def __init__(self, found: list[Identity], reference: Reference) -> None:
        self.found = found
        self.reference = reference
        self.remarks: list[Remark] = []

    def by_transposition(self, semitones: int) -> int:
        """The instrument at a transposition: the first one, or a sister that alone has it."""
        key = str(self.found[0].instrument)
        if semitones in offsets(self.reference)[key]:
            return 0
        for sister in self.sisters(key):
            if self.reference.instruments[sister].printed_transposition == semitones:
                return self.code(sister, "transposition", "likely")
        return 0

    def by_sign(self, sign: Sign, semitones: int) -> int | None:
        """The instrument that a direction asks for; None where it is not believed."""
        key = self.key_of(sign.meaning)
        if key is None:
            return None
        if sign.meaning.id == "sound":
            return self.code(key, "sound_id", "certain")
        if not self.plausible(key, sign.meaning):
            return None
        if semitones not in customary(key, self.reference):
            name = self.reference.instruments[key].english[0]
            self.remarks.append(
                Remark(
                    "change_against_transposition",
                    f"“{sign.meaning.text}” asks for the {name}, and the transposition that "
                    f"follows ({semitones:+d} semitones) is not one of its customs.",
                    "The part was left with the instrument before.",
                    "warning",
                )
            )
            return None
        return self.code(key, "words", "likely")

    def key_of(self, meaning: Meaning) -> str | None:
        """Key of the instrument that a direction names."""
        if meaning.id == "sound":
            return self.reference.sound_ids.get(meaning.target or "")
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
            if item.instrument == key or (number == 0 and key in self.generic_of(first)):
                return number
        row = self.reference.instruments[key]
        name = row.english[0]
        self.found.append(
            replace(
                first,
                instrument=key,
                family=row.family,
                basis=basis,
                confidence=confidence,
                crook=None,
                label=f"{first.label}, {name}",
            )
        )
        return len(self.found) - 1

    def generic_of(self, identity: Identity) -> set[str]:
        """Generic keys that an identity is a size of: naming them changes nothing."""
        table = sizes(self.reference)
        return {generic for generic, keys in table.items() if identity.instrument in keys}
