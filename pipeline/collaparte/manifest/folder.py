"""A folder of scores, or one score, without a manifest: names from the files, rights unknown."""

from __future__ import annotations

import hashlib
import os
from collections import Counter
from pathlib import Path, PurePosixPath

from collaparte.manifest.entries import Entry, lies_within
from collaparte.movement import Movement, short_name
from collaparte.remarks import Remark

SUFFIXES = (".musicxml", ".xml", ".mxl")
"""Names of the files that are taken out of a folder."""


def of_file(path: Path) -> list[Entry]:
    """One score, whatever its name ends in."""
    return [_entry(_slug(path.stem), path.name, path)]


def of_folder(folder: Path) -> list[Entry]:
    """The scores below a folder, by path; hidden names and linked folders are passed over."""
    paths = []
    for place, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        relative = PurePosixPath(Path(place).relative_to(folder).as_posix())
        paths += [
            relative / name
            for name in names
            if not name.startswith(".") and name.lower().endswith(SUFFIXES)
        ]
    paths.sort()
    ids = _ids(paths)
    return [_entry(ids[path], str(path), folder / path, within=folder) for path in paths]


def _entry(movement_id: str, address: str, file: Path, within: Path | None = None) -> Entry:
    movement = Movement(
        movement_id=movement_id,
        file_name=_readable(file.name),
        work_id=movement_id,
        work=_readable(file.stem),
        work_stated=False,
        source_address=_readable(address),
    )
    if within is not None and not lies_within(file, within):
        return Entry(
            movement,
            None,
            Remark(
                "link_outside",
                f"{movement.source_address} is a link to a place outside the folder.",
                "The movement was skipped; a copy in its place helps.",
                severity="warning",
            ),
        )
    return Entry(movement, file)


def _ids(paths: list[PurePosixPath]) -> dict[PurePosixPath, str]:
    """A name for each file: its own name, or as much of its path as tells it from the others."""
    ids: dict[PurePosixPath, str] = {}
    for name_of in (_name, _place, _place_and_kind, _name_and_checksum):
        proposed = {path: name_of(path) for path in paths if path not in ids}
        uses = Counter([*proposed.values(), *ids.values()])
        ids |= {path: name for path, name in proposed.items() if uses[name] == 1}
    return ids


def _name(path: PurePosixPath) -> str:
    return _slug(path.stem)


def _place(path: PurePosixPath) -> str:
    return ".".join(map(_slug, path.with_suffix("").parts))


def _place_and_kind(path: PurePosixPath) -> str:
    return ".".join(map(_slug, path.parts))


def _name_and_checksum(path: PurePosixPath) -> str:
    return f"{_slug(path.stem)}-{hashlib.sha256(os.fsencode(path)).hexdigest()[:12]}"


def _readable(name: str) -> str:
    """A file name as text, whatever bytes it was made of."""
    return os.fsencode(name).decode(errors="replace")


def _slug(name: str) -> str:
    return short_name(name) or "score"
