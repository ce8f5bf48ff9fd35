"""A corpus as named movements and the files that they lie in.

The corpus is a manifest, a folder, or one file. A manifest (YAML, every value read as plain
text) has up to three sections::

    composers:                 # optional
      bach: {name: Johann Sebastian Bach, born: 1685, died: 1750}
    rights:                    # optional; stated once, named where it holds
      own: {licence_notes: CC0-1.0, may_show_notation: true, basis: written for this corpus}
    works:
      - work_id: bach.bwv-190
        work: Singet dem Herrn ein neues Lied
        composer: bach
        year_from: 1724
        movements:
          - movement_id: bach.bwv-190.7
            movement: 7
            title: Laß uns das Jahr vollbringen
            source: {package: music21, path: corpus/bach/bwv190.7.mxl}
            voices: chorus
            parts:
              - {part: Trumpet 1, instrument: trumpet, ensemble: player}

Of a work: `work_id` and `work` (its title) must be there; `composer` names an entry of
`composers`. Of a movement: `movement_id` and `source` must be there; `movement` (number or name
in the work), `title`, `parts` may be. Of either, and of the movement where both say it:
`collection`, `edition`, `source_address`, `year_from`, `year_to`, `invented`, `counts`,
`scoring_complete` (yes, no, unknown), `voices` (chorus, solo) and `rights` (a name of the section
`rights`, or the fields themselves: `licence_notes`, `licence_other`, `attribution`,
`may_show_notation`, `may_share_events`, `basis`; a right that is granted needs its basis).
Ids are lower-case words joined by `.`, `-` or `_`.

`source` is the path of a file, from the folder of the manifest, or `package` and `path`: a file
of an installed package, read where it lies; the package is not imported, and where it is not
installed the movement is skipped. A path that leaves its folder, by `..` or by a link, is
refused: a manifest that came from elsewhere reads nothing but what lies beside and below it, or
in a package. Scores that lie elsewhere are built from a manifest in a folder above both.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from collaparte.errors import ManifestError, UsageError
from collaparte.manifest import document, folder
from collaparte.manifest.entries import Entry
from collaparte.manifest.folder import SUFFIXES
from collaparte.schema import movement_key


def from_path(path: Path) -> tuple[Entry, ...]:
    """The movements of a manifest (`.yaml`, `.yml`), of a folder, or of a single file.

    Of a folder: all `SUFFIXES` in it and below, by path, each named after its file, and by its
    path where two files have one name. Hidden names and linked folders are passed over.

    Raises
    ------
    UsageError
        There is no such path, or no score in the folder.
    ManifestError
        See `load`.
    """
    if path.is_dir():
        return _checked(folder.of_folder(path), str(path))
    if not path.exists():
        raise UsageError(f"{path}: there is no such file or folder")
    if path.suffix.lower() in (".yaml", ".yml"):
        return load(path)
    return _checked(folder.of_file(path), str(path))


def load(path: Path) -> tuple[Entry, ...]:
    """The movements of a manifest, in its order.

    Raises
    ------
    ManifestError
        One line that names the entry and the field: a field that does not exist, is missing,
        comes twice or holds what it cannot hold; a movement_id or key that is taken; a path
        that leads out.
    """
    return _checked(document.entries(path), path.name)


def _checked(entries: Iterable[Entry], where: str) -> tuple[Entry, ...]:
    """The entries, at least one, no two of which share a name or a key."""
    taken: dict[int, str] = {}
    checked = tuple(entries)
    for entry in checked:
        movement_id = entry.movement.movement_id
        key = movement_key(movement_id)
        if key in taken:
            same = taken[key] == movement_id
            fault = "is there twice" if same else f"has the key of {taken[key]}: rename one"
            raise ManifestError(f"{where}: movement_id {movement_id} {fault}")
        taken[key] = movement_id
    if not checked:
        raise UsageError(f"{where}: no score in it ({', '.join(SUFFIXES)})")
    return checked


__all__ = ["SUFFIXES", "Entry", "from_path", "load"]
