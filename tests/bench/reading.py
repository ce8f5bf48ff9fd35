"""Reading against a bare parse of the same bytes, and against music21.

    python tests/bench/reading.py FOLDER [--json]

Files are unpacked before the clock starts. The bare parse is `lxml.etree.fromstring`; the
reader gives all its tables with every column, on one core; music21 parses, turns to sounding
pitch and merges ties, once, on the three scores in the middle of the folder by size.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from measuring import (
    MEGABYTE,
    ROUNDS,
    Measured,
    Prepared,
    arguments,
    in_own_process,
    machine,
    musicxml_files,
    show,
    taking_turns,
)

SAMPLE = 3


def bare_parse() -> Prepared:
    """A tree of the document and nothing else."""
    from lxml import etree

    return etree.fromstring


def reader() -> Prepared:
    """All tables of the document."""
    from collaparte import readers, reference
    from collaparte.movement import Movement
    from collaparte.settings import Settings

    movement = Movement(movement_id="m", file_name="m.musicxml", work_id="w", work="Work")
    facts, settings = reference.load(), Settings()

    def read(document: bytes) -> object:
        tables = readers.read(document, movement, facts, settings)
        if tables["movements"]["state"].to_pylist() != ["read"]:
            raise SystemExit(f"not read: {tables['remarks']['message'].to_pylist()}")
        return tables

    return read


def other_library() -> Prepared:
    """A score of music21 at sounding pitch with its ties merged."""
    from music21 import converter

    def read(document: bytes) -> object:
        parsed = converter.parseData(document, format="musicxml")
        return parsed.toSoundingPitch().stripTies()

    return read


def measure(folder: Path, rounds: int = ROUNDS) -> dict[str, Any]:
    """The numbers of the bench by name; `_s` seconds, `_mb` millions of bytes by 2²⁰."""
    sizes = in_own_process(musicxml_files, folder)
    files = list(sizes)
    sample = middle(sizes)
    ours = taking_turns({"bare parse": (bare_parse, files), "reader": (reader, files)}, rounds)
    theirs = taking_turns({"music21": (other_library, sample)}, rounds=1, repetitions=1)
    bare, read, other = ours["bare parse"], ours["reader"], theirs["music21"]
    read_sample = sum(read.seconds[files.index(file)] for file in sample)
    return {
        **machine(),
        "files": len(files),
        "document_mb": sum(sizes.values()) / MEGABYTE,
        "bare_parse_s": bare.total,
        "reader_s": read.total,
        "ratio_to_bare_parse": read.total / bare.total,
        "bare_parse_peak_mb": peak(bare),
        "reader_peak_mb": peak(read),
        "sample_files": len(sample),
        "sample_mb": sum(sizes[file] for file in sample) / MEGABYTE,
        "music21_s": other.total,
        "reader_on_sample_s": read_sample,
        "music21_ratio": other.total / read_sample,
        "music21_peak_mb": peak(other),
    }


def middle(sizes: dict[Path, int]) -> list[Path]:
    """The scores in the middle by size."""
    ordered = sorted(sizes, key=lambda file: sizes[file])
    first = max(0, (len(ordered) - SAMPLE) // 2)
    return ordered[first : first + SAMPLE]


def peak(measured: Measured) -> float:
    return measured.peak_bytes / MEGABYTE


def report(found: dict[str, Any], as_json: bool) -> None:
    """Print what was measured."""
    show(
        [
            ("bare parse", "{bare_parse_s:.3f} s, {bare_parse_peak_mb:.0f} MB".format(**found)),
            (
                "reader",
                "{reader_s:.3f} s, {reader_peak_mb:.0f} MB: "
                "{ratio_to_bare_parse:.2f} times the bare parse".format(**found),
            ),
            (
                "music21",
                "{music21_s:.3f} s, {music21_peak_mb:.0f} MB, on {sample_files} scores of "
                "{sample_mb:.1f} MB: {music21_ratio:.0f} times the reader".format(**found),
            ),
        ],
        found,
        as_json,
    )


def main() -> None:
    asked = arguments(__doc__)
    report(measure(asked.folder), asked.json)


if __name__ == "__main__":
    main()
