"""The air in front of a vent: even where the field begins, and as much as goes in."""

from __future__ import annotations

import numpy as np

from tests.helpers.rows import spec
from vent_family.evidence.water.airfield import potential_flow


def test_air_comes_together_over_eight_millimetres() -> None:
    """Potential flow towards an opening: slower and smoother the farther out.

    Right in front apron and slats have parted the air; a pitch farther out nothing is left of
    that, and the flow has spread beyond the opening's edges, so that its mean over the height is
    less than the face velocity.
    """
    section = spec("rectangular", size="60x60").section
    field = potential_flow(section, 2.0)
    low, high = section.drain_mm[0], section.ceiling_mm
    heights = np.linspace(low + 0.5, high - 0.5, 60)

    def across(out_mm: float) -> np.ndarray:
        z = section.front_z_mm + out_mm
        return np.array([field.velocity(z, float(y))[0] for y in heights])

    def rough(values: np.ndarray) -> float:
        return float(np.abs(np.diff(values, n=2)).max())

    near, middle, far = across(0.3), across(4.0), across(7.5)
    assert near.mean() < middle.mean() < far.mean() < 0.0
    assert 0.8 * 2.0 < -far.mean() < 0.97 * 2.0
    assert rough(near) > 5.0 * rough(middle) > 5.0 * rough(far)
