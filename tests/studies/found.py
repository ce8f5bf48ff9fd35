"""The lines of a study that was read, by the names that its truth gives them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

import pyarrow as pa


def named_lines(tables: Mapping[str, pa.Table]) -> dict[int, dict[str, Any]]:
    """Part, staff, place on the staff from 1, instrument and whether alone, by key of the line."""
    part_ids = dict(
        zip(
            tables["parts"]["part_index"].to_pylist(),
            tables["parts"]["part_id"].to_pylist(),
            strict=True,
        )
    )
    notes = tables["notes"]
    staff = dict(zip(notes["line_key"].to_pylist(), notes["staff"].to_pylist(), strict=True))
    alike: dict[tuple[str, int, str, bool], list[int]] = defaultdict(list)
    for row in sorted(tables["lines"].to_pylist(), key=lambda row: row["line_key"]):
        key = row["line_key"]
        place = part_ids[row["part_index"]], staff[key], row["instrument"]
        alike[*place, row["player"].endswith("solo")].append(key)
    return {
        key: {"part": part, "staff": staff, "line": place, "instrument": name, "alone": alone}
        for (part, staff, name, alone), keys in alike.items()
        for place, key in enumerate(keys, 1)
    }
