"""States in force: dynamics, hairpins and techniques of every note."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from collaparte.kernels import arrow


@dataclass(frozen=True)
class NoteStates:
    """What is in force on every note, as columns of the table `notes`."""

    count: int
    techniques: Any

    def columns(self) -> dict[str, Any]:
        """Columns by name."""
        return {
            "dynamic_basis": arrow.words(np.zeros(self.count, np.int32), ("none",)),
            "techniques": self.techniques,
        }
