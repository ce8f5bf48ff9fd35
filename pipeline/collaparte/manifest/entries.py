"""One movement and the file that it lies in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from collaparte.errors import ScoreError
from collaparte.movement import Movement
from collaparte.remarks import Remark

MAX_BYTES = 1 << 30
"""A larger file is not read."""


@dataclass(frozen=True)
class Entry:
    """One movement and the file that it lies in.

    Attributes
    ----------
    file
        Where the bytes are; None when they are out of reach.
    out_of_reach
        Why, and what can be done about it; the movement is skipped then.
    """

    movement: Movement
    file: Path | None
    out_of_reach: Remark | None = None

    @property
    def size(self) -> int:
        """Bytes of the file, 0 where there is none: an estimate of the work that it makes."""
        try:
            return 0 if self.file is None else self.file.stat().st_size
        except OSError:
            return 0

    def read_bytes(self) -> bytes:
        """The bytes of the file.

        Raises
        ------
        ScoreError
            The file is not there, cannot be opened, is no plain file, or is too large.
        """
        if self.file is None:
            raise ValueError(f"{self.movement.movement_id} is out of reach")
        try:
            if not self.file.is_file():
                raise ScoreError("no_file", f"There is no file {self.movement.source_address}.")
            if self.size > MAX_BYTES:
                raise ScoreError("too_large", f"The file is larger than {MAX_BYTES >> 20} MiB.")
            return self.file.read_bytes()
        except OSError as error:
            raise ScoreError("no_file", f"The file cannot be opened: {error.strerror}.") from error


def lies_within(file: Path, folder: Path) -> bool:
    """True where the file, with all links followed, is below the folder."""
    return file.resolve().is_relative_to(folder.resolve())
