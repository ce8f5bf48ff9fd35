"""Writes the scores and their truths: `cd tests && python -m studies.generate`."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

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
    truth = json.dumps(truth_of(score), indent=1, ensure_ascii=False)
    yield TRUTHS / f"{study.stem}.truth.json", (truth + "\n").encode()


def main() -> None:
    """Write all files."""
    for study in STUDIES:
        for path, data in files_of(study):
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)
            sys.stdout.write(f"{path.name}: {len(data)} bytes\n")


if __name__ == "__main__":
    main()
