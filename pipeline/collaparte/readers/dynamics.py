"""What dynamics say: level, accent, relative step, from the element `dynamics` or from words.

Marks, their degrees and what follows an accent stand in `dynamics.csv` and
`dynamic_accents.csv`; their spellings in words in `direction_words.csv`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from collaparte.readers.vocabulary import Token, Vocabulary

_LOUD_FROM = 6.0  # from mf on, "più" is louder; below it, softer


@dataclass(frozen=True, slots=True)
class DynamicMark:
    """One dynamic as it acts on the level in force.

    Attributes
    ----------
    printed
        As printed, white space folded.
    mark
        Mark of the reference data: f, sfp, poco f, mezza voce …; None where only modifiers stand.
    degree
        Level that follows, in degrees (1 pppp to 10 ffff, 0 niente); None where the mark leaves
        the level or moves it by `change`.
    change
        Step from the level in force, in degrees: +1 of "più f" and "meno p", -1 of "più p" and
        "meno f"; of rf the gain while it lasts.
    accent
        The mark where it stresses its note: sf, fp and their like.
    hairpin
        crescendo or diminuendo where the words ask for one ("sempre più f").
    modifiers
        Ids of the words around the mark: sempre, più, poco, subito …
    lasts
        How long the mark acts: note, phrase or until_next.
    rest
        Other words of the same element, not about loudness ("dolce").
    """

    printed: str
    mark: str | None = None
    degree: float | None = None
    change: float = 0.0
    accent: str | None = None
    hairpin: str | None = None
    modifiers: tuple[str, ...] = ()
    lasts: str = "until_next"
    rest: str = ""

    @property
    def changes_level(self) -> bool:
        """Whether another level is in force afterwards."""
        return self.degree is not None or (self.change != 0 and self.lasts == "until_next")

    def after(self, level: float | None, vocabulary: Vocabulary) -> float | None:
        """The level in force after the mark, given the one before it.

        A step where no level is known starts from the mark itself ("più f" after nothing is one
        degree above f).
        """
        if self.degree is not None:
            return self.degree
        if not self.changes_level:
            return level
        start = vocabulary.degrees.get(self.mark or "") if level is None else level
        return None if start is None else min(max(start + self.change, 1.0), 10.0)


def parse(children: Iterable[tuple[str, str]], vocabulary: Vocabulary) -> DynamicMark:
    """The dynamic of one element `dynamics`.

    Parameters
    ----------
    children
        Tag and text of each child, in order.
    """
    text = text_of(children)
    words = vocabulary.tokens(text)
    marks: list[DynamicMark] = []
    rest: list[str] = []
    start = 0
    while start < len(words):
        length, mark = dynamic_at(words, start, vocabulary) or (0, None)
        if mark is None:
            length, modifiers = modifiers_at(words, start, vocabulary)
            mark = DynamicMark("", modifiers=modifiers) if modifiers else None
        if mark is None:
            length = 1
            rest.append(words[start].text)
        else:
            marks.append(mark)
        start += length
    joined = combine(marks, vocabulary) if marks else DynamicMark("")
    return replace(joined, printed=text, rest=" ".join(rest))


def text_of(children: Iterable[tuple[str, str]]) -> str:
    """The printed text of one element `dynamics`, white space folded.

    Marks next to each other are one mark (f, p: "fp"), so are the texts of `other-dynamics`
    (s, anft: "sanft"); between a mark and a text stands a blank.
    """
    pieces: list[str] = []
    before = None
    for tag, text in children:
        is_text = tag == "other-dynamics"
        if before is not None and before != is_text:
            pieces.append(" ")
        pieces.append(text if is_text else tag)
        before = is_text
    return " ".join("".join(pieces).split())


def combine(marks: Sequence[DynamicMark], vocabulary: Vocabulary) -> DynamicMark:
    """The one dynamic of marks that stand at one place, in order ("più" beside f; sf beside p)."""
    joined = marks[0]
    for mark in marks[1:]:
        joined = _two(joined, mark, vocabulary)
    return joined


def dynamic_at(
    words: Sequence[Token], start: int, vocabulary: Vocabulary
) -> tuple[int, DynamicMark] | None:
    """The dynamic that begins at `start` with the number of its tokens: modifiers and a mark."""
    best: tuple[int, DynamicMark] | None = None
    modifiers: list[str] = []
    place = start
    while True:
        for length, entries in vocabulary.entries(words, place, ("dynamic",)):
            if _is_mark(words[place : place + length]):
                end = place + length
                if best is None or end - start > best[0]:
                    printed = " ".join(word.text for word in words[start:end])
                    made = _made(printed, tuple(modifiers), entries[0].id, vocabulary)
                    best = (end - start, made)
                break
        step = next(vocabulary.entries(words, place, ("modifier", "qualifier")), None)
        if step is None:
            return best
        modifiers.append(step[1][0].id)
        place += step[0]


def modifiers_at(
    words: Sequence[Token], start: int, vocabulary: Vocabulary
) -> tuple[int, tuple[str, ...]]:
    """Modifiers and qualifiers from `start` on: number of tokens and their ids."""
    place = start
    found: list[str] = []
    while step := next(vocabulary.entries(words, place, ("modifier", "qualifier")), None):
        found.append(step[1][0].id)
        place += step[0]
    return place - start, tuple(found)


def _is_mark(words: Sequence[Token]) -> bool:
    """False for a capital that stands alone: a letter, no mark."""
    return len(words) > 1 or len(words[0].key) > 1 or words[0].text[0].islower()


def _made(
    printed: str, modifiers: tuple[str, ...], mark: str, vocabulary: Vocabulary
) -> DynamicMark:
    accents = vocabulary.reference.dynamic_accents
    if modifiers and f"{modifiers[-1]} {mark}" in accents:  # poco f, poco p
        mark, modifiers = f"{modifiers[-1]} {mark}", modifiers[:-1]
    if mark in accents:
        row = accents[mark]
        stressed = row.kind == "accent" or bool(row.is_accent or row.level_at)
        return DynamicMark(
            printed,
            mark,
            degree=row.degree_after,
            change=float(row.degrees or 0),
            accent=mark if stressed else None,
            modifiers=modifiers,
            lasts=row.lasts,
        )
    degree = vocabulary.degrees[mark]
    step = sum(
        accents[word].degrees or 0
        for word in modifiers
        if word in accents and accents[word].kind == "modifier"
    )
    if not step:
        return DynamicMark(printed, mark, degree, modifiers=modifiers)
    change = float(step if degree >= _LOUD_FROM else -step)
    hairpin = None
    if not {"sempre", "poco_a_poco"}.isdisjoint(modifiers):
        hairpin = "crescendo" if change > 0 else "diminuendo"
    return DynamicMark(printed, mark, change=change, hairpin=hairpin, modifiers=modifiers)


def _two(first: DynamicMark, second: DynamicMark, vocabulary: Vocabulary) -> DynamicMark:
    printed = f"{first.printed} {second.printed}".strip()
    if second.mark is None:
        return replace(first, printed=printed, modifiers=first.modifiers + second.modifiers)
    if first.mark is None:
        return _made(printed, first.modifiers + second.modifiers, second.mark, vocabulary)
    modifiers = first.modifiers + second.modifiers
    together = first.mark + second.mark
    if together in vocabulary.reference.dynamic_accents:
        return _made(printed, modifiers, together, vocabulary)
    level = second if second.changes_level else first
    return replace(
        level, printed=printed, modifiers=modifiers, accent=first.accent or second.accent
    )
