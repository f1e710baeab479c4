"""Body and trough of a round vent, and what is refused about them."""

from __future__ import annotations

import math

from vent_family.limits import (
    NECK_WALL_MIN,
)
from vent_family.materials import MATERIALS
from vent_family.spec import defaults
from vent_family.spec.bays import bays, drain
from vent_family.spec.cells import Cells
from vent_family.spec.iso_thread import ThreadSpec, thread_spec
from vent_family.spec.section import Throat, Trough
from vent_family.spec.stack import (
    Stack,
)
from vent_family.spec.thread_parts import (
    locknut_size,
    neck_length_min_mm,
    neck_relief_diameter_mm,
)
from vent_family.spec.vent import (
    GasketSpec,
    RoundBody,
)


def round_body(cells: Cells, stack: Stack) -> tuple[RoundBody, Trough]:
    """Return body and trough of a round vent."""
    material = MATERIALS[cells.get("material")]
    thread = thread_spec(cells.row.size, material.thread_clearance_normal_mm)
    d, wall, panel = thread.nominal_mm, cells.get("wall_mm"), cells.get("panel_thickness_mm")
    slot = drain(cells)
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    shoulder = d / 2 + 2 * land + gw
    bore = _bore(thread)
    head = cells.row.head_diameter_mm or math.ceil(1.5 * d + 24.0)
    least = math.ceil(2 * (shoulder + 2.0))
    if head < least:
        cells.refuse(
            "head_diameter_mm",
            f"a head of {head:g} mm is too small for its {cells.row.size} neck and gasket",
            f"use {least} mm or more",
            f"{least} mm or more on {cells.row.size}",
        )
        head = least
    gasket = GasketSpec(
        is_ring=True,
        inner_mm=(d + 2 * land, d + 2 * land),
        outer_mm=(d + 2 * (land + gw), d + 2 * (land + gw)),
        thickness_mm=defaults.GASKET_THICKNESS_MM,
        recess_mm=defaults.GASKET_RECESS_MM,
    )
    nut = locknut_size(thread).thickness_mm
    short = max(panel + nut + 2 * thread.pitch_mm, neck_length_min_mm(thread))
    neck = cells.row.neck_length_mm or math.ceil(short)
    if neck < short:
        cells.refuse(
            "neck_length_mm",
            f"a neck of {neck:g} mm does not reach through a {panel:g} mm panel and its locknut",
            f"use {math.ceil(short)} mm or more",
            f"{math.ceil(short)} mm or more",
        )
    radius = head / 2
    inner = radius - wall
    cone = (defaults.SHOULDER_MM, defaults.SHOULDER_MM + radius - shoulder)
    throat_z = max(
        defaults.THROAT_Z_MM, defaults.SHOULDER_MM - shoulder + bore + math.sqrt(2.0) * wall
    )
    stack_inner = throat_z + (inner - bore) + defaults.PLENUM_MM
    front = stack_inner + stack.depth_mm + defaults.FRONT_MARGIN_MM
    body = RoundBody(
        head_radius_mm=radius,
        inner_radius_mm=inner,
        wall_mm=wall,
        flat_depth_mm=defaults.FLAT_DEPTH_MM,
        shoulder_radius_mm=shoulder,
        cone_z_mm=cone,
        throat_z_mm=throat_z,
        bore_radius_mm=bore,
        neck_length_mm=neck,
        thread=thread,
        true_thread=cells.get("thread") == "true",
        gasket=gasket,
    )
    spans = bays(cells, body)
    # The floor is wide enough that every bay has a stretch of it, so every bay can drain.
    reach = max(spans[-1][0] + 4.0, 0.35 * inner)
    if reach > 0.9 * inner:
        cells.refuse(
            "rib_count",
            "so many ribs leave side bays without floor and drain",
            "use fewer ribs, or leave the cell blank",
        )
        reach = 0.9 * inner
    slope = cells.get("floor_slope_deg")
    floor_front = -math.sqrt(inner**2 - reach**2)
    foot_z = stack_inner - defaults.INNER_MARGIN_MM
    floor_foot = floor_front + (front - foot_z) * math.tan(math.radians(slope))
    sill = floor_foot + (cells.row.sill_height_mm or slot + defaults.SILL_OVER_DRAIN_MM)
    if sill > -bore - 0.4:
        cells.refuse(
            "sill_height_mm" if cells.row.sill_height_mm else "head_diameter_mm",
            f"the sill stands {sill + bore + 0.4:.1f} mm too high: it reaches into the bore",
            f"use a head of {math.ceil(head + 2.2 * (sill + bore + 0.4))} mm, or a smaller floor"
            " slope",
        )
    ceiling = min(radius - defaults.MARK_BAR_MM, 0.94 * inner)
    trough = Trough(
        front_z_mm=front,
        front_margin_mm=defaults.FRONT_MARGIN_MM,
        floor_front_mm=floor_front,
        slope_deg=slope,
        drain_height_mm=slot,
        apron_thickness_mm=defaults.APRON_THICKNESS_MM,
        ceiling_max_mm=ceiling,
        ceiling_min_mm=ceiling - stack.pitch_mm,
        inner_z_mm=-neck,
        foot_z_mm=foot_z,
        sill_top_mm=sill,
        throat=Throat(bore, throat_z, inner),
    )
    return body, trough


def _bore(thread: ThreadSpec) -> float:
    """Return the bore radius that leaves the least neck wall under the thread root."""
    relief = neck_relief_diameter_mm(thread.external)
    return math.floor((relief / 2 - NECK_WALL_MIN.value) * 20) / 20
