"""Rules between columns that printing makes: what the print check would find on the solid.

Each predicts, from the row and its layout alone, what the finished solid's print check refuses,
exactly or a hair on the safe side, and says it in terms of the columns.
"""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.limits import FEATURE_MIN, FIT_CLEARANCE, MARK_CLEAR, PRINT_GAP_MIN
from vent_family.spec import defaults
from vent_family.spec.body import Body
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow

_HAIR_MM: Final = 0.01
"""Added to a width that the mesh must keep, mm: its corners are rounded."""


def mark_bar(row: FilledRow, refusals: Refusals, body: Body, ceiling_mm: float) -> None:
    """Refuse a bar above the front window too low for the mark and plain face on both sides.

    Parameters
    ----------
    row
        The filled row.
    refusals
        Where the problem is noted.
    body
        The body; its cover ends the bar at the top.
    ceiling_mm : float
        Upper edge (y) of the front window, mm; it does not move with the cover's width.
    """
    bar = body.mark_bar_top_mm - ceiling_mm
    need = defaults.MARK_HEIGHT_MM + 2.0 * MARK_CLEAR.value
    lack = need - bar
    if lack <= 0.0:
        return
    column = body.cover.width_column
    value = getattr(row, column)
    # To tenths, upwards, but 0.1 + 0.2 is no reason to go up.
    least = None if value is None else math.ceil(10.0 * (value + lack) - 1e-6) / 10.0
    refusals.refuse(
        column,
        f"the bar above the window is {bar:.1f} mm high: too low for the arrow and TOP mark",
        f"raise it by {lack:.2f} mm" if least is None else f"use {least:g} mm or more",
        f"a bar of {need:g} mm or more",
    )


def wall_behind_flats(row: FilledRow, refusals: Refusals, flat_depth_mm: float) -> None:
    """Refuse a wall that spanner flats of a depth (mm) cut down to less than prints."""
    least = flat_depth_mm + FEATURE_MIN.value + _HAIR_MM
    if row.wall_mm < least:
        refusals.refuse(
            "wall_mm",
            f"a wall of {row.wall_mm:g} mm leaves {row.wall_mm - flat_depth_mm:.2f} mm behind the"
            f" spanner flats, which are {flat_depth_mm:g} mm deep: too thin to print",
            f"use {least:g} mm or more",
            f"{least:g} mm or more for a head with spanner flats",
        )


def gap_over_snap_arms(row: FilledRow, refusals: Refusals) -> None:
    """Refuse a panel so thin that the snap arms' ends would print onto the lip."""
    least = PRINT_GAP_MIN.value + FIT_CLEARANCE.value + _HAIR_MM
    if row.panel_thickness_mm < least:
        refusals.refuse(
            "panel_thickness_mm",
            f"a panel of {row.panel_thickness_mm:g} mm leaves snap arms"
            f" {row.panel_thickness_mm - FIT_CLEARANCE.value:.2f} mm short of the lip: a gap so"
            " narrow prints shut",
            "use fixing screw, or a thicker panel",
            f"{least:g} mm or more with snap arms",
        )
