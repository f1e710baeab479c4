"""Body and trough of a rectangular or flanged vent, and what is refused about them."""

from __future__ import annotations

import math

from vent_family.base.limits import (
    BAY_MIN,
    FIT_CLEARANCE,
    GAP_MIN,
    HOLE_SPACING_MAX,
    OPENING_MAX,
    OPENING_MIN,
)
from vent_family.spec import defaults
from vent_family.spec.bays import drain
from vent_family.spec.families.block import FlangedRow, RectangularRow
from vent_family.spec.refusals import Refusals
from vent_family.spec.section import Trough
from vent_family.spec.stack import (
    Stack,
)
from vent_family.spec.vent import (
    BlockBody,
    GasketSpec,
    Hole,
    KeyRidge,
    SnapArms,
)


def block_body(
    row: RectangularRow | FlangedRow, refusals: Refusals, stack: Stack
) -> tuple[BlockBody, Trough]:
    """Return body and trough of a rectangular or flanged vent."""
    w, h = _size(row.size)
    for value, name in ((w, "width"), (h, "height")):
        if not OPENING_MIN.value <= value <= OPENING_MAX.value:
            refusals.refuse(
                "size",
                f"the opening's {name} of {value:g} mm is out of range",
                "choose another size",
                f"{OPENING_MIN.value:g} to {OPENING_MAX.value:g} mm",
            )
    wall, panel = row.wall_mm, row.panel_thickness_mm
    cover_t = row.flange_thickness_mm if isinstance(row, FlangedRow) else row.lip_thickness_mm
    slot = drain(row, refusals)
    body_w, body_h = w - 2 * FIT_CLEARANCE.value, h - 2 * FIT_CLEARANCE.value
    front = cover_t
    depth = (
        defaults.FRONT_MARGIN_MM
        + stack.depth_mm
        + defaults.INNER_MARGIN_MM
        + defaults.SILL_THICKNESS_MM
    )
    inner_z = front - depth
    snap = None
    if isinstance(row, RectangularRow) and row.fixing == "snap":
        snap = _snap(refusals, inner_z, panel)
    half = body_w / 2 - wall
    if snap is not None:
        half -= snap.thickness_mm + snap.slot_mm
    foot_z = inner_z + defaults.SILL_THICKNESS_MM
    slope = row.floor_slope_deg
    floor_front = -body_h / 2 + wall
    floor_foot = floor_front + (front - foot_z) * math.tan(math.radians(slope))
    sill = floor_foot + (row.sill_height_mm or slot + defaults.SILL_OVER_DRAIN_MM)
    if sill > body_h / 2 - wall - 2 * GAP_MIN.value:
        refusals.refuse(
            "sill_height_mm",
            "the sill closes the inner side of the cavity",
            "lower sill_height_mm or floor_slope_deg, or make the opening higher",
        )
    if half < BAY_MIN.value / 2:
        refusals.refuse(
            "wall_mm", "the walls leave no cavity", "thin the walls or make the opening wider"
        )
    cover, holes, gasket = (
        _flange(row, refusals, (w, h)) if isinstance(row, FlangedRow) else _lip(row, (w, h), body_h)
    )
    body = BlockBody(
        opening_mm=(w, h),
        body_mm=(body_w, body_h),
        cavity_half_width_mm=half,
        wall_mm=wall,
        cover_mm=cover,
        cover_thickness_mm=cover_t,
        inner_z_mm=inner_z,
        holes=holes,
        teardrop_holes=row.print_orientation == "upright",
        snap=snap,
        key=KeyRidge(defaults.KEY_WIDTH_MM, defaults.KEY_HEIGHT_MM) if row.key == "notch" else None,
        gasket=gasket,
    )
    ceiling = body_h / 2 - wall
    trough = Trough(
        front_z_mm=front,
        front_margin_mm=defaults.FRONT_MARGIN_MM,
        floor_front_mm=floor_front,
        slope_deg=slope,
        drain_height_mm=slot,
        apron_thickness_mm=defaults.APRON_THICKNESS_MM,
        ceiling_max_mm=ceiling,
        ceiling_min_mm=ceiling - stack.pitch_mm,
        inner_z_mm=inner_z,
        foot_z_mm=foot_z,
        sill_top_mm=sill,
    )
    return body, trough


