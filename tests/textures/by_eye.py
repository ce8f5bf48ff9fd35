"""Textures named by eye, before the program's word is seen.

    python tests/textures/by_eye.py draw STORE --seed 1     20 passages a texture, in by_eye.csv
    python tests/textures/by_eye.py show STORE 17           the bars of passage 17
    python tests/textures/by_eye.py show STORE --share 2/4  the next one open in a quarter of them
    python tests/textures/by_eye.py answer 17 two_lines --second one_block --remark "…"
    python tests/textures/by_eye.py ask STORE --share 2/4   show, answer and see, one by one
    python tests/textures/by_eye.py compare STORE           all answers against the program

STORE is what `collaparte build` makes of a folder of scores. `--file` takes another file than
by_eye.csv beside this script. The file has the passages in an order drawn by lot and what was
answered, nothing that the program says of them, so that answers outlive a change of the measures:
`compare` asks the store that it is given. Only the first bars of a long passage are shown and
judged. An answer once written is never changed.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any

from filelock import FileLock
from listed_bars import KEY_TO_SIGNS, listing

import collaparte
from collaparte.questions import OpenStore
from collaparte.settings import Settings
from collaparte.statistics import kappa, proportion

FILE = Path(__file__).with_name("by_eye.csv")
PER_TEXTURE = 20
LEAST_BARS = 2
MOST_BARS = 8

TEXTURES = {
    "one_line": "all that sounds is one line: alone, in unison or in octaves",
    "one_block": "all that sounds moves in one rhythm, as chords; no line apart from it",
    "melody_over_sustained_harmony": "one melody, the rest mainly held notes; also these alone",
    "melody_over_repeated_notes": "one melody, the rest mainly repeated notes or chords, tremolo "
    "included; also these alone",
    "melody_over_figuration": "one melody, the rest mainly figures (broken chords, patterns that "
    "come again); also these alone",
    "two_lines": "a melody and a countermelody, with or without accompaniment",
    "three_or_more_lines": "part writing: three or more lines with a life of their own",
}
"""What each texture is, in a sentence."""


@dataclass(frozen=True)
class Passage:
    """One row of the file; the answer is empty until somebody names the texture."""

    number: int
    movement_id: str
    first_bar: str
    last_bar: str
    first_bar_index: int
    bars: int
    seed: int
    answer: str = ""
    second: str = ""
    remark: str = ""


@dataclass(frozen=True)
class Compared:
    """An answered passage and the program's words for its bars.

    Attributes
    ----------
    word
        Texture that holds for most of its bars as the passages of the program have it.
    own_share
        Share of its bars whose own texture is the one answered.
    margin
        Mean margin of its bars.
    """

    passage: Passage
    word: str
    own_share: float
    margin: float

    @property
    def same(self) -> bool:
        """The texture was named the same."""
        return self.word == self.passage.answer

    @property
    def same_or_second(self) -> bool:
        """The program's word is the first or the second answer."""
        return self.word in (self.passage.answer, self.passage.second)


def draw(store: OpenStore, seed: int) -> list[Passage]:
    """Passages drawn from a store: of each texture as evenly from all movements as there are.

    Parameters
    ----------
    seed
        Another seed gives other passages, in another order.

    Returns
    -------
    Passages numbered from 1 in an order of its own lot: the lot that draws a passage is
    smaller, the more passages its texture has, and would tell.
    """
    found = store.sql(
        f"""
        WITH candidates AS (
            SELECT
                texture, movement_id, movement_key, start_bar_index,
                least(bars, {MOST_BARS}) AS bars,
                sha256(concat_ws('|', 'draw', {seed}, movement_id, start_bar_index)) AS lot,
                sha256(concat_ws('|', 'order', {seed}, movement_id, start_bar_index)) AS place
            FROM texture_passages
            WHERE bars >= {LEAST_BARS}
        ),

        turns AS (
            SELECT *, row_number() OVER (PARTITION BY texture, movement_key ORDER BY lot) AS turn
            FROM candidates
        ),

        drawn AS (
            SELECT *
            FROM turns
            QUALIFY row_number() OVER (PARTITION BY texture ORDER BY turn, lot) <= {PER_TEXTURE}
        )

        SELECT
            row_number() OVER (ORDER BY place), drawn.movement_id, first.bar, final.bar,
            start_bar_index, drawn.bars, {seed}
        FROM drawn
        JOIN bars AS first
            ON first.movement_key = drawn.movement_key AND first.bar_index = start_bar_index
        JOIN bars AS final
            ON final.movement_key = drawn.movement_key
            AND final.bar_index = start_bar_index + drawn.bars - 1
        ORDER BY place
        """
    )
    return [Passage(*row) for row in found.fetchall()]


