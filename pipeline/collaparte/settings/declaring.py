"""How a setting is declared: its default with unit, meaning and source."""

from __future__ import annotations

from dataclasses import field
from typing import Any


def setting(default: Any, unit: str, meaning: str, source: str) -> Any:
    """A field of a class of settings; the last three go to the table `settings`."""
    return field(default=default, metadata={"unit": unit, "meaning": meaning, "source": source})
