"""A section's solids on a figure's axes, outside on the right."""

from __future__ import annotations

from typing import Any, Final

from matplotlib.patches import Polygon as Patch

from vent_family.evidence.palette import INK, SLAT, SOLID
from vent_family.spec.section import Section

DEEP_MM: Final = 200.0
"""Walls are drawn this far beyond the picture."""


def draw_section(axes: Any, section: Section) -> tuple[float, float]:
    """Draw floor, ceiling, apron and slats, name the axes, return width and height drawn, mm."""
    low, high = min(y for _, y in section.lower) - 4.0, section.ceiling_mm + 4.0
    z0, z1 = section.inner_z_mm - 6.0, section.front_z_mm + 12.0
    below = section.ground(low - DEEP_MM).exterior.coords[:-1]
    above = section.roof(high + DEEP_MM).exterior.coords[:-1]
    for ring, colour in ((below, SOLID), (above, SOLID), (section.apron, SOLID)):
        axes.add_patch(Patch(ring, closed=True, facecolor=colour, edgecolor=INK, linewidth=0.6))
    for slat in section.slats:
        axes.add_patch(
            Patch(slat.outline, closed=True, facecolor=SLAT, edgecolor=INK, linewidth=0.5)
        )
    # Slats cut by the ceiling run on into the wall; the wall is drawn over them again.
    axes.add_patch(Patch(above, closed=True, facecolor=SOLID, edgecolor=INK, linewidth=0.6))
    axes.set_xlim(z0, z1)
    axes.set_ylim(low, high)
    axes.set_aspect("equal")
    axes.set_xlabel("z in mm (inside on the left, outside on the right)")
    axes.set_ylabel("y in mm")
    return z1 - z0, high - low
