"""Questions and the default manifest are found from a wheel, an install in place, a checkout."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest

from collaparte import resources

PROJECT = Path(__file__).parents[1]

FIND = """
import json, collaparte, collaparte.resources as resources
print(json.dumps({
    "package": collaparte.__file__,
    "queries": str(resources.queries()),
    "questions": sorted(path.name for path in resources.queries().rglob("*.sql")),
    "manifest": resources.default_manifest().read_text("utf-8"),
    "version": collaparte.version,
}))
"""


@pytest.fixture(params=["wheel", "editable", "checkout"])
def found(request: pytest.FixtureRequest, tmp_path: Path) -> dict[str, object]:
    """What an interpreter without this project's environment finds."""
    venv.create(tmp_path / "environment", with_pip=False)
    python = next((tmp_path / "environment").glob("[bS]*/python*"))
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    if request.param == "checkout":
        environment["PYTHONPATH"] = str(PROJECT / "pipeline")
    else:
        install(python, built(request.param, tmp_path))
    ran = subprocess.run(
        [python, "-c", FIND],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    return {"kind": request.param, **json.loads(ran.stdout)}


def built(kind: str, folder: Path) -> Path:
    """A wheel of the kind, by the project's own build backend."""
    script = f"from hatchling.build import build_{kind} as build; print(build({str(folder)!r}))"
    subprocess.run(
        [sys.executable, "-c", script], cwd=PROJECT, check=True, capture_output=True, text=True
    )
    return next(folder.glob("*.whl"))


def install(python: Path, wheel: Path) -> None:
    pip = [sys.executable, "-m", "pip", "--python", str(python)]
    options = ["--quiet", "--no-deps", "--no-index", "--disable-pip-version-check"]
    subprocess.run([*pip, "install", *options, str(wheel)], check=True, capture_output=True)


def test_all_that_ships_is_found(found: dict[str, object]) -> None:
    inside = str(found["package"]).startswith(str(PROJECT))
    assert inside == (found["kind"] != "wheel")
    questions = sorted(path.name for path in (PROJECT / "queries").rglob("*.sql"))
    assert found["questions"] == questions
    assert found["manifest"] == (PROJECT / "corpus_manifest.yaml").read_text("utf-8")
    assert str(found["queries"]).startswith(str(Path(str(found["package"])).parent)) != inside


def test_the_manifest_of_the_current_folder_goes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert resources.default_manifest() == PROJECT / "corpus_manifest.yaml"
    (tmp_path / "corpus_manifest.yaml").touch()
    assert resources.default_manifest() == (tmp_path / "corpus_manifest.yaml").resolve()
