"""Runs of rows that belong together, with single gaps bridged."""

from __future__ import annotations

import numpy as np

from collaparte.kernels.arrays import Flags, Ints


def runs(joined: Flags) -> Ints:
    """The number of the run that each row stands in, from 0.

    Parameters
    ----------
    joined
        Shape (n − 1,) with n at least 1: row i and row i + 1 belong together.

    Returns
    -------
    Shape (n,).
    """
    numbers = np.zeros(len(joined) + 1, np.int64)
    np.cumsum(~joined, out=numbers[1:])
    return numbers


def bridged_runs(direct: Flags, bridge: Flags, share: float) -> Ints:
    """Runs in which gaps of one place are bridged between two rows on each side.

    Parameters
    ----------
    direct
        Shape (n − 1,): row i + 1 follows row i at once.
    bridge
        Shape (n − 1,): exactly one place lies between them.
    share
        Rows ÷ (rows + bridged places) that a run must reach; where it does not, its bridges
        fall and each piece stands for itself.

    Returns
    -------
    The number of the run of each row, shape (n,), from 0.
    """
    pieces = runs(direct)
    lengths = np.bincount(pieces)
    holds = bridge & (lengths[pieces[:-1]] >= 2) & (lengths[pieces[1:]] >= 2)
    if not holds.any():
        return pieces
    wide = runs(direct | holds)
    rows = np.bincount(wide)
    gaps = np.bincount(wide[:-1][holds], minlength=len(rows))
    enough = rows >= share * (rows + gaps)
    return runs(direct | (holds & enough[wide[:-1]]))


def count_within(numbers: Ints, between: Flags, count: int) -> Ints:
    """How many of the flags between neighbouring rows of one run are set, for each run.

    Parameters
    ----------
    numbers
        Shape (n,): run of each row, from 0 to below `count`, never falling.
    between
        Shape (n − 1,): a flag for row i and row i + 1.
    """
    inside = between & (numbers[1:] == numbers[:-1])
    return np.bincount(numbers[1:][inside], minlength=count)


def distinct_within(numbers: Ints, values: Ints, count: int) -> Ints:
    """How many different values each run holds; `numbers` as in `count_within`."""
    order = np.lexsort((values, numbers))
    first = np.ones(len(numbers), np.bool_)
    first[1:] = (np.diff(numbers[order]) != 0) | (np.diff(values[order]) != 0)
    return np.bincount(numbers[order][first], minlength=count)
