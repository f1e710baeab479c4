"""Body of rectangular and flanged vents: a block behind a cover, and all that is asked of it.

The block fills the opening as far as a little behind the panel. Behind that, face down, floor and
ceiling are plates that follow the cavity. Printed upright, the part stands on its block and on a
leg of the cover: between the two the lower edge of the panel sits in a groove, so that no slit
leads straight through under the block. To get there, the vent is pushed in lifted and let down.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from shapely.geometry import Polygon, box

from vent_family.base.limits import EDGE_MIN, FIT_CLEARANCE, MARK_CLEAR
from vent_family.spec import defaults
from vent_family.spec.body import Cover, GasketSpec, Hole, Opening, PanelRange, SnapArms
from vent_family.spec.families.block_pieces import block_pieces
from vent_family.spec.families.panel_ranges import before, gripped
from vent_family.spec.fan_mount import FanMount
from vent_family.spec.label import LabelFace
from vent_family.spec.members import BodyMember, block, stack_members
from vent_family.spec.pieces import Pieces
from vent_family.spec.plate import CornerPlate
from vent_family.spec.screen import SlideScreen
from vent_family.spec.section import BEYOND_MM, FAR, Section

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_STEP_MIN_MM: Final = 0.4
"""Lower steps in the block's sides are not worth an edge, mm."""
_FLAT_MIN_MM: Final = 0.5
"""What is left of the ceiling's plate behind its step, at least, mm."""
_OFF_CORNER_MM: Final = 1.1 * EDGE_MIN.value
"""Distance of a plate's edge from where a corner of the block begins, at least, mm: the edge
between the two is not too short to be meant."""

Line = tuple[tuple[float, float], ...]
"""A polyline (z, y) from outside in, mm."""


@dataclass(frozen=True, slots=True)
class KeyRidge:
    """A ridge below the body that needs a notch in the opening's lower edge; lengths in mm.

    It ends inwards at 45 degrees, ``depth_mm`` behind the panel's outer face.
    """

    width_mm: float
    height_mm: float
    depth_mm: float


