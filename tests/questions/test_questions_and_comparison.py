"""The question of a pair and the comparison of works tell the same rates."""

from __future__ import annotations

from pathlib import Path

import pytest

import collaparte


@pytest.mark.parametrize(("instrument", "partner"), [("oboe", "violin"), ("clarinet", "chorus")])
def test_rates_of_every_work(default_store: Path, instrument: str, partner: str) -> None:
    opened = collaparte.open(default_store)
    asked = opened.ask(
        "rate-of-a-pair", instrument=instrument, partner=partner, every_movement=True
    )
    rates = {
        (work, rate): value
        for work, *values in asked.project("work_id, f1, f2, e").fetchall()
        for rate, value in zip(("F1", "F2", "E"), values, strict=True)
        if work is not None and value is not None
    }
    compared = opened.compare(instrument, partner, by="work", every_movement=True).table
    told = compared.filter("kind = 'any of these' AND mean IS NOT NULL")
    means = {(work, rate): mean for work, rate, mean in told.project("work, rate, mean").fetchall()}
    assert len(rates) >= 3
    assert rates == pytest.approx(means)
