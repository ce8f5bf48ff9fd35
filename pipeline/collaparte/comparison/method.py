"""The paragraph that a paper prints beside a comparison."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

from collaparte.comparison.amounts import STRATA
from collaparte.comparison.choice import RATES, Choice
from collaparte.settings import Settings

LIBRARIES = ("duckdb", "numpy", "scipy")
"""What a comparison is computed with, beside what its tables were built with."""


@dataclass(frozen=True)
class Facts:
    """What came of a comparison.

    Attributes
    ----------
    works, movements
        Behind the rates.
    reference
        The group that the others were set against.
    tests
        Contrasts that were tested, by rate.
    refused
        Those that were not, because a side has too few works, by rate.
    chance
        The tables hold what chance would give.
    left_out
        Movements that were left out, by reason.
    unknown
        Shares of time without an instrument, a dynamic, a register; None where nothing sounds.
    """

    works: int
    movements: int
    reference: str
    tests: Mapping[str, int]
    refused: Mapping[str, int]
    chance: bool
    left_out: Mapping[str, int]
    unknown: Mapping[str, float | None]


def method_of(
    choice: Choice,
    facts: Facts,
    thresholds: Mapping[str, Any],
    libraries: Mapping[str, str],
    settings: Settings,
) -> str:
    """One paragraph: what was counted, how, with which thresholds, versions and seed."""
    sentences = [
        f"Doubling of {choice.line} by {_listed(choice.partners)} was measured in "
        f"{facts.movements} movements of {facts.works} works, by {choice.by}.",
        _doubling(choice, thresholds),
        *(f"{rate.name} = {rate.in_words}." for rate in RATES),
        "Times are unions over partners and kinds. A work that does not call for both instruments "
        "is missing; one that does and never doubles counts 0. The estimate is the mean over "
        "works; the pooled ratio stands beside it.",
        f"The strata {_listed([f'“{name}”' for name in STRATA])} are kept apart.",
        _intervals(settings),
        _chance(facts, settings),
        _contrasts(choice, facts, settings),
        _selection(choice, facts),
        _unknown(facts, choice),
        f"Seed {settings.seed}. Computed with {_versions(libraries)}.",
    ]
    return " ".join(sentence for sentence in sentences if sentence)


def _doubling(choice: Choice, thresholds: Mapping[str, Any]) -> str:
    """The thresholds that the tables were built with."""
    way = "strict" if choice.strict else "inclusive"
    kinds = []
    for kind in choice.kinds:
        of = thresholds[kind]
        strict = "strict_" if choice.strict else ""
        needs = f"{kind} at least {of[f'{strict}matched']} matched notes or attacks"
        needs += f" and {of[f'{strict}changes']} changes"
        if choice.strict and of["strict_pitches"] > 1:
            needs += f" over {of['strict_pitches']} pitches"
        kinds.append(needs)
    return (
        f"A doubling is a stretch that passes the {way} thresholds: {'; '.join(kinds)}; at least "
        f"{100 * thresholds['matched_share']:g}% of the union of onsets matched; a joint silence "
        f"of more than {thresholds['joint_silence_quarters']} quarters ends it."
    )


def _intervals(settings: Settings) -> str:
    return (
        f"Intervals of {100 * settings.confidence:g}%: cluster bootstrap over works within "
        f"composers, then movements (Davison & Hinkley 1997; Field & Welsh 2007), "
        f"{settings.resamples} resamples, of n works n − 1 drawn (Rao & Wu 1988), percentiles at "
        f"the levels of Student's t (Hesterberg 2015); none under {settings.least_works} works; "
        f"under {settings.enough_works} they may cover too rarely (Cameron, Gelbach & Miller "
        f"2008), and the range of the mean without one work is given."
    )


def _chance(facts: Facts, settings: Settings) -> str:
    if not facts.chance:
        return (
            "Lift is missing: the tables were built without null models, which "
            "collaparte build --chance computes."
        )
    return (
        "Lift = doubled time ÷ time expected where rhythms are kept and each pitch is drawn anew "
        f"from the harmony of its bar; none where under {settings.lift_quarters} quarters are "
        "expected. Beside it stands the ratio to the time expected where one line is shifted "
        "against the other by whole bars."
    )


def _contrasts(choice: Choice, facts: Facts, settings: Settings) -> str:
    if choice.by == "corpus" or not facts.works:
        return ""
    needed = f"at least {settings.least_works} works on each side"
    refused = max(facts.refused.values(), default=0)
    if not any(facts.tests.values()):
        return (
            f"No contrast was drawn with {facts.reference}: "
            f"each needs {needed} ({refused} refused)."
        )
    tests = ", ".join(f"{name} {count}" for name, count in facts.tests.items())
    return (
        f"Contrasts with {facts.reference}, with {needed} ({refused} refused): difference of the "
        f"means over works, {settings.permutations} permutations of the works' labels, "
        "p = (b + 1)/(m + 1) (Phipson & Smyth 2010); q by Benjamini & Hochberg (1995) over all "
        f"contrasts of a rate, pairs of instruments and kinds in this table (tests: {tests})."
    )


def _selection(choice: Choice, facts: Facts) -> str:
    sentences = [
        f"Only movements of the {name} {kept}."
        for name, kept in (("collection", choice.collection), ("encoder", choice.encoder))
        if kept is not None
    ]
    if choice.half:
        sentences.append(
            f"Only the half of each composer's works that is there to {choice.half}, by lot from "
            "the seed."
        )
    reasons = {
        "unread": "could not be read",
        "again": "have the music of another",
        "not_counting": "are stated not to count",
        "incomplete": "lack parts of their scoring",
    }
    counts = [
        f"{facts.left_out[name]} that {words}"
        for name, words in reasons.items()
        if facts.left_out.get(name)
    ]
    if counts:
        sentences.append(f"Left out: movements of the corpus, {_listed(counts)}.")
    return " ".join(sentences)


def _unknown(facts: Facts, choice: Choice) -> str:
    told = {
        name: "an unknown share" if share is None else f"{100 * share:.1f}%"
        for name, share in facts.unknown.items()
    }
    if facts.unknown["unknown_dynamic"] is None:
        return "No movement that is compared has a note of these instruments."
    return (
        f"Of the time of all notes in these movements {told['unknown_instrument']} has no known "
        f"instrument; of the notes of {_listed([choice.line, *choice.partners])} "
        f"{told['unknown_dynamic']} have no dynamic and {told['unknown_register']} no register."
    )


def _versions(libraries: Mapping[str, str]) -> str:
    computed = {name: version(name) for name in LIBRARIES}
    built = ", ".join(f"{name} {number}" for name, number in sorted(libraries.items()))
    return (
        f"{_listed([f'{name} {number}' for name, number in computed.items()])}; tables by {built}"
    )


def _listed(words: list[str] | tuple[str, ...]) -> str:
    *others, last = words
    return f"{', '.join(others)} and {last}" if others else last
