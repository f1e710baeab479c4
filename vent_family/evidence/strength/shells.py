"""What of a printed wall bears: walls and skins are solid, a sparse core counts for nothing.

How much sparse infill bears depends on its pattern and on bonds nobody vouches for, so it is left
out: what lies deeper than the walls beside a side face, or than the skins below a flat one, is air.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.shop import SlicerSettings


@dataclass(frozen=True, slots=True)
class Shell:
    """Depth of solid material behind a side face and behind a top or bottom face, mm."""

    side_mm: float
    flat_mm: float


SOLID: Final = Shell(math.inf, math.inf)
"""Cores are filled."""


def shell_of(settings: SlicerSettings) -> Shell:
    """Return how deep parts are solid that are sliced with these settings.

    Examples
    --------
    >>> from vent_family.base.shop import demo_shop
    >>> sliced = demo_shop().printing
    >>> shell_of(sliced.model_copy(update={"infill_share": 1.0})) == SOLID
    True
    >>> shell = shell_of(sliced.model_copy(update={"infill_share": 0.2, "wall_count": 3}))
    >>> round(shell.side_mm, 2), round(shell.flat_mm, 2)
    (1.35, 0.8)
    """
    if not settings.sparse:
        return SOLID
    skins = min(settings.top_layers, settings.bottom_layers) * settings.layer_mm
    return Shell(settings.shell_mm, skins)


def bending_share(thickness_mm: float, depth_mm: float) -> float:
    """Return which share of a plate's bending stiffness its solid faces keep, 1.

    Parameters
    ----------
    thickness_mm
        the plate's, mm
    depth_mm
        depth of solid material behind either face, mm

    Examples
    --------
    Faces 1 mm deep on a plate of 4 mm: 1 - (2 / 4)^3; a plate of 2 mm is solid:

    >>> bending_share(4.0, 1.0), bending_share(2.0, 1.0), bending_share(4.0, math.inf)
    (0.875, 1.0, 1.0)
    """
    core = max(thickness_mm - 2.0 * depth_mm, 0.0)
    return 1.0 - (core / thickness_mm) ** 3


def area_share(thickness_mm: float, depth_mm: float) -> float:
    """Return which share of a plate's section its solid faces make up, 1.

    Parameters
    ----------
    thickness_mm
        the plate's, mm
    depth_mm
        depth of solid material behind either face, mm

    Examples
    --------
    Faces 1 mm deep on a plate of 4 mm; a plate of 2 mm is solid:

    >>> area_share(4.0, 1.0), area_share(2.0, 1.0), area_share(4.0, math.inf)
    (0.5, 1.0, 1.0)
    """
    return min(2.0 * depth_mm / thickness_mm, 1.0)


@dataclass(frozen=True, slots=True)
class Ring:
    """Area (mm2) and second moment about a diameter (mm4) of a round wall's section."""

    area_mm2: float
    inertia_mm4: float

    @property
    def polar_mm4(self) -> float:
        """Polar second moment, mm4."""
        return 2.0 * self.inertia_mm4


def ring(outer_mm: float, inner_mm: float, shell: Shell = SOLID) -> Ring:
    """Return the section of a tube's wall between two radii (mm), a sparse core left out.

    Examples
    --------
    A tube of 5 and 4 mm; the same with 1 mm more inside, of which a third is core:

    >>> tube = ring(5.0, 4.0)
    >>> round(tube.area_mm2, 3), round(tube.inertia_mm4, 2), round(tube.polar_mm4, 2)
    (28.274, 289.81, 579.62)
    >>> thick = ring(5.0, 3.5, Shell(0.5, 0.5))
    >>> round(thick.area_mm2 / math.pi, 2)  # 25 - 4.5^2 + 4^2 - 3.5^2
    8.5
    """
    parts = [(outer_mm, inner_mm)]
    if outer_mm - inner_mm > 2.0 * shell.side_mm:
        parts = [(outer_mm, outer_mm - shell.side_mm), (inner_mm + shell.side_mm, inner_mm)]
    area = sum(math.pi * (a**2 - b**2) for a, b in parts)
    inertia = sum(0.25 * math.pi * (a**4 - b**4) for a, b in parts)
    return Ring(area, inertia)
