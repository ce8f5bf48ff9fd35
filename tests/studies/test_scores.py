"""The eight studies are what was asked for: counted from their files, not from the generator."""

from __future__ import annotations

import ast
import csv
import io
import itertools
import json
import zipfile
import zlib
from pathlib import Path
from typing import Any

import pytest

import collaparte
from studies.generate import SCORES, TRUTHS, files_of
from studies.instruments import INSTRUMENTS
from studies.lines import KINDS
from studies.musicxml import RIGHTS
from studies.plain_score import STEMS, Sung, number, root_of, text, truth_of, voices_of
from studies.plan import Study
from studies.registers import LOW_TOP
from studies.works import STUDIES

REFERENCE = Path(collaparte.__file__).parent / "reference"
each_study = pytest.mark.parametrize("stem", STEMS)


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("study", STUDIES, ids=STEMS)
def test_the_generator_gives_the_files_of_the_repository(study: Study) -> None:
    for path, data in files_of(study):
        kept = path.read_bytes()
        if path.suffix == ".mxl":
            assert members(kept) == members(data), path.name
            if "ng" in zlib.ZLIB_RUNTIME_VERSION:
                continue  # that library packs the same documents into other bytes
        assert kept == data, f"{path.name}: run python -m studies.generate in tests"


def members(data: bytes) -> list[tuple[str, tuple[int, ...], int, bytes]]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return [
            (item.filename, item.date_time, item.compress_type, archive.read(item))
            for item in archive.infolist()
        ]


def test_the_generator_knows_nothing_of_the_pipeline() -> None:
    folder = TRUTHS.parent
    modules = [path for path in folder.rglob("*.py") if not path.name.startswith("test_")]
    assert len(modules) > 15
    for path in modules:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = [alias.name for alias in getattr(node, "names", [])]
            module = getattr(node, "module", None) or ""
            assert not any(name.split(".")[0] == "collaparte" for name in [*names, module]), (
                path.name
            )


def test_there_are_eight_and_no_file_is_left_over() -> None:
    assert len(STEMS) == 8
    assert {path.stem for path in SCORES.glob("*.mxl")} == set(STEMS)
    assert {path.name.removesuffix(".truth.json") for path in TRUTHS.iterdir()} == set(STEMS)


@each_study
def test_each_is_marked_as_invented(stem: str) -> None:
    root = root_of(stem)
    assert "invented" in text(root, "work/work-title")
    assert "invented" in text(root, "identification/source")
    assert text(root, "identification/rights") == RIGHTS
    assert "CC0" in RIGHTS
    assert all("invented" in str(creator.text) for creator in root.iterfind(".//creator"))
    printed = [str(words.text) for words in root.iterfind("credit/credit-words")]
    assert RIGHTS in printed
    assert len([words for words in printed if "invented" in words.lower()]) == 3
    assert "CC0" in truth_of(stem)["invented"]


@each_study
def test_size_textures_keys_and_changes(stem: str) -> None:
    root = root_of(stem)
    parts = root.findall("part")
    assert all(len(part.findall("measure")) >= 40 for part in parts)
    assert sum(number(part, "measure/attributes/staves") or 1 for part in parts) >= 24
    assert len({scene["texture"] for scene in truth_of(stem)["scenes"]}) >= 3
    keys = {number(item, "chromatic") for item in root.iterfind(".//transpose")}
    assert len(keys - {0}) >= 3
    assert truth_of(stem)["instrument_changes"]
    for row in truth_of(stem)["instrument_changes"]:
        part = next(part for part in parts if part.get("id") == row["part"])
        words = [str(item.text) for item in part.iterfind(".//direction-type/words")]
        assert row["words"] in words
        transposed = [
            number(item, "chromatic") + 12 * number(item, "octave-change")
            for item in part.iterfind(".//transpose")
        ]
        assert transposed[-1] == row["semitones_to"]
        ids = {item.get("id") for item in part.iterfind(".//note/instrument")}
        stated = part.findall(".//sound/instrument-change")
        assert (len(ids), len(stated)) == {"words": (0, 0), "sound": (0, 1), "ids": (2, 0)}[
            row["shown_by"]
        ]


