"""What a part of a STEP file may be: bounds hold to the last value."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cadquery as cq
import pytest

from tests.helpers.part21 import Exchange
from tests.release.parts import HEADER, part
from vent_family.files.step.write import write_step

PIN = part(cq.Solid.makeBox(1.0, 2.0, 3.0))


@pytest.mark.parametrize("rgb", [(0.0, 0.0, 0.0), (1.0, 1.0, 1.0), (1.0, 0.0, 0.5, 0.0)])
def test_colours_from_black_to_white_are_taken(rgb: tuple[float, float, float]) -> None:
    assert replace(PIN, colour_rgb=rgb).colour_rgb == rgb


@pytest.mark.parametrize(
    "rgb", [(1.001, 0.0, 0.0), (0.0, -0.001, 0.0), (0.5, 0.5), (0.5,) * 5, (0, 0, 0, 2)]
)
def test_other_colours_are_refused(rgb: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="colour"):
        replace(PIN, colour_rgb=rgb)


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan"), float("inf")])
def test_a_part_has_a_density(density: float) -> None:
    with pytest.raises(ValueError, match="density"):
        replace(PIN, density_g_cm3=density)
    assert replace(PIN, density_g_cm3=1e-6).density_g_cm3 == 1e-6


@pytest.mark.parametrize("place", [cq.Location(), cq.Location((5.0, 0.0, 0.0), (0, 0, 1), 30.0)])
def test_a_compound_around_one_solid_is_written_as_the_solid(
    tmp_path: Path, place: cq.Location
) -> None:
    """What kernels hand over after a cut: one body and one product, its own placement or not."""
    wrapped = tmp_path / "wrapped.step"
    shape = cq.Compound.makeCompound([PIN.shape.moved(place)])
    write_step(wrapped, replace(PIN, shape=shape), HEADER)
    exchange = Exchange.load(wrapped)
    (product,) = exchange.products().values()
    assert len(product.bodies) == 1
    assert len(exchange.all("PRODUCT_DEFINITION")) == 1
    assert not exchange.all("NEXT_ASSEMBLY_USAGE_OCCURRENCE")
