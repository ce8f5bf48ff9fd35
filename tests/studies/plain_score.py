"""The studies read from their files, plainly: what the tests of the scores count."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from lxml import etree

from studies.generate import SCORES, TRUTHS
from studies.works import STUDIES

STEMS = tuple(study.stem for study in STUDIES)
_WHITE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True)
class Sung:
    """One sounding note, ties joined; time in quarters."""

    onset: Fraction
    end: Fraction
    midi: int


Voice = tuple[str, int, int]
"""Part, staff, place of the voice on the staff."""


@cache
def root_of(stem: str) -> etree._Element:
    """The score of a study."""
    with zipfile.ZipFile(SCORES / f"{stem}.mxl") as archive:
        return etree.parse(io.BytesIO(archive.read(f"{stem}.musicxml"))).getroot()


@cache
def truth_of(stem: str) -> dict[str, Any]:
    """The truth of a study."""
    found: dict[str, Any] = json.loads((TRUTHS / f"{stem}.truth.json").read_text("utf-8"))
    return found


def text(element: etree._Element, path: str, default: str = "") -> str:
    """Text at a path."""
    found = element.findtext(path)
    return default if found is None else found


def number(element: etree._Element, path: str) -> int:
    """Whole number at a path, 0 where there is none."""
    return int(text(element, path, "0"))


@cache
def voices_of(stem: str) -> dict[Voice, list[Sung]]:
    """The notes of every voice; of a chord all notes, from the top of the file."""
    found: dict[Voice, list[Sung]] = {}
    for part in root_of(stem).iterfind("part"):
        sounds, divisions, start = 0, 1, Fraction(0)
        for bar in part.iterfind("measure"):
            time, longest, onset = Fraction(0), Fraction(0), Fraction(0)
            for item in bar:
                length = Fraction(number(item, "duration"), divisions)
                if item.tag == "attributes":
                    divisions = number(item, "divisions") or divisions
                    transpose = item.find("transpose")
                    if transpose is not None:
                        sounds = number(transpose, "chromatic") + 12 * number(
                            transpose, "octave-change"
                        )
                elif item.tag == "backup":
                    time -= length
                elif item.tag == "note":
                    onset = onset if item.find("chord") is not None else time
                    time = onset + length
                    longest = max(longest, time)
                    if item.find("pitch") is not None:
                        _add(found, str(part.get("id")), item, start + onset, length, sounds)
            start += longest
    return found


def _add(
    found: dict[Voice, list[Sung]],
    part: str,
    note: etree._Element,
    onset: Fraction,
    length: Fraction,
    sounds: int,
) -> None:
    midi = 12 * (number(note, "pitch/octave") + 1) + sounds + number(note, "pitch/alter")
    midi += _WHITE[text(note, "pitch/step")]
    staff = number(note, "staff") or 1
    voice = found.setdefault((part, staff, (number(note, "voice") - 1) % 4), [])
    if any(tie.get("type") == "stop" for tie in note.iterfind("tie")):
        place = next(
            place
            for place in range(len(voice) - 1, -1, -1)
            if voice[place].midi == midi and voice[place].end == onset
        )
        voice[place] = Sung(voice[place].onset, onset + length, midi)
    else:
        voice.append(Sung(onset, onset + length, midi))