def _snap(refusals: Refusals, inner_z: float, panel: float) -> SnapArms:
    """Return the snap arms; their 45 degree hooks bear on the panel's inner edge."""
    free_end = -panel + FIT_CLEARANCE.value
    length = free_end - (inner_z + defaults.SNAP_ROOT_MM)
    if length < 4 * defaults.SNAP_ARM_MM + 3.5 * defaults.SNAP_HOOK_MM:
        refusals.refuse(
            "panel_thickness_mm",
            f"snap arms only {max(length, 0.0):.1f} mm long would break",
            "use a thinner panel, a deeper stack, or fixing screw",
        )
    return SnapArms(
        thickness_mm=defaults.SNAP_ARM_MM,
        slot_mm=defaults.SNAP_SLOT_MM,
        root_mm=defaults.SNAP_ROOT_MM,
        hook_mm=defaults.SNAP_HOOK_MM,
        free_end_z_mm=free_end,
    )


def _lip(
    row: RectangularRow, opening: tuple[float, float], body_h: float
) -> tuple[tuple[float, float, float, float], tuple[Hole, ...], None]:
    """Return lip reach and screw holes of a rectangular vent.

    Upright parts stand on their floor, so their lip ends flush with the body at the bottom.
    """
    w, h = opening
    lip = row.lip_width_mm
    side = w / 2 + lip
    holes: tuple[Hole, ...] = ()
    if row.fixing != "snap":
        washer = defaults.WASHER_MM[row.screw]
        diameter = defaults.ISO_273_MM[row.screw][row.screw_fit]
        x = w / 2 + washer / 2 + 1.0
        side = max(side, x + washer / 2 + 1.0)
        heights = (0.0,) if h <= HOLE_SPACING_MAX.value else (-h / 4, h / 4)
        holes = tuple(Hole(sx * x, y, diameter) for sx in (-1, 1) for y in heights)
    bottom = body_h / 2 if row.print_orientation == "upright" else h / 2 + lip
    return (side, side, bottom, h / 2 + lip), holes, None


def _flange(
    row: FlangedRow, refusals: Refusals, opening: tuple[float, float]
) -> tuple[tuple[float, float, float, float], tuple[Hole, ...], GasketSpec]:
    """Return flange reach, screw holes and gasket of a flanged vent."""
    w, h = opening
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    washer = defaults.WASHER_MM[row.screw]
    diameter = defaults.ISO_273_MM[row.screw][row.screw_fit]
    line = 2 * land + gw + washer / 2
    need = line + washer / 2 + 1.0
    width = row.flange_width_mm or math.ceil(need)
    if width < need:
        refusals.refuse(
            "flange_width_mm",
            f"a flange of {width:g} mm has no room for gasket and {row.screw} screws",
            f"use {math.ceil(need)} mm or more, or a smaller screw",
            f"{math.ceil(need)} mm or more with {row.screw}",
        )
    x, y = w / 2 + line, h / 2 + line
    # An even number along the top keeps its middle free for the mark.
    along = max(2, 2 * math.ceil((math.ceil(2 * x / HOLE_SPACING_MAX.value) + 1) / 2))
    up = max(2, math.ceil(2 * y / HOLE_SPACING_MAX.value) + 1)
    xs = [-x + 2 * x * i / (along - 1) for i in range(along)]
    ys = [-y + 2 * y * i / (up - 1) for i in range(up)]
    places = [(px, sy * y) for sy in (-1, 1) for px in xs]
    places += [(sx * x, py) for sx in (-1, 1) for py in ys[1:-1]]
    holes = tuple(Hole(px, py, diameter) for px, py in places)
    gasket = GasketSpec(
        is_ring=False,
        inner_mm=(w + 2 * land, h + 2 * land),
        outer_mm=(w + 2 * (land + gw), h + 2 * (land + gw)),
        thickness_mm=defaults.GASKET_THICKNESS_MM,
        recess_mm=defaults.GASKET_RECESS_MM,
    )
    return (w / 2 + width, w / 2 + width, h / 2 + width, h / 2 + width), holes, gasket


def _size(size: str) -> tuple[float, float]:
    width, height = size.split("x")
    return float(width), float(height)
