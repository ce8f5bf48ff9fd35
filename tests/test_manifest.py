"""The manifest: what it takes, what it refuses and in which words."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from collaparte import manifest
from collaparte.errors import ManifestError, ScoreError, UsageError
from collaparte.movement import PartStatement, Rights

HARBOUR = """
composers:
  nobody: {name: Nobody, born: 1901, died: 1970}
rights:
  own: {licence_notes: CC0-1.0, may_show_notation: true, basis: written here}
works:
  - work_id: nobody.harbour
    work: "Harbour: a cantata"
    composer: nobody
    year_from: 1930
    year_to: 1931
    rights: own
    voices: chorus
    counts: false
    movements:
      - movement_id: nobody.harbour.1
        movement: 007
        title: no
        source: scores/harbour.musicxml
        parts:
          - {part: P1, instrument: bass_clarinet, ensemble: player}
          - {part: Tenor, ensemble: chorus}
      - movement_id: nobody.harbour.2
        source: {package: not_installed_anywhere, path: a/b.mxl}
        voices: solo
        rights: {licence_other: "annotations: CC-BY"}
"""

WORK = """
works:
  - work_id: w
    work: W
    {work}
    movements:
      - movement_id: w.1
        source: w.xml
        {movement}
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "corpus_manifest.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def refused(folder: Path, text: str) -> str:
    with pytest.raises(ManifestError) as caught:
        manifest.load(written(folder, text))
    message = str(caught.value)
    assert "\n" not in message
    return message


def test_every_field_reaches_the_movement(tmp_path: Path) -> None:
    first, second = manifest.load(written(tmp_path, HARBOUR))
    movement = first.movement
    assert movement.movement_id == "nobody.harbour.1"
    assert (movement.work_id, movement.work) == ("nobody.harbour", "Harbour: a cantata")
    assert (movement.movement, movement.title) == ("007", "no"), "values stay text as written"
    assert (movement.composer_id, movement.composer) == ("nobody", "Nobody")
    assert (movement.composer_born, movement.composer_died) == (1901, 1970)
    assert (movement.year_from, movement.year_to) == (1930, 1931)
    assert (movement.voices, movement.counts) == ("chorus", False)
    assert movement.rights == Rights("CC0-1.0", may_show_notation=True, basis="written here")
    assert movement.parts == (
        PartStatement("P1", "bass_clarinet", "player"),
        PartStatement("Tenor", None, "chorus"),
    )
    assert (movement.source_kind, movement.source_address) == ("file", "scores/harbour.musicxml")
    assert movement.file_name == "harbour.musicxml"
    assert first.file == tmp_path / "scores" / "harbour.musicxml"
    assert second.movement.voices == "solo", "a movement outranks its work"
    assert second.movement.rights == Rights(licence_other="annotations: CC-BY")


def test_missing_package_skips_the_movement_and_says_what_to_install(tmp_path: Path) -> None:
    _, second = manifest.load(written(tmp_path, HARBOUR))
    assert second.file is None
    assert second.out_of_reach is not None
    assert "pip install not_installed_anywhere" in second.out_of_reach.done
    assert second.movement.source_kind == "package"


