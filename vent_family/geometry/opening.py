"""The tool that cuts a vent's opening into a panel, and a piece of panel to show it in."""

from __future__ import annotations

from typing import Final

import cadquery as cq

from vent_family.geometry.families import BUILDERS
from vent_family.geometry.primitives import box, cut, cylinder
from vent_family.spec.vent import VentSpec

OVERCUT_MM: Final = 0.5
"""How far tools reach in front of the panel, so that no skin is left."""
PANEL_MARGIN_MM: Final = 15.0
"""How far the shown piece of panel reaches beyond the part."""


def opening_tool(spec: VentSpec, depth_mm: float) -> cq.Compound:
    """Return what to cut from a panel whose outer face is z = 0, down to z = -depth.

    Main opening, key notch and screw holes; it also reaches a little in front of the panel so
    that no skin is left.

    Raises
    ------
    ValueError
        if the depth is not positive
    """
    if not depth_mm > 0.0:
        raise ValueError(f"depth_mm is {depth_mm}; a positive depth is needed")
    z = (-depth_mm, OVERCUT_MM)
    main = BUILDERS[spec.family].opening(spec, z)
    holes = [cylinder(q.diameter_mm / 2, z, q.x_mm, q.y_mm) for q in spec.opening.holes]
    return cq.Compound.makeCompound([main, *holes])


def panel_piece(spec: VentSpec) -> cq.Solid:
    """Return a piece of panel with the vent's opening cut into it, outer face at z = 0."""
    left, right, bottom, top = (reach + PANEL_MARGIN_MM for reach in spec.body.cover.reach_mm)
    x, y = (-left, right), (-bottom, top)
    panel = box(x, y, (-spec.panel_thickness_mm, 0.0))
    return cut(panel, opening_tool(spec, spec.panel_thickness_mm + OVERCUT_MM).Solids())
