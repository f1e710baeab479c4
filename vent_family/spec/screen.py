"""Insect screens behind a vent: woven wire mesh, and the printed frame or ring that holds it.

A block's screen slides down between two dovetailed rails behind its inner side: the mesh is folded
round the frame's bevelled edges, which fit the rails with the mesh between. A neck's screen is a
disc that a ring, screwed onto the neck's end, presses against the end face. Both come off for
washing from inside the cabinet. Lengths in mm, part coordinates unless said otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from shapely.geometry import MultiPolygon, Polygon, box

from vent_family.base.constants import SURFACE_TENSION_N_M
from vent_family.base.limits import SCREEN_PLAY, STRAND_MIN, WALL_MIN
from vent_family.spec.pieces import Pieces, Prism
from vent_family.spec.section import BEYOND_MM, Section
from vent_family.spec.thread.iso import ThreadSpec
from vent_family.spec.thread.parts import LocknutSize, neck_relief_diameter_mm, screen_ring_size
from vent_family.spec.thread.pieces import hexagon_pieces

Spans = Sequence[tuple[float, float]]
Window = tuple[tuple[float, float], tuple[float, float]]
"""A rectangle: range of x and range of y."""

FRAME_MM: Final = 2.0
"""Thickness of a sliding frame: ten layers of 0.2 mm."""
BEVEL_MM: Final = 1.2
"""How deep the frame's edges slant, from its face on the mesh on; behind that they are square."""
LEAN: Final = 1.0
"""Tangent of the angle by which rails lean inwards: 45 degrees, printed without support. A frame
that is pulled off tightens the sooner, the more they lean."""
SEAT_MM: Final = 2.0
"""Height of the frame's lowest bar, from the ledge it stands on to the sill's top, and at most of
its uppermost."""
RAIL_SHORT_MM: Final = 3.0
"""How far rails end below the frame's upper edge, clear of rounded corners of the block."""
LEDGE_MM: Final = 0.8
"""Height of the ledge at its outer edge; its underside falls off at 45 degrees."""
CORNER_MM: Final = 1.5
"""What is cut off the frame's upper corners."""
RING_MM: Final = 1.6
"""Thickness of a ring's flange, which presses on the mesh."""

WIRES_MM: Final = (
    (0.5, 0.2),
    (0.8, 0.25),
    (1.0, 0.28),
    (1.25, 0.32),
    (1.6, 0.4),
    (2.0, 0.5),
    (2.5, 0.5),
    (3.15, 0.63),
    (4.0, 0.8),
)
"""Opening and wire of usual meshes, mm: common practice, no source."""


def usual_wire_mm(opening_mm: float) -> float:
    """Return the wire of the usual mesh whose opening is the next one below, mm.

    Examples
    --------
    >>> usual_wire_mm(1.0), usual_wire_mm(1.2), usual_wire_mm(4.0)
    (0.28, 0.28, 0.8)
    """
    return max(wire for opening, wire in WIRES_MM if opening <= opening_mm + 1e-9)


@dataclass(frozen=True, slots=True)
class Mesh:
    """A plain weave of round wire with square openings; lengths in mm."""

    opening_mm: float
    wire_mm: float

    @property
    def open_share(self) -> float:
        """Open area over all of the mesh's, 1.

        Examples
        --------
        >>> round(Mesh(1.0, 0.25).open_share, 2)
        0.64
        """
        return (self.opening_mm / (self.opening_mm + self.wire_mm)) ** 2

    @property
    def thickness_mm(self) -> float:
        """Two wires, one over the other where they cross."""
        return 2.0 * self.wire_mm

    @property
    def film_pa(self) -> float:
        """Pressure that a film of water over a wet opening bears before it bursts, Pa.

        Young and Laplace, 4 sigma / w for the square opening's hydraulic diameter w.

        Examples
        --------
        >>> round(Mesh(1.0, 0.28).film_pa)
        291
        """
        return 4.0 * SURFACE_TENSION_N_M / (self.opening_mm * 1e-3)


class Screen(Protocol):
    """A screen as the body carries it, whatever holds the mesh."""

    @property
    def mesh(self) -> Mesh:
        """The mesh."""
        ...

    @property
    def frame_words(self) -> str:
        """What holds the mesh, in words."""
        ...

    @property
    def rails(self) -> SlideScreen | None:
        """What slides between rails; ``None`` for what is screwed on."""
        ...

    @property
    def z_mm(self) -> float:
        """Depth at which the mesh lies."""
        ...

    @property
    def back_z_mm(self) -> float:
        """Depth at which rails, frame or ring end."""
        ...

    def window_mm2(self, section: Section, bays: Spans) -> float:
        """Return the area of mesh that the air passes; ``bays`` are clear x ranges, mm."""
        ...

    def frame(self, section: Section, bays: Spans) -> Pieces:
        """Return what holds the mesh as drawn shapes, as it lies on the bed; ``bays`` in mm."""
        ...

    def sheet_words(self, section: Section) -> str:
        """Return in words what to cut of the mesh."""
        ...


