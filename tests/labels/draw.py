"""The 200 notes that were labelled by hand, drawn from the score files alone.

    python tests/labels/draw.py FOLDER

prints one line a note, as CSV. The draw knows nothing of the package: it reads the XML in
document order. A note's place in the draw is a hash of its address, so that the same folder
always gives the same notes.
"""

from __future__ import annotations

import csv
import hashlib
import sys
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from lxml import etree

SEED = "labels by hand, first draw"

ACCENTS = {"sf", "sfz", "fz", "sff", "sffz", "rf", "rfz", "fp", "mfp", "ffp", "sfp", "sfpp"}
CHANGING = ("cresc", "dim", "decresc")
SPECIAL = ("pizz", "con sord", "spiccato", "tremolo")
ORDINARY = ("arco", "senza sord")
VOICES = ("Soprano", "Alto", "Tenor", "Bass")
WORDS_LAST = 4
"""Bars for which a word of change or of players is taken to hold, for the draw alone."""


@dataclass
class Drawable:
    """A note that may be drawn, and the strata that it belongs to."""

    movement: str
    part_id: str
    note_index: int
    bar: str
    pitch: str
    strata: set[str] = field(default_factory=set)

    @property
    def rank(self) -> bytes:
        address = f"{SEED}|{self.movement}|{self.part_id}|{self.note_index}"
        return hashlib.sha256(address.encode()).digest()

    @property
    def row(self) -> tuple[str, str, int, str, str]:
        return self.movement, self.part_id, self.note_index, self.bar, self.pitch


def document(path: Path) -> bytes:
    """The score document in an .mxl container."""
    with zipfile.ZipFile(path) as container:
        listing = etree.fromstring(container.read("META-INF/container.xml"))
        return container.read(next(listing.iter("{*}rootfile")).attrib["full-path"])


def notes(movement: str, data: bytes) -> Iterator[Drawable]:
    """Every note of a movement that is no rest, grace, cue or end of a tie."""
    root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    names = {
        part.get("id"): part.findtext("part-name", "") for part in root.iterfind(".//score-part")
    }
    for part in root.iterfind("part"):
        yield from _notes_of_part(movement, part, names[part.get("id")])


def _notes_of_part(movement: str, part: etree._Element, name: str) -> Iterator[Drawable]:
    index = -1
    wedges: set[str] = set()
    special = False
    changing = players = -WORDS_LAST
    standing = False
    transposing = False
    for bar_index, measure in enumerate(part.iterfind("measure")):
        several = len({voice.text for voice in measure.iterfind("note/voice")}) > 1
        for element in measure:
            if element.tag == "attributes":
                chromatic = element.findtext("transpose/chromatic")
                transposing = transposing if chromatic is None else chromatic != "0"
            elif element.tag == "direction":
                for wedge in element.iter("wedge"):
                    if wedge.get("type") == "stop":
                        wedges.discard(wedge.get("number", "1"))
                    elif wedge.get("type") != "continue":
                        wedges.add(wedge.get("number", "1"))
                if any(mark.tag in ACCENTS for mark in element.iterfind(".//dynamics/*")):
                    standing = True
                text = " ".join(words.text or "" for words in element.iter("words")).lower()
                if any(word in text for word in CHANGING):
                    changing = bar_index
                if any(word in text for word in ("div", "solo", "a 2", "tutti", "unis")):
                    players = bar_index
                if any(word in text for word in SPECIAL):
                    special = True
                elif any(word in text for word in ORDINARY):
                    special = False
            elif element.tag == "note":
                index += 1
                if element.find("rest") is not None:
                    continue
                chord = element.find("chord") is not None
                if not chord:
                    accented, standing = standing, False
                if not _drawable(element):
                    continue
                following = element.getnext()
                in_chord = chord or (
                    following is not None
                    and following.tag == "note"
                    and following.find("chord") is not None
                )
                holds = {
                    "hairpin": bool(wedges),
                    "changing": bar_index - changing < WORDS_LAST,
                    "technique": special,
                    "tremolo": element.find(".//tremolo") is not None,
                    "accent": accented,
                    "several": in_chord or several,
                    "players": bar_index - players < WORDS_LAST,
                    "voice": name.startswith(VOICES) and element.find("lyric") is not None,
                    "transposing": transposing,
                }
                yield Drawable(
                    movement,
                    part.get("id", ""),
                    index,
                    measure.get("number", ""),
                    _pitch(element),
                    {stratum for stratum, held in holds.items() if held},
                )


def _drawable(note: etree._Element) -> bool:
    return (
        note.find("grace") is None
        and note.find("cue") is None
        and all(tie.get("type") != "stop" for tie in note.iterfind("tie"))
    )


def _pitch(note: etree._Element) -> str:
    """The written pitch, as `C5`, `B-4`, `F#3`; an unpitched note by its place."""
    pitch = note.find("pitch")
    if pitch is None:
        return "{}{} unpitched".format(
            note.findtext("unpitched/display-step", ""),
            note.findtext("unpitched/display-octave", ""),
        )
    alter = int(pitch.findtext("alter", "0"))
    signs = "#" * alter if alter > 0 else "-" * -alter
    return f"{pitch.findtext('step')}{signs}{pitch.findtext('octave')}"


QUOTAS: tuple[tuple[str, int], ...] = (
    ("hairpin", 20),
    ("changing", 12),
    ("technique", 16),
    ("tremolo", 8),
    ("accent", 14),
    ("several", 12),
    ("players", 6),
    ("voice", 8),
    ("transposing", 6),
)
AT_RANDOM = 98
"""Notes drawn from all, one of each movement first; with the quotas 200."""


def draw(movements: list[tuple[str, bytes]]) -> list[Drawable]:
    """200 notes: one of each movement, then at random from all, then the quotas of the strata."""
    everything = sorted(
        (note for name, data in movements for note in notes(name, data)),
        key=lambda note: note.rank,
    )
    drawn: dict[bytes, Drawable] = {}

    def take(count: int, among: Iterable[Drawable]) -> None:
        fresh = (note for note in among if note.rank not in drawn)
        drawn.update((note.rank, note) for note in list(islice(fresh, count)))

    for name, _ in movements:
        take(1, (note for note in everything if note.movement == name))
    take(AT_RANDOM - len(movements), everything)
    for stratum, count in QUOTAS:
        take(count, (note for note in everything if stratum in note.strata))
    places = {name: place for place, (name, _) in enumerate(movements)}
    return sorted(
        drawn.values(),
        key=lambda note: (places[note.movement], int(note.part_id[1:]), note.note_index),
    )


def movements(folder: Path) -> list[tuple[str, bytes]]:
    """Stem and document of every .mxl file of a folder, by name."""
    return [(path.stem, document(path)) for path in sorted(folder.glob("*.mxl"))]


if __name__ == "__main__":
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(("movement", "part_id", "note_index", "bar", "written_pitch"))
    writer.writerows(note.row for note in draw(movements(Path(sys.argv[1]))))
