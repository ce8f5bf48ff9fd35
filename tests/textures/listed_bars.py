"""A few bars of a movement as text that a musician can read: rhythm of all lines, then notes.

Nothing in it comes from a measure: names, bars and notes are the reader's. Lines that play the
same notes throughout, at the unison or in octaves, share a row, as the eye sees them in a score.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import groupby, pairwise
from math import ceil

from sounding_rows import Bar, Row, Sound, interval_of, octaves, read_bars, read_rows, shape, within

from collaparte.questions import OpenStore
from collaparte.schema import TICKS

KEY_TO_SIGNS = (
    "Rhythm: x a note begins (2, 3 … so many begin in that place), - sounds on, ≈ a tremolo or "
    "roll sounds on, . silence.\n"
    "Notes: sounding pitch, C4 is middle C; the number before a colon is the length in quarters "
    "of what follows; – rest; [ ] chord; ~ tied over; ×3 three times; / // strokes of tremolo, "
    "≈ tremolo or roll without them, tr trill; % the bar before again; =NAME the notes of that "
    "row in this bar; & a second voice; < > dynamic and words that hold from here on (beside the "
    "name: at the first note). Grace notes, slurs and articulations are left out."
)
PLACES = (1, 2, 3, 4, 6, 8)
"""Places a quarter that the rhythm may be drawn in."""
WIDEST = 130
"""Places of the rhythm in a row at most."""
ON_PLACES = 0.97
"""Onsets that should fall on a place; a stray ornament must not make all rows longer."""
REFERRED = 14
"""Characters from which on a bar of notes is replaced by the name of a row that has them."""
REPEATED = 5
"""Characters from which on a bar like the one before is replaced by its sign."""

_VULGAR = {Fraction(1, 2): "½", Fraction(1, 3): "⅓", Fraction(2, 3): "⅔", Fraction(1, 4): "¼",
           Fraction(3, 4): "¾", Fraction(1, 6): "⅙", Fraction(1, 8): "⅛",
           Fraction(3, 8): "⅜"}  # fmt: skip


def listing(store: OpenStore, movement_key: int, first: int, count: int) -> str:
    """Bars of a movement as text.

    Parameters
    ----------
    first
        bar_index of the first bar.
    count
        Bars.
    """
    bars = read_bars(store, movement_key, first, count)
    rows = read_rows(store, movement_key, bars[0].start, bars[-1].end)
    head = (
        f"bars {bars[0].number}-{bars[-1].number}, {_key(bars[0])}, "
        f"{_tempo(store, movement_key, first)}"
    )
    changes = [
        f"from bar {bar.number}: {_key(bar)}"
        for last, bar in pairwise(bars)
        if (last.metre, last.fifths) != (bar.metre, bar.fifths)
    ]
    return "\n".join([head, *changes, "", *_rhythm(rows, bars), "", *_notes(rows, bars)])


def _tempo(store: OpenStore, movement_key: int, first: int) -> str:
    found = store.sql(
        "SELECT last(tempo_words ORDER BY bar_index) FILTER (tempo_words IS NOT NULL), "
        "last(tempo_quarters_per_minute ORDER BY bar_index) FROM bars "
        f"WHERE movement_key = {movement_key} AND bar_index <= {first}"
    )
    words, speed = found.fetchall()[0]
    told = (words or "").replace("[]", "").strip() or "no tempo words"
    return f"{told} ({speed:.0f} quarters a minute)" if speed else told


def _key(bar: Bar) -> str:
    if bar.fifths is None:
        return f"{bar.metre}, no key signature"
    sign = "sharp" if bar.fifths > 0 else "flat"
    many = f"{abs(bar.fifths)} {sign}{'s' if abs(bar.fifths) > 1 else ''}"
    return f"{bar.metre}, key signature (concert) {many if bar.fifths else 'without signs'}"


def _rhythm(rows: Sequence[Row], bars: Sequence[Bar]) -> list[str]:
    """One line of text a row: where notes begin, sound on and are silent."""
    places = _places(rows, bars)
    width = max((len(row.short) for row in rows), default=0)
    numbers = (f"{bar.number:<{_wide(bar, places)}}" for bar in bars)
    unit = _length(TICKS // places)
    return [
        f"Rhythm, a place is {unit} of a quarter" if places > 1 else "Rhythm, a place is a quarter",
        f"{'':<{width}}  " + " ".join(numbers),
        *(
            f"{row.short:<{width}} |" + "|".join(_drawn(row.sounds, bar, places) for bar in bars)
            for row in rows
        ),
    ]


def _places(rows: Sequence[Row], bars: Sequence[Bar]) -> int:
    """Places a quarter: the fewest on which nearly all onsets fall, or the best that fit."""
    starts = {bar.start for bar in bars}
    begun = [
        one.start - max(start for start in starts if start <= one.start)
        for row in rows
        for one in row.sounds
        if one.start >= bars[0].start
    ]
    fitting = [each for each in PLACES if sum(_wide(bar, each) for bar in bars) <= WIDEST]
    shares = {
        each: sum(start % (TICKS // each) == 0 for start in begun) / max(len(begun), 1)
        for each in fitting or PLACES[:1]
    }
    enough = [each for each, share in shares.items() if share >= ON_PLACES]
    return enough[0] if enough else max(shares, key=lambda each: (shares[each], -each))


def _wide(bar: Bar, places: int) -> int:
    return max(ceil((bar.end - bar.start) * places / TICKS), 1)


def _drawn(sounds: Iterable[Sound], bar: Bar, places: int) -> str:
    unit = TICKS // places
    signs = ["."] * _wide(bar, places)
    begun: dict[int, set[int]] = defaultdict(set)
    for one in within(sounds, bar):
        for place in range(
            (max(one.start, bar.start) - bar.start) // unit,
            ceil((min(one.end, bar.end) - bar.start) / unit),
        ):
            signs[place] = "≈" if one.shakes else "-"
        if one.start >= bar.start:
            begun[(one.start - bar.start) // unit].add(one.start)
    for place, starts in begun.items():
        signs[place] = "x" if len(starts) == 1 else str(min(len(starts), 9))
    return "".join(signs)


def _notes(rows: Sequence[Row], bars: Sequence[Bar]) -> list[str]:
    """One line of text a row: the notes of every bar."""
    lines = ["Notes"]
    seen: list[dict[object, Row]] = [{} for _ in bars]
    for row in rows:
        cells: list[str] = []
        before = ""
        state = row.sounds[0].state
        for bar, known in zip(bars, seen, strict=True):
            sounds = within(row.sounds, bar)
            cell, state = _cell(sounds, bar, state)
            shown = "%" if cell == before and len(cell) >= REPEATED else cell
            if sounds and "<" not in cell:
                other = known.setdefault(shape(sounds, bar.start, bar.end), row)
                if other is not row and len(shown) >= REFERRED:
                    interval = interval_of(sounds, within(other.sounds, bar))
                    shown = f"={other.names[0]}{octaves(interval)}"
            cells.append(shown)
            before = cell
        lines.append(f"{row.label}: " + " | ".join(cells))
    return lines


def _cell(sounds: Sequence[Sound], bar: Bar, state: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """The notes of one bar, and how the last of them is played."""
    if not sounds:
        return "–", state
    voices: list[list[list[Sound]]] = []
    for chord in _chords(sounds, bar):
        free = (one for one in voices if one[-1][0].end <= chord[0].start)
        voice = next(free, None)
        if voice is None:
            voices.append(voice := [])
        voice.append(chord)
    texts = []
    for voice in voices:
        tokens, state = _tokens(voice, bar, state)
        texts.append(" ".join(_grouped(tokens)))
    return " & ".join(texts), state


def _chords(sounds: Sequence[Sound], bar: Bar) -> list[list[Sound]]:
    """Notes of one onset and length, from high to low pitches, in order of time."""

    def place(one: Sound) -> tuple[int, int]:
        return max(one.start, bar.start), min(one.end, bar.end)

    ordered = sorted(sounds, key=lambda one: (*place(one), one.height or 0))
    return [list(group) for _, group in groupby(ordered, key=place)]


def _tokens(
    voice: Sequence[Sequence[Sound]], bar: Bar, state: tuple[str, ...]
) -> tuple[list[tuple[int, str]], tuple[str, ...]]:
    """Length in ticks and text of each chord and rest of one voice of a bar."""
    tokens: list[tuple[int, str]] = []
    at = bar.start
    for chord in voice:
        start, end = max(chord[0].start, bar.start), min(chord[0].end, bar.end)
        if start > at:
            tokens.append((start - at, "–"))
        text = " ".join(one.name for one in chord)
        text = f"[{text}]" if len(chord) > 1 else text
        text += "/" * chord[0].strokes or ("≈" if chord[0].shakes else "")
        text += "tr" if chord[0].trill else ""
        text = ("~" if chord[0].start < bar.start else "") + text
        text += "~" if chord[0].end > bar.end else ""
        if chord[0].state != state:
            state = chord[0].state
            text = f"<{', '.join(state) or 'no word'}> {text}"
        tokens.append((end - start, text))
        at = end
    if at < bar.end:
        tokens.append((bar.end - at, "–"))
    return tokens, state


def _grouped(tokens: Sequence[tuple[int, str]]) -> Iterator[str]:
    """Texts with their length before the first of those of one length, repeats counted."""
    for length, group in groupby(tokens, key=lambda token: token[0]):
        yield f"{_length(length)}:"
        yield from _counted([text for _, text in group])


def _counted(texts: Sequence[str]) -> Iterator[str]:
    """Texts in which what comes three times or is a figure that comes twice is told once."""
    at = 0
    while at < len(texts):
        best, times = 1, 1
        for period in range(1, 9):
            found = 1
            figure = texts[at : at + period]
            while texts[at + found * period : at + (found + 1) * period] == figure:
                found += 1
            if found >= (3 if period == 1 else 2) and found * period > best * times:
                best, times = period, found
        figure = texts[at : at + best]
        if times == 1:
            yield figure[0]
        else:
            yield (figure[0] if best == 1 else f"({' '.join(figure)})") + f"×{times}"
        at += best * times


def _length(ticks: int) -> str:
    """A length in quarters: 1, ½, 1½, 5/12."""
    quarters = Fraction(ticks, TICKS)
    whole, part = divmod(quarters, 1)
    if part == 0:
        return str(whole)
    if part in _VULGAR:
        return f"{whole or ''}{_VULGAR[part]}"
    return str(quarters.limit_denominator(96))
