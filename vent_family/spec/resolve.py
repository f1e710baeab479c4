"""From a catalogue row to a fully resolved vent, or to sentences saying why not."""

from __future__ import annotations

import math

from vent_family.base.materials import MATERIALS
from vent_family.catalog.attached import NOTHING_ATTACHED, Attached
from vent_family.catalog.model import CatalogRow
from vent_family.spec import defaults
from vent_family.spec.air_rules import air_columns
from vent_family.spec.body import Body, mark_on
from vent_family.spec.families import FAMILIES, Family
from vent_family.spec.families.common import bays
from vent_family.spec.layout import Bounds, lay_out_closed
from vent_family.spec.printable import mark_bar, whole_layers
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.section import Section, SectionError
from vent_family.spec.stack import (
    Stack,
)
from vent_family.spec.stack_rules import sight, stacks
from vent_family.spec.vent import VentSpec


def resolve(row: CatalogRow, attached: Attached = NOTHING_ATTACHED) -> VentSpec:
    """Return the resolved vent of a row; ``attached`` is what the row names outside itself.

    Raises
    ------
    InputError
        with one :class:`Problem` for every rule between columns that the row breaks; file and row
        number are left for the caller to fill in

    Examples
    --------
    >>> cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> vent = resolve(CatalogRow(**cells))
    >>> vent.rib_count, round(vent.longest_bridge_mm, 1), vent.opening.text()
    (2, 24.1, 'rectangle 80 x 60 mm, 2 holes of diameter 4.5 mm')
    >>> resolve(CatalogRow(**cells, rib_count=0))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    vent_family.base.problems.InputError: part A, column rib_count: with 0 ribs the slats bridge ...
    """
    family, refusals = FAMILIES[row.family], Refusals(row)
    filled = family.filled(row)
    family.check_ways(filled, refusals)
    air_columns(filled, refusals)
    found = stacks(filled, refusals)
    refusals.stop_if_any()
    body, section = _first_closed(family, filled, refusals, found)
    stack = section.stack
    spans = bays(filled, refusals, body.half_width_mm)
    sight(filled, refusals, section)
    mark_bar(filled, refusals, body, section.ceiling_mm)
    whole_layers(filled, refusals, body, section, spans)
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
        mark=mark_on(body, section.ceiling_mm, raised=filled.print_orientation == "upright"),
        attached=attached,
    )


def _first_closed(
    family: Family, row: FilledRow, refusals: Refusals, stacks: list[Stack]
) -> tuple[Body, Section]:
    """Return body and section of the first stack that no straight line passes.

    If none closes, the best one is returned.

    Raises
    ------
    InputError
        if none can be laid out
    """
    best: tuple[Body, Section] | None = None
    for stack in stacks:
        body, bounds = family.lay_out(row, refusals, stack)
        refusals.stop_if_any()
        try:
            section = _laid_out(stack, bounds, row)
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


def _laid_out(stack: Stack, bounds: Bounds, row: FilledRow) -> Section:
    """Return the section; a blank sill height is raised until no straight line passes."""
    steps = 0
    if row.sill_height_mm is None:
        room = bounds.ceiling_max_mm - 2 * stack.pitch_mm - bounds.sill_top_mm
        if bounds.throat is not None:
            highest = bounds.throat.highest_sill_mm(bounds.foot_z_mm)
            room = min(room, highest - bounds.sill_top_mm)
        steps = max(0, min(defaults.SILL_STEPS, math.floor(room / defaults.SILL_STEP_MM)))
    return lay_out_closed(stack, bounds, steps, defaults.SILL_STEP_MM)
