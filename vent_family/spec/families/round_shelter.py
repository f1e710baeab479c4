"""A low round head whose outermost banks shed outside: its two floors, and its ribs over them.

Under the banks outside and the apron a lower floor leads out; the head's outside follows both
floors, with a step between them. All ribs stand on the trough's floor and have windows over it, in
stack and plenum; where the round wall rises beside the floor, notches instead. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from vent_family.base.limits import GAP_MIN
from vent_family.spec import defaults
from vent_family.spec.families.round_head import BEAM_MM, Head
from vent_family.spec.families.sheltered import ShelteredRow
from vent_family.spec.section import BEYOND_MM, FAR, Section
from vent_family.spec.shelter import BEAM_MM as UNDER_SLATS_MM
from vent_family.spec.shelter import COVER_MM, WINDOW_MM, Shelter
from vent_family.spec.stack import Stack

Span = tuple[float, float]
Line = tuple[tuple[float, float], ...]
NOTCH_MM: Final = 3.0
"""Height of a notch through a rib that stands beside the floor."""
NOTCH_CLEAR_MM: Final = 0.15
"""How far notches stay clear of what stands in front of them."""
_BAY_SHARE: Final = 0.5
"""A bay counts as floor of its own if at least this share of the widest one is floor."""


def shelter_of(row: ShelteredRow, stack: Stack, head: Head, floor_front_mm: float) -> Shelter:
    """Return the bottom of a head whose lower floor ends at a height (mm) in front."""
    return Shelter.of(
        stack,
        row.banks_outside,
        stack_front_mm=head.front_z_mm - defaults.FRONT_MARGIN_MM,
        front_z_mm=head.front_z_mm,
        floor_front_mm=floor_front_mm,
        slope_deg=row.floor_slope_deg,
        slot_mm=row.drain_height_mm,
        apron_thickness_mm=defaults.APRON_THICKNESS_MM,
    )


def floor_rise_of(row: ShelteredRow, stack: Stack, head: Head) -> Callable[[float], float]:
    """Return the height (mm) of the trough's floor at a depth (mm) over the floor in front."""
    if row.banks_outside:
        return shelter_of(row, stack, head, 0.0).floor_mm
    tangent = math.tan(math.radians(row.floor_slope_deg))
    return lambda z: (head.front_z_mm - z) * tangent


def head_more_mm(row: ShelteredRow) -> float:
    """Return by how much more than others a head with a step in its floor is wide, mm."""
    if not row.banks_outside:
        return 0.0
    return 2.0 * (COVER_MM + 2.0 * max(row.drain_height_mm, GAP_MIN.value))


def stepped_outside(section: Section, plate_mm: float, front_z_mm: float) -> Line:
    """Return the outside below both floors (z, y), from its end in front to that behind the step.

    ``plate_mm`` is the thickness under each and of the step, square to it; the line begins at
    ``front_z_mm``.
    """
    (step, low), (front, end) = section.outlet[2:]
    slope = (end - low) / (front - step)
    plate = plate_mm * math.hypot(1.0, slope)
    at = step - plate_mm
    rear = section.floor_height_mm(at) - plate
    return (
        (front_z_mm, end + (front_z_mm - front) * slope - plate),
        (at, low + (at - step) * slope - plate),
        (at, rear),
    )


def floor_spans_mm(
    bays: Sequence[Span], half_width_mm: Callable[[float], float], shelter: Shelter
) -> tuple[Span, ...]:
    """Return the stretches of the trough's floor between ribs, mm.

    They are as wide as the lower floor under the apron: that far the way out is nowhere lower than
    the drain is wide. What lies beside them, of less than half of a bay, drains into them through
    windows and notches. ``half_width_mm`` is half the cavity's width at a height, ``bays`` are x
    ranges, all in mm.
    """
    half = half_width_mm(shelter.lower_floor_mm(shelter.apron_z_mm[0]))
    least = _BAY_SHARE * max(b - a for a, b in bays)
    clipped = ((max(a, -half), min(b, half)) for a, b in bays)
    return tuple((a, b) for a, b in clipped if b - a >= least)


def lip_of(section: Section, shelter: Shelter) -> Polygon:
    """Return the lip on the sill's face, reaching back beyond the plate; empty without one."""
    corners = shelter.sill_face(section.foot, section.sill_top_mm)
    if not corners:
        return Polygon()
    return Polygon([(-BEYOND_MM, corners[0][1]), *corners, (-BEYOND_MM, corners[-1][1])])


def over_web(section: Section, shelter: Shelter) -> Polygon:
    """Return where ribs may be open in the plenum: above the web that carries the sill's lip."""
    z0, z1 = 0.0, section.front_z_mm
    over = WINDOW_MM + UNDER_SLATS_MM
    return Polygon(
        [
            (z0, shelter.floor_mm(z0) + over),
            (z1, shelter.floor_mm(z1) + over),
            (z1, BEYOND_MM),
            (z0, BEYOND_MM),
        ]
    )


def drained(head: Head, section: Section, far_mm: float) -> list[BaseGeometry]:
    """Return what lets water through a rib whose outer face stands at ``far_mm`` (x, mm)."""
    r = head.inner_radius_mm
    wall = -math.sqrt(max(r * r - far_mm * far_mm, 0.0))
    window = Polygon(section.rib_window)
    if wall + GAP_MIN.value <= min(y for _, y in section.rib_window) + WINDOW_MM:
        return [window]
    return [box(z0, -r - FAR, z1, wall + NOTCH_MM) for z0, z1 in _gaps(section)]


def _gaps(section: Section) -> list[Span]:
    """Return the clear depths (z) for notches between banks, and on both sides of the apron."""
    stack, front = section.stack, section.stack_z_mm[1]
    solids = [stack.bank_z(bank) for bank in range(stack.bank_count)]
    zs = [z - front for z, _ in section.apron]
    solids = sorted([*solids, (min(zs), max(zs))], reverse=True)
    ends = zip(solids[1:], solids, strict=False)
    # Printed face down, what stands behind a notch begins on what is left of the rib over it.
    found = [(front + a[1] + BEAM_MM, front + b[0] - NOTCH_CLEAR_MM) for a, b in ends]
    return [(z0, z1) for z0, z1 in found if z1 - z0 > BEAM_MM]
