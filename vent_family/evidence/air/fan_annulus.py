"""What the way from a block's inner side to the ring that a fan sweeps costs.

The velocity head over the sill counts as lost already, as into a room. From the duct's beginning to
what the duct leaves open of the swept ring the air is pressed together as at a sharp edge: the
duct's taper is not counted in its favour. Where the duct covers a part of the ring, the
air spreads behind its edge once more. Air that the fan blows out through the vent leaves the ring
with a velocity head that its curve of static pressure does not count; so what it loses in widening
is paid for, and only the edge that covers a part of the ring costs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, Literal

from fluids.fittings import contraction_sharp, diffuser_sharp

from vent_family.spec.fan_mount import FanDuct

ANNULUS: Final = "fan annulus"


def annulus_losses(duct: FanDuct | None) -> Iterator[tuple[Literal["in", "out"], float, float]]:
    """Yield the direction of the air, the loss coefficient (1) and the area (mm2) it refers to.

    Sharp-edged contraction and expansion: Rennels & Hudson 2012, through fluids.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="flanged", size="120x120", status="draft",
    ...                  fan_mount="92")
    >>> [(way, round(k, 2), round(area)) for way, k, area in annulus_losses(resolve(row).fan_duct)]
    [('in', 0.42, 4697)]
    """
    if duct is None:
        return
    ring, swept, begins = duct.open_swept_mm2, duct.frame.swept_mm2, duct.begin_area_mm2
    covered = ring < (1.0 - 1e-9) * swept
    yield "in", _pressed(begins, ring) + (_spread(ring, swept) if covered else 0.0), ring
    if covered:
        yield "out", _pressed(swept, ring), ring


def _pressed(from_mm2: float, to_mm2: float) -> float:
    """Return the loss (1) of a sharp contraction, areas in mm2, on the velocity behind it."""
    if from_mm2 <= to_mm2:
        return 0.0
    return float(contraction_sharp(math.sqrt(from_mm2), math.sqrt(to_mm2)))


def _spread(from_mm2: float, to_mm2: float) -> float:
    """Return the loss (1) of a sudden widening, areas in mm2, on the velocity before it."""
    return float(diffuser_sharp(math.sqrt(from_mm2), math.sqrt(to_mm2)))
