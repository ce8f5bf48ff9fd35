"""States in force: the dynamics, hairpins and techniques of every note.

A direction acts on its part, on its staff and voice where it names them, from its place in time
until the next of its kind. Definitions: measures, section 1.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import nan
from operator import itemgetter
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.kernels import arrow
from collaparte.kernels.lookup import last_before
from collaparte.readers.dynamics import DynamicMark, combine
from collaparte.readers.signs import MOST_STAVES, Places, Sign, all_voices, in_force, part_of_tracks
from collaparte.readers.vocabulary import Vocabulary
from collaparte.reference import Reference

Integers = npt.NDArray[np.int64]

BASES = ("none", "own_staff", "other_staff", "hairpin", "word")
NONE, OWN, OTHER_STAFF, HAIRPIN, WORD = range(5)


@dataclass(frozen=True)
class Dynamics:
    """Dynamics of every note; `degree` is NaN where unknown, codes -1: none.

    `ends` gives where each hairpin ends, by the number of its direction.
    """

    text: Integers
    texts: tuple[str, ...]
    degree: npt.NDArray[np.float32]
    basis: Integers
    accent: Integers
    accents: tuple[str, ...]
    hairpin: Integers
    ends: dict[int, int]

    def columns(self) -> dict[str, Any]:
        """The columns of the table `notes`."""
        return {
            "dynamic": arrow.words(self.text, self.texts),
            "dynamic_degree": arrow.numbers(self.degree, ~np.isnan(self.degree)),
            "dynamic_basis": arrow.words(self.basis, BASES),
            "dynamic_accent": arrow.words(self.accent, self.accents),
            "hairpin": arrow.words(self.hairpin, HAIRPINS),
        }


HAIRPINS = ("crescendo", "diminuendo")


class _Level(NamedTuple):
    """A level from a time on, on one staff (and one voice, where the sign names it)."""

    time: int
    degree: float | None
    text: str
    from_words: bool


class _Span(NamedTuple):
    """A hairpin in time, or what of it lies between two levels within it.

    `low` and `high` are the levels that it joins, NaN where one is not known; `high` is held
    until the time `held`.
    """

    track: int
    start: int
    end: int
    held: int
    kind: int
    low: float
    high: float
    direction: int


def dynamics_of(
    places: Places,
    marks: Sequence[Sign],
    hairpins: Sequence[Sign],
    staves: Sequence[int],
    sharing: Sequence[bool],
    bar_start: Integers,
    word_bars: int,
    vocabulary: Vocabulary,
) -> Dynamics:
    """The dynamic of every note.

    Parameters
    ----------
    marks, hairpins
        Signs with a dynamic, and signs that ask for louder or softer.
    staves
        Staves of each part.
    sharing
        Parts whose staves share their dynamics (keyboards, harps): a later sign on another
        staff counts there too.
    bar_start
        Start of every bar, with the end of the last.
    word_bars
        Bars that cresc. and dim. in words last when nothing follows.
    """
    tracks, accents = _levels(marks, staves, vocabulary)
    texts: dict[str, int] = {}
    rows = [
        (
            track,
            level.time,
            level.degree,
            texts.setdefault(level.text, len(texts)),
            level.from_words,
        )
        for track, levels in sorted(tracks.items())
        for level in levels
    ]
    columns = list(zip(*rows, strict=True)) or [()] * 5
    track, time, text = (np.array(columns[i], np.int64) for i in (0, 1, 3))
    degree = np.array([np.nan if value is None else value for value in columns[2]], np.float32)
    words = np.array(columns[4], bool)
    own = in_force(places, track, time)
    if not len(rows):
        time, degree, text, words = (
            np.zeros(1, np.int64),
            np.full(1, np.nan, np.float32),
            np.full(1, -1),
            np.zeros(1, bool),
        )
    elsewhere = _elsewhere(places, track, time, staves)
    later = np.array(sharing, bool)[places.part] & (elsewhere >= 0)
    later &= time[np.maximum(elsewhere, 0)] > time[np.maximum(own, 0)]
    on_own = (own >= 0) & ~later
    at = np.where(on_own, own, elsewhere)
    known = at >= 0
    safe = np.maximum(at, 0)
    basis = np.where(known, np.where(on_own, OWN, OTHER_STAFF), NONE)
    basis = np.where(known & words[safe], WORD, basis)
    degrees = np.where(known, degree[safe], np.nan).astype(np.float32)
    spans = _spans(hairpins, tracks, staves, bar_start, word_bars)
    hairpin, degrees, basis = _apply_spans(places, spans, degrees, basis)
    accent, names = _accents(places, accents)
    return Dynamics(
        text=np.where(known, text[safe], -1),
        texts=tuple(texts),
        degree=degrees,
        basis=basis,
        accent=accent,
        accents=names,
        hairpin=hairpin,
        ends={span.direction: span.end for span in spans},
    )


def _levels(
    marks: Sequence[Sign], staves: Sequence[int], vocabulary: Vocabulary
) -> tuple[dict[int, list[_Level]], list[tuple[int, int, str]]]:
    """Levels of each track in order of time, and accents as (track, time, mark)."""
    entries = sorted(
        (track, sign.time, place)
        for place, sign in enumerate(marks)
        for track in sign.tracks(staves)
    )
    tracks: dict[int, list[_Level]] = defaultdict(list)
    accents: list[tuple[int, int, str]] = []
    for (track, time), group in groupby(entries, key=itemgetter(0, 1)):
        signs = [marks[place] for _, _, place in group]
        mark = _together(signs, vocabulary)
        if mark.accent:
            accents.append((track, time, mark.accent))
        degree = mark.degree
        if degree is None:
            if not mark.changes_level:
                continue
            levels = tracks[track]
            degree = mark.after(levels[-1].degree if levels else None, vocabulary)
        words = all(sign.from_words for sign in signs)
        tracks[track].append(_Level(time, degree, mark.printed, words))
    return tracks, accents


def _together(signs: Sequence[Sign], vocabulary: Vocabulary) -> DynamicMark:
    marks = [sign.meaning.dynamic for sign in signs if sign.meaning.dynamic is not None]
    if len(marks) == 1:
        return marks[0]
    distinct = list(dict.fromkeys(marks))
    return distinct[0] if len(distinct) == 1 else combine(distinct, vocabulary)


def _elsewhere(places: Places, track: Integers, time: Integers, staves: Sequence[int]) -> Integers:
    """The last level on any staff of the part, for parts of several staves."""
    if max(staves, default=1) < 2:
        return np.full(len(places.part), -1, np.int64)
    return last_before(part_of_tracks(track), time, places.part, places.onset)


def _spans(
    hairpins: Sequence[Sign],
    tracks: dict[int, list[_Level]],
    staves: Sequence[int],
    bar_start: Integers,
    word_bars: int,
) -> list[_Span]:
    """Hairpins in time.

    An open one ends with the next level, or after `word_bars` bars. Its degrees are known when
    a level is in force at its start and a level in its direction stands within a bar of its end.
    """
    spans: list[_Span] = []
    ends = bar_start.tolist()
    timed: dict[int, tuple[list[_Level], list[int]]] = {}
    for sign in hairpins:
        if sign.meaning.id not in HAIRPINS:
            continue
        for track in sign.tracks(staves):
            if track not in timed:
                levels = tracks.get(track, [])
                if track != all_voices(track):
                    levels = sorted(levels + tracks.get(all_voices(track), []), key=_time)
                timed[track] = levels, [level.time for level in levels]
            levels, times = timed[track]
            place = bisect_right(times, sign.time)
            following = times[place] if place < len(times) else ends[-1]
            end = _end(sign, following, ends, word_bars)
            if end > sign.time:
                spans += _between_levels(sign, track, end, levels, times, ends)
    return sorted(spans, key=lambda span: (span.track, span.start, span.end, span.kind))


def _time(level: _Level) -> int:
    return level.time


def _end(sign: Sign, following: int, bar_lines: Sequence[int], word_bars: int) -> int:
    """End of a hairpin, by the sign itself, by the next level or after some bars."""
    last = len(bar_lines) - 1
    bar = bisect_right(bar_lines, sign.time) - 1
    short = sign.end - sign.time < bar_lines[min(bar + 1, last)] - bar_lines[bar]
    if sign.end >= 0 and not (sign.from_words and short):
        return sign.end
    # A line of less than a bar belongs to the word, not to the time.
    return min(bar_lines[min(bar + word_bars, last)] + sign.time - bar_lines[bar], following)


def _between_levels(
    sign: Sign,
    track: int,
    end: int,
    levels: Sequence[_Level],
    times: Sequence[int],
    bar_lines: Sequence[int],
) -> list[_Span]:
    """A hairpin cut at the levels within it."""
    kind = HAIRPINS.index(sign.meaning.id)
    first = bisect_right(times, sign.time)
    inner = levels[first : bisect_left(times, end)]
    starts = [sign.time, *(level.time for level in inner)]
    before = [levels[first - 1] if first else None, *inner]
    place = first + len(inner)
    limit = bar_lines[min(bisect_right(bar_lines, end), len(bar_lines) - 1)]
    last = levels[place] if place < len(levels) and levels[place].time <= limit else None
    spans = []
    for number, (start, low, high) in enumerate(zip(starts, before, [*inner, last], strict=True)):
        degrees = [
            nan if level is None or level.degree is None else level.degree for level in (low, high)
        ]
        stop = min(end, high.time) if high else end
        held = high.time if high else end
        if sign.meaning.text.endswith("niente"):
            if kind == 0 and number == 0:
                degrees[0] = 0.0
            elif kind == 1 and stop == end:
                degrees[1], held = 0.0, end
        if not (degrees[1] > degrees[0] if kind == 0 else degrees[1] < degrees[0]):
            degrees, held = [nan, nan], end
        spans.append(_Span(track, start, stop, held, kind, degrees[0], degrees[1], sign.direction))
    return spans


def _apply_spans(
    places: Places,
    spans: Sequence[_Span],
    degree: npt.NDArray[np.float32],
    basis: Integers,
) -> tuple[Integers, npt.NDArray[np.float32], Integers]:
    none = np.full(len(places.part), -1, np.int64)
    if not spans:
        return none, degree, basis
    track, start, end, held, kind = (
        np.array([getattr(span, name) for span in spans], np.int64)
        for name in ("track", "start", "end", "held", "kind")
    )
    low = np.array([span.low for span in spans])
    high = np.array([span.high for span in spans])
    at = in_force(places, track, start)
    safe = np.maximum(at, 0)
    inside = (at >= 0) & (places.onset < end[safe])
    share = np.minimum((places.onset - start[safe]) / (end[safe] - start[safe]), 1)
    between = low[safe] + (high[safe] - low[safe]) * share
    joined = (at >= 0) & (places.onset < held[safe]) & ~np.isnan(between)
    return (
        np.where(inside, kind[safe], -1),
        np.where(joined, between, degree).astype(np.float32),
        np.where(joined, HAIRPIN, basis),
    )


def _accents(
    places: Places, accents: Sequence[tuple[int, int, str]]
) -> tuple[Integers, tuple[str, ...]]:
    """Accents of the notes that begin where one stands."""
    names: dict[str, int] = {}
    track = np.array([item[0] for item in accents], np.int64)
    time = np.array([item[1] for item in accents], np.int64)
    code = np.array([names.setdefault(item[2], len(names)) for item in accents], np.int64)
    at = in_force(places, track, time)
    here = at >= 0
    here[here] = time[at[here]] == places.onset[here]
    result = np.full(len(places.part), -1, np.int64)
    result[here] = code[at[here]]
    return result, tuple(names)


def rests_before(places: Places, end: Integers, bar_start: Integers) -> Integers:
    """For every note the start of the last rest of a bar or more before it on its staff.

    Parameters
    ----------
    end
        End of every note.
    bar_start
        Start of every bar, with the end of the last.

    Returns
    -------
    Starts of rests; -1 where there was none.
    """
    if not len(end):
        return np.empty(0, np.int64)
    staff = places.part * MOST_STAVES + places.staff
    order = np.lexsort((places.onset, staff))
    group, onset = staff[order], places.onset[order]
    span = int(end.max()) + 1
    # One running maximum serves all staves, because each lies above the one before.
    reached = np.maximum.accumulate(end[order] + group * span) - group * span
    before = np.zeros(len(order), np.int64)
    before[1:] = np.where(group[1:] == group[:-1], reached[:-1], 0)
    bar = np.clip(np.searchsorted(bar_start, before, "right") - 1, 0, len(bar_start) - 2)
    long = onset - before >= bar_start[bar + 1] - bar_start[bar]
    last = np.maximum.accumulate(
        np.where(long, before + 1 + group * (span + 1), group * (span + 1))
    )
    result = np.empty(len(order), np.int64)
    result[order] = last - group * (span + 1) - 1
    return result


def terms_in_force(
    places: Places,
    signs: Sequence[Sign],
    staves: Sequence[int],
    rest_before: Integers,
    reference: Reference,
) -> tuple[Integers, Integers, tuple[str, ...]]:
    """Terms in force: pairs of note and label, and the labels.

    A term holds until another of its state group, one that ends it, or the end of the line
    drawn after it; the default of a group (arco, senza sordino, tutti …) is not listed. Those of
    the group `note` hold for the notes at their place only, prominence ("Solo" in winds) until
    the next rest of a bar.

    Parameters
    ----------
    rest_before
        For every note the start of the last rest of a bar or more before it; -1: none.
    """
    changes: dict[str, list[tuple[int, int, str | None]]] = defaultdict(list)
    held_by: dict[tuple[int, str], str | None] = {}
    terms = reference.terms
    order = [(sign.time, 1, place) for place, sign in enumerate(signs)]
    order += [(sign.end, 0, place) for place, sign in enumerate(signs) if sign.end > sign.time]
    for time, begins, place in sorted(order):
        sign = signs[place]
        meaning = sign.meaning
        for track in sign.tracks(staves):
            if not begins:
                if held_by.get((track, meaning.group)) == meaning.id:
                    changes[meaning.group].append((track, time, None))
                    held_by[track, meaning.group] = None
                continue
            for ended in meaning.ends:
                group = ended.removeprefix("group:") if ":" in ended else terms[ended].group
                if ":" in ended or held_by.get((track, group)) == ended:
                    changes[group].append((track, sign.time, None))
                    held_by[track, group] = None
            term = terms.get(meaning.id)
            label = None if term is not None and term.is_default else meaning.id
            changes[meaning.group].append((track, sign.time, label))
            held_by[track, meaning.group] = label
    notes: list[Integers] = []
    codes: list[Integers] = []
    labels: dict[str, int] = {}
    for group in sorted(changes):
        tracks = np.array([item[0] for item in changes[group]], np.int64)
        times = np.array([item[1] for item in changes[group]], np.int64)
        code = np.array(
            [
                -1 if item[2] is None else labels.setdefault(item[2], len(labels))
                for item in changes[group]
            ],
            np.int64,
        )
        at = in_force(places, tracks, times)
        held = at >= 0
        held[held] = code[at[held]] >= 0
        if group == "note":
            held[held] = times[at[held]] == places.onset[held]
        if group == "prominence":
            held[held] = times[at[held]] >= rest_before[held]
        notes.append(np.flatnonzero(held))
        codes.append(code[at[held]])
    if not notes:
        return np.empty(0, np.int64), np.empty(0, np.int64), ()
    return np.concatenate(notes), np.concatenate(codes), tuple(labels)
