"""Each class of difference on a score of a few notes, and what is in no class."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from classes import CLASSES

import compare
from collaparte import readers

BAR = "<attributes><divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
TWO_STAVES = "<staves>2</staves>"
SOUNDS_LOWER = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
SOUNDS_HIGHER = "<transpose><diatonic>1</diatonic><chromatic>2</chromatic></transpose>"


def _note(pitch: str, duration: int, more: str = "", chord: bool = False) -> str:
    """One note such as `C4`; `more` is what follows its duration."""
    start = "<chord/>" if chord else ""
    return (
        f"<note>{start}<pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch>"
        f"<duration>{duration}</duration>{more}</note>"
    )


def _tie(*ends: str) -> str:
    return "".join(f'<tie type="{end}"/>' for end in ends)


def _score(*parts: tuple[str, ...]) -> str:
    """A score in 4/4 with two divisions to the quarter; each part is its bars."""
    names = "".join(
        f'<score-part id="P{number}"><part-name>Part {number}</part-name></score-part>'
        for number, _ in enumerate(parts, 1)
    )
    music = ""
    for number, bars in enumerate(parts, 1):
        music += f'<part id="P{number}">'
        for bar_number, bar in enumerate(bars, 1):
            first = f"{BAR}</attributes>" if bar_number == 1 and BAR not in bar else ""
            music += f'<measure number="{bar_number}">{first}{bar}</measure>'
        music += "</part>"
    return f'<score-partwise version="4.0"><part-list>{names}</part-list>{music}</score-partwise>'


def _compared(folder: Path, score: str) -> compare.Tally:
    path = folder / "score.musicxml"
    path.write_text(score, encoding="utf-8")
    return compare.compare_file(path)


NATURAL = "<accidental>natural</accidental>"
TREMOLO = '<notations><ornaments><tremolo type="{}">3</tremolo></ornaments></notations>'
BACK = "<backup><duration>8</duration></backup>"
VOICE_1, VOICE_2 = "<voice>1</voice>", "<voice>2</voice>"
LATE = (
    '<direction><direction-type><dynamics><f/></dynamics></direction-type><offset>4</offset>'
    "</direction>"
)  # fmt: skip
FINALE = "<identification><encoding><software>Finale 2008</software></encoding></identification>"

SCORES = {
    "chord tied in part": _score(
        (
            _note("A3", 8) + _note("A4", 8, _tie("start"), chord=True),
            _note("A3", 8) + _note("A4", 8, _tie("stop"), chord=True),
        )
    ),
    "chord of unequal notes": _score((_note("C5", 8) + _note("E4", 4, chord=True),)),
    "printed natural in a tie": _score(
        (
            _note("C4", 8, _tie("start") + NATURAL),
            _note("C4", 8, _tie("stop", "start")),
            _note("C4", 8, _tie("stop")),
        )
    ),
    "sign against alter": _score((_note("C4", 8, "<accidental>sharp</accidental>"),)),
    "tie with one end": _score((_note("C4", 8, _tie("start")), _note("C4", 8))),
    "tie across another voice": _score(
        (
            _note("C5", 8, _tie("start") + VOICE_1)
            + BACK
            + _note("C4", 8, _tie("start") + VOICE_2),
            _note("C5", 8, _tie("stop") + VOICE_1) + BACK + _note("C4", 8, _tie("stop") + VOICE_2),
        )
    ),
    "two-note tremolo": _score(
        (_note("C4", 4, TREMOLO.format("start")) + _note("E4", 4, TREMOLO.format("stop")),)
    ),
    "harmonic": _score(
        (_note("D4", 8) + _note("G4", 8, "<notehead>diamond</notehead>", chord=True),)
    ),
    "transposition elsewhere": _score(
        (
            f"{BAR}{SOUNDS_LOWER}</attributes>{_note('D5', 4)}"
            f"<attributes>{SOUNDS_HIGHER}</attributes>{_note('D5', 4)}",
        )
    ),
    "bar filled otherwise": _score(
        (_note("C4", 6), _note("C4", 8)),
        (_note("C3", 8), _note("C3", 8)),
    ),
    "direction past the bar": _score((_note("C4", 8) + LATE, _note("C4", 8))),
    "step by nothing": _score(
        (
            _note("C4", 8, VOICE_1)
            + BACK
            + _note("E4", 8, VOICE_2)
            + "<forward><duration>0</duration><voice>2</voice></forward>",
            _note("C4", 8, VOICE_1),
        )
    ).replace("<part-list>", f"{FINALE}<part-list>"),
}


def test_at_most_twelve_classes_each_with_its_score() -> None:
    assert [kind.name for kind in CLASSES] == list(SCORES)
    assert len(CLASSES) <= 12


@pytest.mark.parametrize("kind", CLASSES, ids=lambda kind: str(kind.name))
def test_difference_falls_into_its_class(kind: Any, tmp_path: Path) -> None:
    tally = _compared(tmp_path, SCORES[kind.name])
    assert tally.unread == []
    assert tally.unclassified == []
    assert tally.differences > 0
    assert {name for name, count in tally.differ.items() if count} == {kind.name}
    assert tally.differ[kind.name] <= tally.holds[kind.name]


def test_agreement(tmp_path: Path) -> None:
    tally = _compared(
        tmp_path,
        _score(
            (
                f"{BAR}{TWO_STAVES}</attributes>"
                + _note("C5", 8, VOICE_1 + "<staff>1</staff>")
                + BACK
                + _note("C3", 8, VOICE_2 + "<staff>2</staff>"),
            ),
            (f"{BAR}{SOUNDS_LOWER}</attributes>{_note('D5', 8)}",),
        ),
    )
    assert (tally.notes, tally.bars, tally.differences) == (3, 2, 0)


def test_note_read_wrongly_is_in_no_class(tmp_path: Path, monkeypatch: Any) -> None:
    read = readers.read

    def without_last_note(*arguments: Any) -> Any:
        tables = read(*arguments)
        return {**tables, "notes": tables["notes"].slice(0, tables["notes"].num_rows - 1)}

    monkeypatch.setattr(readers, "read", without_last_note)
    tally = _compared(tmp_path, _score((_note("C4", 4) + _note("E4", 4),)))
    assert tally.unclassified == ["score.musicxml P1 music21 bar 0 at 2 for 2: E04"]


def test_file_that_music21_cannot_read_is_named(tmp_path: Path) -> None:
    tally = _compared(tmp_path, _score((_note("H4", 4),)))
    assert tally.unread == ["score.musicxml: music21 fails with PitchException"]