@dataclass(frozen=True, slots=True)
class SlideScreen:
    """Rails, ledge and sliding frame behind a block.

    ``half_width_mm`` is that of the block, ``half_height_mm`` where it ends at the top; its rear
    plane is at ``inner_z_mm``. Along its rear plane lies the mesh, and behind it the frame.
    """

    mesh: Mesh
    half_width_mm: float
    half_height_mm: float
    inner_z_mm: float

    @property
    def frame_words(self) -> str:
        """What holds the mesh, in words."""
        return (
            "printed frame that slides down between rails behind the vent, the mesh folded round"
            " its two slanting edges; pull it up to wash it"
        )

    @property
    def rails(self) -> SlideScreen:
        """Itself."""
        return self

    @property
    def slant(self) -> float:
        """Length of a rail's face over its depth (1)."""
        return math.hypot(1.0, LEAN)

    @property
    def gap_mm(self) -> float:
        """Room for the mesh, normal to the rear plane and to the rails' faces."""
        return self.mesh.thickness_mm + SCREEN_PLAY.value

    @property
    def depth_mm(self) -> float:
        """How far the rails reach behind the rear plane."""
        return self.gap_mm + BEVEL_MM

    @property
    def z_mm(self) -> float:
        """Depth of the mesh's middle."""
        return self.inner_z_mm - self.mesh.thickness_mm / 2.0

    @property
    def back_z_mm(self) -> float:
        """Depth at which the frame ends, a little behind the rails."""
        return self.frame_z_mm - FRAME_MM

    @property
    def frame_z_mm(self) -> float:
        """Depth of the frame's face on the mesh."""
        return self.inner_z_mm - self.gap_mm

    @property
    def channel_mm(self) -> float:
        """Width between the rails where the frame's broad face lies."""
        return 2.0 * (self.half_width_mm - STRAND_MIN.value - LEAN * self.gap_mm)

    @property
    def face_mm(self) -> float:
        """Width of the frame in its face on the mesh, its broad one."""
        return self.channel_mm - 2.0 * self.slant * self.gap_mm

    @property
    def face_half_mm(self) -> float:
        """Half of that."""
        return self.face_mm / 2.0

    @property
    def back_half_mm(self) -> float:
        """Half the frame's width in its other face."""
        return self.face_half_mm - LEAN * BEVEL_MM

    @property
    def clear_half_mm(self) -> float:
        """How far from the middle the frame's windows may reach."""
        return self.back_half_mm - WALL_MIN.value

    @property
    def loosest(self) -> float:
        """Gap over a frame pulled back until it is tight, over its play (1).

        The play before the rear plane, and what it takes to use up that between the slanting faces.
        """
        return 1.0 + self.slant / LEAN

    def rail(self) -> Polygon:
        """Return the outline (x, z) of the right rail; two beads of it stand on the wall."""
        w, z0, z1 = self.half_width_mm, self.inner_z_mm, self.inner_z_mm - self.depth_mm
        root = w - STRAND_MIN.value
        return Polygon([(w, z0), (w, z1), (root - LEAN * self.depth_mm, z1), (root, z0)])

    def side(self, section: Section) -> Polygon:
        """Return the rails' outline (z, y): their lower ends rise inwards at 45 degrees."""
        z0, z1 = self.inner_z_mm, self.inner_z_mm - self.depth_mm
        top = self.top_mm(section) - RAIL_SHORT_MM
        foot = self.seat_mm(section) - LEDGE_MM
        whole = Polygon([(z0, top), (z1, top), (z1, foot), (z0, foot - self.depth_mm)])
        # Behind the lowest sills they would else reach below the floor's plate.
        least = section.floor_inner_mm - WALL_MIN.value
        return Polygon(whole.intersection(box(-BEYOND_MM, least, BEYOND_MM, BEYOND_MM)))

    def ledge(self, section: Section) -> Polygon:
        """Return the outline (z, y) of the ledge that the frame stands on: the rails' lower end."""
        below = box(-BEYOND_MM, -BEYOND_MM, BEYOND_MM, self.seat_mm(section))
        return Polygon(self.side(section).intersection(below))

    def top_mm(self, section: Section) -> float:
        """Return the height of the frame's upper edge."""
        return min(self.half_height_mm, section.ceiling_mm + SEAT_MM)

    def seat_mm(self, section: Section) -> float:
        """Return the height of the ledge's top."""
        return section.sill_top_mm - SEAT_MM

    def windows(self, section: Section, bays: Spans) -> tuple[Window, ...]:
        """Return the frame's windows, one before each bay."""
        reach, y = self.clear_half_mm, (section.sill_top_mm, section.ceiling_mm)
        return tuple(((max(x0, -reach), min(x1, reach)), y) for x0, x1 in bays)

    def window_mm2(self, section: Section, bays: Spans) -> float:
        """Return the area of all windows; ``bays`` are clear x ranges, mm."""
        found = self.windows(section, bays)
        return sum((x1 - x0) * (y1 - y0) for (x0, x1), (y0, y1) in found)

    def frame(self, section: Section, bays: Spans) -> Pieces:
        """Return the frame, its face on the mesh at z = 0 (``bays`` in mm)."""
        face, back = self.face_half_mm, self.back_half_mm
        right = [(face, 0.0), (back, BEVEL_MM), (back, FRAME_MM)]
        profile = Polygon([*right, *((-x, z) for x, z in reversed(right))])
        low, top = self.seat_mm(section), self.top_mm(section)
        # The frame lies on its face: what is on the part's right is on its left.
        holes = [box(-x1, y0, -x0, y1) for (x0, x1), (y0, y1) in self.windows(section, bays)]
        holes += [
            Polygon([(side * (face - CORNER_MM), top), (side * face, top - CORNER_MM), at])
            for side in (1.0, -1.0)
            for at in ((side * face, top),)
        ]
        plate = Prism(1, profile, ((low, top),))
        return Pieces((plate,), (Prism(2, MultiPolygon(holes), ((0.0, FRAME_MM),)),))

    def sheet_words(self, section: Section) -> str:
        """Return in words what to cut of the mesh: the frame's face and both slanting edges."""
        fold = BEVEL_MM * self.slant
        width = 2.0 * (self.face_half_mm + fold)
        height = self.top_mm(section) - self.seat_mm(section)
        return f"{width:.0f} x {height:.0f} mm, {fold:.1f} mm folded back left and right"

    def rails_mm3(self, section: Section) -> float:
        """Return the volume of rails and ledge.

        Either is as wide as falls or rises evenly with the depth, so its width at the centroid of
        its outline counts.
        """
        side, ledge = self.side(section), self.ledge(section)
        rails = side.area * (STRAND_MIN.value + LEAN * (self.inner_z_mm - side.centroid.x))
        root = self.half_width_mm - STRAND_MIN.value
        between = ledge.area * (root - LEAN * (self.inner_z_mm - ledge.centroid.x))
        return float(2.0 * (rails + between))


