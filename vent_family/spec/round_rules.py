"""Body and trough of a round vent, and what is refused about them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import (
    NECK_WALL_MIN,
)
from vent_family.base.materials import MATERIALS
from vent_family.spec import defaults
from vent_family.spec.bays import bays, drain, spaced
from vent_family.spec.families.round import RoundRow
from vent_family.spec.refusals import Refusals
from vent_family.spec.section import Throat, Trough
from vent_family.spec.stack import (
    Stack,
)
from vent_family.spec.thread.iso import ThreadSpec, thread_spec
from vent_family.spec.thread.parts import (
    locknut_size,
    neck_length_min_mm,
    neck_relief_diameter_mm,
)
from vent_family.spec.vent import (
    GasketSpec,
    RoundBody,
)

_FLOOR_BESIDE_RIB_MM: Final = 4.0
_HEAD_MOST_MM: Final = 250
_HEAD_GROWTH_MOST: Final = 1.2
"""A blank head diameter grows by this factor at most to hold its sill."""
_FLOOR_SHARE_MOST: Final = 0.9
"""Half-width of the floor against the cavity's radius, at most."""


@dataclass(frozen=True, slots=True)
class _Head:
    """What follows from a head's diameter: depths along z, floor and sill heights; mm."""

    radius: float
    inner: float
    throat_z: float
    stack_inner_z: float
    front_z: float
    foot_z: float
    floor_front: float
    sill: float
    floor_share: float

    def sill_in_bore(self, bore: float) -> float:
        """Return how far the sill stands too high (mm); negative if it is low enough."""
        throat = Throat(bore, self.throat_z, self.inner)
        return self.sill - throat.highest_sill_mm(self.foot_z)


def round_body(row: RoundRow, refusals: Refusals, stack: Stack) -> tuple[RoundBody, Trough]:
    """Return body and trough of a round vent."""
    material = MATERIALS[row.material]
    thread = thread_spec(row.size, material.thread_clearance_normal_mm)
    d, slot = thread.nominal_mm, drain(row, refusals)
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    shoulder, bore = d / 2 + 2 * land + gw, _bore(thread)
    gasket = GasketSpec(
        is_ring=True,
        inner_mm=(d + 2 * land, d + 2 * land),
        outer_mm=(d + 2 * (land + gw), d + 2 * (land + gw)),
        thickness_mm=defaults.GASKET_THICKNESS_MM,
        recess_mm=defaults.GASKET_RECESS_MM,
    )
    neck = _neck(row, refusals, thread)
    head = _head(row, refusals, stack, d, slot, shoulder, bore)
    body = RoundBody(
        head_radius_mm=head.radius,
        inner_radius_mm=head.inner,
        wall_mm=row.wall_mm,
        flat_depth_mm=defaults.FLAT_DEPTH_MM,
        shoulder_radius_mm=shoulder,
        cone_z_mm=(defaults.SHOULDER_MM, defaults.SHOULDER_MM + head.radius - shoulder),
        throat_z_mm=head.throat_z,
        bore_radius_mm=bore,
        neck_length_mm=neck,
        thread=thread,
        true_thread=row.thread == "true",
        gasket=gasket,
    )
    bays(row, refusals, body)
    ceiling = min(head.radius - defaults.MARK_BAR_MM, 0.94 * head.inner)
    trough = Trough(
        front_z_mm=head.front_z,
        front_margin_mm=defaults.FRONT_MARGIN_MM,
        floor_front_mm=head.floor_front,
        slope_deg=row.floor_slope_deg,
        drain_height_mm=slot,
        apron_thickness_mm=defaults.APRON_THICKNESS_MM,
        ceiling_max_mm=ceiling,
        ceiling_min_mm=ceiling - stack.pitch_mm,
        inner_z_mm=-neck,
        foot_z_mm=head.foot_z,
        sill_top_mm=head.sill,
        throat=Throat(bore, head.throat_z, head.inner),
    )
    return body, trough


