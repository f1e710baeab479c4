"""Whether a wall and what stands near it leave a vent the room it needs. mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, TypeAlias

import cadquery as cq
from shapely.geometry import Point, Polygon

from vent_family.base.limits import (
    OPENING_OVERSIZE,
    SPANNER_MORE,
    SPANNER_PER_FLATS,
    WALL_LAND,
)
from vent_family.base.problems import Problem
from vent_family.enclosure.hardware import HARDWARE
from vent_family.enclosure.wall import Wall, drawn_in
from vent_family.evidence.installed.record import InstallationRecord
from vent_family.geometry.primitives import box, cylinder

EDGE: Final = "edge"
ROOM: Final = "room"
SPANNER: Final = "spanner"
SCREW_END_MM: Final = 5.0
"""How far screws reach beyond their nuts: lengths are sold in steps of up to 5 mm."""
_SHRINK_MM: Final = 0.01
"""Shapes that only touch do not meet."""
_MEETS_MM3: Final = 0.1
_OVER_MM: Final = 0.02
"""Outlines are known to this."""


Bounds: TypeAlias = tuple[float, float, float, float, float, float]
"""Least and greatest x, y and z."""


@dataclass(frozen=True, eq=False)
class Space:
    """A space that must be free: what needs it, the rule, and its solids in the cabinet."""

    name: str
    rule: str
    solid: cq.Shape

    @cached_property
    def solids(self) -> tuple[tuple[cq.Solid, Bounds], ...]:
        """Its solids with their bounds."""
        return tuple((solid, _bounds(solid)) for solid in self.solid.Solids())


@dataclass(frozen=True, eq=False)
class Neighbour:
    """Something that stands in the cabinet already, by name."""

    name: str
    shape: cq.Shape

    @cached_property
    def bounds(self) -> Bounds:
        """Its bounds."""
        return _bounds(self.shape)

    @cached_property
    def faces(self) -> tuple[Bounds, ...]:
        """Bounds of its faces."""
        return tuple(_bounds(face) for face in self.shape.Faces())


def opening_outline(room: InstallationRecord) -> Polygon:
    """Return the opening's outline (x, y), a circle in chords, notches as drawn."""
    if room.circle_mm is not None:
        return Point(0.0, 0.0).buffer(room.circle_mm / 2.0, quad_segs=32)
    return Polygon(room.outline_mm).buffer(0)


def spaces(room: InstallationRecord, wall_mm: float, place: cq.Location) -> tuple[Space, ...]:
    """Return what a vent takes up in front of a wall of ``wall_mm`` (mm) and behind it.

    ``place`` is where its datum goes.
    """
    nominal = room.behind_mm
    found: list[tuple[str, str, cq.Shape]] = [
        ("cover", ROOM, _prism(room.outside_mm, 0.0, room.front_mm)),
        ("body", ROOM, _prism(room.inside_mm, -max(nominal, wall_mm + 1.0), -wall_mm)),
    ]
    if room.fan is not None:
        half, y, z = room.fan.frame_mm / 2.0, room.fan.centre_y_mm, room.fan.plane_z_mm
        fan = box((-half, half), (y - half, y + half), (z - room.fan.depth_mm, z))
        found.append(("fan", ROOM, fan))
    if room.screws:
        found.append(("screws", ROOM, cq.Compound.makeCompound(_nuts(room, wall_mm))))
    if room.nut is not None:
        reach = (SPANNER_PER_FLATS.value * room.nut.across_flats_mm + SPANNER_MORE.value) / 2.0
        low = -wall_mm - room.nut.thickness_mm
        found.append(("spanner on the locknut", SPANNER, cylinder(reach, (low, -wall_mm))))
    return tuple(Space(name, rule, solid.moved(place)) for name, rule, solid in found)


def _nuts(room: InstallationRecord, wall_mm: float) -> list[cq.Solid]:
    """Return the room of screws, washers and nuts behind the wall."""
    found = []
    for at in room.screws:
        size = HARDWARE[at.screw]
        deep = size.washer_height_mm + size.nut_height_mm(locking=True) + SCREW_END_MM
        found.append(cylinder(size.washer_mm / 2.0, (-wall_mm - deep, -wall_mm), at.x_mm, at.y_mm))
    return found


def _prism(ring: Sequence[tuple[float, float]], low_mm: float, high_mm: float) -> cq.Solid:
    wire = cq.Wire.makePolygon([cq.Vector(x, y, low_mm) for x, y in ring], close=True)
    return cq.Solid.extrudeLinear(wire, [], cq.Vector(0.0, 0.0, high_mm - low_mm))


