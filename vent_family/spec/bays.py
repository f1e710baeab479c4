"""Bays between ribs, and the drain: rules that all families share."""

from __future__ import annotations

import math

from vent_family.base.limits import (
    BAY_MIN,
    GAP_MIN,
)
from vent_family.base.materials import MATERIALS
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.vent import (
    BlockBody,
    RoundBody,
)


def spaced(row: FilledRow, half: float) -> tuple[tuple[float, float], ...]:
    """Return the clear x range of every bay of a cavity reaching from -half to half, mm.

    Ribs are spaced evenly. A blank rib count is the least one that keeps every slat within the
    bridge length that the material prints cleanly.
    """
    t = row.rib_thickness_mm
    count = row.rib_count
    good = MATERIALS[row.material].print_profile.bridge_good_mm
    if count is None:
        count = math.ceil((2.0 * half + t) / (good + t)) - 1
    bay = (2.0 * half - count * t) / (count + 1)
    starts = [-half + i * (bay + t) for i in range(count + 1)]
    return tuple((x, x + bay) for x in starts)


def bays(
    row: FilledRow, refusals: Refusals, body: BlockBody | RoundBody
) -> tuple[tuple[float, float], ...]:
    """Return the bays of a body; those too wide to bridge or too narrow are refused."""
    half = body.inner_radius_mm if isinstance(body, RoundBody) else body.cavity_half_width_mm
    found = spaced(row, half)
    t, width, count = row.rib_thickness_mm, 2.0 * half, len(found) - 1
    bay = found[0][1] - found[0][0]
    material = row.material
    longest = MATERIALS[material].print_profile.bridge_max_mm
    if bay > longest:
        need = math.ceil((width + t) / (longest + t)) - 1
        refusals.refuse(
            "rib_count",
            f"with {count} ribs the slats bridge {bay:.1f} mm",
            f"use {need} ribs or more, or leave the cell blank",
            f"bridges up to {longest:g} mm in {material}",
        )
    if bay < BAY_MIN.value:
        most = max(0, math.floor((width + t) / (BAY_MIN.value + t)) - 1)
        refusals.refuse(
            "rib_count",
            f"{count} ribs of {t:g} mm leave bays only {bay:.1f} mm wide",
            f"use {most} ribs or fewer",
            f"bays of {BAY_MIN.value:g} mm or more",
        )
    return found


def drain(row: FilledRow, refusals: Refusals) -> float:
    """Return the height of the drain slot (mm); one that a water film bridges is refused."""
    height = row.drain_height_mm
    if height < GAP_MIN.value:
        refusals.refuse(
            "drain_height_mm",
            f"a drain slot {height:g} mm high stays bridged by a water film",
            f"use {GAP_MIN.value:g} mm or more",
            f"{GAP_MIN.value:g} mm or more",
        )
    return height
