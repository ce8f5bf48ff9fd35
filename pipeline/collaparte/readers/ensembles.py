"""Chorus, solo voice, section or player: what each line is, on what evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.readers.name_vocabulary import words_of
from collaparte.readers.transpositions import Finding, sizes
from collaparte.reference import Reference

CHORUS, SOLO_VOICE, SECTION, PLAYER = "chorus", "solo_voice", "section", "player"


@dataclass(frozen=True)
class Seat:
    """What is known of one line before it is decided what it is.

    Attributes
    ----------
    instrument, family, label, word
        Of its `Identity` (`word` is its `ensemble`).
    statement
        chorus, solo_voice, section or player where the manifest states it for the part.
    element
        "ensemble" or "solo" where the file has that element for the part.
    brackets
        Names of the groups that the part stands in.
    """

    instrument: str | None
    family: str | None
    label: str = ""
    word: str | None = None
    statement: str | None = None
    element: str | None = None
    brackets: tuple[str, ...] = ()

    @property
    def sings(self) -> bool:
        """The line is a voice or a chorus."""
        return self.family == "voice"


class Ensemble(NamedTuple):
    """What a line is, on what basis, how sure, and the key of its voice.

    `basis` is manifest, file, name, bracket, instrument or guess; `instrument` the key with
    choir or solo voice decided; `players` None for a section or chorus of unknown size.
    """

    ensemble: str
    basis: str
    confidence: str
    instrument: str | None
    players: int | None


def ensembles_of(
    seats: Sequence[Seat],
    together: npt.NDArray[np.integer[Any]],
    reference: Reference,
    *,
    voices: str | None = None,
    chorus_lines: int = 3,
) -> tuple[tuple[Ensemble, ...], tuple[Finding, ...]]:
    """What every line of a movement is.

    Parameters
    ----------
    seats
        One a line.
    together
        Ticks in which two lines both sound, lines × lines; the diagonal is the sounding time of
        the line itself. Only the rows and columns of vocal lines are looked at.
    voices
        "chorus" or "solo" where the manifest states what the vocal parts are.
    chorus_lines
        So many undecided vocal lines that sing together for most of their time are a chorus.

    Notes
    -----
    Order: manifest (the part, then `voices`), file (its ensemble or solo element, for voices and
    strings), name (Chorus, Coro, Chor, Chœur against Solo), name of a bracket, instrument, guess.
    Certain: manifest, file, name. Likely: bracket; strings of an orchestra are sections, other
    instruments players. Guess: undecided vocal lines are a chorus when at least `chorus_lines`
    of them each sing more than half of their time together with as many others of the group as
    makes that number, else solo voices; strings of a chamber group (six lines at most, no double
    bass, no wind, voice or percussion) are players.

    A chorus that is guessed gives the finding `chorus_guessed`.
    """
    chamber = _is_chamber(seats)
    decided = [_stated(seat, voices, reference) or _usual(seat, chamber) for seat in seats]
    undecided = [place for place, item in enumerate(decided) if item is None]
    chorus = _singing_together(undecided, together, chorus_lines)
    found: list[Ensemble] = []
    for place, (seat, item) in enumerate(zip(seats, decided, strict=True)):
        ensemble, basis, confidence = item or (
            CHORUS if place in chorus else SOLO_VOICE,
            "guess",
            "guess",
        )
        players = 1 if ensemble in {SOLO_VOICE, PLAYER} else None
        key = voice_key(seat.instrument, ensemble, reference)
        found.append(Ensemble(ensemble, basis, confidence, key, players))
    return tuple(found), _guessed([seats[place].label for place in sorted(chorus)])


def voice_key(instrument: str | None, ensemble: str, reference: Reference) -> str | None:
    """The key of a voice in a chorus (voice-…-choir) or alone (voice-…-solo).

    Keys without a sister of the other kind (mezzo-soprano, baritone, countertenor, treble) and
    all instruments stay as they are.
    """
    kind = {CHORUS: "choir voices", SOLO_VOICE: "solo voices"}.get(ensemble)
    if instrument is None or kind is None:
        return instrument
    for generic, keys in sizes(reference).items():
        if instrument in {generic, *keys}:
            own = [key for key in keys if reference.instruments[key].subfamily == kind]
            return own[0] if own else instrument
    return instrument


_Decision = tuple[str, str, str]


def _stated(seat: Seat, voices: str | None, reference: Reference) -> _Decision | None:
    """What manifest, file, name or bracket say."""
    if seat.statement:
        return seat.statement, "manifest", "certain"
    if seat.sings and voices:
        return (CHORUS if voices == "chorus" else SOLO_VOICE), "manifest", "certain"
    if seat.element and (seat.sings or seat.family == "string"):
        return _of_word(seat, seat.element == "ensemble"), "file", "certain"
    if seat.word and (seat.sings or seat.word != "chorus"):
        return _of_word(seat, seat.word != "solo"), "name", "certain"
    if seat.instrument is not None:
        row = reference.instruments[seat.instrument]
        if row.key == "chorus" or row.subfamily == "choir voices":
            return CHORUS, "name", "certain"
    if seat.sings:
        for bracket in reversed(seat.brackets):
            kinds = words_of(bracket, reference) & {"solo", "chorus"}
            if len(kinds) == 1:
                return (CHORUS if kinds == {"chorus"} else SOLO_VOICE), "bracket", "likely"
    return None


def _of_word(seat: Seat, many: bool) -> str:
    if seat.sings:
        return CHORUS if many else SOLO_VOICE
    return SECTION if many else PLAYER


def _usual(seat: Seat, chamber: bool) -> _Decision | None:
    """What an instrument is by custom; None for a voice."""
    if seat.sings:
        return None
    if seat.family == "string" or seat.instrument == "continuo":
        return (PLAYER, "instrument", "guess") if chamber else (SECTION, "instrument", "likely")
    return PLAYER, "instrument", "likely"


def _is_chamber(seats: Sequence[Seat]) -> bool:
    basses = {"double-bass", "violone", "cello-and-bass", "strings"}
    strings = [seat for seat in seats if seat.family == "string"]
    others = {seat.family for seat in seats if seat.family != "string"}
    return (
        len(strings) <= 6
        and others <= {"keyboard", "plucked"}
        and not any(seat.instrument in basses for seat in strings)
    )


def _singing_together(
    lines: Sequence[int], together: npt.NDArray[np.integer[Any]], chorus_lines: int
) -> frozenset[int]:
    """The largest group whose lines each sing mostly with enough others of the group."""
    group = list(lines)
    while len(group) >= chorus_lines:
        own = together[group, group]
        mostly = 2 * together[np.ix_(group, group)] > own[:, None]
        np.fill_diagonal(mostly, val=False)
        staying = mostly.sum(axis=1) >= chorus_lines - 1
        if staying.all():
            return frozenset(group)
        group = [line for line, stays in zip(group, staying, strict=True) if stays]
    return frozenset()


def _guessed(labels: Sequence[str]) -> tuple[Finding, ...]:
    if not labels:
        return ()
    listed = f"{', '.join(labels[:-1])} and {labels[-1]}"
    return (
        Finding(
            "chorus_guessed",
            f"{listed} sing together for most of their time and nothing says what they are",
            "read as a chorus, kept apart from those that are stated",
        ),
    )
