"""The transposition in force against the custom of the instrument.

Nothing here changes a pitch: what disagrees becomes a remark that names both readings.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from collaparte.reference import Reference
from collaparte.remarks import Remark


class Finding(NamedTuple):
    """What is odd about a part: a code, one plain sentence, and what was done about it."""

    code: str
    message: str
    done: str

    def remark(self, severity: str = "note", **place: int) -> Remark:
        """The finding as a remark, its clauses as sentences."""
        message, done = (text[:1].upper() + text[1:] + "." for text in (self.message, self.done))
        return Remark(
            self.code,
            message,
            done,
            severity,
            bar_index=place.get("bar_index"),
            part_index=place.get("part_index"),
        )


@cache
def offsets(reference: Reference) -> Mapping[str, frozenset[int]]:
    """Every customary transposition (sounding minus written) by key of the instrument.

    From `transposition_rules.csv` and, for both clefs, `crooks.csv`.
    """
    found: dict[str, set[int]] = {key: set() for key in reference.instruments}
    for rule in reference.transposition_rules:
        found[rule.key].add(rule.semitones)
    for crook in reference.crooks:
        for key in crook.keys:
            found[key].add(crook.treble_clef)
            if crook.old_bass_clef is not None:
                found[key].add(crook.old_bass_clef)
    return {key: frozenset(values) for key, values in found.items()}


@cache
def sizes(reference: Reference) -> Mapping[str, tuple[str, ...]]:
    """Sizes and varieties of each generic key, the usual one first."""
    found: dict[str, list[str]] = {}
    for row in reference.sizes:
        found.setdefault(row.generic, []).append(row.key)
    return {generic: tuple(keys) for generic, keys in found.items()}


def customary(key: str, reference: Reference) -> frozenset[int]:
    """Every customary transposition of a key; of a generic one, of every size and crook."""
    table = offsets(reference)
    return frozenset().union(*(table[own] for own in (key, *sizes(reference).get(key, ()))))


def generic_brass(key: str | None, reference: Reference) -> str | None:
    """The generic key of a brass instrument, which has all the crooks; any other key itself."""
    if key is None or reference.instruments[key].family != "brass":
        return key
    return next((generic for generic, keys in sizes(reference).items() if key in keys), key)


def key_of_sound(sound_id: str, reference: Reference) -> str | None:
    """The key of a sound id, or of the nearest id above it ("keyboard.piano.upright")."""
    steps = sound_id.strip().split(".")
    for size in range(len(steps), 1, -1):
        key = reference.sound_ids.get(".".join(steps[:size]))
        if key:
            return key
    return None


def transposition_remark(
    instrument: str | None,
    transposition: int | None,
    lowest: int | None,
    highest: int | None,
    reference: Reference,
    *,
    concert_score: bool = False,
    octave_clef: bool = False,
) -> tuple[Finding, ...]:
    """What is odd about the transposition of a part and the height of its notes.

    Parameters
    ----------
    instrument
        Key of `Reference.instruments`; None and groups have no custom.
    transposition
        In force, chromatic with octaves, in semitones sounding minus written; None where the
        file states none, which is read as 0. Call once for each that a part has.
    lowest, highest
        Sounding pitches (MIDI) of the notes under it; None where there are none.
    concert_score
        The file says that it is written at concert pitch: only octaves are then customary.
    octave_clef
        The part has a clef with an octave mark: its notes are at their true pitch by the clef.

    Returns
    -------
    `transposition_against_custom` where no rule and no crook of the instrument has it,
    `octave_unstated` where the file states no transposition, custom has octaves and the notes
    would stay in the range with them too, `out_of_range` where notes leave the range by more
    than a tone below or a fourth above (the tables have orchestral use, not the last note that
    can be had). The range of a horn or trumpet includes that of the natural one, which older
    scores call by the same name.
    """
    if instrument is None or reference.instruments[instrument].role == "group":
        return ()
    found = _against_custom(
        instrument, transposition, lowest, highest, reference, concert_score, octave_clef
    )
    return found or _out_of_range(instrument, transposition or 0, lowest, highest, reference)


_BELOW, _ABOVE = 2, 5
"""Semitones below and above the range of the table that are no remark."""


def _against_custom(
    instrument: str,
    transposition: int | None,
    lowest: int | None,
    highest: int | None,
    reference: Reference,
    concert_score: bool,
    octave_clef: bool,
) -> tuple[Finding, ...]:
    row = reference.instruments[instrument]
    used = transposition or 0
    customs = customary(instrument, reference)
    if concert_score:
        customs = frozenset(12 * int(custom / 12) for custom in customs)
    if not customs or row.family == "voice" or (octave_clef and used == 0):
        return ()
    name = row.english[0]
    usual = row.printed_transposition
    if used not in customs:
        nearest = usual if usual is not None else min(customs, key=lambda t: (abs(t - used), t))
        return (
            Finding(
                "transposition_against_custom",
                f"{name} {_as_stated(transposition)}, which no custom of the instrument has; "
                f"the other reading is {_interval(nearest)}",
                "read as the file has it",
            ),
        )
    octaves = usual is not None and usual != used and (usual - used) % 12 == 0
    if transposition is None and octaves and usual is not None and lowest is not None:
        low, high = _bounds(instrument, reference)
        if low <= lowest + usual - used and (highest or lowest) + usual - used <= high:
            return (
                Finding(
                    "octave_unstated",
                    f"{name} {_as_stated(transposition)}: either the notes are written where they "
                    f"sound, or the custom of {_interval(usual)} is missing",
                    "read as the file has it",
                ),
            )
    return ()


def _out_of_range(
    instrument: str,
    used: int,
    lowest: int | None,
    highest: int | None,
    reference: Reference,
) -> tuple[Finding, ...]:
    row = reference.instruments[instrument]
    if row.low is None or row.high is None or lowest is None or highest is None:
        return ()
    low, high = _bounds(instrument, reference)
    if low <= lowest and highest <= high:
        return ()
    others = [
        custom
        for custom in customary(instrument, reference)
        if (lowest >= low or low <= lowest + custom - used <= high)
        and (highest <= high or low <= highest + custom - used <= high)
    ]
    nearest = min(others, key=lambda t: ((t - used) % 12 > 0, abs(t - used), t), default=None)
    other = (
        "no customary transposition would keep them inside"
        if nearest is None
        else f"{_interval(nearest)} would bring these notes inside"
    )
    return (
        Finding(
            "out_of_range",
            f"{row.english[0]} sounds {pitch_name(lowest)} to {pitch_name(highest)} by the "
            f"transposition in force ({_interval(used)}), outside its range "
            f"{pitch_name(row.low)} to {pitch_name(row.high)}; {other}",
            "read as the file has it",
        ),
    )


def _bounds(instrument: str, reference: Reference) -> tuple[int, int]:
    """Lowest and highest pitch that are no remark; the whole MIDI range where none is known."""
    alike = {instrument}
    for keys in sizes(reference).values():
        if instrument in keys:
            alike.update(key for key in keys if reference.instruments[key].generic)
    rows = [reference.instruments[key] for key in alike]
    lows = [row.low for row in rows if row.low is not None]
    highs = [row.high for row in rows if row.high is not None]
    return min(lows, default=_BELOW) - _BELOW, max(highs, default=127) + _ABOVE


def _as_stated(transposition: int | None) -> str:
    if transposition is None:
        return "has no transposition stated and sounds as written"
    return f"sounds by the file {_interval(transposition)}"


def _interval(semitones: int) -> str:
    if semitones == 0:
        return "as written"
    size = abs(semitones)
    unit = "semitone" if size == 1 else "semitones"
    return f"{size} {unit} {'above' if semitones > 0 else 'below'} written pitch"


def pitch_name(midi: int) -> str:
    """The name of a pitch, C4 = 60, with flats as the reference tables have them."""
    names = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    return f"{names[midi % 12]}{midi // 12 - 1}"
