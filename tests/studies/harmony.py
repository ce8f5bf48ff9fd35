"""Keys, chords and progressions of functional harmony."""

from __future__ import annotations

from dataclasses import dataclass

# Places of the chord's notes on the line of fifths above the tonic: root, third, fifth, seventh.
_MAJOR = {
    "I": (0, 4, 1),
    "ii": (2, -1, 3),
    "ii7": (2, -1, 3, 0),
    "iii": (4, 1, 5),
    "IV": (-1, 3, 0),
    "V": (1, 5, 2),
    "V7": (1, 5, 2, -1),
    "vi": (3, 0, 4),
    "vii": (5, 2, -1),
    "V/V": (2, 6, 3),
    "V7/V": (2, 6, 3, 0),
    "V7/IV": (0, 4, 1, -2),
    "V/vi": (4, 8, 5),
    "V7/vi": (4, 8, 5, 2),
    "V7/ii": (3, 7, 4, 1),
    "iv": (-1, -4, 0),
}
_MINOR = {
    "i": (0, -3, 1),
    "I": (0, 4, 1),
    "ii": (2, -1, -4),
    "ii7": (2, -1, -4, 0),
    "III": (-3, 1, -2),
    "iv": (-1, -4, 0),
    "V": (1, 5, 2),
    "V7": (1, 5, 2, -1),
    "VI": (-4, 0, -3),
    "VII": (-2, 2, -1),
    "vii": (5, 2, -1),
    "V7/iv": (0, 4, 1, -2),
    "V7/III": (-2, 2, -1, -4),
}
_SCALES = {"major": (-1, 0, 1, 2, 3, 4, 5), "minor": (-4, -3, -2, -1, 0, 1, 2)}


@dataclass(frozen=True)
class Key:
    """A key: signature in fifths, tonic on the line of fifths, mode."""

    fifths: int
    mode: str

    @property
    def tonic(self) -> int:
        """Place of the tonic on the line of fifths."""
        return self.fifths + (3 if self.mode == "minor" else 0)

    @property
    def scale(self) -> frozenset[int]:
        """The notes of the scale, natural where it is minor."""
        return frozenset(self.tonic + place for place in _SCALES[self.mode])


@dataclass(frozen=True)
class Chord:
    """One chord in a key: `members` from the root, `bass` the place of its lowest note."""

    name: str
    key: Key
    members: tuple[int, ...]
    bass: int
    leads_to: int | None
    """Root, a fifth below, that the third of a dominant leads to."""

    @property
    def leading(self) -> int | None:
        """The leading note."""
        if self.leads_to is None:
            return None
        return self.leads_to + 5

    @property
    def seventh(self) -> int | None:
        """The seventh; in the chord on the leading note its fifth."""
        if len(self.members) == 4:
            return self.members[3]
        return self.members[2] if self.name == "vii" else None

    @property
    def scale(self) -> frozenset[int]:
        """Notes for passing: the scale, with what the chord alters."""
        letters = {member % 7 for member in self.members}
        kept = {place for place in self.key.scale if place % 7 not in letters}
        if self.key.mode == "minor" and self.leading == self.key.tonic + 5:
            # The sixth step goes up with the seventh: no augmented second.
            kept = {place + 7 if place == self.key.tonic - 4 else place for place in kept}
        return frozenset(kept | set(self.members))


@dataclass(frozen=True)
class Span:
    """A chord and the time that it holds, in ticks."""

    start: int
    end: int
    chord: Chord


def chord(name: str, key: Key) -> Chord:
    """The chord of a name such as `V7`, `ii/6` (third in the bass) or `I/64`."""
    table = _MAJOR if key.mode == "major" else _MINOR
    stem, place = name, 0
    for ending, at in (("/64", 2), ("/65", 1), ("/43", 2), ("/42", 3), ("/6", 1)):
        if name.endswith(ending):
            stem, place = name.removesuffix(ending), at
            break
    members = tuple(key.tonic + fifth for fifth in table[stem])
    dominant = stem.startswith("V") and not stem.startswith("VI") and members[1] == members[0] + 4
    leads_to = members[0] - 1 if dominant else None
    if stem == "vii":
        leads_to = key.tonic
    return Chord(stem, key, members, members[place], leads_to)


def spans(progression: str, key: Key, start: int, bar: int) -> list[Span]:
    """The spans of a progression such as ``I | IV V | vi``: bars, chords of equal length."""
    found = []
    for text in progression.split("|"):
        names = text.split()
        for number, name in enumerate(names):
            begin = start + bar * number // len(names)
            end = start + bar * (number + 1) // len(names)
            found.append(Span(begin, end, chord(name, key)))
        start += bar
    return found
