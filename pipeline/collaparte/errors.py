"""The errors of collaparte.

CollaparteError               one line for a person: what, where, what to do
├── UsageError                the request cannot be served as it was made
│   ├── ManifestError         corpus_manifest.yaml is wrong, with the entry and the field
│   ├── StoreError            there is no store, or it is of another format
│   └── RefusedSQL            the statement is not one plain SELECT, or reaches outside
└── ScoreError                one score cannot be read; becomes a remark, never ends a run
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable


class CollaparteError(Exception):
    """Base of all errors that a person may see; the message is one plain line."""


class UsageError(CollaparteError):
    """The request cannot be served as it was made."""


class ManifestError(UsageError):
    """The manifest is wrong."""


class StoreError(UsageError):
    """There is no store, or it is of another format."""


class RefusedSQL(UsageError):  # noqa: N818  "refused SQL" is what it is
    """The statement is not one plain SELECT, or it reaches outside the store."""


class ScoreError(CollaparteError):
    """One score cannot be read.

    Parameters
    ----------
    code
        A code of `collaparte.remarks.CODES`.
    message
        One plain sentence, with the line of the file where there is one.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(code, message)
        self.code = code
        self.message = message

    def __str__(self) -> str:
        return self.message


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """What a message adds when something known is near: `; did you mean …?`, else nothing.

    Near is the one known text that holds the word, else what has nearly the same letters.
    """
    texts = list(known)
    near = [text for text in texts if word.lower() in text.lower()]
    if len(near) != 1:
        near = difflib.get_close_matches(word, texts, n=1, cutoff=0.5)
    return f"; did you mean {near[0]}?" if near else ""
