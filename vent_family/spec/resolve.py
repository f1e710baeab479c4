"""From a catalogue row to a fully resolved vent, or to sentences saying why not."""

from __future__ import annotations

import math

from vent_family.base.limits import (
    FIT_CLEARANCE,
    MARK_DEPTH,
)
from vent_family.base.materials import MATERIALS
from vent_family.catalog.model import CatalogRow
from vent_family.spec import defaults
from vent_family.spec.bays import bays
from vent_family.spec.block_rules import block_body
from vent_family.spec.families import filled_row
from vent_family.spec.families.block import FlangedRow, RectangularRow
from vent_family.spec.families.round import RoundRow
from vent_family.spec.refusals import Refusals
from vent_family.spec.round_rules import round_body
from vent_family.spec.row import FilledRow
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
    filled, refusals = filled_row(row), Refusals(row)
    _orientation(filled, refusals)
    found = stacks(filled, refusals)
    refusals.stop_if_any()
    body, section = _first_closed(filled, refusals, found)
    stack = section.stack
    spans = bays(filled, refusals, body)
    sight(filled, refusals, section)
    refusals.stop_if_any()
    return VentSpec(
        row=row,
        revision=filled.revision,
        description=row.description or _describe(row, stack),
        colour=filled.colour,
        material=MATERIALS[filled.material],
        print_orientation=filled.print_orientation,
        stl_orientation=filled.stl_orientation,
        section=section,
        bays=spans,
        rib_thickness_mm=filled.rib_thickness_mm,
        panel_thickness_mm=filled.panel_thickness_mm,
        body=body,
        mark=_mark(body, section, raised=filled.print_orientation == "upright"),
        opening=_opening(body),
    )


def _first_closed(
    row: FilledRow, refusals: Refusals, stacks: list[Stack]
) -> tuple[BlockBody | RoundBody, Section]:
    """Return body and section of the first stack that no straight line passes.

    Raises :class:`InputError` if none can be laid out; if none closes, the best one is returned.
    """
    best: tuple[BlockBody | RoundBody, Section] | None = None
    for stack in stacks:
        body, trough = _body(row, refusals, stack)
        refusals.stop_if_any()
        try:
            section = _laid_out(stack, trough, row)
        except SectionError as fault:
            if stack is stacks[-1] and best is None:
                refusals.refuse(fault.column, str(fault), fault.fix)
                refusals.stop_if_any()
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


def _body(row: FilledRow, refusals: Refusals, stack: Stack) -> tuple[BlockBody | RoundBody, Trough]:
    if isinstance(row, RoundRow):
        return round_body(row, refusals, stack)
    assert isinstance(row, RectangularRow | FlangedRow)
    return block_body(row, refusals, stack)


def _orientation(row: FilledRow, refusals: Refusals) -> None:
    """Refuse combinations of print orientation and fixing that need supports."""
    upright = row.print_orientation == "upright"
    if not isinstance(row, RectangularRow):
        if upright:
            what = "neck" if isinstance(row, RoundRow) else "flange"
            refusals.refuse(
                "print_orientation",
                f"a {row.family} vent does not print upright without supports: its {what} would"
                " hang over the bed",
                "use face_down",
                "face_down",
            )
        return
    if row.fixing == "snap":
        if not upright:
            refusals.refuse(
                "fixing",
                "snap arms start in mid-air when printed face down",
                "set print_orientation to upright, or fixing to screw",
            )
        for column in ("screw", "screw_fit"):
            if row.given(column):
                refusals.refuse(column, "a snap-fixed vent has no screws", "leave this cell blank")
    if upright and row.key == "notch":
        refusals.refuse(
            "key",
            "the key ridge below the body would lift the part off the bed when printed upright",
            "print face_down, or set key to none",
        )


def _laid_out(stack: Stack, trough: Trough, row: FilledRow) -> Section:
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
