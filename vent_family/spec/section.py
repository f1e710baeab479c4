"""The 2-D section of a vent: slats, floor, drain, sill, ceiling, in the (z, y) plane.

All later evidence (sight lines, drops, drainage, air) and the solid itself start from this one
section. It keeps the points and polygons it was laid out from by name, so that nobody has to find
them again among corners. Coordinates are those of the part: z = 0 on the outer panel face and
positive outwards, y = 0 on the opening's centre and positive upwards, in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from vent_family.base.arrays import FloatArray
from vent_family.spec.forms import Outline
from vent_family.spec.sightlines import (
    ENOUGH_MM,
    SightResult,
    all_miss_by,
    margin_within,
    padded,
    sight_margin,
)
from vent_family.spec.stack import Stack

Point = tuple[float, float]
BEYOND_MM: Final = 1e4
"""Farther than any section reaches: the ends of lines and boxes that cut through all of it."""
FAR: Final = 1.0
"""How far voids reach beyond the front and inner planes, mm, so that no faces coincide."""

DEPTHS: Final = 60
"""Depths at which the narrowest place of the stack is looked for."""


class SectionError(ValueError):
    """The section cannot be laid out; the message says why.

    ``code`` and ``column`` are those of a refusal; ``lack_mm`` says how much height is missing.
    """

    def __init__(self, code: str, message: str, column: str, lack_mm: float = 0.0) -> None:
        super().__init__(message)
        self.code, self.column, self.lack_mm = code, column, lack_mm


@dataclass(frozen=True, slots=True)
class Slat:
    """One slat of the section: its bank (0 is outermost), outline and convex pieces (z, y).

    ``leaves`` are the parts of a whole slat that bend each by itself under a load; ``whole`` is
    False where ceiling or drain channel cuts the slat short, ``grown`` True where it grows out of
    the ceiling: its outline then runs on into it.
    """

    bank: int
    outline: Outline
    pieces: tuple[Outline, ...]
    leaves: tuple[Outline, ...]
    whole: bool
    grown: bool


@dataclass(frozen=True)
class Section:
    """The laid-out section.

    Named points (z, y) of the lower boundary, from inside out:

    ``shelf``
        what lies behind the sill, from the inner plane up to the sill's top, that not included
    ``sill``
        outer edge of the sill's top, over which water must rise to get inside
    ``foot``
        foot of the sill, where the floor begins
    ``sill_face``
        corners of the sill's face between the two, where it has a lip or is a round head's plate
    ``brink``
        outer edge of the floor, in the outer plane: there the drain runs out
    ``outlet``
        where the outermost banks stand outside the trough, the brink lies behind them, and these
        points lead from below it to the outer plane: the foot of the step and the lower floor's end

    ``upper`` is the upper boundary, a polyline from the inner to the outer plane. ``stack_z_mm``
    are inner and outer z of the slat stack, ``drain_mm`` bottom and top of the drain slot in the
    outer plane, ``ceiling_mm`` the height of the ceiling above the slats; ``rib_window`` is the
    outline of the windows through the ribs, empty without.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> vent = resolve(CatalogRow(part_number="A", family="rectangular", size="80x60",
    ...                           status="draft"))
    >>> section = vent.section
    >>> section.front_z_mm, section.drain_mm, section.closed
    (3.0, (-27.7, -23.7), True)
    >>> round(section.inner_z_mm, 3)
    -26.386
    >>> round(section.sill_top_mm - section.floor_inner_mm, 2)
    8.0

    Slats and apron are what fills the room besides air:

    >>> solid = section.slats_solid.union(section.apron_solid).intersection(section.room)
    >>> abs(section.room.area - solid.area - section.air.area) < 1e-9
    True
    """

    stack: Stack
    slats: tuple[Slat, ...]
    shelf: Outline
    sill: Point
    foot: Point
    brink: Point
    upper: Outline
    apron: Outline
    stack_z_mm: tuple[float, float]
    ceiling_mm: float
    drain_mm: tuple[float, float]
    sill_face: Outline = ()
    outlet: Outline = ()
    rib_window: Outline = ()

    @cached_property
    def lower(self) -> Outline:
        """Lower boundary, a polyline from the inner to the outer plane."""
        return (*self.shelf, *self.trough_line, *self.outlet)

    @property
    def trough_line(self) -> Outline:
        """From the sill's top down its face and along the floor to the brink."""
        return (self.sill, *self.sill_face, self.foot, self.brink)

    @property
    def inner_z_mm(self) -> float:
        """z of the plane where the cabinet's air begins."""
        return self.lower[0][0]

    @property
    def front_z_mm(self) -> float:
        """z of the outer plane."""
        return self.lower[-1][0]

    @property
    def sheltered(self) -> bool:
        """True if the drain opens downwards behind an apron that stands among the banks."""
        return bool(self.outlet)

    @property
    def brink_drain_mm(self) -> tuple[float, float]:
        """Bottom and top of the drain at the brink: over what the pool runs out."""
        low = self.brink[1]
        return low, low + self.drain_mm[1] - self.drain_mm[0]

    @property
    def sill_top_mm(self) -> float:
        """Height over which water must rise to get inside."""
        return self.sill[1]

    @property
    def floor_inner_mm(self) -> float:
        """Height of the floor at the foot of the sill."""
        return self.foot[1]

    def floor_height_mm(self, z_mm: float) -> float:
        """Return the height (mm) of the floor's plane at a depth ``z_mm``, beyond its ends too."""
        (z0, y0), (z1, y1) = self.foot, self.brink
        return y0 + (y1 - y0) * (z_mm - z0) / (z1 - z0)

    @property
    def lowest_mm(self) -> float:
        """Height of the lowest point of the cavity."""
        return min(y for _, y in self.lower)

    @property
    def highest_mm(self) -> float:
        """Height of the highest point of the cavity."""
        return max(y for _, y in self.upper)

    @property
    def front_height_mm(self) -> float:
        """Height of the cavity in the outer plane, drain slot included."""
        return self.upper[-1][1] - self.lower[-1][1]

    @property
    def mouth_top_mm(self) -> float:
        """Upper edge of the open inner plane."""
        return self.upper[0][1]

    @property
    def window_bottom_mm(self) -> float:
        """Lower edge of the front window, the top of the apron."""
        return max(y for _, y in self.apron)

    @cached_property
    def channel_mm(self) -> tuple[float, ...]:
        """Height up to which the drain channel is free of slats, bank by bank from outside in.

        Of a bank that has no slats it is free up to the ceiling.
        """
        top = self.ceiling_mm
        return tuple(
            min((y for s in self.slats if s.bank == bank for _, y in s.outline), default=top)
            for bank in range(self.stack.bank_count)
        )

    @property
    def channel_mean_mm(self) -> float:
        """Mean of the channel's upper bound over the banks: below it air passes the slats by."""
        return sum(self.channel_mm) / self.stack.bank_count

    @property
    def pieces(self) -> list[Outline]:
        """All convex solids standing inside the cavity."""
        return [p for s in self.slats for p in s.pieces] + [self.apron]

    @cached_property
    def sight(self) -> SightResult:
        """Straight-path margin of the whole section, drain and walls included."""
        return sight_margin(self.pieces, self.lower, self.upper)

    @cached_property
    def corners(self) -> FloatArray:
        """Corners of all pieces (n, k, 2), mm."""
        return padded(self.pieces)

    @cached_property
    def closed(self) -> bool:
        """True if every straight line misses by the required margin."""
        return all_miss_by(ENOUGH_MM, self.corners, self.lower, self.upper)

    @cached_property
    def room(self) -> Polygon:
        """Everything between the two boundaries: air, slats and apron."""
        return Polygon([*self.lower, *reversed(self.upper)])

    @cached_property
    def cavity(self) -> Polygon:
        """The room without the apron, slats still in, reaching ``FAR`` beyond its open planes.

        Raises
        ------
        SectionError
            if it falls into several rooms
        """
        upper, lower = self.upper, self.lower
        ring = [
            (lower[0][0] - FAR, lower[0][1]),
            *lower,
            (lower[-1][0] + FAR, lower[-1][1]),
            (upper[-1][0] + FAR, upper[-1][1]),
            *reversed(upper),
            (upper[0][0] - FAR, upper[0][1]),
        ]
        if self.sheltered:
            return _single(Polygon(ring).difference(self.apron_solid))
        z0 = min(z for z, _ in self.apron)
        y0, y1 = self.drain_mm[1], self.window_bottom_mm
        apron = box(z0, y0, self.front_z_mm + 2 * FAR, y1)
        return _single(Polygon(ring).difference(apron))

    @cached_property
    def slats_solid(self) -> BaseGeometry:
        """All slats as one shape."""
        return unary_union([Polygon(s.outline) for s in self.slats])

    @cached_property
    def apron_solid(self) -> Polygon:
        """The apron between drain slot and window."""
        return Polygon(self.apron)

    def ground(self, y_mm: float) -> Polygon:
        """Return the solid below the cavity, down to a height (mm) below its lowest point."""
        return Polygon([*self.lower, (self.front_z_mm, y_mm), (self.inner_z_mm, y_mm)])

    def roof(self, y_mm: float) -> Polygon:
        """Return the solid above the cavity, up to a height (mm) above its highest point."""
        return Polygon([*self.upper, (self.front_z_mm, y_mm), (self.inner_z_mm, y_mm)])

    @cached_property
    def air(self) -> Polygon:
        """The cavity minus the slats, between the two open planes.

        Raises
        ------
        SectionError
            if the slats close off part of the cavity
        """
        inside = box(self.inner_z_mm, -BEYOND_MM, self.front_z_mm, BEYOND_MM)
        return _single(self.cavity.intersection(inside).difference(self.slats_solid))

    def free_height_mm(self, z_mm: float) -> float:
        """Return the total open height (mm) at a depth inside the part."""
        cut = box(z_mm - 1e-4, -BEYOND_MM, z_mm + 1e-4, BEYOND_MM)
        return float(self.air.intersection(cut).area / 2e-4)

    @cached_property
    def narrowest_mm(self) -> float:
        """The least open height at any depth of the stack, mm."""
        inner, outer = self.stack_z_mm
        return min(self.free_height_mm(float(z)) for z in np.linspace(inner, outer, DEPTHS))


def nearest_to_closing(sections: Sequence[Section]) -> Section:
    """Return that of some sections which lines miss by most, or pass least; of equals the first."""
    if len(sections) == 1:
        return sections[0]
    within = [margin_within(s.corners, s.lower, s.upper) for s in sections]
    least = max(low for low, _ in within)
    likely = [s for s, (_, high) in zip(sections, within, strict=True) if high >= least]
    # Of one alone nobody asks by how much lines miss.
    return likely[0] if len(likely) == 1 else max(likely, key=lambda s: s.sight.margin_mm)


def _single(shape: Polygon | MultiPolygon) -> Polygon:
    """Return the one polygon of a shape, dropping numerical crumbs."""
    if isinstance(shape, Polygon):
        return shape
    parts = sorted(shape.geoms, key=lambda g: g.area)
    if sum(g.area for g in parts[:-1]) > 1e-6:
        raise SectionError(
            "slats.cavity.closed", "the slats close off part of the cavity", "pitch_mm"
        )
    return parts[-1]
