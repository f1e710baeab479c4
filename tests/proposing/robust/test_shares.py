"""Sobol shares against functions whose shares are known in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vent_family.base.arrays import FloatArray
from vent_family.proposing.robust.shares import SobolShare, sobol_shares


def by_name(found: tuple[SobolShare, ...]) -> dict[str, SobolShare]:
    return {share.name: share for share in found}


def test_ishigami() -> None:
    """Ishigami and Homma 1990, with a = 7 and b = 0.1; closed forms from memory.

    V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2, V1 = (1 + b pi^4/5)^2 / 2, V2 = a^2/8, V3 = 0,
    V13 = b^2 pi^8 (1/18 - 1/50).
    """
    a, b = 7.0, 0.1

    def ishigami(u: FloatArray) -> FloatArray:
        x = math.pi * (2.0 * u - 1.0)
        return np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])

    p4 = math.pi**4
    whole = a**2 / 8 + b * p4 / 5 + b**2 * p4**2 / 18 + 0.5
    one, two = 0.5 * (1 + b * p4 / 5) ** 2 / whole, a**2 / 8 / whole
    both = b**2 * p4**2 * (1 / 18 - 1 / 50) / whole
    found = by_name(sobol_shares(ishigami, ["x1", "x2", "x3"], seed=4, base=2048))
    for name, first, total in (("x1", one, one + both), ("x2", two, two), ("x3", 0.0, both)):
        share = found[name]
        assert share.first == pytest.approx(first, abs=0.015)
        assert share.total == pytest.approx(total, abs=0.015)
        # The stated uncertainty holds what the sample is off.
        assert abs(share.first - first) <= share.first_off
        assert abs(share.total - total) <= share.total_off


def test_an_additive_linear_quantity_has_its_squared_slopes() -> None:
    slopes = np.array([1.0, 2.0, 3.0, 0.0])
    found = sobol_shares(lambda u: u @ slopes, ["a", "b", "c", "d"], seed=2)
    assert [share.name for share in found] == ["c", "b", "a", "d"]
    for share, slope in zip(found, (3.0, 2.0, 1.0, 0.0), strict=True):
        assert share.first == pytest.approx(slope**2 / 14.0, abs=0.01)
        assert share.total == pytest.approx(slope**2 / 14.0, abs=0.01)


def test_what_two_do_only_together_counts_for_both_totals() -> None:
    """(u - 1/2)(v - 1/2): no first shares, both totals 1."""
    found = sobol_shares(lambda u: (u[:, 0] - 0.5) * (u[:, 1] - 0.5), ["u", "v"], seed=3)
    for share in found:
        assert share.first == pytest.approx(0.0, abs=0.02)
        assert share.total == pytest.approx(1.0, abs=0.03)


def test_the_same_seed_gives_the_same_shares() -> None:
    def square(u: FloatArray) -> FloatArray:
        return np.asarray(u[:, 0] ** 2 + u[:, 1])

    first, again, other = (sobol_shares(square, ["a", "b"], seed=s, base=64) for s in (1, 1, 2))
    assert first == again
    assert first != other
