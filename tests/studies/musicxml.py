"""A score as MusicXML 4.0, as an engraver's file would be, in a compressed file of fixed bytes."""

from __future__ import annotations

import io
import zipfile
from xml.sax.saxutils import escape

from studies.bars import PartWriter, labels_of
from studies.instruments import INSTRUMENTS
from studies.plan import Part
from studies.score import Score

SOCIETY = "invented: the Music Committee of the Lantern Quay Singing Society"
LIBRARY = "invented: Library of the Lantern Quay Singing Society, shelf mark LQ {number}"
RIGHTS = (
    "Invented demonstration music: no real person, work or passage is its model. "
    "CC0 1.0 Universal, https://creativecommons.org/publicdomain/zero/1.0/"
)


def document(score: Score) -> bytes:
    """The score as an uncompressed document."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">',
        '<score-partwise version="4.0">',
        *_head(score),
        *_part_list(score),
    ]
    for part in score.study.parts:
        lines += [f' <part id="{part.part_id}">', *PartWriter(score, part).bars(), " </part>"]
    lines.append("</score-partwise>")
    return ("\n".join(lines) + "\n").encode()


def compressed(name: str, data: bytes) -> bytes:
    """A compressed file with one document, the same bytes every time."""
    container = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<container><rootfiles>'
        f'<rootfile full-path="{name}" media-type="application/vnd.recordare.musicxml+xml"/>'
        "</rootfiles></container>\n"
    )
    files = (
        ("mimetype", b"application/vnd.recordare.musicxml", zipfile.ZIP_STORED),
        ("META-INF/container.xml", container.encode(), zipfile.ZIP_DEFLATED),
        (name, data, zipfile.ZIP_DEFLATED),
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for path, content, method in files:
            entry = zipfile.ZipInfo(path, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = method
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content, compresslevel=9)
    return buffer.getvalue()


def _head(score: Score) -> list[str]:
    study = score.study
    title = f"{study.title} (invented demonstration score)"
    source = LIBRARY.format(number=study.number)
    printed = (
        (
            "title",
            f"{study.title} (invented)",
            'default-x="600" default-y="1640" justify="center" font-size="18"',
        ),
        (
            "composer",
            "Lantern Quay Music Committee (invented)",
            'default-x="1130" default-y="1590" justify="right" font-size="9"',
        ),
        ("rights", RIGHTS, 'default-x="600" default-y="50" justify="center" font-size="7"'),
    )
    return [
        f" <work><work-number>{study.number}</work-number><work-title>{title}</work-title></work>",
        " <identification>",
        f'  <creator type="composer">{SOCIETY}</creator>',
        '  <creator type="lyricist">invented: the same</creator>',
        f"  <rights>{RIGHTS}</rights>",
        "  <encoding><encoding-date>2026-11-25</encoding-date><encoder>collaparte</encoder>"
        "<encoding-description>composed by a program for the tests of collaparte"
        '</encoding-description><supports element="accidental" type="yes"/>'
        '<supports element="beam" type="yes"/></encoding>',
        f"  <source>{source}</source>",
        " </identification>",
        " <defaults><scaling><millimeters>4</millimeters><tenths>40</tenths></scaling>"
        "<page-layout><page-height>1700</page-height><page-width>1200</page-width>"
        '<page-margins type="both"><left-margin>70</left-margin><right-margin>70</right-margin>'
        "<top-margin>60</top-margin><bottom-margin>60</bottom-margin></page-margins>"
        "</page-layout></defaults>",
        *(
            f' <credit page="1"><credit-type>{kind}</credit-type>'
            f"<credit-words {where}>{escape(text)}</credit-words></credit>"
            for kind, text, where in printed
        ),
    ]


def _part_list(score: Score) -> list[str]:
    lines = [" <part-list>"]
    for part in score.study.parts:
        for number, (name, first, _) in enumerate(score.study.groups, 1):
            if first == part.part_id:
                shown = f"<group-name>{name}</group-name>" if name == "Chorus" else ""
                lines.append(
                    f'  <part-group type="start" number="{number}">{shown}'
                    "<group-symbol>bracket</group-symbol><group-barline>yes</group-barline>"
                    "</part-group>"
                )
        lines += _score_part(part)
        lines += [
            f'  <part-group type="stop" number="{number}"/>'
            for number, (_, _, last) in enumerate(score.study.groups, 1)
            if last == part.part_id
        ]
    lines.append(" </part-list>")
    return lines


def _score_part(part: Part) -> list[str]:
    first = INSTRUMENTS[part.label]
    last = part.name.split()[-1]
    numbered = f"{first.abbreviation} {last}" if last[0].isdigit() else first.abbreviation
    lines = [
        f'  <score-part id="{part.part_id}">',
        f"   <part-name>{escape(part.name)}</part-name>",
        f"   <part-abbreviation>{escape(numbered)}</part-abbreviation>",
    ]
    for number, label in enumerate(labels_of(part), 1):
        instrument = INSTRUMENTS[label]
        name = part.name if number == 1 else instrument.name
        lines.append(
            f'   <score-instrument id="{part.part_id}-I{number}">'
            f"<instrument-name>{escape(name)}</instrument-name>"
            f"<instrument-sound>{instrument.sound_id}</instrument-sound>"
            f"{'<ensemble/>' if instrument.family in ('voice', 'string') else ''}"
            "</score-instrument>"
        )
    for number, label in enumerate(labels_of(part), 1):
        channel = 10 if not INSTRUMENTS[label].pitched else 1
        unpitched = "<midi-unpitched>77</midi-unpitched>" if channel == 10 else ""
        lines.append(
            f'   <midi-instrument id="{part.part_id}-I{number}">'
            f"<midi-channel>{channel}</midi-channel>"
            f"<midi-program>{INSTRUMENTS[label].program}</midi-program>{unpitched}"
            "</midi-instrument>"
        )
    return [*lines, "  </score-part>"]
