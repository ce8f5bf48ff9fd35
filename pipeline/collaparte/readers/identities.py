"""What is known of a part before and after its instruments are identified."""

from __future__ import annotations

from dataclasses import dataclass

from collaparte.readers.transpositions import Finding


@dataclass(frozen=True)
class Evidence:
    """What a file and the manifest say about who plays a part.

    Attributes
    ----------
    name, display_name, abbreviation
        As printed, with line breaks; accidentals of the display name as ♭, ♯, ♮.
    instrument_name
        Name that the writing program gave its instrument; used where the printed name says
        nothing.
    transposition
        Sounding minus written in semitones, with octaves; None where the file states none.
    sound_id, midi_program
        Of the first instrument of the part; the program from 1.
    percussion
        The part has a percussion clef or the percussion channel.
    correction
        Key of an instrument that the manifest states.
    """

    name: str = ""
    display_name: str = ""
    abbreviation: str = ""
    instrument_name: str = ""
    transposition: int | None = None
    sound_id: str | None = None
    midi_program: int | None = None
    percussion: bool = False
    correction: str | None = None


@dataclass(frozen=True)
class Context:
    """What the names of all parts of a file tell about one of them.

    `language` is the one most names are in; `voices`: a part besides is a singer by its name.
    """

    language: str | None = None
    voices: bool = False


@dataclass(frozen=True)
class Identity:
    """One instrument of a part.

    Attributes
    ----------
    instrument
        Key of `Reference.instruments`; None where it is not known.
    family
        Family of the instrument, also where only that is known ("Voice").
    basis
        correction, name, transposition, sound_id, abbreviation or program: what decided last;
        None where nothing is known.
    confidence
        certain, likely or guess (see `identify`); None where nothing is known.
    players
        Numbers of the players, (1, 2) of "Fl. I, II"; empty where none is printed.
    crook
        Key letter or crook as in `crooks.csv`, "B-flat alto"; for timpani the tuning "C, G".
    label
        What is printed, for people.
    ensemble
        solo, chorus or section where the name says so.
    alternatives
        Keys of instruments that the same player takes by the name ("Flute 2 (Piccolo)").
    """

    instrument: str | None
    family: str | None
    basis: str | None
    confidence: str | None
    players: tuple[int, ...] = ()
    crook: str | None = None
    label: str = ""
    ensemble: str | None = None
    alternatives: tuple[str, ...] = ()


@dataclass(frozen=True)
class Identified:
    """The instruments of a part, one or more, and what is odd about them."""

    identities: tuple[Identity, ...]
    findings: tuple[Finding, ...] = ()
