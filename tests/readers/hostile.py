"""Files made to harm, each by a function that writes its bytes.

Run as a program it reads them all in one process and prints one JSON object: for each the
state and the codes of its remarks, and the most memory that the process ever took.
"""

from __future__ import annotations

import io
import json
import struct
import sys
import zipfile
from collections.abc import Callable

from scores import bar, direction, note, part, rest, score, words

ROOT = b'<?xml version="1.0" encoding="UTF-8"?>\n'
PLAIN = score(part(bar(note("C5", 4)), bar(note("D5", 4))))
FIRST_NOTE = PLAIN.index(b"<note>")


def within_first_bar(text: bytes) -> bytes:
    """The plain score with this before its first note."""
    return PLAIN[:FIRST_NOTE] + text + PLAIN[FIRST_NOTE:]


def with_doctype(declarations: str, reference: str) -> bytes:
    """The plain score with these declarations in its DOCTYPE, and a name that refers to them."""
    return PLAIN.replace(
        ROOT, ROOT + f"<!DOCTYPE score-partwise {declarations}>\n".encode()
    ).replace(b"Flute", reference.encode())


def zipped(content: bytes, name: str = "score.xml") -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, content)
    return buffer.getvalue()


def zip_bomb() -> bytes:
    return zipped(within_first_bar(b" " * (100 << 20)))


def two_gigabyte_claim() -> bytes:
    data = bytearray(zipped(PLAIN))
    at = data.index(b"PK\x01\x02") + 24
    data[at : at + 4] = struct.pack("<I", 0x7FFFFFFF)
    return bytes(data)


def nested_archive() -> bytes:
    return zipped(zipped(PLAIN))


def exponential_entities() -> bytes:
    levels = "".join(f'<!ENTITY e{n + 1} "{f"&e{n};" * 10}">' for n in range(12))
    return with_doctype(f'[<!ENTITY e0 "{"x" * 100}">{levels}]', "&e12;")


def quadratic_entity() -> bytes:
    return with_doctype(f'[<!ENTITY e "{"x" * 100_000}">]', "&e;" * 100_000)


def default_attributes() -> bytes:
    defaults = " ".join(f'a{n} CDATA "x"' for n in range(10_000))
    return with_doctype(f"[<!ATTLIST note {defaults}>]", "Flute")


def deep() -> bytes:
    return within_first_bar(b"<a>" * 100_000 + b"</a>" * 100_000)


def deep_with_comments() -> bytes:
    return within_first_bar(b"<a><!-- -->" * 100_000 + b"</a>" * 100_000)


def deep_without_end() -> bytes:
    return within_first_bar(b"<a>" * (20 << 20))


def million_attributes() -> bytes:
    attributes = b" ".join(b'a%d=""' % number for number in range(1_000_000))
    return within_first_bar(b"<a " + attributes + b"/>")


def hundred_thousand_attributes() -> bytes:
    attributes = b" ".join(b'a%d=""' % number for number in range(100_000))
    return within_first_bar(b"<a " + attributes + b"/>")


def million_names() -> bytes:
    return within_first_bar(b"".join(b"<a%d/>" % number for number in range(1_000_000)))


def endless_comment() -> bytes:
    return within_first_bar(b"<!-- " + b"x" * (50 << 20))


def endless_openings() -> bytes:
    return within_first_bar(b"<!--" * (5 << 20))


def endless_text() -> bytes:
    return within_first_bar(b"x" * (50 << 20))


def square() -> bytes:
    """As many parts as bars, and every table of parts by bars grows with the square."""
    parts = [part(bar(rest(4))) for _ in range(5_000)]
    return score(*parts, part(*[bar(rest(4)) for _ in range(5_000)]))


def timewise_square() -> bytes:
    measures = "".join(f'<measure><part id="P{n}"/></measure>' for n in range(20_000))
    return ROOT + f"<score-timewise>{measures}</score-timewise>".encode()


def endless_digits() -> bytes:
    digits = "9" * 5_000
    said = direction(words(digits), words(f"{digits}. solo"))
    return score(part(bar(said, note("C5", 4), number=digits), name=f"Horn {digits}"))


BOMBS: dict[str, Callable[[], bytes]] = {
    made.__name__: made
    for made in (
        zip_bomb,
        two_gigabyte_claim,
        nested_archive,
        exponential_entities,
        quadratic_entity,
        default_attributes,
        deep,
        deep_with_comments,
        deep_without_end,
        million_attributes,
        hundred_thousand_attributes,
        million_names,
        endless_comment,
        endless_openings,
        endless_text,
        square,
        timewise_square,
        endless_digits,
    )
}


def main() -> None:
    import resource

    from events import state, tables_of

    outcomes = {}
    for name, made in BOMBS.items():
        tables = tables_of(made(), "score.mxl")
        codes = tables["remarks"]["code"].to_pylist()
        outcomes[name] = {"state": state(tables), "codes": codes}
    unit = 1 if sys.platform == "darwin" else 1 << 10
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit
    json.dump({"outcomes": outcomes, "peak_bytes": peak}, sys.stdout)


if __name__ == "__main__":
    main()
