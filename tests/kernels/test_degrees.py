"""Degrees: where they rise, and what always holds of them."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from collaparte.kernels.degrees import reaching, rising

SHARES = st.floats(0, 1)


def test_rising_is_a_straight_line_between_two_values() -> None:
    found = rising(np.array([-1, 2, 3, 4, 9]), 2, 4)
    assert found.tolist() == [0, 0, 0.5, 1, 1]


def test_reaching_is_half_at_the_threshold() -> None:
    # A half of 4 to either side: from 2 to 6.
    assert reaching(np.array([2, 3, 4, 5, 6]), 4, 0.5).tolist() == [0, 0.25, 0.5, 0.75, 1]


def test_reaching_ends_with_the_greatest_value_there_can_be() -> None:
    # From 0.8 on there is 0.2 left above, and so it begins 0.2 below.
    found = reaching(np.array([0.6, 0.8, 0.9, 1]), 0.8, 0.5, most=1)
    assert np.allclose(found, [0, 0.5, 0.75, 1])


def test_reaching_takes_a_threshold_for_each_value() -> None:
    assert reaching(np.array([1, 3, 0]), np.array([1, 2, 0]), 0.5).tolist() == [0.5, 1, 1]


@given(SHARES, SHARES, st.floats(0.01, 2), st.floats(0.1, 0.9))
def test_a_degree_never_falls_with_its_value(
    one: float, other: float, threshold: float, spread: float
) -> None:
    low, high = sorted((one, other))
    found = reaching(np.array([low, high]), threshold, spread)
    assert 0 <= found[0] <= found[1] <= 1
    for value, degree in zip((low, high), found, strict=True):
        assert degree > 0.5 or value <= threshold + 1e-9
        assert degree < 0.5 or value >= threshold - 1e-9
