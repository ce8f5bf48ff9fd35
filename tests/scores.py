"""Small MusicXML scores in few words: every function returns a piece of text, `score` the bytes.

Elements are written in the order that the standard demands. Pitches are written pitches, as
`C5`, `Bb3`, `F##4`; durations are in the part's divisions.
"""

from __future__ import annotations

from typing import NamedTuple

STANDARD = "4.0"
_ALTERS = {"b": -1, "#": 1}


class Bar(NamedTuple):
    """One bar: its content, and its attributes where they are not just a running number."""

    content: str
    number: str | None
    attributes: str


class Part(NamedTuple):
    """One part: its entry in the list of parts, and its bars."""

    part_id: str | None
    entry: str
    bars: tuple[Bar, ...]


def element(name: str, content: object = "", **attributes: object) -> str:
    """An element; attributes that are None are left out, `_` in their names becomes `-`."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{value}"'
        for key, value in attributes.items()
        if value is not None
    )
    if content == "" or content is None:
        return f"<{name}{written}/>"
    return f"<{name}{written}>{content}</{name}>"


def maybe(name: str, content: object | None) -> str:
    """The element, or nothing where its content is None."""
    return "" if content is None else element(name, content)


def pitch(text: str, alter: str | None = None) -> str:
    """A `pitch` element; `alter` as text outranks the signs in the name."""
    step, signs, octave = text[0], text[1:].rstrip("0123456789"), text.lstrip("ABCDEFGb#")
    if alter is None and signs:
        alter = str(sum(_ALTERS[sign] for sign in signs))
    inner = element("step", step) + maybe("alter", alter) + element("octave", octave)
    return element("pitch", inner)


def note(
    written: str,
    duration: object | None = None,
    *,
    alter: str | None = None,
    grace: str | None = None,
    cue: bool = False,
    chord: bool = False,
    tie: str = "",
    instrument: str | None = None,
    voice: object | None = None,
    type_: str | None = None,
    size: str | None = None,
    accidental: str | None = None,
    ratio: str | None = None,
    notehead: str | None = None,
    staff: int | None = None,
    notations: str = "",
    lyric: str = "",
    **attributes: object,
) -> str:
    """A note; `written` is a pitch, `unpitched E4`, `rest` or a ready element.

    `grace` is the text of the grace element's attributes (may be empty), `tie` a list of types,
    `ratio` a time modification such as `3:2`.
    """
    if written.startswith("unpitched"):
        shown = written.removeprefix("unpitched").strip()
        sound = element(
            "unpitched",
            element("display-step", shown[0]) + element("display-octave", shown[1:])
            if shown
            else "",
        )
    elif written == "rest":
        sound = "<rest/>"
    elif written.startswith("<"):
        sound = written
    else:
        sound = pitch(written, alter)
    actual, _, normal = (ratio or "").partition(":")
    content = (
        ("" if grace is None else f"<grace {grace}/>")
        + ("<cue/>" if cue else "")
        + ("<chord/>" if chord else "")
        + sound
        + maybe("duration", duration)
        + "".join(element("tie", type=kind) for kind in tie.split())
        + ("" if instrument is None else element("instrument", id=instrument))
        + maybe("voice", voice)
        + ("" if type_ is None else element("type", type_, size=size))
        + maybe("accidental", accidental)
        + (
            element(
                "time-modification",
                element("actual-notes", actual) + element("normal-notes", normal),
            )
            if ratio
            else ""
        )
        + maybe("notehead", notehead)
        + maybe("staff", staff)
        + (element("notations", notations) if notations else "")
        + lyric
    )
    return element("note", content, **attributes)


def chord(*written: str, duration: object, **more: object) -> str:
    """Notes that sound together, each with its pitch."""
    return "".join(
        note(pitch, duration, chord=place > 0, **more)  # type: ignore[arg-type]
        for place, pitch in enumerate(written)
    )


def rest(duration: object, *, measure: bool = False, **more: object) -> str:
    """A rest, or with `measure` a rest that fills the bar."""
    return note('<rest measure="yes"/>' if measure else "rest", duration, **more)  # type: ignore[arg-type]


def backup(duration: object) -> str:
    return element("backup", element("duration", duration))


def forward(duration: object, *, voice: object | None = None, staff: int | None = None) -> str:
    return element(
        "forward", element("duration", duration) + maybe("voice", voice) + maybe("staff", staff)
    )


def transpose(
    chromatic: object,
    diatonic: int | None = None,
    octave: int | None = None,
    *,
    double: str | None = None,
    number: int | None = None,
) -> str:
    """A `transpose` element; `double` is `below` or `above`."""
    content = (
        maybe("diatonic", diatonic)
        + element("chromatic", chromatic)
        + maybe("octave-change", octave)
        + ("" if double is None else element("double", above="yes" if double == "above" else None))
    )
    return element("transpose", content, number=number)


def time(*pairs: str, number: int | None = None) -> str:
    """A time signature of pairs such as `3/4` or `3+2/8`; without pairs it is senza misura."""
    content = "".join(
        element("beats", beats) + element("beat-type", unit)
        for beats, unit in (pair.split("/") for pair in pairs)
    )
    return element("time", content or "<senza-misura/>", number=number)


def key(fifths: int, number: int | None = None) -> str:
    return element("key", element("fifths", fifths), number=number)


def attributes(
    *,
    divisions: object | None = None,
    keys: str = "",
    times: str = "",
    staves: int | None = None,
    clefs: str = "",
    details: str = "",
    transposes: str = "",
    styles: str = "",
) -> str:
    """An `attributes` element of ready pieces, in the standard's order."""
    return element(
        "attributes",
        maybe("divisions", divisions)
        + keys
        + times
        + maybe("staves", staves)
        + clefs
        + details
        + transposes
        + (element("measure-style", styles) if styles else ""),
    )


