"""The errors of collaparte.

CollaparteError               one line for a person: what, where, what to do
├── UsageError                the request cannot be served as it was made
│   ├── ManifestError         corpus_manifest.yaml is wrong, with the entry and the field
│   ├── StoreError            there is no store, or it is of another format
│   └── RefusedSQL            the statement is not one plain SELECT, or reaches outside
└── ScoreError                one score cannot be read; becomes a remark, never ends a run
"""

from __future__ import annotations


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
