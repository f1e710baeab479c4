"""The tool that cuts a vent's opening into a panel, and a piece of panel to show it in."""

from __future__ import annotations

from typing import Final

import cadquery as cq

from vent_family.geometry.primitives import box, cut, cylinder, fuse
from vent_family.spec.vent import BlockBody, RoundBody, VentSpec

_OVERCUT_MM: Final = 0.5
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
    z = (-depth_mm, _OVERCUT_MM)
    opening = spec.opening
    w, h = opening.size_mm
    if opening.kind == "circle":
        main = cylinder(w / 2, z)
    else:
        main = box((-w / 2, w / 2), (-h / 2, h / 2), z)
        if opening.notch_mm is not None:
            nw, nd = opening.notch_mm
            notch = box((-nw / 2, nw / 2), (-h / 2 - nd, -h / 2 + _OVERCUT_MM), z)
            main = fuse(main, [notch])
    holes = [cylinder(q.diameter_mm / 2, z, q.x_mm, q.y_mm) for q in opening.holes]
    return cq.Compound.makeCompound([main, *holes])


def panel_piece(spec: VentSpec) -> cq.Solid:
    """Return a piece of panel with the vent's opening cut into it, outer face at z = 0."""
    body = spec.body
    if isinstance(body, RoundBody):
        reach = body.head_radius_mm + PANEL_MARGIN_MM
        x, y = (-reach, reach), (-reach, reach)
    else:
        assert isinstance(body, BlockBody)
        left, right, bottom, top = body.cover_mm
        x = (-left - PANEL_MARGIN_MM, right + PANEL_MARGIN_MM)
        y = (-bottom - PANEL_MARGIN_MM, top + PANEL_MARGIN_MM)
    panel = box(x, y, (-spec.panel_thickness_mm, 0.0))
    return cut(panel, opening_tool(spec, spec.panel_thickness_mm + _OVERCUT_MM).Solids())
