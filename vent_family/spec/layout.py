"""Laying out a section: banks between floor and ceiling, sill and ceiling as high as needed.

A family gives the :class:`~vent_family.spec.bounds.Bounds`; the slats come from the stack.
Coordinates as in :mod:`vent_family.spec.section`, in mm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import chain
from typing import Final

from shapely.geometry import Polygon, box

from vent_family.spec.bounds import Bounds
from vent_family.spec.forms import Outline, SlatBox, SlatForm
from vent_family.spec.places import Frame, Layouts, SlatPlace
from vent_family.spec.section import (
    BEYOND_MM,
    FAR,
    Section,
    SectionError,
    Slat,
    nearest_to_closing,
)
from vent_family.spec.stack import Stack

PHASES: Final = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
"""Lattice phases tried, in pitches."""
QUICK_PHASES: Final = 3
"""So many phases a quick layout looks along."""


def lay_out(stack: Stack, bounds: Bounds, phase: float = 0.0) -> Section:
    """Place the banks between floor and ceiling and return the section.

    Banks hang on one lattice of the given pitch and shift. At ``phase`` 0 the innermost bank's
    lowest slat ends on the drain channel; other phases lift the lattice by that share of a pitch.
    Banks that end higher are completed by a slat cut short at
    the channel, so every bank closes the cavity down to it. The ceiling is put at the highest
    level where no slat leaves a sliver or a gap that a water film would bridge.

    Parameters
    ----------
    stack
        banks of slats
    bounds
        bottom, sill and open ends, as the family gives them
    phase
        lift of the lattice, in pitches

    Raises
    ------
    SectionError
        when the cavity is too low for the stack

    Examples
    --------
    >>> stack = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> bounds = Bounds(
    ...     front_z_mm=3.0, front_margin_mm=1.0, floor_front_mm=-30.0, slope_deg=5.0,
    ...     drain_height_mm=4.0, apron_thickness_mm=2.0, ceiling_max_mm=30.0, ceiling_min_mm=17.0,
    ...     inner_z_mm=-22.5, foot_z_mm=-20.9, sill_top_mm=-19.5)
    >>> section = lay_out(stack, bounds)
    >>> len(section.slats), section.ceiling_mm, section.drain_mm, section.sill
    (25, 27.7, (-30.0, -26.0), (-20.9, -19.5))
    >>> round(section.foot[1], 2), round(section.sight.margin_mm, 2)
    (-27.91, 1.0)
    """
    return _drawn(Layouts(Frame.of(stack, bounds)), phase)


def _drawn(layouts: Layouts, phase: float) -> Section:
    """Return the section of a layout, its slats drawn; :func:`lay_out` says more."""
    frame = layouts.frame
    stack, bounds, front = frame.stack, frame.bounds, frame.front_mm
    shape = stack.shape
    places, ceiling = layouts.places(phase)
    middles = [[p.centre_mm for p in places if p.bank == k] for k in range(stack.bank_count)]
    boxes = chain(*(stack.slat_boxes(bank, own) for bank, own in enumerate(middles)))
    slats = [
        slat
        for place, box_ in zip(places, boxes, strict=True)
        if (slat := _slat(shape, place, box_, front, frame.cuts_mm[place.bank], ceiling))
        is not None
    ]
    lowest_front = min(
        (y for s in slats if s.bank == 0 for _, y in s.outline), default=frame.cuts_mm[0]
    )
    shelter = bounds.shelter
    return Section(
        stack=stack,
        slats=tuple(slats),
        shelf=((bounds.inner_z_mm, bounds.sill_top_mm),),
        sill=bounds.sill(bounds.sill_top_mm),
        foot=bounds.foot,
        brink=bounds.brink,
        upper=bounds.upper(ceiling),
        apron=frame.apron(lowest_front),
        stack_z_mm=(front - stack.depth_mm, front),
        ceiling_mm=ceiling,
        drain_mm=frame.slot_mm,
        sill_face=bounds.sill_face(bounds.sill_top_mm),
        outlet=() if shelter is None else shelter.outlet,
        rib_window=() if shelter is None else shelter.rib_window(bounds.foot_z_mm),
    )


def lay_out_closed(
    stack: Stack,
    bounds: Bounds,
    sill_steps: int,
    step_mm: float,
    most: int = len(PHASES),
    *,
    told: bool = True,
) -> Section | None:
    """Return a layout that no straight line passes, with the lowest sill that does it.

    Tries the lattice phases and, for each, the given number of sill heights above the bounds'
    own. If none closes the section, the one nearest to it is returned and the caller decides.

    Parameters
    ----------
    stack
        banks of slats
    bounds
        bottom, sill and open ends, as the family gives them
    sill_steps
        how many steps the sill may be raised
    step_mm
        height of one step, mm
    most
        how many of the phases that can be laid out are looked along
    told
        whether anybody is told by how much lines pass; else ``None`` is returned where none closes

    Raises
    ------
    SectionError
        when no phase can be laid out at all

    Examples
    --------
    A sill at -24 mm leaves a line through the drain; six steps of half a millimetre close it:

    >>> stack = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> bounds = Bounds(
    ...     front_z_mm=3.0, front_margin_mm=1.0, floor_front_mm=-30.0, slope_deg=5.0,
    ...     drain_height_mm=4.0, apron_thickness_mm=2.0, ceiling_max_mm=30.0, ceiling_min_mm=17.0,
    ...     inner_z_mm=-22.5, foot_z_mm=-20.9, sill_top_mm=-24.0)
    >>> lay_out(stack, bounds).closed
    False
    >>> lay_out_closed(stack, bounds, 16, 0.5).sill_top_mm
    -21.0
    """
    missed: list[tuple[float, Section | None]] = []
    fault: SectionError | None = None
    layouts = Layouts(Frame.of(stack, bounds))

    def with_sill(section: Section, i: int) -> Section:
        top = bounds.sill_top_mm + i * step_mm
        return replace(
            section,
            shelf=((bounds.inner_z_mm, top),),
            sill=bounds.sill(top),
            sill_face=bounds.sill_face(top),
        )

    def highest(section: Section) -> Section:
        return with_sill(section, sill_steps) if sill_steps else section

    for phase in PHASES:
        if len(missed) == most:
            break
        try:
            if layouts.surely_open(phase, bounds.sill_top_mm + sill_steps * step_mm):
                missed.append((phase, None))
                continue
            section = _drawn(layouts, phase)
        except SectionError as error:
            fault = fault or error
            continue
        # More sill never opens a path, so the lowest closing sill can be halved down to; the
        # bounds' own sill is nearly always enough.
        if section.closed:
            return section
        if not highest(section).closed:
            missed.append((phase, section))
            continue
        low, high = 1, sill_steps
        while low < high:
            middle = (low + high) // 2
            if with_sill(section, middle).closed:
                high = middle
            else:
                low = middle + 1
        return with_sill(section, high)
    if not missed:
        assert fault is not None
        raise fault
    if not told:
        return None
    drawn = [highest(section or _drawn(layouts, phase)) for phase, section in missed]
    return nearest_to_closing(drawn)


def _slat(
    shape: SlatForm, place: SlatPlace, box_: SlatBox, front: float, floor: float, ceiling: float
) -> Slat | None:
    """Return a slat in its place, cut at the channel and the ceiling, if any is left."""
    if place.short:
        box_ = shape.shortened(box_, floor)
    drawn = shape.outline(box_)
    outline = _moved(drawn, front)

    def placed(parts: Iterable[Outline]) -> tuple[Outline, ...]:
        # Of a plain form outline, piece and leaf are one.
        return tuple([outline if part == drawn else _moved(part, front) for part in parts])

    pieces = placed(shape.pieces(box_))
    if not place.grown:
        leaves = () if place.short else placed(shape.leaves(box_))
        return Slat(place.bank, outline, pieces, leaves, whole=not place.short, grown=False)
    # Above the ceiling the slat runs on into the wall, so the cut leaves no coinciding face.
    window = box(-BEYOND_MM, -BEYOND_MM, BEYOND_MM, ceiling + FAR)
    left = _ring(Polygon(outline).intersection(window))
    kept = (left if p == outline else _ring(Polygon(p).intersection(window)) for p in pieces)
    if not left:
        return None  # a fold of which the ceiling leaves two feet apart
    return Slat(
        place.bank, left, tuple(piece for piece in kept if piece), (), whole=False, grown=True
    )


def _moved(outline: Outline, dz: float) -> Outline:
    """Return an outline moved along z (mm)."""
    return tuple([(z + dz, y) for z, y in outline])


def _ring(shape: Polygon) -> Outline:
    """Return the outline of a polygon without its repeated last corner; empty if it has none."""
    if not isinstance(shape, Polygon) or shape.is_empty:
        return ()
    return tuple((float(z), float(y)) for z, y in list(shape.exterior.coords)[:-1])
