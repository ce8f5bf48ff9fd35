"""How much of what scores say in words is understood: a report over a folder of MusicXML files.

Run as `python tests/readers/coverage_of_words.py FOLDER [--all]`; it prints the shares by
occurrence and the texts that were not understood, most frequent first.
"""

from __future__ import annotations

import argparse
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from lxml import etree

from collaparte import reference
from collaparte.readers.dynamics import text_of
from collaparte.readers.instruments import Evidence, identify
from collaparte.readers.named_lines import instrument_named
from collaparte.readers.vocabulary import Vocabulary, vocabulary_of
from collaparte.readers.words import understand

SUFFIXES = (".xml", ".musicxml", ".mxl")
NOTES = {"whole": "𝅝", "half": "𝅗𝅥", "quarter": "♩", "eighth": "♪"}


@dataclass(frozen=True)
class Text:
    """One direction's text with the instrument of its part."""

    text: str
    family: str | None
    subfamily: str | None
    has_words: bool


@dataclass
class Coverage:
    """Occurrences of texts: understood, none of our business, not understood."""

    ours: Counter[Text] = field(default_factory=Counter)
    not_ours: Counter[Text] = field(default_factory=Counter)
    left: Counter[Text] = field(default_factory=Counter)
    labels: int = 0
    """Letters and figures alone, among those understood."""

    def share(self, of: Counter[Text], words_only: bool = False) -> float:
        def count(texts: Counter[Text]) -> int:
            return sum(n for text, n in texts.items() if text.has_words or not words_only)

        return count(of) / max(1, sum(map(count, (self.ours, self.not_ours, self.left))))


def documents(folder: Path) -> Iterator[bytes]:
    for path in sorted(folder.rglob("*")):
        if path.suffix == ".mxl":
            with zipfile.ZipFile(path) as container:
                names = [
                    name
                    for name in container.namelist()
                    if name.endswith((".xml", ".musicxml")) and not name.startswith("META-INF")
                ]
                yield container.read(names[0])
        elif path.suffix in SUFFIXES:
            yield path.read_bytes()


def texts(document: bytes, vocabulary: Vocabulary) -> Iterator[Text]:
    """The texts of all directions of one partwise document that hold words or dynamics."""
    parser = etree.XMLParser(
        load_dtd=False, no_network=True, resolve_entities=False, huge_tree=True
    )
    try:
        root = etree.fromstring(document, parser)
    except etree.XMLSyntaxError:
        return
    facts = vocabulary.reference
    players = {}
    for part in root.iter("score-part"):
        evidence = Evidence(
            name=part.findtext("part-name") or "",
            abbreviation=part.findtext("part-abbreviation") or "",
            sound_id=part.findtext(".//instrument-sound") or None,
        )
        identity = identify(evidence, facts).identities[0]
        row = facts.instruments.get(identity.instrument or "")
        subfamily = row.subfamily if row else None
        players[part.get("id")] = (identity.family or None, subfamily)
    for part in root.iter("part"):
        family, subfamily = players.get(part.get("id"), (None, None))
        for direction in part.iter("direction"):
            text = direction_text(direction, vocabulary)
            if text.strip():
                has_words = direction.find(".//words") is not None
                yield Text(" ".join(text.split()), family, subfamily, has_words)


def direction_text(direction: etree._Element, vocabulary: Vocabulary) -> str:
    """Words, symbols, dynamics and metronome marks of a direction in order."""
    if direction.find(".//words") is None and direction.find(".//dynamics") is None:
        return ""
    pieces = []
    for kind in direction.iter("direction-type"):
        piece = ""
        for child in kind:
            if child.tag == "words":
                piece += child.text or ""
            elif child.tag == "symbol":
                piece += vocabulary.symbols.get(child.text or "", "")
            elif child.tag == "dynamics":
                piece += text_of([(str(mark.tag), mark.text or "") for mark in child])
            elif child.tag == "metronome":
                units = [NOTES.get(unit.text or "", "♪") for unit in child.iter("beat-unit")]
                units += [minute.text or "" for minute in child.iter("per-minute")]
                piece += " = ".join(units)
        pieces.append(piece)
    return " ".join(pieces)


def coverage(folder: Path) -> Coverage:
    """The occurrences of every text of a folder by how far it is understood."""
    facts = reference.load()
    vocabulary = vocabulary_of(facts)
    found: Counter[Text] = Counter()
    for document in documents(folder):
        found.update(texts(document, vocabulary))
    result = Coverage()
    name = partial(instrument_named, reference=facts)
    for text, count in found.items():
        said = understand(text.text, text.family, text.subfamily, vocabulary, identify_name=name)
        if said.leftover:
            result.left[text] = count
        elif said.is_ours:
            result.ours[text] = count
            result.labels += count * (said.meanings[0].kind == "rehearsal")
        else:
            result.not_ours[text] = count
    return result


def report(result: Coverage, everything: bool) -> Iterator[str]:
    """Lines of the report."""
    for name, words_only in (("all texts", False), ("texts with words", True)):
        shares = [
            f"{result.share(counts, words_only):.2%} {label}"
            for counts, label in (
                (result.ours, "understood"),
                (result.not_ours, "none of our business"),
                (result.left, "not understood"),
            )
        ]
        yield f"{name}: " + ", ".join(shares)
    yield f"letters and figures alone, among those understood: {result.labels}"
    parts = [("not understood", result.left)]
    if everything:
        parts += [("none of our business", result.not_ours), ("understood", result.ours)]
    for label, counts in parts:
        yield f"\n{label}:"
        for text, count in counts.most_common():
            yield f"{count:6} {text.text!r} {text.family} {text.subfamily}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--all", action="store_true", help="list the texts understood, too")
    chosen = parser.parse_args()
    for line in report(coverage(chosen.folder), chosen.all):
        print(line)


if __name__ == "__main__":
    main()