@dataclass(frozen=True, slots=True)
class ScrewScreen:
    """A ring on the neck's end, its flange behind the mesh; ``end_z_mm`` is the end's depth."""

    mesh: Mesh
    thread: ThreadSpec
    bore_radius_mm: float
    end_z_mm: float

    @property
    def frame_words(self) -> str:
        """What holds the mesh, in words."""
        return (
            "printed ring that screws onto the neck's end behind the locknut and presses the mesh"
            " against it, hand tight; unscrew it to wash it"
        )

    @property
    def rails(self) -> None:
        """It has none."""

    @property
    def z_mm(self) -> float:
        """Depth of the mesh's middle."""
        return self.end_z_mm - self.mesh.thickness_mm / 2.0

    @property
    def back_z_mm(self) -> float:
        """Depth of the ring's back."""
        return self.end_z_mm - self.mesh.thickness_mm - RING_MM

    @property
    def size(self) -> LocknutSize:
        """Outer sizes of the ring's threaded part."""
        return screen_ring_size(self.thread)

    @property
    def mouth_z_mm(self) -> float:
        """Depth of the ring's open end, which faces the locknut."""
        return self.end_z_mm - self.mesh.thickness_mm + self.size.thickness_mm

    @property
    def disc_radius_mm(self) -> float:
        """Radius of the mesh, which passes the ring's thread."""
        return neck_relief_diameter_mm(self.thread.external) / 2.0

    def window_mm2(self, section: Section, bays: Spans) -> float:
        """Return the area of the bore, which the flange leaves free."""
        return math.pi * self.bore_radius_mm**2

    def frame(self, section: Section, bays: Spans) -> Pieces:
        """Return the ring, its open end at z = 0."""
        size = self.size
        return hexagon_pieces(
            size, self.thread.internal, size.thickness_mm + RING_MM, self.bore_radius_mm
        )

    def sheet_words(self, section: Section) -> str:
        """Return in words what to cut of the mesh."""
        return f"disc, diameter {2.0 * self.disc_radius_mm:.0f} mm"