@each_study
def test_the_chorus_has_words_and_no_staff_is_empty(stem: str) -> None:
    root = root_of(stem)
    for part in root.iterfind("part"):
        sounding = [
            note
            for note in part.iterfind("measure/note")
            if note.find("pitch") is not None or note.find("unpitched") is not None
        ]
        staves = number(part, "measure/attributes/staves") or 1
        assert {number(note, "staff") or 1 for note in sounding} == set(range(1, staves + 1)), (
            part.get("id")
        )
        if part.get("id") in ("S", "A", "T", "B"):
            syllables = [text(note, "lyric/text") for note in sounding]
            assert len([syllable for syllable in syllables if syllable]) >= 25
    for voice in "SATB":
        for one, two in itertools.pairwise(root.iterfind(f"part[@id='{voice}']//lyric")):
            goes_on = text(one, "syllabic") in ("begin", "middle")
            assert goes_on == (text(two, "syllabic") in ("middle", "end"))


@each_study
def test_there_is_time_to_change_the_instrument(stem: str) -> None:
    quarters = truth_of(stem)["quarters_per_bar"]
    for row in truth_of(stem)["instrument_changes"]:
        notes = [
            note
            for (part, _, _), found in voices_of(stem).items()
            if part == row["part"]
            for note in found
        ]
        change = (row["bar"] - 1) * quarters
        before = [note.end for note in notes if note.onset < change]
        after = [note.onset for note in notes if note.onset >= change]
        assert min(after) - max(before) >= 2 * quarters


@each_study
def test_bars_are_full(stem: str) -> None:
    for part in root_of(stem).iterfind("part"):
        length = 0
        for bar in part.iterfind("measure"):
            if bar.find("attributes/time") is not None:
                beats = number(bar, "attributes/time/beats")
                length = 48 * beats // number(bar, "attributes/time/beat-type")
            time = 0
            for item in bar:
                if item.tag == "backup":
                    assert time == length
                    time = 0
                elif item.tag == "note" and item.find("chord") is None:
                    time += number(item, "duration")
            assert time == length, (part.get("id"), bar.get("number"))


@each_study
def test_every_note_is_in_the_range_of_its_instrument(stem: str) -> None:
    ranges = {
        row["key"]: (int(row["sounding_low_midi"]), int(row["sounding_high_midi"]))
        for row in rows("instruments.csv")
        if row["sounding_low_midi"]
    }
    study = next(study for study in STUDIES if study.stem == stem)
    labels = {
        part.part_id: [part.label, *(label for _, label, _ in part.becomes)] for part in study.parts
    }
    quarters = truth_of(stem)["quarters_per_bar"]
    changes = {
        row["part"]: (row["bar"] - 1) * quarters for row in truth_of(stem)["instrument_changes"]
    }
    for (part, _, _), notes in voices_of(stem).items():
        for note in notes:
            which = 1 if note.onset >= changes.get(part, 10_000) else 0
            low, high = ranges[INSTRUMENTS[labels[part][which]].key]
            assert low <= note.midi <= high, (part, note)


