"""Who plays a part: instruments from names, transposition, sound id, abbreviation and program."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

from collaparte.readers.identities import Context, Evidence, Identified, Identity
from collaparte.readers.name_vocabulary import LANGUAGES, UNDECIDED_B
from collaparte.readers.narrowing import Narrowing
from collaparte.readers.part_names import Mention, read_name
from collaparte.readers.transpositions import Finding, customary
from collaparte.reference import Reference

__all__ = ["Context", "Evidence", "Identified", "Identity", "context_of", "identify", "language_of"]


def language_of(names: Iterable[str], reference: Reference) -> str | None:
    """The language that most of the names are in (en, de, it, fr); None where no name tells.

    A name counts for each language that has it, by one over their number; abbreviations count
    half, single letters not at all. A tie goes to the first of en, de, it, fr.
    """
    votes = dict.fromkeys(LANGUAGES, 0.0)
    for name in names:
        for mention in read_name(name, reference):
            spoken = {language for m in mention.meanings for language in m.languages}
            if spoken and len(spoken) < len(LANGUAGES) and not mention.is_letter:
                weight = 0.5 if mention.meanings[0].kind == "abbreviation" else 1.0
                for language in spoken:
                    votes[language] += weight / len(spoken)
    best = max(LANGUAGES, key=lambda language: votes[language])
    return best if votes[best] else None


def context_of(names: Sequence[str], reference: Reference) -> Context:
    """What the names of all parts of a file tell about each of them.

    Others sing where a name is that of voices alone ("Soprano / Alto"), or more than two begin
    with what may be one ("Tenor Viola" beside "Soprano Oboe" and "Bass Continuo").
    """
    read = [read_name(name, reference) for name in names]
    sure = [mentions for mentions in read if _is_voice(mentions[0])]
    possible = sum(_may_be_voice(mentions[0]) for mentions in read)
    alone = any(all(map(_may_be_voice, mentions)) for mentions in sure)
    voices = alone or (bool(sure) and possible > 2)
    return Context(language_of(names, reference), voices)


@lru_cache(maxsize=4096)
def identify(
    evidence: Evidence, reference: Reference, context: Context | None = None
) -> Identified:
    """The instruments of a part, one for each that its name lists.

    Order of trust: correction, name, transposition, sound id, abbreviation, program. The name
    says the kind; a key letter, else the transposition, picks the size of a generic kind
    ("Clarinet" that sounds 2 semitones below is a clarinet in B flat); the sound id picks among
    what is left ("Horn in C" with the id of a natural horn), never against the two before it.

    Confidence
    ----------
    certain
        Stated by the manifest; or the name has one meaning in all languages, with the size by
        its key letter or by the transposition, and no weaker basis contradicts it.
    likely
        The meaning of the name was chosen by transposition, by sound id, by the language of the
        other parts or because others are singers; or the size by the sound id or by custom
        ("Recorder" for an alto recorder); or a weaker basis contradicts; or a word of the name is
        in no table; or the name is one letter; or the sound id is all there is.
    guess
        An ambiguous name that nothing decides (the meaning of most languages is taken), the
        abbreviation alone, or the program alone (never program 1, which writers put by default).

    A name of one letter is read only in three languages that share it, or in that of the file.

    Findings
    --------
    `name_against_transposition`, `name_against_sound_id`, `name_ambiguous`,
    `instrument_unknown`, `correction_unknown`.
    """
    context = context or Context()
    mentions, letters_first = _mentions(evidence, reference, context)
    findings: list[Finding] = []
    if evidence.correction is not None:
        if evidence.correction in reference.instruments:
            return Identified((_corrected(evidence.correction, mentions[0], reference),))
        findings.append(
            Finding(
                "correction_unknown",
                f"the manifest states instrument {evidence.correction}, which is no key of table "
                "instruments",
                "the statement is left out",
            )
        )
    search = Narrowing(evidence, reference, context, letters_first, findings)
    identities = [search.identity(mention) for mention in mentions]
    if all(identity.instrument is None for identity in identities):
        identities = [search.fallback(identities[0])]
    search.compare_sound_id(identities)
    return Identified(_one_a_player(identities, reference), tuple(dict.fromkeys(findings)))


def _mentions(
    evidence: Evidence, reference: Reference, context: Context
) -> tuple[tuple[Mention, ...], bool]:
    """The mentions of the printed name, in the reading that fits the transposition."""
    choices = [text for text in (evidence.name, evidence.display_name) if text.strip()]
    read = [read_name(text, reference) for text in choices] or [read_name("", reference)]
    named = [mentions for mentions in read if mentions[0].meanings]
    mentions = named[0] if named else read[0]
    if len(named) > 1 and _has_plain_b(named[0]) and not _has_plain_b(named[1]):
        mentions = named[1]
    letters_first = False
    if evidence.transposition is not None and not _fits(mentions, evidence, reference):
        other = read_name(choices[0], reference, letters_first=True) if choices else mentions
        if other[0].meanings and _fits(other, evidence, reference):
            mentions, letters_first = other, True
    if len(mentions) > 1 and not context.voices and not _sings(evidence):
        mentions = _without_size_words(mentions, evidence)
    return mentions, letters_first


def _is_voice(mention: Mention) -> bool:
    return bool(mention.meanings) and all(m.family == "voice" for m in mention.meanings)


def _may_be_voice(mention: Mention) -> bool:
    return any(meaning.family == "voice" for meaning in mention.meanings)


def _has_plain_b(mentions: Sequence[Mention]) -> bool:
    return any(UNDECIDED_B in mention.tones for mention in mentions)


def _fits(mentions: Sequence[Mention], evidence: Evidence, reference: Reference) -> bool:
    return any(
        evidence.transposition in customary(meaning.key, reference)
        for mention in mentions
        for meaning in mention.meanings
        if meaning.key
    )


def _sings(evidence: Evidence) -> bool:
    return (evidence.sound_id or "").startswith("voice.") or evidence.midi_program in {53, 54}


def _without_size_words(mentions: tuple[Mention, ...], evidence: Evidence) -> tuple[Mention, ...]:
    """A voice directly before an instrument is its size ("Tenor Viola"), known to no table."""
    first, second = mentions[0], mentions[1]
    voice = _is_voice(first)
    player = bool(second.meanings) and all(m.family != "voice" for m in second.meanings)
    together = f"{first.label} {second.label}"
    if voice and player and not first.numbers and together in " ".join(evidence.name.split(" ")):
        whole = replace(second, label=together, meanings=(), understood=False)
        return (whole, *mentions[2:])
    return mentions


def _corrected(key: str, mention: Mention, reference: Reference) -> Identity:
    return Identity(
        key,
        reference.instruments[key].family,
        "correction",
        "certain",
        mention.numbers,
        ", ".join(mention.tones) or None,
        mention.label,
        mention.ensemble,
    )


def _one_a_player(identities: Sequence[Identity], reference: Reference) -> tuple[Identity, ...]:
    """One identity a player.

    An instrument named twice is one part for several players; a sister woodwind named without a
    number ("Flute 3 / Piccolo") is taken by the same player.
    """
    kept: list[Identity] = []
    for identity in identities:
        last = kept[-1] if kept else None
        if last and last.instrument and last.instrument == identity.instrument:
            players = tuple(dict.fromkeys((*last.players, *identity.players)))
            label = f"{last.label}, {identity.label}"
            kept[-1] = replace(last, players=players, label=label)
        elif last and _sister_woodwind(last, identity, reference):
            label = f"{last.label} / {identity.label}"
            others = (*last.alternatives, str(identity.instrument))
            kept[-1] = replace(last, alternatives=others, label=label)
        else:
            kept.append(identity)
    return tuple(kept)


def _sister_woodwind(first: Identity, second: Identity, reference: Reference) -> bool:
    if first.instrument is None or second.instrument is None or second.players:
        return False
    one, other = (reference.instruments[str(item.instrument)] for item in (first, second))
    return one.family == "woodwind" and one.subfamily == other.subfamily
