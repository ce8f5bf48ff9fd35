"""A store of two movements, small enough to know by heart."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pyarrow as pa

from collaparte import reference
from collaparte.remarks import Remark, remarks_table
from collaparte.schema import empty, keys, table_of
from collaparte.settings import Settings, settings_table
from collaparte.store import commit

CHORAL = "anon.mass.kyrie"
BROKEN = "anon.mass.gloria"

_LINES = (
    # part name, instrument, family, ensemble, confidence, notes
    ("Oboe", "oboe", "woodwind", "player", "certain", 3),
    ("Soprano", "voice-soprano-choir", "voice", "chorus", "certain", 4),
    ("Alto", "voice-alto-choir", "voice", "chorus", "guess", 4),
)


def make_store(root: Path) -> Path:
    """The store, in a new folder below `root`."""
    facts = {name: empty(name) for name in reference.load().tables()}
    common = {**facts, "settings": settings_table(Settings())}
    commit(root / "store", [(CHORAL, _choral()), (BROKEN, _broken())], common, Settings())
    return root / "store"


def _choral() -> Mapping[str, pa.Table]:
    remark = Remark("hairpin-open", "A hairpin has no end.", "ended at the next dynamic", bar="4")
    return {
        "movements": _movement(CHORAL, "read", composer="Anonymous, called „A|B“", bars=8, lines=3),
        "lines": _lines(),
        "remarks": remarks_table(CHORAL, [remark]),
    }


def _broken() -> Mapping[str, pa.Table]:
    remark = Remark("not-xml", "The file ends within a tag.", "left out", severity="error")
    return {
        "movements": _movement(BROKEN, "failed"),
        "remarks": remarks_table(BROKEN, [remark]),
    }


def _movement(movement_id: str, state: str, **facts: object) -> pa.Table:
    stated = {
        "work_id": "anon.mass",
        "work": "Mass",
        "invented": True,
        "source_kind": "file",
        "scoring_complete": "yes",
        "counts": True,
        "may_show_notation": True,
        "may_share_events": True,
        "state": state,
        **facts,
    }
    return table_of("movements", movement_id, {name: [value] for name, value in stated.items()})


def _lines() -> pa.Table:
    names, instruments, families, ensembles, confidences, notes = zip(*_LINES, strict=True)
    rows = len(_LINES)
    return table_of(
        "lines",
        CHORAL,
        {
            "line_key": keys(CHORAL, np.arange(rows)),
            "part_index": list(range(rows)),
            "part_name": names,
            "player": names,
            "player_key": keys(CHORAL, np.arange(rows)),
            "line_basis": ["part"] * rows,
            "instrument": instruments,
            "instrument_confidence": confidences,
            "family": families,
            "ensemble": ensembles,
            "ensemble_basis": ["name"] * rows,
            "ensemble_confidence": confidences,
            "sounding_ticks": [0] * rows,
            "notes": notes,
        },
    )