def test_together_they_use_every_family_transposition_and_group_of_techniques() -> None:
    used = [
        INSTRUMENTS[label]
        for study in STUDIES
        for part in study.parts
        for label in [part.label, *(label for _, label, _ in part.becomes)]
    ]
    assert {row["family"] for row in rows("instruments.csv")} == {item.family for item in used}
    written = {
        number(item, "chromatic") + 12 * number(item, "octave-change")
        for stem in STEMS
        for item in root_of(stem).iterfind(".//transpose")
    }
    wanted = {
        int(row["semitones_sounding_minus_written"])
        for row in rows("transposition_rules.csv")
        if row["semitones_sounding_minus_written"].lstrip("-").isdigit()
    }
    assert wanted - {0} <= written
    group = {row["id"]: row["group"] for row in rows("terms.csv")}
    planted = {row["term"] for stem in STEMS for row in truth_of(stem)["techniques"]}
    planted |= {row["term"] for stem in STEMS for row in truth_of(stem)["players"]}
    named = {group[term] for term in planted}
    changes = [row["words"] for stem in STEMS for row in truth_of(stem)["instrument_changes"]]
    named |= {"crook" if words == "muta in Mi♭" else "instrument" for words in changes}
    assert named == set(group.values())


def test_together_they_plant_every_kind_texture_and_role() -> None:
    kinds = {(row["kind"], row["strict"]) for stem in STEMS for row in truth_of(stem)["doublings"]}
    assert {kind for kind, _ in kinds} == set(KINDS)
    assert {kind for kind, strict in kinds if strict} == set(KINDS)
    assert {strict for _, strict in kinds} == {True, False}
    assert all(truth_of(stem)["worded_doublings"] for stem in STEMS)
    scenes = [scene for stem in STEMS for scene in truth_of(stem)["scenes"]]
    assert {scene["texture"] for scene in scenes} == {
        "one_line",
        "one_block",
        "melody_over_sustained_harmony",
        "melody_over_repeated_notes",
        "melody_over_figuration",
        "two_lines",
        "three_or_more_lines",
    }
    assert {layer["role"] for scene in scenes for layer in scene["layers"]} == {
        "leading_line",
        "countermelody",
        "sustained_harmony",
        "repeated_notes",
        "figuration",
        "bass",
        "pedal_point",
        "short_chords",
        "filling",
    }


def test_instruments_agree_with_the_reference_data() -> None:
    facts = {row["key"]: row for row in rows("instruments.csv")}
    rules: dict[str, set[int]] = {}
    for row in rows("transposition_rules.csv"):
        value = row["semitones_sounding_minus_written"]
        if value.lstrip("-").isdigit():
            rules.setdefault(row["key"], set()).add(int(value))
    crooks = {int(row["treble_clef"]) for row in rows("crooks.csv") if row["key"] == "horn"}
    for item in INSTRUMENTS.values():
        row = facts[item.key]
        assert (row["family"], row["subfamily"]) == (item.family, item.subfamily)
        known = crooks if item.key == "horn" else rules.get(item.key, {0})
        if item.family != "voice":
            assert item.sounds.semitones in known, item
    tops = {
        row["key"]: int(row["sounding_high_midi"])
        for row in rows("registers.csv")
        if row["is_default"] == "yes" and row["class"] == "low"
    }
    assert {key: tops.get(key) for key in LOW_TOP} == LOW_TOP


@each_study
def test_no_staff_copies_another_where_nothing_is_planted(stem: str) -> None:
    """A bar with three notes and two pitches, alike in rhythm and pitch classes, is a copy."""
    quarters = truth_of(stem)["quarters_per_bar"]
    linked: dict[tuple[int, frozenset[tuple[str, int]]], bool] = {}
    for scene in truth_of(stem)["scenes"]:
        for layer in scene["layers"]:
            for one, two in itertools.combinations(layer["lines"], 2):
                pair = frozenset(((one["part"], one["staff"]), (two["part"], two["staff"])))
                for bar in range(scene["first_bar"], scene["last_bar"] + 1):
                    linked[bar, pair] = True
    assert linked
    bars: dict[int, dict[tuple[Any, ...], set[tuple[str, int]]]] = {}
    for (part, staff, _), notes in voices_of(stem).items():
        by_bar: dict[int, list[Sung]] = {}
        for note in notes:
            by_bar.setdefault(int(note.onset / quarters) + 1, []).append(note)
        for bar, found in by_bar.items():
            content = tuple((note.onset, note.end, note.midi % 12) for note in found)
            if len(content) >= 3 and len({midi for _, _, midi in content}) >= 2:
                bars.setdefault(bar, {}).setdefault(content, set()).add((part, staff))
    for bar, contents in bars.items():
        for staves in contents.values():
            for one, two in itertools.combinations(sorted(staves), 2):
                assert (bar, frozenset((one, two))) in linked, (bar, one, two)


