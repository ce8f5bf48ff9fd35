"""Entries of a manifest; the format is described at the head of the package."""

from __future__ import annotations

import importlib.util
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

import yaml

from collaparte.errors import ManifestError
from collaparte.manifest.entries import Entry, lies_within
from collaparte.manifest.fields import MOVEMENT, TOP, WORK, Source, fields, once
from collaparte.movement import Movement, Rights
from collaparte.remarks import Remark


def entries(path: Path) -> list[Entry]:
    """The movements of a manifest, in its order.

    Raises
    ------
    ManifestError
        One line that names the entry and the field.
    """
    top = fields(_parsed(path), path.name, TOP, ("works",))
    sections = _Sections(path, top.get("composers", {}), top.get("rights", {}))
    once(top["works"], "work_id", path.name)
    return [
        entry
        for number, work in enumerate(top["works"], 1)
        for entry in _of_work(work, f"{path.name}, work {number}", sections)
    ]


@dataclass(frozen=True)
class _Sections:
    """What the entries of one manifest may refer to."""

    path: Path
    composers: Mapping[str, Mapping[str, Any]]
    rights: Mapping[str, Mapping[str, Any]]


class _PlainLoader(yaml.BaseLoader):
    """YAML whose scalars all stay text, and in which no name may come twice."""

    def construct_mapping(self, node: yaml.MappingNode, deep: bool = False) -> dict[Any, Any]:
        names = [key.value for key, _ in node.value if isinstance(key, yaml.ScalarNode)]
        for name, uses in Counter(names).items():
            if uses > 1:
                line = node.start_mark.line + 1
                raise ManifestError(f"the entry from line {line} on has two fields {name!r}")
        return super().construct_mapping(node, deep)


def _parsed(path: Path) -> object:
    try:
        return yaml.load(path.read_bytes(), _PlainLoader)  # noqa: S506  text, lists, mappings only
    except yaml.MarkedYAMLError as error:
        line = f" in line {error.problem_mark.line + 1}" if error.problem_mark else ""
        raise ManifestError(f"{path.name} is no YAML{line}: {error.problem}") from error
    except (yaml.YAMLError, UnicodeDecodeError, RecursionError) as error:
        raise ManifestError(f"{path.name} is no YAML: {type(error).__name__}") from error
    except ManifestError as error:
        raise ManifestError(f"{path.name}: {error}") from None
    except OSError as error:
        raise ManifestError(f"{path} cannot be opened: {error.strerror}") from error


def _of_work(value: object, where: str, sections: _Sections) -> list[Entry]:
    where = _titled(where, value, "work_id")
    work = fields(value, where, WORK, ("work_id", "work", "movements"))
    if "composer" in work:
        work |= _composer(work.pop("composer"), where, sections)
    shared = {name: value for name, value in work.items() if name != "movements"}
    return [
        _of_movement(item, f"{where}, movement {number}", shared, sections)
        for number, item in enumerate(work["movements"], 1)
    ]


def _of_movement(value: object, where: str, work: Mapping[str, Any], sections: _Sections) -> Entry:
    where = _titled(where, value, "movement_id")
    own = fields(value, where, MOVEMENT, ("movement_id", "source"))
    stated = {**work, **own}
    source = stated.pop("source")
    rights = _rights(stated.pop("rights", {}), f"{where}, rights", sections)
    _in_order(stated, "year_from", "year_to", where)
    _in_order(stated, "composer_born", "composer_died", where)
    file, out_of_reach = _located(source, f"{where}, source", sections.path.parent)
    movement = Movement(
        **{"source_address": source.address, **stated},
        rights=rights,
        file_name=PurePosixPath(source.path).name,
        source_kind="package" if source.package else "file",
    )
    return Entry(movement, file, out_of_reach)


def _located(source: Source, where: str, folder: Path) -> tuple[Path | None, Remark | None]:
    """The file of a source; None and the reason when its package is not installed."""
    if source.package is not None:
        installed = importlib.util.find_spec(source.package)
        if installed is None or not installed.submodule_search_locations:
            return None, Remark(
                "package_not_installed",
                f"The score lies in the package {source.package}, which is not installed.",
                f"The movement was skipped; pip install {source.package}, then a new build, helps.",
                severity="warning",
            )
        # An installer may have linked the files of a package; its folder is trusted as it is.
        return Path(installed.submodule_search_locations[0], source.path), None
    file = folder / source.path
    if not lies_within(file, folder):
        raise ManifestError(f"{where}: {source.path} is a link that leads outside the folder")
    return file, None


def _composer(name: str, where: str, sections: _Sections) -> dict[str, Any]:
    if name not in sections.composers:
        raise ManifestError(f"{where}, composer: {name!r} is not in the section composers")
    facts = sections.composers[name]
    return {
        "composer_id": name,
        "composer": facts["name"],
        "composer_born": facts.get("born"),
        "composer_died": facts.get("died"),
    }


def _rights(value: str | Mapping[str, Any], where: str, sections: _Sections) -> Rights:
    if isinstance(value, str):
        if value not in sections.rights:
            raise ManifestError(f"{where}: {value!r} is not in the section rights")
        value = sections.rights[value]
    rights = Rights(**value)
    if (rights.may_show_notation or rights.may_share_events) and not rights.basis:
        raise ManifestError(f"{where}: a right is granted without its basis (field basis)")
    return rights


def _in_order(stated: Mapping[str, Any], first: str, last: str, where: str) -> None:
    if None not in (stated.get(first), stated.get(last)) and stated[first] > stated[last]:
        raise ManifestError(f"{where}: {first} {stated[first]} is later than {last} {stated[last]}")


def _titled(where: str, value: object, name: str) -> str:
    """The place of an entry, with its name where it has one."""
    title = value.get(name) if isinstance(value, dict) else None
    return f"{where} ({' '.join(title.split())})" if isinstance(title, str) else where
