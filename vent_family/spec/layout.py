"""Laying out a section: banks between floor and ceiling, sill and ceiling as high as needed.

A family gives the :class:`~vent_family.spec.bounds.Bounds`; the slats come from the stack.
Coordinates as in :mod:`vent_family.spec.section`, in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import chain
from typing import Final

import numpy as np
from shapely.geometry import Polygon, box

from vent_family.base.limits import GAP_MIN, SLIVER_MIN
from vent_family.spec.bounds import Bounds
from vent_family.spec.forms import Outline, SlatBox
from vent_family.spec.section import BEYOND_MM, FAR, Section, SectionError, Slat
from vent_family.spec.stack import Stack

NUDGE_MM: Final = 0.05
"""Least distance of a slat's corner from a wall's plane; coinciding corners spoil the mesh."""
CUT_MIN: Final = 0.3
"""Least height by which a slat cut at the ceiling runs on into it, mm."""

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
    channel = max(bounds.drain_height_mm, GAP_MIN.value)
    front = bounds.front_z_mm - bounds.front_margin_mm
    last = stack.bank_count - 1
    v, pitch = stack.slat_height_mm, stack.pitch_mm

    slot = (bounds.floor_front_mm, bounds.floor_front_mm + bounds.drain_height_mm)
    apron_gap = stack.shape.apron_gap_mm(pitch, v)
    shelter = bounds.shelter
    cut_levels = []
    for bank in range(stack.bank_count):
        z0, _ = stack.bank_z(bank)
        if shelter is not None:
            cut_levels.append(shelter.cut_mm(bank, front + z0))
        else:
            cut_levels.append(bounds.floor_mm(front + z0) + channel)
    if shelter is None:
        # The apron stands in front of the outermost bank, so that bank ends above it.
        least = slot[1] + bounds.apron_thickness_mm + apron_gap
        cut_levels[0] = max(cut_levels[0], least)

    anchor = cut_levels[last] + v / 2 - stack.offsets_mm[last] + phase * pitch
    boxes = [
        stack.slat_boxes(bank, _centres(anchor + off, pitch, v, cut, bounds.ceiling_max_mm))
        for bank, (off, cut) in enumerate(zip(stack.offsets_mm, cut_levels, strict=True))
    ]
    ceiling = _ceiling(stack, boxes, bounds.ceiling_min_mm, bounds.ceiling_max_mm)
    slats = [
        slat
        for bank, own in enumerate(boxes)
        for box_ in own
        if (slat := _trimmed(stack, bank, box_, front, cut_levels[bank], ceiling)) is not None
    ]
    if sum(s.whole for s in slats) < stack.bank_count:
        need = max(cut_levels) + 2 * pitch - bounds.ceiling_max_mm
        raise SectionError(
            "cavity.height.low",
            f"the cavity is {max(need, 0.1):.1f} mm too low for the slat stack",
            "size",
            max(need, 0.1),
        )
    if shelter is not None:
        apron = shelter.apron
    else:
        lowest_front = min(y for s in slats if s.bank == 0 for _, y in s.outline)
        apron = _front_apron(bounds, slot[1], lowest_front - apron_gap)
    return Section(
        stack=stack,
        slats=tuple(slats),
        shelf=((bounds.inner_z_mm, bounds.sill_top_mm),),
        sill=bounds.sill(bounds.sill_top_mm),
        foot=bounds.foot,
        brink=bounds.brink,
        upper=bounds.upper(ceiling),
        apron=apron,
        stack_z_mm=(front - stack.depth_mm, front),
        ceiling_mm=ceiling,
        drain_mm=slot,
        sill_face=bounds.sill_face(bounds.sill_top_mm),
        outlet=() if shelter is None else shelter.outlet,
        rib_window=() if shelter is None else shelter.rib_window(bounds.foot_z_mm),
    )


def _front_apron(bounds: Bounds, low_mm: float, high_mm: float) -> Outline:
    """Return the apron in the outer plane between two heights (mm)."""
    z = bounds.front_z_mm - bounds.apron_thickness_mm
    front = bounds.front_z_mm
    return ((z, low_mm), (front, low_mm), (front, high_mm), (z, high_mm))


def lay_out_closed(
    stack: Stack,
    bounds: Bounds,
    sill_steps: int,
    step_mm: float,
    most: int = len(PHASES),
) -> Section:
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
    missed: list[Section] = []
    fault: SectionError | None = None
    looked = 0
    for phase in PHASES:
        if looked == most:
            break
        try:
            section = lay_out(stack, bounds, phase)
        except SectionError as error:
            fault = fault or error
            continue
        looked += 1

        def with_sill(i: int, section: Section = section) -> Section:
            top = bounds.sill_top_mm + i * step_mm
            return replace(
                section,
                shelf=((bounds.inner_z_mm, top),),
                sill=bounds.sill(top),
                sill_face=bounds.sill_face(top),
            )

        # More sill never opens a path, so the lowest closing sill can be halved down to; the
        # bounds' own sill is nearly always enough.
        if section.closed:
            return section
        low, high = 1, sill_steps
        highest = with_sill(high) if high else section
        if not highest.closed:
            missed.append(highest)
            continue
        while low < high:
            middle = (low + high) // 2
            if with_sill(middle).closed:
                high = middle
            else:
                low = middle + 1
        return with_sill(high)
    if not missed:
        assert fault is not None
        raise fault
    return missed[0] if len(missed) == 1 else max(missed, key=lambda s: s.sight.margin_mm)


def _centres(start: float, pitch: float, v: float, cut: float, top: float) -> list[float]:
    """Return slat centres of one bank from the channel to the highest possible ceiling."""
    first = math.floor((cut - v / 2 - start) / pitch) - 1
    count = math.ceil((top - cut) / pitch) + 4
    ys = [start + (first + i) * pitch for i in range(count)]
    return [y for y in ys if y + v / 2 > cut + SLIVER_MIN.value and y - v / 2 < top]


def _ceiling(
    stack: Stack, boxes: Sequence[Sequence[SlatBox]], lowest: float, highest: float
) -> float:
    """Return the highest ceiling that leaves neither slivers nor bridged gaps under it."""
    shape = stack.shape
    gap = shape.ceiling_gap_mm(stack.pitch_mm, stack.slat_height_mm)
    stub = shape.stub_mm(stack.thickness_mm)
    # Slats that end lower are clear of every ceiling tried.
    least = lowest - gap - NUDGE_MM
    near = [box_ for own in boxes for box_ in own if box_.y_mm[1] > least]
    if not near:
        return round(highest, 3)
    outlines = [[y for _, y in shape.outline(box_)] for box_ in near]
    corners = np.fromiter(chain.from_iterable(outlines), float, len(near) * len(outlines[0]))
    corners = corners.reshape(len(near), -1)
    levels = np.arange(highest, lowest - 1e-9, -0.1)[:, None]
    bottom, top = corners.min(axis=1), corners.max(axis=1)
    clear = (bottom >= levels + NUDGE_MM) | (top <= levels - gap + 1e-9)
    # What hangs under the ceiling is no sliver. Its first strand lies free only where the slat
    # rises into the ceiling, and is then whole; one that comes down out of it begins beside
    # the ceiling's own beads.
    hangs = (top >= levels + CUT_MIN) & (bottom <= levels - stub)
    hangs &= (np.abs(corners - levels[:, :, None]) >= shape.corner_clear_mm).all(axis=2)
    clean = (clear | hangs).all(axis=1)
    if clean.any():
        return round(float(levels[int(clean.argmax()), 0]), 3)
    raise SectionError(
        "slats.ceiling.sliver",
        "no clean ceiling: every height between the slats leaves a sliver or a bridged gap",
        "pitch_mm",
    )


def _trimmed(
    stack: Stack, bank: int, box_: SlatBox, front: float, floor: float, ceiling: float
) -> Slat | None:
    """Return a slat moved to its place and cut at the channel and the ceiling, if any is left."""
    shape, (bottom, top) = stack.shape, box_.y_mm
    short, grown = bottom < floor - 1e-9, top > ceiling
    if bottom >= ceiling or (short and top - floor < shape.remnant_mm(stack.thickness_mm) - 1e-9):
        return None
    if short:
        box_ = shape.shortened(box_, floor)
    drawn = shape.outline(box_)
    outline = _moved(drawn, front)

    def placed(parts: Iterable[Outline]) -> tuple[Outline, ...]:
        # Of a plain form outline, piece and leaf are one.
        return tuple([outline if part == drawn else _moved(part, front) for part in parts])

    pieces = placed(shape.pieces(box_))
    if not grown:
        leaves = () if short else placed(shape.leaves(box_))
        return Slat(bank, outline, pieces, leaves, whole=not short, grown=False)
    # Above the ceiling the slat runs on into the wall, so the cut leaves no coinciding face.
    window = box(-BEYOND_MM, -BEYOND_MM, BEYOND_MM, ceiling + FAR)
    left = _ring(Polygon(outline).intersection(window))
    kept = (left if p == outline else _ring(Polygon(p).intersection(window)) for p in pieces)
    if not left:
        return None  # a fold of which the ceiling leaves two feet apart
    return Slat(bank, left, tuple(piece for piece in kept if piece), (), whole=False, grown=True)


def _moved(outline: Outline, dz: float) -> Outline:
    """Return an outline moved along z (mm)."""
    return tuple([(z + dz, y) for z, y in outline])


def _ring(shape: Polygon) -> Outline:
    """Return the outline of a polygon without its repeated last corner; empty if it has none."""
    if not isinstance(shape, Polygon) or shape.is_empty:
        return ()
    return tuple((float(z), float(y)) for z, y in list(shape.exterior.coords)[:-1])