def _neck(row: RoundRow, refusals: Refusals, thread: ThreadSpec) -> float:
    """Return the neck's length (mm); one that does not reach through panel and nut is refused."""
    panel, nut = row.panel_thickness_mm, locknut_size(thread).thickness_mm
    short = max(panel + nut + 2 * thread.pitch_mm, neck_length_min_mm(thread))
    neck = row.neck_length_mm or math.ceil(short)
    if neck < short:
        refusals.refuse(
            "neck_length_mm",
            f"a neck of {neck:g} mm does not reach through a {panel:g} mm panel and its locknut",
            f"use {math.ceil(short)} mm or more",
            f"{math.ceil(short)} mm or more",
        )
    return neck


def _head(
    row: RoundRow,
    refusals: Refusals,
    stack: Stack,
    nominal: float,
    slot: float,
    shoulder: float,
    bore: float,
) -> _Head:
    """Return the head; a blank diameter is the usual one, or the least that holds a sill."""

    def laid(diameter: float) -> _Head:
        return _laid_head(row, stack, slot, shoulder, bore, diameter)

    smallest = math.ceil(2 * (shoulder + 2.0))
    usual = max(smallest, math.ceil(1.5 * nominal + 24.0))
    given = row.head_diameter_mm
    first = smallest if given else usual
    fitting = (h for h in range(first, _HEAD_MOST_MM + 1) if laid(h).sill_in_bore(bore) <= 0.0)
    least = next(fitting, None)
    if least is None:
        refusals.refuse(
            "sill_height_mm" if row.sill_height_mm else "floor_slope_deg",
            f"no head up to {_HEAD_MOST_MM} mm keeps the sill below the bore",
            "lower sill_height_mm or floor_slope_deg",
        )
    elif given and given < least:
        what = "neck and gasket" if given < smallest else "sill, which would reach into the bore"
        refusals.refuse(
            "head_diameter_mm",
            f"a head of {given:g} mm is too small for its {what}",
            f"use {least} mm or more, or leave the cell blank",
            f"{least} mm or more on {row.size} with this floor, drain and ribs",
        )
    elif not given and least > _HEAD_GROWTH_MOST * usual:
        refusals.refuse(
            "head_diameter_mm",
            f"this floor, drain and rib count would need a head of {least} mm, not {usual} mm",
            f"lower floor_slope_deg, sill_height_mm or rib_count, or ask for the {least} mm head",
        )
    head = laid(max(given or 0.0, least or smallest))
    if head.floor_share > _FLOOR_SHARE_MOST:
        refusals.refuse(
            "rib_count",
            "so many ribs leave side bays without floor and drain",
            "use fewer ribs, or leave the cell blank",
        )
    return head


def _laid_head(
    row: RoundRow, stack: Stack, slot: float, shoulder: float, bore: float, diameter: float
) -> _Head:
    """Return what follows from a head's diameter."""
    wall = row.wall_mm
    inner = diameter / 2 - wall
    throat_z = max(
        defaults.THROAT_Z_MM, defaults.SHOULDER_MM - shoulder + bore + math.sqrt(2.0) * wall
    )
    stack_inner = throat_z + (inner - bore) + defaults.PLENUM_MM
    front = stack_inner + stack.depth_mm + defaults.FRONT_MARGIN_MM
    # The floor is wide enough that every bay has a stretch of it, so every bay can drain.
    reach = max(spaced(row, inner)[-1][0] + _FLOOR_BESIDE_RIB_MM, 0.35 * inner)
    share = reach / inner
    floor_front = -math.sqrt(inner**2 - min(reach, _FLOOR_SHARE_MOST * inner) ** 2)
    foot_z = stack_inner - defaults.INNER_MARGIN_MM
    slope = math.tan(math.radians(row.floor_slope_deg))
    floor_foot = floor_front + (front - foot_z) * slope
    sill = floor_foot + (row.sill_height_mm or slot + defaults.SILL_OVER_DRAIN_MM)
    return _Head(
        diameter / 2, inner, throat_z, stack_inner, front, foot_z, floor_front, sill, share
    )


def _bore(thread: ThreadSpec) -> float:
    """Return the bore radius that leaves the least neck wall under the thread root."""
    relief = neck_relief_diameter_mm(thread.external)
    return math.floor((relief / 2 - NECK_WALL_MIN.value) * 20) / 20
