"""Arrow arrays from numpy codes: words, lists of words, nullable numbers."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

Integers = npt.NDArray[np.integer[Any]]


def words(codes: Integers, values: Sequence[str | None]) -> Any:
    """A dictionary array: `values[code]`, null for codes below 0 and for empty values.

    Equal values share one entry, and entries are in the order of `values`.
    """
    numbers, entries = _entries(tuple(values))
    found = numbers[np.maximum(codes, -1)]
    return pa.DictionaryArray.from_arrays(pa.array(found, mask=found < 0), entries)


@lru_cache(maxsize=64)  # the numbers of the bars of one movement serve five tables
def _entries(values: tuple[str | None, ...]) -> tuple[npt.NDArray[np.int32], Any]:
    """Place of every value among the different ones (-1: empty, and a last -1), and these."""
    entries: dict[str, int] = {}
    numbers = [entries.setdefault(value, len(entries)) if value else -1 for value in values]
    return np.array([*numbers, -1], np.int32), pa.array(list(entries), pa.string())


def texts(codes: Integers, values: Sequence[str | None]) -> Any:
    """A string array: `values[code]`, null for codes below 0 and for empty values."""
    return words(codes, values).dictionary_decode()


def numbers(values: npt.NDArray[Any], known: npt.NDArray[np.bool_]) -> Any:
    """An array that is null where the value is not known."""
    return pa.array(values, mask=~known)


def lists(owner: Integers, label: Integers, labels: Sequence[str], count: int) -> Any:
    """Lists of words, sorted and without repetition.

    Parameters
    ----------
    owner, label
        Row `owner[i]` holds `labels[label[i]]`.
    count
        Rows of the result; a row without labels holds an empty list.
    """
    entries = sorted(set(labels))
    place = {name: number for number, name in enumerate(entries)}
    code = np.array([place[name] for name in labels] or [0], np.int64)[label]
    pairs = np.unique(owner.astype(np.int64) * (len(entries) + 1) + code)
    offsets = np.zeros(count + 1, np.int32)
    np.cumsum(np.bincount(pairs // (len(entries) + 1), minlength=count), out=offsets[1:])
    values = pa.array(entries, pa.string()).take(pa.array(pairs % (len(entries) + 1)))
    return pa.ListArray.from_arrays(pa.array(offsets), values)


def integer_lists(owner: Integers, value: Integers, count: int) -> Any:
    """Lists of int32: row `owner[i]`, in ascending order, holds `value[i]`."""
    offsets = np.zeros(count + 1, np.int32)
    np.cumsum(np.bincount(owner, minlength=count), out=offsets[1:])
    return pa.ListArray.from_arrays(pa.array(offsets), pa.array(value.astype(np.int32)))