@dataclass(frozen=True, slots=True)
class BlockBody:
    """Body of a rectangular or flanged vent.

    ``cover_plate`` is the outline of lip or flange, ``cover_column`` names the column that says how
    wide it is; ``drip_mm`` is the leg of the bevel that draws back its lower edge from the panel,
    so that water leaves it in front. ``collar`` is the block's outline where it fills the opening,
    down to ``collar_z_mm``; ``heel`` its outline behind the groove for the panel, of a part printed
    upright, which begins at ``seat_z_mm``. ``plate_mm`` is the thickness of floor and ceiling.
    """

    opening_mm: tuple[float, float]
    half_width_mm: float
    wall_mm: float
    plate_mm: float
    cover_plate: CornerPlate
    cover_column: str
    cover_thickness_mm: float
    drip_mm: float
    collar: CornerPlate
    collar_z_mm: float
    heel: CornerPlate | None
    seat_z_mm: float
    inner_z_mm: float
    holes: tuple[Hole, ...]
    teardrop_holes: bool
    snap: SnapArms | None
    key: KeyRidge | None
    gasket: GasketSpec | None
    fan_mount: FanMount | None
    screen: SlideScreen | None

    @property
    def neck(self) -> None:
        """A block has no neck."""

    @property
    def cover(self) -> Cover:
        """Lip or flange."""
        plate = self.cover_plate
        return Cover(plate.reach_mm, plate.area_mm2, plate.outline_mm, self.cover_column)

    @property
    def opening(self) -> Opening:
        """A rectangle, with a notch for the key ridge and holes for the screws."""
        w, h = self.opening_mm
        notch = None
        if self.key is not None:
            notch = (
                self.key.width_mm + 2 * FIT_CLEARANCE.value,
                self.key.height_mm + FIT_CLEARANCE.value,
            )
        words = f"rectangle {w:g} x {h:g} mm"
        return Opening(
            "rectangle",
            (w, h),
            w * h,
            words,
            notch,
            self.holes,
            corner_max_mm=self.opening_corner_mm,
        )

    @property
    def opening_corner_mm(self) -> float:
        """Largest radius of the opening's corners that keeps the clearance all round, mm."""
        sizes = [self.collar.corner_mm]
        sizes += [p.bevel_mm for p in self._outlines if p.bevel_mm is not None]
        return math.floor(10.0 * (min(sizes) + FIT_CLEARANCE.value) + 1e-6) / 10.0

    @property
    def _outlines(self) -> tuple[CornerPlate, ...]:
        return (self.collar,) if self.heel is None else (self.collar, self.heel)

    @property
    def _has_more_behind(self) -> bool:
        """Whether the duct of a fan or a screen's rails stand on the block's rear plane."""
        return self.fan_mount is not None or self.screen is not None

    @property
    def bottom_mm(self) -> float:
        """Lower side of the block, y (mm): what a part printed upright stands on."""
        return -self._outlines[-1].reach_mm[2]

    @property
    def top_mm(self) -> float:
        """Upper side of the block, y (mm)."""
        return self.collar.reach_mm[3]

    @property
    def facts(self) -> dict[str, float]:
        """Corner radii of cover and opening."""
        return {
            "cover corner radius mm": self.cover_plate.corner_mm,
            "largest corner radius of the opening mm": self.opening_corner_mm,
        }

    @property
    def mark_bar_top_mm(self) -> float:
        """Upper edge of the plain face of lip or flange, below its chamfer."""
        return self.cover_plate.reach_mm[3] - defaults.EDGE_CHAMFER_MM

    def mark_place_mm(self, ceiling_mm: float) -> tuple[float, float]:
        """Return lower edge and height of a mark in the middle of the bar, smaller in a low one."""
        bar = self.mark_bar_top_mm - ceiling_mm
        height = min(defaults.MARK_HEIGHT_MM, bar - 2.0 * MARK_CLEAR.value)
        return ceiling_mm + (bar - height) / 2, height

    def label_face(self, section: Section) -> LabelFace | None:
        """Return the back of the sill down to the lower side, where nothing else stands on it."""
        if self._has_more_behind:
            return None
        low = _at(self.lower_side(section), self.inner_z_mm)
        edge = 0.0 if self.heel is None else defaults.EDGE_CHAMFER_MM
        half = self.collar.reach_mm[0] - (self.collar.bevel_mm or self.collar.corner_mm)
        return LabelFace(
            self.inner_z_mm, half, (low + edge, section.sill_top_mm), "back of the sill"
        )

    def clear_half_width_mm(self, y_mm: float) -> float:
        """Return the same half width at every height."""
        return self.half_width_mm

    def clear_area_mm2(self, x_mm: tuple[float, float], y_mm: tuple[float, float]) -> float:
        """Return the whole rectangle: floor, ceiling and ribs are what bounds a block's air."""
        return (x_mm[1] - x_mm[0]) * (y_mm[1] - y_mm[0])

    def floor_spans_mm(
        self, bays: Sequence[tuple[float, float]]
    ) -> tuple[tuple[float, float], ...]:
        """Return the bays: ribs stand on the floor (``bays`` in mm)."""
        return tuple(bays)

    def rib_openings(self, section: Section, bays: Sequence[tuple[float, float]]) -> tuple[()]:
        """Return nothing: ribs stand on the floor (``bays`` in mm)."""
        return ()

    def rib_end_z_mm(self, section: Section) -> float:
        """Return the inner plane: ribs run as deep as the block."""
        return section.inner_z_mm

    def side_outline_mm(self, front_z_mm: float) -> list[tuple[float, float]]:
        """Return cover and block."""
        top, half = self.cover_plate.reach_mm[3], self.top_mm
        return [(front_z_mm, top), (0.0, top), (0.0, half), (self.inner_z_mm, half)]

    def cavity_outline(self, z_mm: float) -> Polygon:
        """Return the same rectangle at every depth, from the body's lower to its upper side."""
        half = self.half_width_mm
        return box(-half, self.bottom_mm, half, self.top_mm)

    def upper_side(self, section: Section) -> Line:
        """Return the block's upper side: behind the collar it steps down to the ceiling's plate.

        Snap arms are as high as the block, and what holds a fan or a screen begins on all of it: of
        such a block it does not.
        """
        top, end = self.top_mm, (self.inner_z_mm, self.top_mm)
        room = self.collar_z_mm - self.inner_z_mm - _FLAT_MIN_MM
        step = self._off_corner_mm(min(top - section.ceiling_mm - self.plate_mm, room))
        if self.snap is not None or self._has_more_behind or step < _STEP_MIN_MM:
            return ((0.0, top), end)
        foot = (self.collar_z_mm - step, top - step)
        return ((0.0, top), (self.collar_z_mm, top), foot, (self.inner_z_mm, top - step))

    def lower_side(self, section: Section) -> Line:
        """Return the block's lower side: behind the collar it rises to the floor's plate.

        A part printed upright stands on it, what holds a fan or a screen begins on all of the
        block, and under a trough over a step the lower floor is its own plate: then it is level.
        """
        start, bottom = (0.0, self.bottom_mm), self.bottom_mm
        plate = section.floor_height_mm(self.inner_z_mm) - self.plate_mm
        end = bottom + self._off_corner_mm(plate - bottom)
        level = self.heel is not None or self._has_more_behind or section.sheltered
        if level or end - bottom < _STEP_MIN_MM:
            return (start, (self.inner_z_mm, bottom))
        return (start, (self.collar_z_mm, bottom), (self.inner_z_mm, end))

    def _off_corner_mm(self, inset_mm: float) -> float:
        """Return how far a plate lies behind the block's side (mm), a little less near a corner."""
        corner = self.collar.corner_mm
        near = abs(inset_mm - corner) < _OFF_CORNER_MM
        return corner - _OFF_CORNER_MM if near else inset_mm

    def members(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[BodyMember, ...]:
        """Return the stack between side walls, the cover around the body, and what hangs on it.

        Snap arms are what stands free of the side walls; their hooks belong to them. ``bays`` are
        the clear x ranges between ribs, mm.
        """
        w, low, high = self.collar.reach_mm[0], self.bottom_mm, self.top_mm
        depth, front = (self.inner_z_mm, section.front_z_mm), (0.0, section.front_z_mm)
        wall = w if self.snap is None else w - self.snap.thickness_mm - self.snap.slot_mm
        behind, sides = (self.inner_z_mm, 0.0), _both(self.half_width_mm, wall)
        beside = block(front, (low, high), _both(w, BEYOND_MM))
        around = [block(front, (-BEYOND_MM, low)), block(front, (high, BEYOND_MM)), beside]
        found = [
            *stack_members(section, bays, (low, high)),
            BodyMember("side walls", (block(depth, (low, high), sides),), plate=True),
            BodyMember(self.cover_column.removesuffix("_width_mm"), tuple(around), plate=True),
            BodyMember("raised mark", (block((front[1], front[1] + FAR)),)),
        ]
        if self.key is not None:
            found.append(BodyMember("key ridge", (block(behind, (-BEYOND_MM, low)),)))
        if self.snap is not None:
            arms = block(behind, (low, high), _both(wall, BEYOND_MM))
            roots = block(front, (low, high), _both(wall, w))
            found.append(BodyMember("snap arms", (arms, roots)))
        if self.screen is not None:
            found.append(BodyMember("screen rails", (block((-BEYOND_MM, self.inner_z_mm)),)))
        if self.fan_mount is not None:
            found.append(BodyMember("fan mount", (block((-BEYOND_MM, self.inner_z_mm)),)))
        return tuple(found)

    def pieces(self, section: Section, bays: Sequence[tuple[float, float]]) -> Pieces:
        """Return cover and block as drawn shapes (``bays`` in mm)."""
        return block_pieces(self, section, bays)

    def volume_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return cover and block less their recesses, less the section's air over the bays.

        The block's cross-section is summed over the depth. ``bays`` are the clear x ranges between
        ribs, mm.
        """
        air = float(section.air.area) * sum(x1 - x0 for x0, x1 in bays)
        return self._filled_mm3(section, bays) - air

    def panel_range(self, section: Section) -> PanelRange:
        """Return which thicknesses of cabinet wall the very same vent fits."""
        panel = round(-self.seat_z_mm - FIT_CLEARANCE.value, 6)
        if self.snap is not None:
            return gripped(panel, "its snap arms")
        if self.heel is not None:
            return gripped(panel, "its lip and its lower edge")
        duct = None if self.fan_mount is None else self.fan_mount.duct(section)
        return before(panel, section.inner_z_mm, duct, screened=self.screen is not None)

    def walls_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return cover and block less their recesses and all the room inside (``bays`` in mm)."""
        room = float(section.room.area) * (bays[-1][1] - bays[0][0])
        return float(self._filled_mm3(section, bays)) - room

    def _filled_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return the body's volume (mm3) as if no air were between the slats (``bays`` in mm)."""
        plate, t = self.cover_plate, self.cover_thickness_mm
        volume = plate.area_mm2 * t - plate.chamfered_off_mm3(defaults.EDGE_CHAMFER_MM)
        volume -= plate.bevelled_off_mm3(self.drip_mm)
        volume += self._block_mm3(section)
        if self.key is not None:
            key = self.key
            volume += key.width_mm * key.height_mm * (key.depth_mm - 0.5 * key.height_mm)
        if self.screen is not None:
            volume += self.screen.rails_mm3(section)
        if self.snap is not None:
            volume += self._arms_mm3(self.snap)
        for hole in self.holes:
            volume -= _hole_area_mm2(hole, teardrop=self.teardrop_holes) * t
        if self.gasket is not None:
            outer, inner = self.gasket.outer_mm, self.gasket.inner_mm
            volume -= (outer[0] * outer[1] - inner[0] * inner[1]) * self.gasket.recess_mm
        if self.fan_mount is not None:
            volume += self.fan_mount.duct(section).volume_mm3()
        if section.rib_window:
            ribs_mm = sum(b[0] - a[1] for a, b in pairwise(bays))
            volume -= ribs_mm * float(Polygon(section.rib_window).area)
        return volume

    def _block_mm3(self, section: Section) -> float:
        """Return the block behind the panel's outer face, without snap arms' slots."""
        if self.heel is not None:
            heel, depth = self.heel, self.seat_z_mm - self.inner_z_mm
            volume = self.collar.area_mm2 * -self.seat_z_mm + heel.area_mm2 * depth
            # The foot's chamfers in front and behind.
            volume -= 2.0 * heel.bevelled_off_mm3(defaults.EDGE_CHAMFER_MM)
        else:
            volume = self.collar.area_mm2 * -self.inner_z_mm
        upper, lower = self.upper_side(section), self.lower_side(section)
        volume -= _summed(lambda z: self.collar.above_mm2(self.top_mm - _at(upper, z)), upper)
        if self.heel is None:
            volume -= _summed(
                lambda z: self.collar.below_mm2(_at(lower, z) - self.bottom_mm), lower
            )
        return volume

    def _arms_mm3(self, snap: SnapArms) -> float:
        """Return the hooks of both snap arms less the slots that free the arms."""
        heel, collar, seat = self._outlines[-1], self.collar, self.seat_z_mm
        foot, proud = heel.bevel_mm or 0.0, snap.proud_mm
        drop, over = (
            collar.reach_mm[3] - self.bottom_mm - collar.height_mm,
            snap.free_end_z_mm - seat,
        )
        # A hook's lower end goes on the block's bevel at 45 degrees; its upper one is level, where
        # the block's corner begins. In front of the seat it begins higher.
        length = heel.height_mm - heel.corner_mm - foot
        hooks = snap.foot_mm * proud * (0.5 * length - proud / 6.0) - 0.5 * drop * over * over
        arm, both = snap.thickness_mm, snap.thickness_mm + snap.slot_mm
        slots = (heel.beside_mm2(both) - heel.beside_mm2(arm)) * (
            seat - self.inner_z_mm - snap.root_mm
        )
        slots -= 0.5 * defaults.EDGE_CHAMFER_MM**2 * snap.slot_mm
        slots += (collar.beside_mm2(both) - collar.beside_mm2(arm)) * over
        slots += collar.beside_mm2(both) * -snap.free_end_z_mm
        # In front of the seat the arm's lower side rises at 45 degrees, beside the bevel.
        slots += 0.5 * (arm - foot) * over**2 + over**3 / 6.0
        return 2.0 * (hooks - slots)


def _at(line: Line, z_mm: float) -> float:
    """Return the height (mm) of a side at a depth z, mm."""
    zs, ys = zip(*reversed(line), strict=True)
    return float(np.interp(z_mm, zs, ys))


def _summed(area: Callable[[float], float], line: Line) -> float:
    """Return the volume (mm3) of an area that depends on the depth along a side."""
    total = 0.0
    for (z1, _), (z0, _) in pairwise(line):
        middle, half = (z0 + z1) / 2.0, (z1 - z0) / 2.0
        total += half * sum(
            float(w) * area(middle + half * float(x)) for x, w in zip(_NODES, _WEIGHTS, strict=True)
        )
    return total


def _both(low: float, high: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return a range of x left and right of the middle."""
    return (-high, -low), (low, high)


def _hole_area_mm2(hole: Hole, *, teardrop: bool) -> float:
    r = hole.diameter_mm / 2
    # A roof at 45 degrees adds a square on the radius less a quarter of the circle.
    return math.pi * r * r + (r * r * (1.0 - math.pi / 4.0) if teardrop else 0.0)