# Chords as pitch classes above the tonic, the note that leads and where it leads.
MAJOR = {
    "I": (0, 4, 7), "ii": (2, 5, 9), "ii7": (2, 5, 9, 0), "iii": (4, 7, 11), "IV": (5, 9, 0),
    "V": (7, 11, 2), "V7": (7, 11, 2, 5), "vi": (9, 0, 4), "vii": (11, 2, 5), "V/V": (2, 6, 9),
    "V7/V": (2, 6, 9, 0), "V7/IV": (0, 4, 7, 10), "V/vi": (4, 8, 11), "V7/vi": (4, 8, 11, 2),
    "V7/ii": (9, 1, 4, 7), "iv": (5, 8, 0),
}  # fmt: skip
MINOR = {
    "i": (0, 3, 7), "I": (0, 4, 7), "ii": (2, 5, 8), "ii7": (2, 5, 8, 0), "III": (3, 7, 10),
    "iv": (5, 8, 0), "V": (7, 11, 2), "V7": (7, 11, 2, 5), "VI": (8, 0, 3), "VII": (10, 2, 5),
    "vii": (11, 2, 5), "V7/iv": (0, 4, 7, 10), "V7/III": (10, 2, 5, 8),
}  # fmt: skip
LEADING = {
    "V": 11, "V7": 11, "vii": 11, "V/V": 6, "V7/V": 6, "V7/IV": 4, "V/vi": 8, "V7/vi": 8,
    "V7/ii": 1, "V7/iv": 4, "V7/III": 2,
}  # fmt: skip


def harmony(stem: str, scene: dict[str, Any]) -> list[tuple[float, str, tuple[int, ...], int]]:
    """Start of each chord in quarters, its name, its pitch classes, the tonic."""
    table = MAJOR if scene["mode"] == "major" else MINOR
    tonic = (scene["key_fifths"] * 7 + (9 if scene["mode"] == "minor" else 0)) % 12
    quarters, found = truth_of(stem)["quarters_per_bar"], []
    for bar, chords in enumerate(scene["progression"].split("|")):
        names = chords.split()
        for place, name in enumerate(names):
            for inversion in ("/64", "/65", "/43", "/42", "/6"):
                name = name.removesuffix(inversion)
            start = scene["start_quarter"] + quarters * (bar + place / len(names))
            classes = tuple((tonic + member) % 12 for member in table[name])
            found.append((start, name, classes, tonic))
    return found


def independent(stem: str, scene: dict[str, Any]) -> dict[str, list[Sung]]:
    """The voices of a scene, each as the line that bears it plays it."""
    found = {}
    for layer in scene["layers"]:
        line = layer["lines"][0]
        notes = [
            note
            for note in voices_of(stem)[line["part"], line["staff"], line["line"] - 1]
            if scene["start_quarter"] <= note.onset < scene["end_quarter"]
        ]
        assert notes
        found[layer["voice"]] = notes
    return found


@each_study
def test_no_parallel_fifths_or_octaves_between_independent_voices(stem: str) -> None:
    compared = 0
    for scene in truth_of(stem)["scenes"]:
        voices = independent(stem, scene)
        for one, two in itertools.combinations(voices, 2):
            steps = {then.onset: (now, then) for now, then in itertools.pairwise(voices[two])}
            for now, then in itertools.pairwise(voices[one]):
                if then.onset not in steps:
                    continue
                other_now, other_then = steps[then.onset]
                rests = max(then.onset - now.end, then.onset - other_now.end)
                if rests > 1 or now.midi == then.midi or other_now.midi == other_then.midi:
                    continue
                compared += 1
                before, after = now.midi - other_now.midi, then.midi - other_then.midi
                if before < 0:
                    before, after = -before, -after
                perfect = before % 12 in (0, 7) and after >= 0 and before % 12 == after % 12
                assert not perfect, (scene["first_bar"], one, two, float(then.onset))
    assert compared > 200


