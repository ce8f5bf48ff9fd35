"""The bench of the textures runs on a tiny folder; no number is judged."""

from __future__ import annotations

from pathlib import Path

from test_bench import SCORE

import textures


def test_seconds_and_bars(tmp_path: Path) -> None:
    (tmp_path / "one.musicxml").write_text(SCORE, encoding="utf-8")
    seconds, bars = textures.seconds_and_bars(tmp_path)
    assert seconds > 0
    assert bars == 1
