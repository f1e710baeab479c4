"""What a part of a STEP file may be: bounds hold to the last value."""

from __future__ import annotations

from dataclasses import replace

import cadquery as cq
import pytest

from tests.release.parts import part

PIN = part(cq.Solid.makeBox(1.0, 2.0, 3.0))


@pytest.mark.parametrize("rgb", [(0.0, 0.0, 0.0), (1.0, 1.0, 1.0), (1.0, 0.0, 0.5)])
def test_colours_from_black_to_white_are_taken(rgb: tuple[float, float, float]) -> None:
    assert replace(PIN, colour_rgb=rgb).colour_rgb == rgb


@pytest.mark.parametrize("rgb", [(1.001, 0.0, 0.0), (0.0, -0.001, 0.0), (0.5, 0.5)])
def test_other_colours_are_refused(rgb: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="colour"):
        replace(PIN, colour_rgb=rgb)


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan"), float("inf")])
def test_a_part_has_a_density(density: float) -> None:
    with pytest.raises(ValueError, match="density"):
        replace(PIN, density_g_cm3=density)
    assert replace(PIN, density_g_cm3=1e-6).density_g_cm3 == 1e-6
