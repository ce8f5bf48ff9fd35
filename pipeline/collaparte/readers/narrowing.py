"""What a name can mean, narrowed by transposition, sound id, abbreviation and program.

The order of trust and the rule of confidence are those of `instruments.identify`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from collaparte.readers.identities import Context, Evidence, Identity
from collaparte.readers.name_vocabulary import UNDECIDED_B, Meaning, tone_of_crook
from collaparte.readers.part_names import Mention, read_name
from collaparte.readers.transpositions import Finding, customary, key_of_sound, offsets, sizes
from collaparte.reference import Reference
from collaparte.reference.rows import Instrument


@dataclass
class Narrowing:
    """The narrowing of one part's evidence; `findings` grows on the way."""

    evidence: Evidence
    reference: Reference
    context: Context
    letters_first: bool
    findings: list[Finding]

    def identity(self, mention: Mention) -> Identity:
        """The instrument that a mention means, by name, transposition and sound id."""
        alternatives = tuple(
            meanings[0].key for meanings in mention.alternatives if meanings and meanings[0].key
        )
        blank = Identity(
            None,
            mention.meanings[0].family if mention.meanings else None,
            None,
            None,
            mention.numbers,
            ", ".join(mention.tones) or None,
            mention.label,
            mention.ensemble,
            alternatives,
        )
        if not mention.meanings or self._is_stray_letter(mention):
            return replace(blank, family=None)
        meaning, basis, confidence = self._meaning(mention)
        if meaning.key is None:
            return replace(blank, family=meaning.family or None)
        if not mention.understood and confidence == "certain":
            confidence = "likely"
        printed = mention.tones or _own_tone(meaning.key)
        tones = tuple(self._tone(tone, meaning.key) for tone in printed)
        key, narrowed = self._size(meaning.key, tones, mention)
        if narrowed:
            basis = narrowed
            confidence = "likely" if narrowed == "sound_id" else confidence
        return replace(
            blank,
            instrument=key,
            family=self.reference.instruments[key].family,
            basis=basis,
            confidence=confidence,
            crook=self._crook(key, tones, mention),
        )

    def _is_stray_letter(self, mention: Mention) -> bool:
        """One letter, as in "P1", that only other languages read as an abbreviation."""
        spoken = {language for m in mention.meanings for language in m.languages}
        return mention.is_letter and self.context.language not in spoken and len(spoken) < 3

    def _meaning(self, mention: Mention) -> tuple[Meaning, str, str]:
        """The meaning of a name, what chose it, and how sure that is."""
        full = [m for m in mention.meanings if m.kind != "abbreviation"]
        meanings = full if full and "." not in mention.label else list(mention.meanings)
        meanings = self._undecided_voices(meanings)
        if len(meanings) == 1:
            sure = meanings[0].kind != "open" and not mention.is_letter
            return meanings[0], "name", "certain" if sure else "likely"
        if self.evidence.transposition:
            fitting = [m for m in meanings if self._fits(m.key)]
            if len(fitting) == 1:
                return fitting[0], "transposition", "likely"
            meanings = fitting or meanings
        sound = self._sound_key()
        same = [m for m in meanings if sound and m.key and self._same_kind(m.key, sound)]
        if same:
            return same[0], "sound_id", "likely"
        spoken = [m for m in meanings if self.context.language in m.languages]
        singing = [m for m in spoken or meanings if (m.family == "voice") == self.context.voices]
        for chosen in (singing, spoken):
            if chosen and len(chosen) < len(mention.meanings):
                return chosen[0], "name", "likely"
        self._add(
            "name_ambiguous",
            f"{mention.label} may mean {' or '.join(self._english(m) for m in meanings)}",
            f"read as {self._english(meanings[0])}",
        )
        return meanings[0], "name", "guess"

    def _undecided_voices(self, meanings: list[Meaning]) -> list[Meaning]:
        """Choir and solo voice of one name are one meaning: the ensemble decides later."""
        keys = {meaning.key for meaning in meanings}
        own = {size for key in keys if key for size in sizes(self.reference).get(key, ())}
        return [m for m in meanings if m.key not in own or m.family != "voice"]

    def _fits(self, key: str | None) -> bool:
        used = self.evidence.transposition
        return key is not None and used in customary(key, self.reference)

    def _tone(self, tone: str, key: str) -> str:
        """A plain B, decided by transposition, by the instrument, then by the language."""
        if tone != UNDECIDED_B:
            return tone
        used = self.evidence.transposition
        if used is not None and used % 12 in {10, 11}:
            return "B-flat" if used % 12 == 10 else "B-natural"
        if self.reference.instruments[key].subfamily == "clarinets":
            return "B-flat"
        return "B-natural" if self.context.language == "en" else "B-flat"

    def _size(self, key: str, tones: Sequence[str], mention: Mention) -> tuple[str, str | None]:
        """The size of a generic key and what picked it; the key itself where nothing does."""
        row = self.reference.instruments[key]
        used = self.evidence.transposition
        if row.family == "voice" or row.subfamily == "timpani":
            return key, None
        classes = {_pitch_classes(self.reference)[tone] for tone in tones[:1]}
        if classes and used is not None and used % 12 not in classes:
            self._add(
                "name_against_transposition",
                f"{mention.label} is named in {tones[0]} and sounds {used:+d} semitones by the "
                "file",
                "the name is kept, the pitches are as the file has them",
            )
            used = None
        options = [
            option
            for option in (key, *sizes(self.reference).get(key, ()))
            if self._possible(option, used, classes)
        ]
        sound = self._sound_key()
        usual = [
            option
            for option in options
            if _matches(self.reference.instruments[option], used, classes)
        ]
        narrowing = bool(classes) or used is not None
        picked = usual[0] if usual and narrowing and row.generic else key
        if sound in options and sound != key and sound != picked:
            return sound, "sound_id"
        if picked == key:
            return key, None
        return picked, "name" if classes else "transposition"

    def _possible(self, option: str, used: int | None, classes: set[int]) -> bool:
        known = offsets(self.reference)[option]
        if used is not None:
            return used in known
        return not classes or any(offset % 12 in classes for offset in known)

    def _crook(self, key: str, tones: Sequence[str], mention: Mention) -> str | None:
        """The crook by the transposition in force, else by the letter that the name has."""
        used = self.evidence.transposition
        rows = [row for row in self.reference.crooks if key in row.keys]
        if rows and used is not None:
            for row in (
                *(row for row in rows if row.treble_clef == used),
                *(row for row in rows if row.old_bass_clef == used),
            ):
                if not tones or tone_of_crook(row.crook) == tones[0]:
                    return row.crook
        if not tones:
            return None
        return " ".join(filter(None, (", ".join(tones), mention.octave)))

    def fallback(self, blank: Identity) -> Identity:
        """What is left where the name says nothing: sound id, other names, program."""
        sound = self._sound_key()
        if sound:
            size, narrowed = self._size(sound, (), Mention(blank.label))
            return self._known(blank, size, narrowed or "sound_id", "likely")
        if blank.family is not None:
            return blank
        for text, basis, confidence in (
            (self.evidence.instrument_name, "name", "likely"),
            (self.evidence.abbreviation, "abbreviation", "guess"),
        ):
            read = self.identity(read_name(text, self.reference, self.letters_first)[0])
            if read.instrument:
                return self._known(blank, read.instrument, basis, confidence, read.crook)
        program = self.reference.midi_programs.get(self.evidence.midi_program or 0)
        key = program.key if program and program.program > 1 else None
        key = "percussion" if self.evidence.percussion else key
        if key:
            size, _ = self._size(key, (), Mention(blank.label))
            return self._known(blank, size, "program", "guess")
        if not (self.evidence.sound_id or "").startswith("voice."):
            self._add(
                "instrument_unknown",
                f"no table knows the instrument of {blank.label or 'a part without a name'}",
                "the part is kept without an instrument",
            )
            return blank
        return replace(blank, family="voice")

    def _known(
        self, blank: Identity, key: str, basis: str, confidence: str, crook: str | None = None
    ) -> Identity:
        return replace(
            blank,
            instrument=key,
            family=self.reference.instruments[key].family,
            basis=basis,
            confidence=confidence,
            crook=crook or self._crook(key, (), Mention("")),
        )

    def _sound_key(self) -> str | None:
        return key_of_sound(self.evidence.sound_id or "", self.reference)

    def compare_sound_id(self, identities: list[Identity]) -> None:
        """A remark where the sound id means something else than the name; the name wins."""
        sound = self._sound_key()
        named = [item for item in identities if item.instrument and item.basis != "sound_id"]
        if not sound or not named:
            return
        if any(self._same_kind(str(item.instrument), sound) for item in named):
            return
        first = identities.index(named[0])
        if named[0].confidence == "certain":
            identities[first] = replace(named[0], confidence="likely")
        key = str(named[0].instrument)
        self._add(
            "name_against_sound_id",
            f"{named[0].label} is {self.reference.instruments[key].english[0]} by its name"
            f"{_in(named[0].crook)}, and {self.reference.instruments[sound].english[0]} by its "
            "sound id",
            "the name is kept",
        )

    def _same_kind(self, key: str, sound: str) -> bool:
        """The id means the key, its kind, its group, or a sister at the same pitch."""
        one, other = self.reference.instruments[key], self.reference.instruments[sound]
        table = sizes(self.reference)
        if key == sound or key in table.get(sound, ()):
            return True
        if sound in table.get(key, ()):
            return one.family == "voice" or self._possible(
                sound, self.evidence.transposition, set()
            )
        if "group" in {one.role, other.role}:
            return one.family == other.family
        if one.role == "continuo":
            return other.family in {"keyboard", "plucked", "string"} or other.key == "bassoon"
        at_pitch = one.printed_transposition == other.printed_transposition
        return one.subfamily == other.subfamily and at_pitch and one.family != "voice"

    def _english(self, meaning: Meaning) -> str:
        if meaning.key is None:
            return meaning.family
        return self.reference.instruments[meaning.key].english[0]

    def _add(self, code: str, message: str, done: str) -> None:
        self.findings.append(Finding(code, message, done))


def _own_tone(key: str) -> tuple[str, ...]:
    """The tone in a key that has one, "B-flat" of clarinet-bflat."""
    found = re.search(r"-([a-h])(flat)?$", key)
    return (found[1].upper() + ("-flat" if found[2] else ""),) if found else ()


def _in(crook: str | None) -> str:
    return f" (in {crook})" if crook else ""


def _matches(row: Instrument, used: int | None, classes: set[int]) -> bool:
    usual = row.printed_transposition
    if usual is None:
        return False
    return usual == used if used is not None else usual % 12 in classes


def _pitch_classes(reference: Reference) -> dict[str, int]:
    """Pitch class by tone: what a written C sounds on a crook of that name."""
    found = {tone_of_crook(row.crook): row.treble_clef % 12 for row in reference.crooks}
    return {**found, UNDECIDED_B: 10}
