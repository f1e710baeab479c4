"""From a catalogue row to a fully resolved vent, or to sentences saying why not."""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.materials import MATERIALS
from vent_family.base.problems import InputError
from vent_family.catalog.attached import NOTHING_ATTACHED, Attached
from vent_family.catalog.columns import decimal
from vent_family.catalog.model import CatalogRow
from vent_family.spec import defaults
from vent_family.spec.advice import with_advice
from vent_family.spec.air_rules import air_columns
from vent_family.spec.body import Body, mark_on
from vent_family.spec.bounds import Bounds
from vent_family.spec.changes import Change, nearest
from vent_family.spec.choice import StackChoice, closing_stacks
from vent_family.spec.families import FAMILIES, Family
from vent_family.spec.fan_rules import fan_room
from vent_family.spec.foregone import open_whatever, sill_steps
from vent_family.spec.label import label_on
from vent_family.spec.layout import PHASES, QUICK_PHASES, lay_out_closed
from vent_family.spec.printable import mark_bar, whole_layers
from vent_family.spec.refusals import Refusal, Refusals, RefusedError
from vent_family.spec.row import FilledRow
from vent_family.spec.section import Section, SectionError, nearest_to_closing
from vent_family.spec.stack import Stack
from vent_family.spec.stack_rules import sight, sill_below_ceiling, stacks
from vent_family.spec.vent import VentSpec

PITCH_SHARE: Final = 0.05
"""A blank pitch is moved by this share of the form's own at most, where that one does not do."""
PITCH_SHARE_TOLD: Final = 0.2
"""For a pitch that was given and does not do, others are tried by this share up and down."""
BY_PITCH: Final = frozenset({"slats.ceiling.sliver", "slats.passage.narrow"})
"""Rules that a pitch a little greater or less may keep."""


