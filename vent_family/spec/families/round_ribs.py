"""Ribs of a low round head: where they stand, and what is cut out of them.

Two ribs stand beside the bore and carry the back plate around it, so that its beads end nowhere in
the air; more stand between and beside them as the slats need. Lengths in mm.
"""

from __future__ import annotations

import math
from typing import Final

from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from vent_family.base.limits import BAY_MIN, WINDOW_MAX
from vent_family.base.materials import MATERIALS
from vent_family.spec.families.round_head import BEAM_MM, RIM_CLEAR_MM, Head
from vent_family.spec.families.round_shelter import NOTCH_CLEAR_MM, NOTCH_MM, drained, over_web
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.section import BEYOND_MM, FAR, Section
from vent_family.spec.stack import Stack
from vent_family.spec.thumb import thumb_bay_mm

Span = tuple[float, float]
BORE_LAP_MM: Final = 0.1
"""The inner faces of the ribs beside the bore stand at least this far inside its edge."""
_THUMB_SHARE: Final = 0.97
"""Ribs as thin as these give way by more than the reckoning with clamps has in reserve."""
_BORE_GIVE_MM: Final = 1.8
"""How far inside its edge they may stand, where the bay between them would else be too wide."""
WINDOW_CLEAR_MM: Final = 0.3
"""How far ribs reach behind the stack."""
_BORE_CLEAR_MM: Final = RIM_CLEAR_MM
"""How far ribs that end at the bore stay clear of it: as far as its hole in the plate, whose edge
they carry to its end."""
_CHANNEL_CLEAR_MM: Final = 0.25
"""How far the channel through the ribs stays below the slats and the drain slot's top."""
_CHANNEL_MIN_MM: Final = 1.0
"""Least height of the channel over the wall at a rib's outer face; a rib with less has notches."""
_POST_MM: Final = 1.6
_PLATE_SPAN_MM: Final = 20.0
"""So far the back plate bridges from a rib beside the bore to the round wall in a wide head."""
_LEAST_WINDOW_MM: Final = 2.0


def widest_mm(row: FilledRow, stack: Stack) -> float:
    """Return the widest bay (mm) that slats of a stack bridge cleanly, and bear a thumb in."""
    good = MATERIALS[row.material].print_profile.bridge_good_mm
    return min(good, _THUMB_SHARE * thumb_bay_mm(stack, row.material))


def bore_half_mm(row: FilledRow, stack: Stack, bore_radius_mm: float) -> float:
    """Return the inner face (x) of the ribs beside a bore (mm).

    They stand at its edge, or as far inside it as saves a rib between them.
    """
    edge, t = bore_radius_mm - BORE_LAP_MM, row.rib_thickness_mm
    if row.rib_count is not None:
        return edge
    widest = widest_mm(row, stack)
    count = math.ceil((2.0 * (bore_radius_mm - _BORE_GIVE_MM) + t) / (widest + t) - 1e-9)
    return min(edge, 0.5 * (max(count, 1) * (widest + t) - t))