def land_problems(
    part_number: str, room: InstallationRecord, wall: Wall, plane: cq.Plane
) -> Iterator[Problem]:
    """Yield what is wrong with the flat part of the wall that the vent lies on.

    ``plane`` is the vent's: origin in the opening's centre, normal outwards, y to TOP.
    """
    outer, inner = drawn_in(wall.outer, plane), drawn_in(wall.inner, plane)
    opening, cover = opening_outline(room), Polygon(room.outside_mm)
    own = opening.buffer(OPENING_OVERSIZE.value)
    own = own.union(_screw_holes(room).buffer(OPENING_OVERSIZE.value))
    over = cover.difference(Polygon(outer.exterior).buffer(_OVER_MM))
    if not over.is_empty:
        far = _reach(over, Polygon(outer.exterior))
        yield _edge(
            part_number,
            f"its cover reaches {far:.1f} mm over an edge or bend of the wall",
            f"move it {far + WALL_LAND.value:.0f} mm inwards, or take a smaller vent",
        )
    for hole in (Polygon(ring) for ring in outer.interiors):
        if own.contains(hole):
            continue
        if cover.intersection(hole).area > _OVER_MM:
            yield _edge(
                part_number,
                "another opening lies under its cover",
                "move one of the two",
            )
        elif opening.distance(hole) < WALL_LAND.value:
            yield _edge(
                part_number,
                f"only {opening.distance(hole):.1f} mm of metal are left beside another opening;"
                f" {WALL_LAND.value:g} mm are needed",
                "move one of the two",
            )
    if room.nut is not None:
        nut = Point(0.0, 0.0).buffer(room.nut.across_corners_mm / 2.0)
        bare = nut.difference(Polygon(inner.exterior).buffer(_OVER_MM))
        if not bare.is_empty:
            far = _reach(bare, Polygon(inner.exterior))
            yield _edge(
                part_number,
                f"its locknut reaches {far:.1f} mm over an edge or bend inside",
                "move it inwards",
            )


def _screw_holes(room: InstallationRecord) -> Polygon:
    found = Polygon()
    for screw in room.screws:
        found = found.union(Point(screw.x_mm, screw.y_mm).buffer(screw.hole_mm / 2.0, quad_segs=32))
    return found


def _reach(over: Polygon, within: Polygon) -> float:
    parts = getattr(over, "geoms", [over])
    return max(float(within.distance(Point(p))) for part in parts for p in part.exterior.coords)


def _edge(part_number: str, message: str, suggestion: str) -> Problem:
    return Problem(
        "wall.land.short",
        message,
        part_number=part_number,
        suggestion=f"{suggestion}, or override it by name: allow=({EDGE!r},)",
    )


def met(
    part_number: str, needed: Sequence[Space], others: Sequence[Neighbour]
) -> Iterator[tuple[str, Problem]]:
    """Yield rule and problem of every space that something else stands in already."""
    for space in needed:
        for other in others:
            common = sum(
                solid.intersect(other.shape).Volume()
                for solid, bounds in space.solids
                if _near(bounds, other)
            )
            if common > _MEETS_MM3:
                yield (
                    space.rule,
                    Problem(
                        "wall.room.taken",
                        f"the room for its {space.name} is taken by {other.name}"
                        f" ({common:.0f} mm3)",
                        part_number=part_number,
                        suggestion="move one of the two, or override it by name:"
                        f" allow=({space.rule!r},)",
                    ),
                )


def _near(bounds: Bounds, other: Neighbour) -> bool:
    """Tell whether a box may meet something: a face of it comes near, or it holds all the box."""
    if not _overlap(bounds, other.bounds):
        return False
    if any(_overlap(bounds, face) for face in other.faces):
        return True
    middle = cq.Vector(*((bounds[k] + bounds[k + 1]) / 2.0 for k in (0, 2, 4)))
    return any(solid.isInside(middle) for solid in other.shape.Solids())


def _bounds(shape: cq.Shape) -> Bounds:
    b = shape.BoundingBox()
    return b.xmin, b.xmax, b.ymin, b.ymax, b.zmin, b.zmax


def _overlap(a: Bounds, b: Bounds) -> bool:
    return all(a[k] + _SHRINK_MM < b[k + 1] and b[k] + _SHRINK_MM < a[k + 1] for k in (0, 2, 4))
