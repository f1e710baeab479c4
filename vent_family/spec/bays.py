"""Bays between ribs, and the drain: rules that all families share."""

from __future__ import annotations

import math

from vent_family.limits import (
    BAY_MIN,
    GAP_MIN,
)
from vent_family.materials import MATERIALS
from vent_family.spec.cells import Cells
from vent_family.spec.vent import (
    BlockBody,
    RoundBody,
)


def bays(cells: Cells, body: BlockBody | RoundBody) -> tuple[tuple[float, float], ...]:
    """Return the clear x range of every bay; ribs are spaced evenly.

    A blank rib count is the least one that keeps every slat within the bridge length that the
    material prints cleanly.
    """
    half = body.inner_radius_mm if isinstance(body, RoundBody) else body.cavity_half_width_mm
    t = cells.get("rib_thickness_mm")
    width = 2.0 * half
    count = cells.row.rib_count
    material = cells.get("material")
    profile = MATERIALS[material].print_profile
    longest = profile.bridge_max_mm
    if count is None:
        count = math.ceil((width + t) / (profile.bridge_good_mm + t)) - 1
    bay = (width - count * t) / (count + 1)
    if bay > longest:
        need = math.ceil((width + t) / (longest + t)) - 1
        cells.refuse(
            "rib_count",
            f"with {count} ribs the slats bridge {bay:.1f} mm",
            f"use {need} ribs or more, or leave the cell blank",
            f"bridges up to {longest:g} mm in {material}",
        )
    if bay < BAY_MIN.value:
        most = max(0, math.floor((width + t) / (BAY_MIN.value + t)) - 1)
        cells.refuse(
            "rib_count",
            f"{count} ribs of {t:g} mm leave bays only {bay:.1f} mm wide",
            f"use {most} ribs or fewer",
            f"bays of {BAY_MIN.value:g} mm or more",
        )
    starts = [-half + i * (bay + t) for i in range(count + 1)]
    return tuple((x, x + bay) for x in starts)


def drain(cells: Cells) -> float:
    """Return the height of the drain slot (mm); one that a water film bridges is refused."""
    height = float(cells.get("drain_height_mm"))
    if height < GAP_MIN.value:
        cells.refuse(
            "drain_height_mm",
            f"a drain slot {height:g} mm high stays bridged by a water film",
            f"use {GAP_MIN.value:g} mm or more",
            f"{GAP_MIN.value:g} mm or more",
        )
    return height
