"""What every test may ask for."""

from __future__ import annotations

from pathlib import Path

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--scores",
        type=Path,
        metavar="FOLDER",
        help="a folder of MusicXML scores that tests on real music read in place",
    )
    parser.addoption(
        "--fuzz",
        type=int,
        default=300,
        metavar="N",
        help="how many damaged scores are read (300, the same every time)",
    )


def pytest_configure(config: pytest.Config) -> None:
    folder = config.getoption("--scores")
    if folder is not None and not (config.invocation_params.dir / folder).is_dir():
        raise pytest.UsageError(f"--scores {folder}: there is no such folder")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if "full" in config.getoption("markexpr"):
        return
    for item in items:
        if item.get_closest_marker("full"):
            item.add_marker(pytest.mark.skip(reason="takes many minutes: pytest -m full"))


@pytest.fixture(scope="session")
def scores(request: pytest.FixtureRequest) -> Path:
    """The folder given with --scores; without it the test is skipped."""
    folder: Path | None = request.config.getoption("--scores")
    if folder is None:
        pytest.skip("needs real scores: pytest tests --scores FOLDER")
    return (request.config.invocation_params.dir / folder).resolve()


@pytest.fixture(scope="session")
def fuzz_cases(request: pytest.FixtureRequest) -> int:
    """How many damaged scores are read."""
    return int(request.config.getoption("--fuzz"))


@pytest.fixture(scope="session")
def small_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with the two movements of `two_movements`."""
    from two_movements import make_store

    return make_store(tmp_path_factory.mktemp("small"))


@pytest.fixture(scope="session")
def default_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store of the default corpus, with what chance would give."""
    import collaparte

    folder = tmp_path_factory.mktemp("default") / "store"
    collaparte.build(None, folder, chance=True)
    return folder
