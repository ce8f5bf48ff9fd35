"""Fields of a manifest: which there are, and what each may hold."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import PurePosixPath
from typing import Any

from collaparte.errors import ManifestError, did_you_mean
from collaparte.movement import PartStatement

Check = Callable[[object, str], Any]
"""Takes a value and the words for its place; gives the value converted, or ManifestError."""

_ID = re.compile(r"[a-z0-9]+(?:[._-][a-z0-9]+)*")


@dataclass(frozen=True)
class Source:
    """A file beside the manifest, or one of a package."""

    path: str
    package: str | None = None

    @property
    def address(self) -> str:
        """The source in one line."""
        return f"{self.package}: {self.path}" if self.package else self.path


def fields(
    value: object, where: str, known: Mapping[str, Check], required: Iterable[str] = ()
) -> dict[str, Any]:
    """The fields of a mapping, each through its check."""
    if not isinstance(value, dict):
        raise ManifestError(f"{where}: fields are expected here")
    for name in value:
        if name not in known:
            near = did_you_mean(str(name), known)
            raise ManifestError(f"{where}: there is no field {name!r}{near}")
    for name in required:
        if name not in value:
            raise ManifestError(f"{where}: the field {name} is missing")
    return {name: known[name](value[name], f"{where}, {name}") for name in value}


def once(items: Iterable[object], name: str, where: str) -> None:
    """Refuse a list in which two entries have the same value in a field."""
    values = Counter(str(item[name]) for item in items if isinstance(item, dict) and name in item)
    for value, uses in values.items():
        if uses > 1:
            raise ManifestError(f"{where}: {name} {value!r} is there {uses} times")


def _section(
    value: object, where: str, known: Mapping[str, Check], required: Iterable[str] = ()
) -> dict[str, Any]:
    """The entries of a section by their ids."""
    if not isinstance(value, dict):
        raise ManifestError(f"{where}: entries with names are expected here")
    return {
        _id(name, where): fields(item, f"{where}, {name}", known, required)
        for name, item in value.items()
    }


def _list(value: object, where: str) -> list[object]:
    if not isinstance(value, list) or not value:
        raise ManifestError(f"{where}: a list is expected here")
    return value


def _text(value: object, where: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ManifestError(f"{where}: text is expected here")
    return " ".join(value.split())


def _id(value: object, where: str) -> str:
    text = _text(value, where)
    if not _ID.fullmatch(text):
        raise ManifestError(f"{where}: {text!r} is not lower-case words joined by . - or _")
    return text


def _year(value: object, where: str) -> int:
    text = _text(value, where)
    if not re.fullmatch(r"-?[0-9]{1,4}", text):
        raise ManifestError(f"{where}: {text!r} is not a year")
    return int(text)


def _one_of(value: object, where: str, choices: tuple[str, ...]) -> str:
    text = _text(value, where)
    if text not in choices:
        raise ManifestError(f"{where}: {text!r} is none of {', '.join(choices)}")
    return text


def _flag(value: object, where: str) -> bool:
    return _one_of(value, where, ("true", "false")) == "true"


def _rights_fields(value: object, where: str) -> str | dict[str, Any]:
    """A name of the section `rights`, or the fields themselves."""
    return _id(value, where) if isinstance(value, str) else fields(value, where, _RIGHTS)


def _parts(value: object, where: str) -> tuple[PartStatement, ...]:
    items = _list(value, where)
    once(items, "part", where)
    return tuple(
        PartStatement(**fields(item, f"{where} {number}", _PART, ("part",)))
        for number, item in enumerate(items, 1)
    )


def _source(value: object, where: str) -> Source:
    if isinstance(value, str):
        return Source(_path(value, where))
    return Source(**fields(value, where, _PACKAGE_FILE, ("package", "path")))


def _path(value: object, where: str) -> str:
    path = PurePosixPath(_text(value, where))
    if path.is_absolute() or ".." in path.parts:
        raise ManifestError(f"{where}: {path} leads outside its folder")
    return str(path)


def _package(value: object, where: str) -> str:
    text = _text(value, where)
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*", text):
        raise ManifestError(f"{where}: {text!r} is not the name of a package")
    return text


_PACKAGE_FILE: dict[str, Check] = {"package": _package, "path": _path}

_PART: dict[str, Check] = {
    "part": _text,
    "instrument": _id,
    "ensemble": partial(_one_of, choices=("chorus", "solo_voice", "section", "player")),
}

_COMPOSER: dict[str, Check] = {"name": _text, "born": _year, "died": _year}

_RIGHTS: dict[str, Check] = {
    "licence_notes": _text,
    "licence_other": _text,
    "attribution": _text,
    "may_show_notation": _flag,
    "may_share_events": _flag,
    "basis": _text,
}

_EITHER: dict[str, Check] = {
    "collection": _text,
    "edition": _text,
    "source_address": _text,
    "year_from": _year,
    "year_to": _year,
    "invented": _flag,
    "counts": _flag,
    "scoring_complete": partial(_one_of, choices=("yes", "no", "unknown")),
    "voices": partial(_one_of, choices=("chorus", "solo")),
    "rights": _rights_fields,
}

WORK: dict[str, Check] = {
    **_EITHER,
    "work_id": _id,
    "work": _text,
    "composer": _id,
    "movements": _list,
}

MOVEMENT: dict[str, Check] = {
    **_EITHER,
    "movement_id": _id,
    "movement": _text,
    "title": _text,
    "parts": _parts,
    "source": _source,
}

TOP: dict[str, Check] = {
    "composers": partial(_section, known=_COMPOSER, required=("name",)),
    "rights": partial(_section, known=_RIGHTS),
    "works": _list,
}