def test_package_is_read_in_place_and_not_imported(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "packages" / "scorebox"
    package.mkdir(parents=True)
    (package / "__init__.py").write_text("raise RuntimeError('imported')")
    (package / "one.xml").write_bytes(b"<score/>")
    monkeypatch.syspath_prepend(str(package.parent))
    text = WORK.format(work="", movement="").replace("w.xml", "{package: scorebox, path: one.xml}")
    (entry,) = manifest.load(written(tmp_path, text))
    assert entry.read_bytes() == b"<score/>"
    assert entry.movement.source_address == "scorebox: one.xml"
    assert "scorebox" not in sys.modules


@pytest.mark.parametrize(
    ("work", "movement", "words"),
    [
        ("titel: x", "", r"work 1 (w): there is no field 'titel'"),
        (
            "",
            "sorce: x",
            r"work 1 (w), movement 1 (w.1): there is no field 'sorce'; did you mean source?",
        ),
        ("composer: nobody", "", "composer: 'nobody' is not in the section composers"),
        ("rights: own", "", "rights: 'own' is not in the section rights"),
        ("rights: {may_share_events: true}", "", "without its basis"),
        ("", "rights: {may_share_events: maybe}", "may_share_events: 'maybe' is none of true, "),
        ("", "voices: choir", "voices: 'choir' is none of chorus, solo"),
        ("", "scoring_complete: true", "'true' is none of yes, no, unknown"),
        ("", "counts: 1", "counts: '1' is none of true, false"),
        ("year_from: about 1700", "", "year_from: 'about 1700' is not a year"),
        ("year_from: 1800", "year_to: 1799", "year_from 1800 is later than year_to 1799"),
        ("", "title: [a, b]", "title: text is expected here"),
        ("", "title:", "title: text is expected here"),
        ("", "title: a\n        title: b", "line 7 on has two fields 'title'"),
        ("", "parts: {part: P1}", "parts: a list is expected here"),
        ("", "parts: [{instrument: flute}]", "parts 1: the field part is missing"),
        ("", "parts: [{part: P1}, {part: P1}]", "parts: part 'P1' is there 2 times"),
        ("", "parts: [{part: P1, ensemble: choir}]", "parts 1, ensemble: 'choir' is none of"),
        ("", "parts: [{part: P1, instrument: Flute}]", "instrument: 'Flute' is not lower-case"),
    ],
)
def test_refusals_name_entry_and_field(
    tmp_path: Path, work: str, movement: str, words: str
) -> None:
    message = refused(tmp_path, WORK.format(work=work, movement=movement))
    assert message.startswith("corpus_manifest.yaml")
    assert words in message


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("/etc/w.xml", "/etc/w.xml leads outside"),
        ("../w.xml", "../w.xml leads outside"),
        ("a/../../w.xml", "leads outside"),
        ("{package: collaparte, path: ../w.xml}", "leads outside"),
        ("{package: collaparte.readers, path: w.xml}", "is not the name of a package"),
        ("{package: collaparte}", "the field path is missing"),
        ("[w.xml]", "fields are expected here"),
    ],
)
def test_sources_that_lead_outside_are_refused(tmp_path: Path, source: str, words: str) -> None:
    message = refused(tmp_path, WORK.format(work="", movement="").replace("w.xml", source))
    assert "movement 1 (w.1), source" in message
    assert words in message


def test_link_that_leads_outside_is_refused_and_one_inside_is_followed(tmp_path: Path) -> None:
    corpus = tmp_path / "corpus"
    corpus.mkdir()
    (tmp_path / "elsewhere.xml").write_bytes(b"outside")
    (corpus / "here.xml").write_bytes(b"inside")
    text = WORK.format(work="", movement="")
    (corpus / "w.xml").symlink_to(corpus / "here.xml")
    (entry,) = manifest.load(written(corpus, text))
    assert entry.read_bytes() == b"inside"
    (corpus / "w.xml").unlink()
    (corpus / "w.xml").symlink_to(tmp_path / "elsewhere.xml")
    assert "link that leads outside" in refused(corpus, text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "fields are expected here"),
        ("works: []", "works: a list is expected here"),
        ("composers: {}", "the field works is missing"),
        ("works: [1]", "work 1: fields are expected here"),
        ("works: [", "is no YAML in line 1"),
        ("works: *nothing", "is no YAML in line 1"),
        ("a: &a [*a]", "is no YAML in line 1"),
        ("works: " + "[" * 10_000, "is no YAML"),
        ("rights: [own]\nworks: [{}]", "rights: entries with names are expected here"),
        ("composers: {Nobody: {name: N}}\nworks: [{}]", "'Nobody' is not lower-case"),
        ("composers: {n: {born: 1}}\nworks: [{}]", "composers, n: the field name is missing"),
        ("works: [{work_id: w}]", "work 1 (w): the field work is missing"),
        ('works: [{work_id: "a\\nb", work: W, movements: []}]', "'a b' is not lower-case"),
    ],
)
def test_broken_documents_are_refused(tmp_path: Path, text: str, words: str) -> None:
    assert words in refused(tmp_path, text)


def test_document_of_other_bytes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "corpus_manifest.yaml"
    path.write_bytes(b"works: \xff\xfe")
    with pytest.raises(ManifestError, match=r"corpus_manifest\.yaml is no YAML"):
        manifest.load(path)