def write(file: Path, passages: Sequence[Passage]) -> None:
    """Write the file anew, whole or not at all."""
    with tempfile.NamedTemporaryFile(
        "w", encoding="utf-8", newline="", dir=file.parent, delete=False
    ) as stream:
        writer = csv.DictWriter(
            stream, [each.name for each in fields(Passage)], lineterminator="\n"
        )
        writer.writeheader()
        writer.writerows(map(asdict, passages))
    Path(stream.name).chmod(0o644)
    Path(stream.name).replace(file)


def read(file: Path) -> dict[int, Passage]:
    """The passages of the file by number."""
    if not file.is_file():
        raise SystemExit(f"{file}: there is no such file; `draw` makes it")
    with file.open(encoding="utf-8", newline="") as stream:
        rows = [_passage_of(row) for row in csv.DictReader(stream)]
    return {row.number: row for row in rows}


def _passage_of(row: Mapping[str, str]) -> Passage:
    facts: dict[str, Any] = dict(row)
    facts |= {name: int(row[name]) for name in ("number", "first_bar_index", "bars", "seed")}
    return Passage(**facts)


@contextmanager
def _alone(file: Path) -> Iterator[None]:
    """Nobody else answers meanwhile: several people may have the same file."""
    name = hashlib.sha256(str(file.resolve()).encode()).hexdigest()
    with FileLock(Path(tempfile.gettempdir()) / f"by-eye-{name[:16]}.lock"):
        yield


def answer(file: Path, number: int, texture: str, second: str = "", remark: str = "") -> None:
    """Write an answer down.

    Raises
    ------
    SystemExit
        There is no such passage, it has an answer, or no such texture is offered.
    """
    with _alone(file):
        passages = read(file)
        passage = _passage(passages, number)
        if passage.answer:
            raise SystemExit(f"passage {number} is answered; an answer is never changed")
        first, other = named(texture), named(second) if second else ""
        if first == other:
            raise SystemExit("the second choice is the first")
        passages[number] = replace(passage, answer=first, second=other, remark=remark)
        write(file, list(passages.values()))


def named(text: str) -> str:
    """The texture meant by its name, with spaces or underscores, or by its place in the list."""
    names = list(TEXTURES)
    name = "_".join(text.lower().split())
    if name.isdigit() and 1 <= int(name) <= len(names):
        return names[int(name) - 1]
    if name not in names:
        raise SystemExit(f"{text}: no such texture; there are {', '.join(names)}")
    return name


def _passage(passages: Mapping[int, Passage], number: int) -> Passage:
    if number not in passages:
        raise SystemExit(f"there is no passage {number}; there are 1 to {max(passages, default=0)}")
    return passages[number]


def open_numbers(file: Path, share: tuple[int, int]) -> list[int]:
    """Numbers without an answer in one share: the k-th and every n-th after it."""
    which, of = share
    return [n for n, each in read(file).items() if not each.answer and n % of == which % of]


def shown(store: OpenStore, passage: Passage) -> str:
    """The listing of a passage, with the textures offered and the signs explained."""
    offered = (f"{n} {name}: {text}" for n, (name, text) in enumerate(TEXTURES.items(), 1))
    bars = listing(
        store, _movement_keys(store)[passage.movement_id], passage.first_bar_index, passage.bars
    )
    return (
        f"Passage {passage.number}: {passage.movement_id}, {bars}\n\n{KEY_TO_SIGNS}\n\n"
        "Which texture do most of these bars have?\n" + "\n".join(offered)
    )


def _movement_keys(store: OpenStore) -> dict[str, int]:
    return dict(store.sql("SELECT movement_id, movement_key FROM movements").fetchall())


def compared(store: OpenStore, passages: Sequence[Passage]) -> list[Compared]:
    """The answered passages beside what the store says of them now."""
    keys = _movement_keys(store)
    found = []
    for passage in passages:
        if not passage.answer:
            continue
        if passage.movement_id not in keys:
            raise SystemExit(f"{passage.movement_id}: the store has no such movement")
        rows = store.sql(
            "SELECT passage_texture, texture, margin FROM textures "
            f"WHERE movement_key = {keys[passage.movement_id]} AND bar_index >= "
            f"{passage.first_bar_index} AND bar_index < {passage.first_bar_index + passage.bars} "
            "AND texture IS NOT NULL ORDER BY bar_index"
        ).fetchall()
        words, own, margins = zip(*rows, strict=True)
        found.append(
            Compared(
                passage,
                Counter(words).most_common(1)[0][0],
                own.count(passage.answer) / len(own),
                sum(margins) / len(margins),
            )
        )
    return found