def spans(row: FilledRow, stack: Stack, half: float, width: float) -> tuple[Span, ...]:
    """Return the clear x range of every bay, mm, left to right.

    Parameters
    ----------
    row, stack
        the filled row and its stack
    half
        inner face of the ribs beside the bore, x, mm
    width
        half the cavity's width, mm
    """
    t, widest = row.rib_thickness_mm, widest_mm(row, stack)
    inner, outer = 2.0 * half, width - half - t

    def bay(clear: float, count: int) -> float:
        return (clear - (count - 1) * t) / count

    if row.rib_count is None:
        within = max(1, math.ceil((inner + t) / (widest + t) - 1e-9))
        beside = max(1, math.ceil((outer + t) / (widest + t) - 1e-9))
    else:
        more = max(row.rib_count - 2, 0)
        ways = [(more - 2 * k + 1, k + 1) for k in range(more // 2 + 1)]
        within, beside = min(ways, key=lambda w: max(bay(inner, w[0]), bay(outer, w[1])))
    a, b = bay(inner, within), bay(outer, beside)
    middle = [(-inner / 2 + i * (a + t), -inner / 2 + i * (a + t) + a) for i in range(within)]
    right = [(half + t + i * (b + t), half + t + i * (b + t) + b) for i in range(beside)]
    left = [(-x1, -x0) for x0, x1 in reversed(right)]
    return (*left, *middle, *right)


def check_spans(row: FilledRow, refusals: Refusals, found: tuple[Span, ...]) -> None:
    """Refuse bays that are too wide to bridge, or too narrow."""
    if row.rib_count is not None and row.rib_count < 2:
        refusals.refuse(
            "ribs.bore.bare",
            "rib_count",
            f"a head with {row.rib_count} ribs has none on both sides of its bore, where they carry"
            " the back plate",
            allowed="2 or more",
            guesses=({"rib_count": 2}, {"rib_count": None}),
            columns=("rib_count",),
        )
        return
    widths = [b - a for a, b in found]
    longest = MATERIALS[row.material].print_profile.bridge_max_mm
    count = len(found) - 1
    if max(widths) > longest:
        refusals.refuse(
            "printing.bridge.long",
            "rib_count",
            f"with {count} ribs the slats bridge {max(widths):.1f} mm",
            allowed=f"bridges up to {longest:g} mm in {row.material}",
            guesses=({"rib_count": count + 1}, {"rib_count": count + 2}, {"rib_count": None}),
            columns=("rib_count", "head_diameter_mm"),
            lack=max(widths) - longest,
        )
    if min(widths) < BAY_MIN.value:
        refusals.refuse(
            "ribs.bay.narrow",
            "rib_count" if row.rib_count is not None else "head_diameter_mm",
            f"{count} ribs of {row.rib_thickness_mm:g} mm leave bays only {min(widths):.1f} mm"
            " wide",
            allowed=f"bays of {BAY_MIN.value:g} mm or more",
            guesses=({"rib_count": None}, {"head_diameter_mm": None}),
            columns=("rib_count", "rib_thickness_mm", "head_diameter_mm", "wall_mm"),
            lack=BAY_MIN.value - min(widths),
        )


def opened(head: Head, section: Section, rib: Span) -> tuple[Polygon, ...]:
    """Return what is cut out of a rib between its faces ``rib`` (x), as outlines (z, y).

    The cavity's round wall bounds it besides.
    """
    near, far = sorted((abs(rib[0]), abs(rib[1])))
    if rib[0] < 0.0 < rib[1]:
        near = 0.0
    plenum, shelter = _plenum(head, section, near, far), head.shelter
    r = head.inner_radius_mm
    z = section.front_z_mm
    if shelter is not None:
        parts = [plenum.intersection(over_web(section, shelter)), *drained(head, section, far)]
    elif far < r and (
        section.floor_height_mm(z) + _channel_mm(section) + math.sqrt(r * r - far * far)
        >= _CHANNEL_MIN_MM
    ):
        parts = [plenum, _channel(head, section, near)]
    else:
        parts = [plenum, *_notches(head, section, far)]
    whole = unary_union(parts).intersection(_bounds(head, section))
    return tuple(p for p in getattr(whole, "geoms", [whole]) if p.area > 1e-6)


def _bounds(head: Head, section: Section) -> Polygon:
    """Return the cavity from floor to ceiling, as if the back plate met both (z, y)."""
    z0, z1 = head.plate_z_mm, section.front_z_mm + FAR
    floor = [(z, section.floor_height_mm(z)) for z in (z0, z1)]
    return Polygon([*floor, (z1, section.ceiling_mm), (z0, section.ceiling_mm)])


def _channel_mm(section: Section) -> float:
    """Return the height of the channel through the ribs over the floor.

    Its roof runs parallel to the floor, below slats and apron, so that it has no step.
    """
    floors = [
        section.channel_mm[bank]
        - section.floor_height_mm(section.stack_z_mm[1] + section.stack.bank_z(bank)[0])
        for bank in range(section.stack.bank_count)
    ]
    apron = section.drain_mm[1] - section.floor_height_mm(min(section.apron)[0])
    return min(apron, *floors) - _CHANNEL_CLEAR_MM


def _channel(head: Head, section: Section, near: float) -> BaseGeometry:
    """Return what is open of the floor below a rib, whose inner face is at ``near`` (x)."""
    z0, z1, h = head.plate_z_mm + BEAM_MM, section.front_z_mm + FAR, _channel_mm(section)
    end = -head.mouth_radius_mm - _BORE_CLEAR_MM
    if near < head.bore_half_mm and end - _POST_MM < section.floor_height_mm(z0) + h:
        # A low sill leaves no room for a post below the bore, so the rib carries the plate there.
        z0 = section.stack_z_mm[0]
    low, high = section.floor_height_mm(z0), section.floor_height_mm(z1)
    return Polygon([(z0, low), (z1, high), (z1, high + h), (z0, low + h)])


def _notches(head: Head, section: Section, far: float) -> list[Polygon]:
    """Return a notch for each gap between banks, at the foot of a rib beside the floor.

    Printed face down, the slats behind it begin on what is left of the rib over its roof.
    """
    r = head.inner_radius_mm
    top = -math.sqrt(max(r * r - far * far, 0.0)) + NOTCH_MM
    stack, front = section.stack, section.stack_z_mm[1]
    found = []
    for bank in range(stack.bank_count - 1):
        z0 = front + stack.bank_z(bank + 1)[1] + BEAM_MM
        z1 = front + stack.bank_z(bank)[0] - NOTCH_CLEAR_MM
        found.append(box(z0, -r - FAR, z1, top))
    return found


def _plenum(head: Head, section: Section, near: float, far: float) -> BaseGeometry:
    """Return what is open of a rib between stack and back plate."""
    z0, z1 = head.plate_z_mm, section.stack_z_mm[0] - WINDOW_CLEAR_MM
    beside = near > head.bore_half_mm + 1e-6
    if abs(near - head.bore_half_mm) < 1e-6 or (beside and _wide(head, far - near)):
        return _carrying(head, section, far)
    if beside:
        return box(z0, -BEYOND_MM, z1, BEYOND_MM)
    end = head.mouth_radius_mm + _BORE_CLEAR_MM
    return box(z0, -end, z1, end)


def _carrying(head: Head, section: Section, far: float) -> BaseGeometry:
    """Return the windows in the plenum of a rib that carries the back plate."""
    z0, z1 = head.plate_z_mm + BEAM_MM, section.stack_z_mm[0] - WINDOW_CLEAR_MM
    return _windows(head, z0, z1, far, section.ceiling_mm)


def _wide(head: Head, thickness: float) -> bool:
    """Return whether ribs beside the bore alone leave too much of the back plate to bridge.

    Heads given wide, and those that hold a step in their floor, are wide against their bore.
    """
    return head.plate_radius_mm - head.bore_half_mm - thickness > _PLATE_SPAN_MM


def _windows(head: Head, z0: float, z1: float, far: float, ceiling: float) -> BaseGeometry:
    """Return the windows in a rib beside the bore, which carries the back plate with its beams."""
    wall = math.sqrt(max(head.plate_radius_mm**2 - far * far, 0.0))
    low, high = -wall, min(wall, ceiling) - BEAM_MM
    clear = high - low
    if clear < _LEAST_WINDOW_MM or z1 - z0 < BEAM_MM:
        return Polygon()
    count = math.ceil((clear + _POST_MM) / (WINDOW_MAX.value + _POST_MM))
    width = (clear - (count - 1) * _POST_MM) / count
    # A roof that begins with slopes of 45 degrees bridges less.
    slope = min(1.0, width / 4.0, 0.5 * (z1 - z0))
    found = []
    for k in range(count):
        y0 = low + k * (width + _POST_MM)
        y1 = y0 + width
        above = [(z1, y1), (z0 + slope, y1), (z0, y1 - slope)]
        below = [(z0, y0 + slope), (z0 + slope, y0), (z1, y0)]
        if k == 0:
            # The lowest is open down to the floor, where the beam ends on the wall.
            below = [(z0, -BEYOND_MM), (z1, -BEYOND_MM)]
        found.append(Polygon([*above, *below]))
    return unary_union(found)


def way_mm2(head: Head, bays: tuple[Span, ...], ceiling: float) -> float:
    """Return the area of the way out of the plenum over the edge of the bore's hole, mm2.

    ``bays`` (x) and the height of the ``ceiling`` are in mm. It is that of the open sides of the
    box before the hole: the ribs' windows, and above and below it between them.
    """
    half, r = head.bore_half_mm, head.mouth_radius_mm
    within = [b - a for a, b in bays if abs(0.5 * (a + b)) < half]
    far = min(a for a, _ in bays if a > half)
    z0, z1 = head.plate_z_mm + BEAM_MM, head.stack_z_mm - WINDOW_CLEAR_MM
    windows = _windows(head, z0, z1, far, ceiling)
    beside = windows.intersection(box(-BEYOND_MM, -r, BEYOND_MM, r)).area
    return float(2.0 * (beside + sum(within) * head.plenum_mm))
