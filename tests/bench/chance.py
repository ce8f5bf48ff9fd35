"""What share of doubled time chance would give, by kind and strictness, under each null model.

    python tests/bench/chance.py FOLDER [--draws N] [--json]

The figures are those of the question chance-by-kind, over all movements of the folder. Exits 1
where chance gives more of the strict doublings than it may: 1% over all kinds of the same line,
3% in one kind; 2 where a score cannot be read.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import measuring

from collaparte.settings import CHANCE_DRAWS, Settings

MODELS = ("shift", "harmony")
ALL = "all of the same line"
MOST_OF_ALL = 0.01
MOST_OF_A_KIND = 0.03


def measure(folder: Path, draws: int = CHANCE_DRAWS) -> list[dict[str, Any]]:
    """One row a kind and strictness: the answer to the question on a store of this folder."""
    import collaparte
    from collaparte.build import _build
    from collaparte.readers import read

    with tempfile.TemporaryDirectory() as temporary:
        store = Path(temporary) / "store"
        workers = os.cpu_count() or 1
        summary = _build(folder, store, workers, None, read, Settings(chance_draws=draws))
        if summary.failed or not summary.read:
            print(f"{folder}: {summary}", file=sys.stderr)
            raise SystemExit(2)
        answer = collaparte.open(store).ask("chance-by-kind", every_movement=True)
        return [dict(zip(answer.columns, row, strict=True)) for row in answer.fetchall()]


def beyond(rows: Sequence[dict[str, Any]]) -> list[str]:
    """What is beyond its bound, a sentence each."""
    sentences = []
    for row in rows:
        most = MOST_OF_ALL if row["kind"] == ALL else MOST_OF_A_KIND
        for model in MODELS:
            share = row[f"{model}_share"]
            chance, doubled = row[f"{model}_quarters"] or 0, row["doubled_quarters"]
            if share is None:  # nothing is doubled, or no movement has this null
                share = float("inf") if chance and not doubled else 0
            if row["strict"] and share > most:
                sentences.append(
                    f"strict {row['kind']}: the {model} null gives {100 * share:.1f}%, "
                    f"more than {100 * most:.0f}%"
                )
    return sentences


def report(rows: Sequence[dict[str, Any]], as_json: bool) -> int:
    """Print the shares, and what is beyond its bound; the exit code."""
    print(f"{'kind':<24}{'':<12}{'quarters':>10}" + "".join(f"{model:>10}" for model in MODELS))
    for row in rows:
        shares = [row[f"{model}_share"] for model in MODELS]
        texts = ["–" if share is None else f"{100 * share:.2f}%" for share in shares]
        strict = "strict" if row["strict"] else "inclusive"
        print(
            f"{row['kind']:<24}{strict:<12}{row['doubled_quarters']:>10.1f}"
            + "".join(f"{text:>10}" for text in texts)
        )
    sentences = beyond(rows)
    for sentence in sentences:
        print(sentence, file=sys.stderr)
    if as_json:
        print(json.dumps({"rows": rows, "beyond": sentences}))
    return 1 if sentences else 0


def main() -> None:
    parser = measuring.parser(__doc__)
    parser.add_argument(
        "--draws", type=int, default=CHANCE_DRAWS, metavar="N", help="draws of each null model"
    )
    asked = measuring.parsed(parser)
    sys.exit(report(measure(asked.folder, asked.draws), asked.json))


if __name__ == "__main__":
    main()