def test_python_objects_are_not_made(tmp_path: Path) -> None:
    text = WORK.format(work="", movement="title: !!python/name:os.system")
    assert "title: text is expected here" in refused(tmp_path, text)


def test_names_and_keys_are_unique(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    twice = HARBOUR.replace("nobody.harbour.2", "nobody.harbour.1")
    assert refused(tmp_path, twice).endswith("movement_id nobody.harbour.1 is there twice")
    work = WORK.format(work="", movement="")
    both = work + work.replace("works:", "").replace("w.1", "w.2")
    assert "work_id 'w' is there 2 times" in refused(tmp_path, both)
    monkeypatch.setattr(manifest, "movement_key", lambda movement_id: 7)
    assert "nobody.harbour.2 has the key of nobody.harbour.1" in refused(tmp_path, HARBOUR)


def test_folder_is_taken_by_path_and_named_after_its_files(tmp_path: Path) -> None:
    for path in (
        "b.musicxml",
        "a/Près du lac (2).XML",
        "a/b.mxl",
        "a/b.xml",
        "c/d.xml",
        "notes.txt",
        ".hidden.xml",
        ".git/e.xml",
    ):
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_bytes(path.encode())
    entries = manifest.from_path(tmp_path)
    assert {entry.movement.movement_id: entry.read_bytes().decode() for entry in entries} == {
        "pres-du-lac-2": "a/Près du lac (2).XML",
        "a.b-mxl": "a/b.mxl",
        "a.b-xml": "a/b.xml",
        "b": "b.musicxml",
        "d": "c/d.xml",
    }
    assert [entry.movement.source_address for entry in entries] == sorted(
        str(entry.movement.source_address) for entry in entries
    )
    assert {entry.movement.rights for entry in entries} == {Rights()}
    assert not entries[0].movement.rights.may_share_events


def test_names_of_a_folder_never_meet(tmp_path: Path) -> None:
    names = ["x.xml", "X!.xml", "x?.xml", "x-xml.xml", "score.xml", "!.xml", "...xml", "é.xml"]
    for name in names:
        (tmp_path / name).write_bytes(b"")
    ids = [entry.movement.movement_id for entry in manifest.from_path(tmp_path)]
    assert len(set(ids)) == len(ids) == len(names) - 1, "the hidden name is passed over"


def test_link_out_of_a_folder_is_skipped_with_a_remark(tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    (tmp_path / "away.xml").write_bytes(b"")
    (folder / "link.xml").symlink_to(tmp_path / "away.xml")
    (folder / "loop").symlink_to(folder)
    (entry,) = manifest.from_path(folder)
    assert entry.file is None
    assert entry.out_of_reach is not None
    assert entry.out_of_reach.code == "link_outside"


def test_single_file_manifest_and_neither(tmp_path: Path) -> None:
    score = tmp_path / "Night Song.mxl"
    score.write_bytes(b"zip")
    (entry,) = manifest.from_path(score)
    assert (entry.movement.movement_id, entry.movement.work) == ("night-song", "Night Song")
    assert entry.size == 3
    assert len(manifest.from_path(written(tmp_path, HARBOUR))) == 2
    with pytest.raises(UsageError, match="no such file or folder"):
        manifest.from_path(tmp_path / "nothing")
    (tmp_path / "empty").mkdir()
    with pytest.raises(UsageError, match="no score in it"):
        manifest.from_path(tmp_path / "empty")


def test_files_that_cannot_be_read_are_errors_of_the_score(tmp_path: Path) -> None:
    (entry, _) = manifest.load(written(tmp_path, HARBOUR))
    assert entry.size == 0
    with pytest.raises(ScoreError, match=r"There is no file scores/harbour\.musicxml"):
        entry.read_bytes()
    entry.file.parent.mkdir()  # type: ignore[union-attr]
    os.mkfifo(entry.file)  # type: ignore[arg-type]
    with pytest.raises(ScoreError, match="There is no file"):
        entry.read_bytes()


def test_too_large_a_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "large.xml"
    with path.open("wb") as file:
        file.truncate(manifest.entries.MAX_BYTES + 1)
    (entry,) = manifest.from_path(path)
    with pytest.raises(ScoreError, match="larger than 1024 MiB"):
        entry.read_bytes()
