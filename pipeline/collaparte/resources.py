"""Where the files lie that ship with the package: queries, reports, the default manifest.

A wheel carries them under `_shipped`; a checkout, installed in place or not, has them beside
`pipeline`.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def shipped(name: str) -> Path:
    """The file or folder `name` of the installed wheel, else that of the checkout."""
    packaged = _PACKAGE / "_shipped" / name
    return packaged if packaged.exists() else _PACKAGE.parents[1] / name


def queries() -> Path:
    """The folder of the questions."""
    return shipped("queries")


def default_manifest() -> Path:
    """The manifest that is taken when nobody names a source.

    That of the project one stands in, if the current folder has one; else the one that came
    with the package.
    """
    own = Path("corpus_manifest.yaml")
    return own.resolve() if own.is_file() else shipped(own.name)