def direction(
    *types: str,
    offset: str = "",
    voice: object | None = None,
    staff: int | None = None,
    sound: str = "",
    **more: object,
) -> str:
    """A direction; each of `types` is the content of one `direction-type`."""
    content = (
        "".join(element("direction-type", kind) for kind in types)
        + offset
        + maybe("voice", voice)
        + maybe("staff", staff)
        + sound
    )
    return element("direction", content, **more)


def words(text: str) -> str:
    return element("words", text)


def dynamics(*marks: str) -> str:
    return element("dynamics", "".join(f"<{mark}/>" for mark in marks))


def wedge(kind: str, number: int | None = None) -> str:
    return element("wedge", type=kind, number=number)


def tremolo(strokes: object, kind: str = "single") -> str:
    """Content of `notations`: a tremolo on one note or between two."""
    return element("ornaments", element("tremolo", strokes, type=kind))


def barline(
    *,
    location: str = "right",
    segno: bool = False,
    ending: tuple[str, str] | None = None,
    repeat: str | None = None,
    times: int | None = None,
    **more: object,
) -> str:
    """A barline; `ending` is its number and type."""
    content = (
        ("<segno/>" if segno else "")
        + ("" if ending is None else element("ending", number=ending[0], type=ending[1]))
        + ("" if repeat is None else element("repeat", direction=repeat, times=times))
    )
    return element("barline", content, location=location, **more)


def bar(*content: str, number: str | None = None, **attributes: object) -> Bar:
    """A bar; without `number` it gets its place in the part, counted from 1."""
    return Bar(
        "".join(content),
        number,
        "".join(f' {name.replace("_", "-")}="{value}"' for name, value in attributes.items()),
    )


def part(
    *bars: Bar,
    name: str = "Flute",
    part_id: str | None = None,
    divisions: object | None = 1,
    entry: str = "",
) -> Part:
    """A part; `divisions` opens its first bar, `entry` is what follows its name in the list."""
    if divisions is not None:
        first = attributes(divisions=divisions) + bars[0].content
        bars = (bars[0]._replace(content=first), *bars[1:])
    return Part(part_id, element("part-name", name) + entry, bars)


def instrument(instrument_id: str, name: str) -> str:
    """A `score-instrument` of a part's entry."""
    return element("score-instrument", element("instrument-name", name), id=instrument_id)


def midi_instrument(instrument_id: str, **content: object) -> str:
    """A `midi-instrument` of a part's entry."""
    inner = "".join(element(name.replace("_", "-"), value) for name, value in content.items())
    return element("midi-instrument", inner, id=instrument_id)


def named(parts: tuple[Part, ...]) -> list[tuple[str, Part]]:
    return [(item.part_id or f"P{place}", item) for place, item in enumerate(parts, 1)]


def measure(item: Bar, place: int, content: str | None = None) -> str:
    number = str(place) if item.number is None else item.number
    inner = item.content if content is None else content
    return f'<measure number="{number}"{item.attributes}>{inner}</measure>'


def score(*parts: Part, head: str = "", part_list: str | None = None) -> bytes:
    """A partwise score; `head` stands before the list of parts, which is made from the parts."""
    entries = "".join(element("score-part", p.entry, id=name) for name, p in named(parts))
    body = "".join(
        f'<part id="{name}">'
        + "\n".join(measure(item, place) for place, item in enumerate(p.bars, 1))
        + "</part>\n"
        for name, p in named(parts)
    )
    listed = element("part-list", entries if part_list is None else part_list)
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<score-partwise version="{STANDARD}">{head}{listed}\n{body}</score-partwise>\n'
    )
    return text.encode()


def timewise(*parts: Part) -> bytes:
    """The same as a timewise score: bars outside, parts within."""
    entries = "".join(element("score-part", p.entry, id=name) for name, p in named(parts))
    bars = []
    for place, first in enumerate(parts[0].bars):
        inside = "".join(
            f'<part id="{name}">{p.bars[place].content}</part>' for name, p in named(parts)
        )
        bars.append(measure(first, place + 1, inside))
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<score-timewise version="{STANDARD}">{element("part-list", entries)}\n'
        + "\n".join(bars)
        + "</score-timewise>\n"
    )
    return text.encode()