def report(found: Sequence[Compared], drawn: int) -> str:
    """The share named the same, by texture and as a confusion table, and the disagreements."""
    if not found:
        return "no passage is answered"
    same = proportion([one.same for one in found], [1] * len(found), Settings().confidence)
    low, high = same.interval or (0, 0)
    either = sum(one.same_or_second for one in found) / len(found)
    own = sum(one.own_share for one in found) / len(found)
    beyond = kappa([one.passage.answer for one in found], [one.word for one in found])
    lines = [
        f"{len(found)} of {drawn} passages answered",
        f"named the same: {same.share:.1%} ({low:.1%} to {high:.1%}), "
        f"kappa {'–' if beyond is None else f'{beyond:.2f}'}",
        f"first or second choice the same: {either:.1%}",
        f"bars whose own texture is the one named, mean over passages: {own:.1%}",
        "",
        *_confusion(found),
        "",
        "disagreements:",
    ]
    for one in sorted(found, key=lambda one: one.passage.number):
        if not one.same:
            each = one.passage
            second = f" (second {each.second})" if each.second else ""
            lines.append(
                f"{each.number:>3} {each.movement_id} {each.first_bar}-{each.last_bar}: by eye "
                f"{each.answer}{second}, program {one.word}, margin {one.margin:.2f}, bars as "
                f"named {one.own_share:.0%}{'; ' if each.remark else ''}{each.remark}"
            )
    return "\n".join(lines)


def _confusion(found: Sequence[Compared]) -> list[str]:
    """Rows: named by eye; columns: the program's word, by their place in the list."""
    counts = Counter((one.passage.answer, one.word) for one in found)
    width = max(map(len, TEXTURES)) + 2
    lines = [
        f"{'by eye, down; program, across':<{width}}"
        + "".join(f"{place:>5}" for place in range(1, len(TEXTURES) + 1))
    ]
    for place, name in enumerate(TEXTURES, 1):
        row = "".join(f"{counts[name, other] or '.':>5}" for other in TEXTURES)
        lines.append(f"{f'{place} {name}':<{width}}{row}")
    same = []
    for name in TEXTURES:
        total = sum(counts[other, name] for other in TEXTURES)
        same.append(f"{counts[name, name] / total:>5.0%}" if total else "    –")
    return [*lines, "of the program's, the same".ljust(width) + "".join(same)]


def ask(store: OpenStore, file: Path, share: tuple[int, int]) -> None:
    """Show, ask, write down and only then tell the program's word, until all are answered."""
    for number in open_numbers(file, share):
        print(shown(store, read(file)[number]))
        while True:
            first = input("texture (name or number; nothing to stop): ").strip()
            if not first:
                return
            second = input("second choice, if any: ").strip()
            remark = input("remark, if any: ").strip()
            try:
                answer(file, number, first, second, remark)
                break
            except SystemExit as refused:
                print(refused)
        (found,) = compared(store, [read(file)[number]])
        print(f"\nwritten down; the program says {found.word}\n")


def _share(text: str) -> tuple[int, int]:
    which, of = map(int, text.split("/"))
    if not 1 <= which <= of:
        raise ValueError(text)
    return which, of


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    commands = parser.add_subparsers(dest="command", required=True)
    for name in ("draw", "show", "answer", "ask", "compare"):
        command = commands.add_parser(name)
        command.add_argument("--file", type=Path, default=FILE, help="the passages and answers")
        if name != "answer":
            command.add_argument("store", type=Path)
        if name == "draw":
            command.add_argument("--seed", type=int, required=True)
        if name == "show":
            command.add_argument("number", type=int, nargs="?")
        if name == "answer":
            command.add_argument("number", type=int)
            command.add_argument("texture")
            command.add_argument("--second", default="")
            command.add_argument("--remark", default="")
        if name in ("show", "ask"):
            command.add_argument("--share", type=_share, default=(1, 1), metavar="K/N")
    return parser


def main(arguments: Sequence[str] | None = None) -> None:
    given = _parser().parse_args(arguments)
    if given.command == "answer":
        answer(given.file, given.number, given.texture, given.second, given.remark)
        print(f"passage {given.number} is answered")
        return
    store = collaparte.open(given.store)
    if given.command == "draw":
        if given.file.exists():
            raise SystemExit(f"{given.file} is there; a draw writes over no answers")
        passages = draw(store, given.seed)
        write(given.file, passages)
        print(f"{len(passages)} passages drawn")
    elif given.command == "show":
        number = given.number
        if number is None:
            left = open_numbers(given.file, given.share)
            if not left:
                print("all of this share are answered")
                return
            number = left[0]
        print(shown(store, _passage(read(given.file), number)))
    elif given.command == "ask":
        ask(store, given.file, given.share)
    else:
        passages = list(read(given.file).values())
        print(report(compared(store, passages), len(passages)))


if __name__ == "__main__":
    main()
