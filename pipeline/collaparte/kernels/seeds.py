"""Generators of chance that depend on names alone."""

from __future__ import annotations

import hashlib

import numpy as np


def generator(*words: str) -> np.random.Generator:
    """The generator of one figure: its own, whatever else is computed and in which order."""
    digest = hashlib.sha256("\x1f".join(words).encode()).digest()
    return np.random.default_rng(np.frombuffer(digest, "<u4").tolist())
