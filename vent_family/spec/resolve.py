"""From a catalogue row to a fully resolved vent, or to sentences saying why not."""

from __future__ import annotations

import math
from typing import Any

from vent_family.base.limits import (
    FIT_CLEARANCE,
    MARK_DEPTH,
)
from vent_family.base.materials import MATERIALS
from vent_family.catalog.model import CatalogRow
from vent_family.spec import defaults
from vent_family.spec.bays import bays
from vent_family.spec.block_rules import block_body
from vent_family.spec.cells import Cells
from vent_family.spec.round_rules import round_body
from vent_family.spec.section import Section, SectionError, Trough, lay_out_closed
from vent_family.spec.stack import (
    Stack,
)
from vent_family.spec.stack_rules import sight, stacks
from vent_family.spec.vent import (
    BlockBody,
    Mark,
    Opening,
    RoundBody,
    VentSpec,
)


def resolve(row: CatalogRow) -> VentSpec:
    """Return the resolved vent of a row.

    Raises
    ------
    InputError
        with one :class:`Problem` for every rule between columns that the row breaks; file and row
        number are left for the caller to fill in
    """
    cells = Cells(row)
    orientation = _orientation(cells)
    found = stacks(cells, orientation)
    cells.stop_if_refused()
    body, section = _first_closed(cells, found, orientation)
    stack = section.stack
    spans = bays(cells, body)
    sight(cells, section)
    cells.stop_if_refused()
    return VentSpec(
        row=row,
        revision=cells.get("revision"),
        description=row.description or _describe(row, stack),
        colour=cells.get("colour"),
        material=MATERIALS[cells.get("material")],
        print_orientation=orientation,
        stl_orientation=cells.get("stl_orientation"),
        section=section,
        bays=spans,
        rib_thickness_mm=cells.get("rib_thickness_mm"),
        panel_thickness_mm=cells.get("panel_thickness_mm"),
        body=body,
        mark=_mark(body, section, raised=orientation == "upright"),
        opening=_opening(body),
    )


def _first_closed(
    cells: Cells, stacks: list[Stack], orientation: str
) -> tuple[BlockBody | RoundBody, Section]:
    """Return body and section of the first stack that no straight line passes.

    Raises :class:`InputError` if none can be laid out; if none closes, the best one is returned.
    """
    best: tuple[BlockBody | RoundBody, Section] | None = None
    for stack in stacks:
        body, trough = (
            round_body(cells, stack)
            if cells.row.family == "round"
            else block_body(cells, stack, orientation)
        )
        cells.stop_if_refused()
        try:
            section = _laid_out(stack, trough, cells.row)
        except SectionError as fault:
            if stack is stacks[-1] and best is None:
                cells.refuse(fault.column, str(fault), fault.fix)
                cells.stop_if_refused()
            continue
        if section.closed:
            return body, section
        if best is None or section.sight.margin_mm > best[1].sight.margin_mm:
            best = (body, section)
    assert best is not None
    return best


def _describe(row: CatalogRow, stack: Stack) -> str:
    """Return a description for rows that bring none."""
    return f"{row.family} vent {row.size}, {stack.bank_count} banks of {stack.form} slats"


def _orientation(cells: Cells) -> Any:
    """Return the print orientation and refuse combinations that need supports."""
    row = cells.row
    snap = row.family == "rectangular" and cells.get("fixing") == "snap"
    orientation = row.print_orientation or ("upright" if snap else cells.get("print_orientation"))
    if orientation == "upright" and row.family != "rectangular":
        what = "neck" if row.family == "round" else "flange"
        cells.refuse(
            "print_orientation",
            f"a {row.family} vent does not print upright without supports: its {what} would hang"
            " over the bed",
            "use face_down",
            "face_down",
        )
    if orientation == "face_down" and snap:
        cells.refuse(
            "fixing",
            "snap arms start in mid-air when printed face down",
            "set print_orientation to upright, or fixing to screw",
        )
    if snap:
        for column in ("screw", "screw_fit"):
            if getattr(row, column) is not None:
                cells.refuse(column, "a snap-fixed vent has no screws", "leave this cell blank")
    if orientation == "upright" and row.family == "rectangular" and cells.get("key") == "notch":
        cells.refuse(
            "key",
            "the key ridge below the body would lift the part off the bed when printed upright",
            "print face_down, or set key to none",
        )
    return orientation


def _laid_out(stack: Stack, trough: Trough, row: CatalogRow) -> Section:
    """Return the section; a blank sill height is raised until no straight line passes."""
    steps = 0
    if row.sill_height_mm is None:
        room = trough.ceiling_max_mm - 2 * stack.pitch_mm - trough.sill_top_mm
        if trough.throat is not None:
            highest = trough.throat.highest_sill_mm(trough.foot_z_mm)
            room = min(room, highest - trough.sill_top_mm)
        steps = max(0, min(defaults.SILL_STEPS, math.floor(room / defaults.SILL_STEP_MM)))
    return lay_out_closed(stack, trough, steps, defaults.SILL_STEP_MM)


def _mark(body: BlockBody | RoundBody, section: Section, *, raised: bool) -> Mark:
    """Return the place of the arrow and TOP mark, in the bar above the front window."""
    top = body.head_radius_mm - 1.0 if isinstance(body, RoundBody) else body.cover_mm[3]
    low = section.ceiling_mm
    if isinstance(body, RoundBody):
        height = min(defaults.MARK_HEIGHT_MM, (top - low) * 0.6)
        y = low + 0.25 * (top - low - height)
    else:
        height = defaults.MARK_HEIGHT_MM
        y = low + (top - low - height) / 2
    return Mark(0.0, y, height, MARK_DEPTH.value, raised)


def _opening(body: BlockBody | RoundBody) -> Opening:
    """Return what the panel needs."""
    if isinstance(body, RoundBody):
        hole = body.thread.nominal_mm + 2 * FIT_CLEARANCE.value
        return Opening("circle", (hole, hole), None, ())
    notch = None
    if body.key is not None:
        notch = (
            body.key.width_mm + 2 * FIT_CLEARANCE.value,
            body.key.height_mm + FIT_CLEARANCE.value,
        )
    return Opening("rectangle", body.opening_mm, notch, body.holes)
