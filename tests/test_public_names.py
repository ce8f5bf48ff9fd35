"""What `import collaparte` offers."""

from __future__ import annotations

import importlib
import inspect
import re
import tomllib
from pathlib import Path

import collaparte

PROJECT = Path(__file__).parents[1]


def test_public_names_are_listed_in_order_and_complete() -> None:
    assert collaparte.__all__ == sorted(collaparte.__all__)
    public = {
        name
        for name, value in vars(collaparte).items()
        if inspect.isfunction(value) and not name.startswith("_")
    }
    assert public == set(collaparte.__all__) - {"version"}


def test_build_stays_the_function_after_its_module_is_loaded() -> None:
    module = importlib.import_module("collaparte.build")
    assert inspect.ismodule(module)
    assert inspect.isfunction(collaparte.build)
    assert collaparte.build is not module.build


def test_the_version_is_that_of_the_package() -> None:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    assert re.fullmatch(r"\d+\.\d+\.\d+", collaparte.version)
    assert collaparte.version == project["version"]