@each_study
def test_leading_notes_rise_and_sevenths_fall(stem: str) -> None:
    resolved = 0
    for scene in truth_of(stem)["scenes"]:
        chords = harmony(stem, scene)
        voices = independent(stem, scene)
        pedals = {layer["voice"] for layer in scene["layers"] if layer["role"] == "pedal_point"}
        for (_, name, classes, tonic), (start, _, after, _) in itertools.pairwise(chords):
            leading = (tonic + LEADING[name]) % 12 if name in LEADING else None
            seventh = classes[3] if len(classes) == 4 else None
            for voice, notes in voices.items():
                for now, then in itertools.pairwise(notes):
                    if then.onset != start or then.onset - now.end > 1 or voice in pedals:
                        continue
                    where = (scene["first_bar"], voice, float(start))
                    move = then.midi - now.midi
                    if now.midi % 12 == leading and (now.midi + 1) % 12 in after and move:
                        assert move == 1, where
                        resolved += 1
                    falls = {(now.midi - 1) % 12, (now.midi - 2) % 12} & set(after)
                    if now.midi % 12 == seventh and falls and move:
                        assert move in (-1, -2), where
                        resolved += 1
    assert resolved >= 10


@each_study
def test_every_phrase_ends_on_a_cadence(stem: str) -> None:
    for scene in truth_of(stem)["scenes"]:
        names = [name for _, name, _, _ in harmony(stem, scene)]
        assert (names[-1] in ("I", "i") and names[-2] in ("V", "V7")) or names[-1] == "V"


def together(one: list[Sung], two: list[Sung], start: float, end: float) -> float:
    """Share of the onsets in a stretch at which the two go in unison or octaves."""
    first = {note.onset: note.midi for note in one if start <= note.onset < end}
    second = {note.onset: note.midi for note in two if start <= note.onset < end}
    onsets = first.keys() | second.keys()
    alike = [
        onset for onset in first.keys() & second.keys() if (first[onset] - second[onset]) % 12 == 0
    ]
    return len(alike) / len(onsets)


def test_lines_meet_and_part_where_the_truth_says() -> None:
    seen = set()
    for stem in STEMS:
        voices, span = voices_of(stem), 4 * truth_of(stem)["quarters_per_bar"]
        for row in truth_of(stem)["meetings"]:
            one, two = (
                voices.get((row[side]["part"], row[side]["staff"], row[side]["line"] - 1), [])
                for side in ("line", "partner")
            )
            moment = row["quarter"]
            shares = []
            for start, end in ((moment - span, moment), (moment, moment + span)):
                inside = [[n for n in voice if start <= n.onset < end] for voice in (one, two)]
                if all(inside):
                    shares.append(together(one, two, start, end))
            if len(shares) < 2:
                continue  # the second player of a staff, who has no notes of his own there
            free, same = shares if row["kind"] == "join" else shares[::-1]
            assert same == 1, (stem, row)
            assert free <= 0.5, (stem, row)
            seen.add(row["kind"])
    assert seen == {"join", "part"}


@each_study
def test_by_products_are_few_and_have_reasons(stem: str) -> None:
    found = truth_of(stem)["by_products"]
    assert len(found) <= 3
    assert all(len(row["reason"].split()) > 5 for row in found)


def test_a_truth_is_plain_json() -> None:
    for path in TRUTHS.glob("*.json"):
        assert json.loads(path.read_text("utf-8"))["bars"] >= 40
