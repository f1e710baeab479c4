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
from vent_family.catalog.model import CatalogRow
from vent_family.spec import defaults
from vent_family.spec.bays import drain
from vent_family.spec.cells import Cells
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


def block_body(cells: Cells, stack: Stack, orientation: str) -> tuple[BlockBody, Trough]:
    """Return body and trough of a rectangular or flanged vent."""
    w, h = _size(cells.row)
    for value, name in ((w, "width"), (h, "height")):
        if not OPENING_MIN.value <= value <= OPENING_MAX.value:
            cells.refuse(
                "size",
                f"the opening's {name} of {value:g} mm is out of range",
                "choose another size",
                f"{OPENING_MIN.value:g} to {OPENING_MAX.value:g} mm",
            )
    flanged = cells.row.family == "flanged"
    wall, panel = cells.get("wall_mm"), cells.get("panel_thickness_mm")
    cover_t = cells.get("flange_thickness_mm") if flanged else cells.get("lip_thickness_mm")
    slot = drain(cells)
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
    if not flanged and cells.get("fixing") == "snap":
        snap = _snap(cells, inner_z, panel)
    half = body_w / 2 - wall
    if snap is not None:
        half -= snap.thickness_mm + snap.slot_mm
    foot_z = inner_z + defaults.SILL_THICKNESS_MM
    slope = cells.get("floor_slope_deg")
    floor_front = -body_h / 2 + wall
    floor_foot = floor_front + (front - foot_z) * math.tan(math.radians(slope))
    sill = floor_foot + (cells.row.sill_height_mm or slot + defaults.SILL_OVER_DRAIN_MM)
    if sill > body_h / 2 - wall - 2 * GAP_MIN.value:
        cells.refuse(
            "sill_height_mm",
            "the sill closes the inner side of the cavity",
            "lower sill_height_mm or floor_slope_deg, or make the opening higher",
        )
    if half < BAY_MIN.value / 2:
        cells.refuse(
            "wall_mm", "the walls leave no cavity", "thin the walls or make the opening wider"
        )
    cover, holes, gasket = (
        _flange(cells, (w, h))
        if flanged
        else _lip(cells, (w, h), body_h, orientation, snap is not None)
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
        teardrop_holes=orientation == "upright",
        snap=snap,
        key=KeyRidge(defaults.KEY_WIDTH_MM, defaults.KEY_HEIGHT_MM)
        if cells.get("key") == "notch"
        else None,
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


def _snap(cells: Cells, inner_z: float, panel: float) -> SnapArms:
    """Return the snap arms; their 45 degree hooks bear on the panel's inner edge."""
    free_end = -panel + FIT_CLEARANCE.value
    length = free_end - (inner_z + defaults.SNAP_ROOT_MM)
    if length < 4 * defaults.SNAP_ARM_MM + 3.5 * defaults.SNAP_HOOK_MM:
        cells.refuse(
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
    cells: Cells, opening: tuple[float, float], body_h: float, orientation: str, snap: bool
) -> tuple[tuple[float, float, float, float], tuple[Hole, ...], None]:
    """Return lip reach and screw holes of a rectangular vent.

    Upright parts stand on their floor, so their lip ends flush with the body at the bottom.
    """
    w, h = opening
    lip = cells.get("lip_width_mm")
    side = w / 2 + lip
    holes: tuple[Hole, ...] = ()
    if not snap:
        washer = defaults.WASHER_MM[cells.get("screw")]
        diameter = defaults.ISO_273_MM[cells.get("screw")][cells.get("screw_fit")]
        x = w / 2 + washer / 2 + 1.0
        side = max(side, x + washer / 2 + 1.0)
        heights = (0.0,) if h <= HOLE_SPACING_MAX.value else (-h / 4, h / 4)
        holes = tuple(Hole(sx * x, y, diameter) for sx in (-1, 1) for y in heights)
    bottom = body_h / 2 if orientation == "upright" else h / 2 + lip
    return (side, side, bottom, h / 2 + lip), holes, None


def _flange(
    cells: Cells, opening: tuple[float, float]
) -> tuple[tuple[float, float, float, float], tuple[Hole, ...], GasketSpec]:
    """Return flange reach, screw holes and gasket of a flanged vent."""
    w, h = opening
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    washer = defaults.WASHER_MM[cells.get("screw")]
    diameter = defaults.ISO_273_MM[cells.get("screw")][cells.get("screw_fit")]
    line = 2 * land + gw + washer / 2
    need = line + washer / 2 + 1.0
    width = cells.row.flange_width_mm or math.ceil(need)
    if width < need:
        cells.refuse(
            "flange_width_mm",
            f"a flange of {width:g} mm has no room for gasket and {cells.get('screw')} screws",
            f"use {math.ceil(need)} mm or more, or a smaller screw",
            f"{math.ceil(need)} mm or more with {cells.get('screw')}",
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


def _size(row: CatalogRow) -> tuple[float, float]:
    width, height = row.size.split("x")
    return float(width), float(height)