def resolve(
    row: CatalogRow, attached: Attached = NOTHING_ATTACHED, *, advise: bool = True
) -> VentSpec:
    """Return the resolved vent of a row.

    Parameters
    ----------
    row
        The row.
    attached
        What the row names outside itself.
    advise
        Whether the problems of a refused row come with advice, for which changes of the row are
        resolved in turn.

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
    try:
        return _resolved(row, attached)
    except RefusedError as refused:
        found = refused.refusals
    if not advise:
        raise InputError([r.problem for r in found])
    raise InputError(with_advice(row, found, refusals_of))


def resolved_or_none(row: CatalogRow, attached: Attached = NOTHING_ATTACHED) -> VentSpec | None:
    """Return the resolved vent of a row that is only tried, ``None`` if it breaks a rule.

    Which one is not looked into, so that a row is refused in a fraction of the time.
    """
    try:
        return _resolved(row, attached, told=False)
    except RefusedError:
        return None


def attempted(
    row: CatalogRow, attached: Attached = NOTHING_ATTACHED
) -> VentSpec | tuple[Refusal, ...]:
    """Return the resolved vent of a row, or the rules that it breaks.

    Raises
    ------
    InputError
        if its thread has no profile
    """
    try:
        return _resolved(row, attached)
    except RefusedError as refused:
        return refused.refusals


def refusals_of(row: CatalogRow, *, quick: bool = False) -> tuple[Refusal, ...]:
    """Return the rules between columns that a row breaks; none where it resolves.

    A ``quick`` answer comes from fewer slopes, gaps and places of the slats: it may find a straight
    path or no clean ceiling where the whole search finds a way, and it may miss what only a stack
    breaks that the whole search comes to.

    Raises
    ------
    InputError
        if its thread has no profile
    """
    try:
        _resolved(row, NOTHING_ATTACHED, quick=quick)
    except RefusedError as refused:
        return refused.refusals
    return ()


def _resolved(
    row: CatalogRow, attached: Attached, *, quick: bool = False, told: bool = True
) -> VentSpec:
    """Return the resolved vent of a row; a blank pitch is moved where its form's own does not do.

    What is refused is whole and in words only where it is ``told`` to anybody.

    Raises
    ------
    RefusedError
        with every rule that is broken as far as the row came with its form's own pitch
    """
    family = FAMILIES[row.family]
    filled = family.filled(row)
    try:
        return _resolved_at(family, filled, attached, quick=quick, told=told)
    except RefusedError as refused:
        by_pitch = row.pitch_mm is None and not quick
        if by_pitch and {r.rule for r in refused.refusals} <= BY_PITCH:
            for pitch in nearest("pitch_mm", filled.pitch_mm, PITCH_SHARE * filled.pitch_mm):
                moved = filled.model_copy(update={"pitch_mm": pitch})
                try:
                    return _resolved_at(family, moved, attached, quick=quick, told=told)
                except RefusedError:
                    continue
        raise


def _resolved_at(
    family: Family, filled: FilledRow, attached: Attached, *, quick: bool, told: bool
) -> VentSpec:
    """Return the resolved vent of a filled row.

    Raises
    ------
    RefusedError
        with every rule that is broken as far as the row came
    """
    row = filled.source
    refusals = Refusals(row)
    family.check_ways(filled, refusals)
    air_columns(filled, refusals)
    found = stacks(filled, refusals, quick=quick)
    refusals.stop_if_any()
    assert found is not None
    phases = QUICK_PHASES if quick else len(PHASES)
    body, section = _first_closed(family, filled, refusals, found, phases, told=told)
    stack = section.stack
    body, spans = family.place_ribs(filled, refusals, body, section)
    sill_below_ceiling(filled, refusals, section)
    sight(filled, refusals, section)
    mark_bar(filled, refusals, body, section.ceiling_mm)
    fan_room(filled, refusals, body, section)
    if not told:
        refusals.stop_if_any()  # what follows takes longest
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
        label=label_on(body.label_face(section), row.part_number, filled.revision),
        attached=attached,
    )


def _first_closed(
    family: Family,
    row: FilledRow,
    refusals: Refusals,
    choice: StackChoice,
    phases: int,
    *,
    told: bool,
) -> tuple[Body, Section]:
    """Return body and section of the first stack that no straight line passes.

    If none closes, the best one is returned where that is ``told``.

    Raises
    ------
    RefusedError
        if none can be laid out
    """
    found: list[tuple[Body, Section]] = []
    last: tuple[Body, SectionError] | None = None
    # A blank pitch may yet be moved to where slats can stand at all.
    if not told and row.given("pitch_mm") and open_whatever(family, row, choice):
        refusals.refuse("water.sight.open", "pitch_mm", "a straight path exists")
        refusals.stop_if_any()
    for stack in closing_stacks(choice):
        body, bounds = family.lay_out(row, refusals, stack)
        refusals.stop_if_any()
        try:
            section = _laid_out(stack, bounds, row, phases, told=told)
        except SectionError as fault:
            last = (body, fault)
            continue
        if section is None:
            continue
        if section.closed:
            return body, section
        found.append((body, section))
    if not found:
        if last is None:
            refusals.refuse("water.sight.open", "pitch_mm", "a straight path exists")
        else:
            _refuse_section(row, refusals, *last)
        refusals.stop_if_any()
    nearest = nearest_to_closing([section for _, section in found])
    return next((body, section) for body, section in found if section is nearest)


def _refuse_section(row: FilledRow, refusals: Refusals, body: Body, fault: SectionError) -> None:
    """Refuse a stack that does not fit between floor and ceiling."""
    guesses: list[Change] = []
    if fault.code in BY_PITCH and row.given("pitch_mm"):
        near = nearest("pitch_mm", row.pitch_mm, PITCH_SHARE_TOLD * row.pitch_mm)
        guesses = [{"pitch_mm": pitch} for pitch in near]
    elif body.neck is None:
        width, height = row.size.split("x")
        higher = decimal(float(math.ceil(float(height) + fault.lack_mm)))
        guesses = [{"size": f"{width}x{higher}"}] if fault.lack_mm else []
    heights = "overlap_mm" if row.slat_height_mm is None else "slat_height_mm"
    columns = ("pitch_mm", heights, "floor_slope_deg", "drain_height_mm", "bank_stagger")
    own = ("size",) if body.neck is None else ("head_diameter_mm",)
    refusals.refuse(
        fault.code,
        fault.column if body.neck is None or fault.column != "size" else own[0],
        str(fault),
        guesses=guesses,
        columns=(*columns, *own, "bank_count", "slat_form"),
        lack=fault.lack_mm,
    )


def _describe(row: CatalogRow, stack: Stack) -> str:
    """Return a description for rows that bring none."""
    return f"{row.family} vent {row.size}, {stack.bank_count} banks of {stack.form} slats"


def _laid_out(
    stack: Stack, bounds: Bounds, row: FilledRow, phases: int, *, told: bool
) -> Section | None:
    """Return the section; a blank sill height is raised until no straight line passes.

    ``told`` is that of :func:`lay_out_closed`.
    """
    steps = sill_steps(row, stack, bounds)
    return lay_out_closed(stack, bounds, steps, defaults.SILL_STEP_MM, phases, told=told)
