"""Writes the scores and their truths: `cd tests && python -m studies.generate`."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from studies.musicxml import compressed, document
from studies.plan import Study
from studies.score import make_score
from studies.truth import truth_of
from studies.works import STUDIES

TRUTHS = Path(__file__).parent / "truth"
SCORES = Path(__file__).parents[2] / "pipeline" / "collaparte" / "invented"


def files_of(study: Study) -> Iterator[tuple[Path, bytes]]:
    """The files of one study, each with its bytes: the same every time, whatever the machine."""
    score = make_score(study)
    data = compressed(f"{study.stem}.musicxml", document(score))
    yield SCORES / f"{study.stem}.mxl", data
    yield TRUTHS / f"{study.stem}.truth.json", _one_row_a_line(truth_of(score)).encode()


def _one_row_a_line(truth: dict[str, Any]) -> str:
    lines = []
    for name, value in truth.items():
        text = json.dumps(value, ensure_ascii=False)
        if isinstance(value, list) and value:
            rows = ",\n  ".join(json.dumps(row, ensure_ascii=False) for row in value)
            text = f"[\n  {rows}\n ]"
        lines.append(f" {json.dumps(name)}: {text}")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def main() -> None:
    """Write all files."""
    for study in STUDIES:
        for path, data in files_of(study):
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)
            sys.stdout.write(f"{path.name}: {len(data)} bytes\n")


if __name__ == "__main__":
    main()
