"""Bytes of a MusicXML document → a table of its elements, without a tree.

A full parser accepts the document; the cut made here only finds the tags again. In an
accepted document `<` opens a tag, comment, CDATA section, instruction or declaration and
nothing else. Where every `<` after the prolog opens a tag and the `<` and `>` alternate, a
token `<tag attributes>text` runs from one `<` to the next. Where they do not, the document is
first rewritten by the slow path (`document.normalised`), after which they always do.

Only distinct tokens are ever decoded: a score has few of them.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.errors import ScoreError
from collaparte.readers.musicxml.document import (
    check_well_formed,
    normalised,
    without_comments,
)

Indexes = npt.NDArray[np.int32]
Value = TypeVar("Value")

ROW_DEPTH = 3
"""Depth of the children of `measure`: root 0, part 1, measure 2."""

MAXIMUM_DEPTH = 100
"""A score needs about ten levels."""

MAXIMUM_NAMES = 10_000
"""The standard has some four hundred; their numbers are kept in 16 bits."""

_PROLOG = re.compile(rb"\s*(?:<\?xml([^>]*)\?>)?\s*(?:<!DOCTYPE[^\[>]*>)?\s*")
_ENCODING = re.compile(rb"encoding\s*=\s*[\"']([^\"']+)[\"']")
_BLOCK = 1 << 18  # bytes compared at a time: stays in the cache


class _NotPlainError(Exception):
    """The tags cannot be found by their angle brackets alone."""


@dataclass(frozen=True)
class ElementTable:
    """All elements of the parts of one document, in document order.

    `tag`, `depth` and `row` have one entry an element: number of its tag name, depth below the
    root, and the row (child of a measure) that it lies in or is. `token` is the number of its
    distinct token; `heads` and `texts` have one entry a distinct token. `header` holds the
    bytes before the first part.
    """

    header: bytes
    token: Indexes
    tag: npt.NDArray[np.int16]
    depth: npt.NDArray[np.int8]
    row: Indexes
    names: dict[str, int]
    heads: Any
    texts: Any
    _document: bytes | None
    _offsets: Indexes
    _order: Indexes
    _bounds: npt.NDArray[np.int64]
    _levels: dict[int, Indexes] = field(default_factory=dict)

    def of(self, name: str, depth: int | None = None) -> Indexes:
        """Elements with this tag name, in document order; at one depth where it is given."""
        number = self.names.get(name)
        if number is None:
            return np.empty(0, np.int32)
        found = self._order[self._bounds[number] : self._bounds[number + 1]]
        if depth is None:
            return found
        at_depth: Indexes = found[self.depth[found] == depth]
        return at_depth

    def below(self, depth: int) -> Indexes:
        """Elements at this depth, in document order."""
        if depth not in self._levels:
            self._levels[depth] = np.flatnonzero(self.depth == depth).astype(np.int32)
        return self._levels[depth]

    def children(self, parents: Indexes, depth: int) -> tuple[Indexes, Indexes]:
        """The children of elements at one depth, and which parent each belongs to."""
        candidates = self.below(depth + 1)
        if not len(parents) or not len(candidates):
            return np.empty(0, np.int32), np.empty(0, np.int32)
        level = self.below(depth)
        nearest = level[np.maximum(np.searchsorted(level, candidates) - 1, 0)]
        owner = np.minimum(np.searchsorted(parents, nearest), len(parents) - 1)
        inside = (parents[owner] == nearest) & (candidates > nearest)
        return candidates[inside], owner[inside].astype(np.int32)

    def text_values(
        self, elements: Indexes, parse: Callable[[str], Value]
    ) -> tuple[Indexes, list[Value]]:
        """Parsed texts of some elements.

        Returns
        -------
        codes, values
            `values[codes[i]]` belongs to `elements[i]`; each distinct token is parsed once.
        """
        codes, distinct = _distinct(self.token[elements])
        texts = self.texts.take(pa.array(distinct)).to_pylist()
        return codes, [parse(_plain(text)) for text in texts]

    def texts_of(self, elements: Indexes) -> tuple[Indexes, list[str]]:
        """Texts of some elements, as `text_values` gives them."""
        return self.text_values(elements, str)

    def attribute(self, elements: Indexes, name: str) -> tuple[Indexes, list[str | None]]:
        """One attribute of some elements; `None` where an element does not have it."""
        codes, distinct = _distinct(self.token[elements])
        heads = self.heads.take(pa.array(distinct))
        values: list[str | None] = [None] * len(distinct)
        wanted = np.flatnonzero(
            pc.match_substring(heads, name).to_numpy(zero_copy_only=False)  # quicker than a pattern
        )
        pattern = re.compile(r"\s" + re.escape(name) + r"\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")
        for index in wanted.tolist():
            match = pattern.search(heads[index].as_py())
            if match:
                values[index] = _plain(match.group(1) or match.group(2) or "")
        return codes, values

    def with_attribute(self, elements: Indexes, name: str) -> Indexes:
        """Those of the elements that have this attribute."""
        codes, values = self.attribute(elements, name)
        having: Indexes = elements[np.array([value is not None for value in values], bool)[codes]]
        return having

    def line(self, element: int) -> int | None:
        """Line of the file that an element starts in; None where the file was rewritten."""
        if self._document is None:
            return None
        return self._document.count(b"\n", 0, int(self._offsets[element])) + 1


def _distinct(tokens: Indexes) -> tuple[Indexes, npt.NDArray[np.int64]]:
    """Codes into the sorted distinct tokens."""
    if not len(tokens):
        return tokens, np.empty(0, np.int64)
    seen = np.zeros(int(tokens.max()) + 1, np.int32)
    seen[tokens] = 1
    distinct = np.flatnonzero(seen)
    seen[distinct] = np.arange(len(distinct), dtype=np.int32)
    return seen[tokens], distinct


def _plain(text: str) -> str:
    return html.unescape(text) if "&" in text else text


def element_table(data: bytes) -> ElementTable:
    """The elements of a document.

    Parameters
    ----------
    data
        A MusicXML document in any encoding that XML allows.

    Raises
    ------
    ScoreError
        The document is not well-formed, is no score, or has no part.
    """
    plain = without_comments(data) if b"<!--" in data else data
    try:
        cut = _cut(plain)
    except _NotPlainError:
        plain = normalised(data)
        return _elements(plain, _cut(plain), rewritten=True)
    check_well_formed(data)  # after the depth is known: expat keeps a record of every open element
    return _elements(plain, cut, rewritten=False)


class _Cut(NamedTuple):
    """All tags of a document: offset and token of each, its depth, if it is an end tag.

    `start` is where the prolog ends, from which offsets count; `tokens` are the distinct tokens.
    """

    start: int
    offsets: Indexes
    token: Indexes
    depth: npt.NDArray[np.int8]
    closing: npt.NDArray[np.bool_]
    tokens: Any


def _cut(data: bytes) -> _Cut:
    """The tags of a document.

    Every token is checked, once for each different one: it opens with a tag and holds one `>`.
    """
    prolog = _PROLOG.match(data)
    assert prolog is not None
    encoding = _ENCODING.search(prolog.group(1) or b"")
    if encoding and encoding.group(1).lower() not in (b"utf-8", b"utf8", b"us-ascii", b"ascii"):
        raise _NotPlainError
    root = data[prolog.end() : prolog.end() + 200]
    if b"\0" in data[:64] or not root.startswith(b"<score-partwise") or b"xmlns=" in root:
        raise _NotPlainError
    body = np.frombuffer(data, np.uint8)[prolog.end() :]
    starts = _positions(body, 60)
    offsets = np.append(starts, np.int32(len(body)))
    encoded = pa.Array.from_buffers(
        pa.binary(), len(starts), [None, pa.py_buffer(offsets), pa.py_buffer(body)]
    ).dictionary_encode()
    tokens, token = encoded.dictionary, encoded.indices.to_numpy()
    if not _all(pc.equal(pc.count_substring(tokens, b">"), 1)) or _any(
        pc.or_(pc.starts_with(tokens, b"<!"), pc.starts_with(tokens, b"<?"))
    ):
        raise _NotPlainError
    empty, closing = (
        _flags(pc.match_substring(tokens, b"/>")),
        _flags(pc.starts_with(tokens, b"</")),
    )
    step = (1 - empty - 2 * closing).astype(np.int8)[token]
    return _Cut(prolog.end(), starts, token, _depths(step), step < 0, tokens)


def _flags(found: Any) -> npt.NDArray[np.bool_]:
    return np.asarray(found.to_numpy(zero_copy_only=False), bool)


def _all(found: Any) -> bool:
    return bool(_flags(found).all())


def _any(found: Any) -> bool:
    return bool(_flags(found).any())


def _positions(body: npt.NDArray[np.uint8], byte: int) -> npt.NDArray[np.int32]:
    found = [
        np.flatnonzero(body[start : start + _BLOCK] == byte).astype(np.int32) + np.int32(start)
        for start in range(0, len(body), _BLOCK)
    ]
    return np.concatenate(found) if found else np.empty(0, np.int32)


def _depths(step: npt.NDArray[np.int8]) -> npt.NDArray[np.int8]:
    """Depth of each tag below the root.

    A step is 1 for a start tag, 0 for an empty one and -1 for an end tag.
    """
    depths = np.cumsum(step, dtype=np.int32)
    depths -= step
    if int(depths.max()) > MAXIMUM_DEPTH:
        raise ScoreError(
            "too_deep", f"Elements are nested more than {MAXIMUM_DEPTH} deep, which no score needs."
        )
    return depths.astype(np.int8)


def _elements(data: bytes, cut: _Cut, *, rewritten: bool) -> ElementTable:
    parts = _first_part(data, cut)
    keep = np.flatnonzero(~cut.closing[parts:]) + parts
    token, depth = cut.token[keep], cut.depth[keep]
    heads, texts, tags = _split(cut.tokens)
    if len(tags.dictionary) > MAXIMUM_NAMES:
        raise ScoreError(
            "too_large",
            f"The file has more than {MAXIMUM_NAMES} kinds of element, which no score needs.",
        )
    tag_of_token = tags.indices.to_numpy().astype(np.int16)
    names = {name: number for number, name in enumerate(tags.dictionary.to_pylist())}
    tag = tag_of_token[token]
    order = np.argsort(tag, kind="stable").astype(np.int32)
    bounds = np.zeros(len(names) + 1, np.int64)
    np.cumsum(np.bincount(tag, minlength=len(names)), out=bounds[1:])
    return ElementTable(
        header=data[: cut.start + int(cut.offsets[parts])],
        token=token,
        tag=tag,
        depth=depth,
        row=np.cumsum(depth == ROW_DEPTH, dtype=np.int32) - np.int32(1),
        names=names,
        heads=heads,
        texts=texts,
        _document=None if rewritten else data,
        _offsets=cut.offsets[keep] + np.int32(cut.start),
        _order=order,
        _bounds=bounds,
    )


def _first_part(data: bytes, cut: _Cut) -> int:
    """Number of the tag that opens the first part."""
    for index in np.flatnonzero((cut.depth == 1) & ~cut.closing).tolist():
        start = cut.start + int(cut.offsets[index])
        if re.match(rb"<part[\s>/]", data[start : start + 6]):
            return int(index)
    raise ScoreError("no_parts", "The score has no part, so there is nothing to read.")


def _split(tokens: Any) -> tuple[Any, Any, Any]:
    """Head (tag name and attributes) and text of each token, and its tag name encoded."""
    pieces = pc.split_pattern(tokens.cast(pa.string()), ">", max_splits=1)
    heads = pc.list_element(pieces, 0)
    texts = pc.list_element(pieces, 1)
    names = pc.list_element(pc.ascii_split_whitespace(heads, max_splits=1), 0)
    return heads, texts, pc.ascii_trim(names, "</").dictionary_encode()
