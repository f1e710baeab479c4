"""Ranges and shapes, against scipy's distributions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import triang, uniform

from vent_family.proposing.robust.spread import Spread

PLACES = np.linspace(0.0, 1.0, 101)


@pytest.mark.parametrize(
    ("low", "middle", "high"), [(-3.0, 0.0, 3.0), (0.1, 0.2, 0.4), (0.7, 0.7, 1.0), (1.0, 2.0, 2.0)]
)
def test_triangle(low: float, middle: float, high: float) -> None:
    theirs = triang((middle - low) / (high - low), low, high - low).ppf(PLACES)
    assert Spread("triangle", low, middle, high).at(PLACES) == pytest.approx(theirs, abs=1e-12)


def test_triangle_of_the_logarithm_is_a_triangle_of_decibels() -> None:
    theirs = triang(np.log(1 / 0.8) / np.log(1.3 / 0.8), np.log(0.8), np.log(1.3 / 0.8))
    ours = Spread("triangle of the logarithm", 0.8, 1.0, 1.3).at(PLACES)
    assert np.log(ours) == pytest.approx(theirs.ppf(PLACES), abs=1e-12)


def test_even() -> None:
    theirs = uniform(-0.12, 0.24).ppf(PLACES)
    assert Spread("even", -0.12, 0.0, 0.12).at(PLACES) == pytest.approx(theirs)


def test_a_range_without_width_is_its_middle() -> None:
    assert Spread("triangle", 2.0, 2.0, 2.0).at(PLACES).tolist() == [2.0] * 101
