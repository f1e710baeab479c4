"""A throw-away fourth family: a block with cut corners, glued into an octagonal opening.

It is outlined unlike the others: slats end on slanting walls at the corners of the cavity, so that
neither a block's nor a round vent's areas, volumes or solids fit it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import cadquery as cq
import numpy as np
from numpy.polynomial.legendre import leggauss
from shapely.geometry import Polygon, box

from vent_family.base.limits import FIT_CLEARANCE
from vent_family.catalog.model import CatalogRow, SizeKind
from vent_family.geometry.mark import mark_prisms
from vent_family.geometry.primitives import common, cut, fuse, one_solid, prism_x, prism_z
from vent_family.spec import defaults
from vent_family.spec.body import Body, Cover, Opening, PanelRange
from vent_family.spec.bounds import Bounds
from vent_family.spec.families.common import (
    bays,
    opening_size,
    own_columns,
    own_row,
    refuse_upright,
)
from vent_family.spec.members import BodyMember, block, stack_members
from vent_family.spec.pieces import Lofted, Pieces, Prism
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow, fill
from vent_family.spec.section import FAR, Section
from vent_family.spec.stack import Stack
from vent_family.spec.vent import VentSpec

CORNER = 0.2
"""What is cut off a corner, as a share of the opening's smaller side."""
TAN = math.tan(math.pi / 8)


class OctagonRow(FilledRow):
    lip_width_mm: float
    lip_thickness_mm: float


def octagon(width: float, height: float, corner: float, grow: float = 0.0) -> Polygon:
    """Return a rectangle with its corners cut at 45 degrees, every side moved out by ``grow``."""
    w, h, c = width / 2 + grow, height / 2 + grow, corner + grow * (2 - math.sqrt(2))
    quarter = [(w, h - c), (w - c, h)]
    half = quarter + [(-x, y) for x, y in reversed(quarter)]
    return Polygon([*half, *((-x, -y) for x, y in half)])


@dataclass(frozen=True, slots=True)
class OctagonBody:
    opening_mm: tuple[float, float]
    wall_mm: float
    lip_mm: float
    lip_thickness_mm: float
    inner_z_mm: float

    @property
    def corner_mm(self) -> float:
        return CORNER * min(self.opening_mm)

    def outline(self, grow: float) -> Polygon:
        return octagon(*self.opening_mm, self.corner_mm, grow)

    @property
    def block(self) -> Polygon:
        return self.outline(-FIT_CLEARANCE.value)

    @property
    def cavity(self) -> Polygon:
        return self.outline(-FIT_CLEARANCE.value - self.wall_mm)

    @property
    def plate(self) -> Polygon:
        return self.outline(self.lip_mm)

    @property
    def half_width_mm(self) -> float:
        return self.opening_mm[0] / 2 - FIT_CLEARANCE.value - self.wall_mm

    @property
    def neck(self) -> None: ...

    @property
    def snap(self) -> None: ...

    @property
    def gasket(self) -> None: ...

    @property
    def fan_mount(self) -> None: ...

    @property
    def screen(self) -> None: ...

    @property
    def cover(self) -> Cover:
        w, h = (side / 2 + self.lip_mm for side in self.opening_mm)
        return Cover((w, w, h, h), self.plate.area, self.plate.length, "lip_width_mm")

    @property
    def opening(self) -> Opening:
        w, h = self.opening_mm
        words = f"octagon {w:g} x {h:g} mm, corners cut by {self.corner_mm:g} mm"
        return Opening("octagon", self.opening_mm, self.outline(0.0).area, words)

    @property
    def facts(self) -> dict[str, float]:
        return {"corner mm": self.corner_mm}

    @property
    def mark_bar_top_mm(self) -> float:
        return self.opening_mm[1] / 2 + self.lip_mm

    def mark_place_mm(self, ceiling_mm: float) -> tuple[float, float]:
        bar = self.mark_bar_top_mm - ceiling_mm
        return ceiling_mm + (bar - defaults.MARK_HEIGHT_MM) / 2, defaults.MARK_HEIGHT_MM

    def label_face(self, section: Section) -> None:
        return None

    def clear_half_width_mm(self, y_mm: float) -> float:
        cut_off = self.cavity.intersection(box(-1e3, y_mm - 1e-6, 1e3, y_mm + 1e-6))
        return 0.0 if cut_off.is_empty else float(cut_off.bounds[2])

    def clear_area_mm2(self, x_mm: tuple[float, float], y_mm: tuple[float, float]) -> float:
        area = self.cavity.intersection(box(x_mm[0], y_mm[0], x_mm[1], y_mm[1])).area
        return float(area)

    def floor_spans_mm(
        self, bays: Sequence[tuple[float, float]]
    ) -> tuple[tuple[float, float], ...]:
        return tuple(bays)

    def rib_openings(self, section: Section, bays: Sequence[tuple[float, float]]) -> tuple[()]:
        return ()

    def rib_end_z_mm(self, section: Section) -> float:
        """The inner plane."""
        return section.inner_z_mm

    def side_outline_mm(self, front_z_mm: float) -> list[tuple[float, float]]:
        top, half = self.mark_bar_top_mm, self.opening_mm[1] / 2 - FIT_CLEARANCE.value
        return [(front_z_mm, top), (0.0, top), (0.0, half), (self.inner_z_mm, half)]

    def cavity_outline(self, z_mm: float) -> Polygon:
        return self.cavity

    def members(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[BodyMember, ...]:
        return (
            *stack_members(section, bays, inside=True),
            BodyMember("walls", (block((-1e3, 0.0)),), inside=False),
            BodyMember("lip", (block((0.0, 1e3)),), inside=False),
        )

    def pieces(self, section: Section, bays: Sequence[tuple[float, float]]) -> Pieces:
        cavity = Lofted(lambda _: self.cavity, (self.inner_z_mm, self.lip_thickness_mm), (0.0,))
        fills = (
            Prism(2, self.plate, ((0.0, self.lip_thickness_mm),)),
            Prism(2, self.block, ((self.inner_z_mm, 0.0),)),
        )
        return Pieces(fills, room=(Prism(0, section.air, tuple(bays), cavity),))

    def volume_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return plate and block less the air, its section clipped to the octagon at each x."""
        whole = self.plate.area * self.lip_thickness_mm - self.block.area * self.inner_z_mm
        knee = self.knee_mm
        nodes, weights = leggauss(16)
        air = 0.0
        for a, b in bays:
            corners = sorted({a, b, *(k for k in (-knee, 0.0, knee) if a < k < b)})
            for x0, x1 in pairwise(corners):
                for node, weight in zip(nodes, weights, strict=True):
                    x = 0.5 * (x1 - x0) * node + 0.5 * (x0 + x1)
                    high = self.half_height_mm(x)
                    clipped = section.air.intersection(box(-1e3, -high, 1e3, high))
                    air += 0.5 * (x1 - x0) * weight * float(clipped.area)
        return whole - air

    def panel_range(self, section: Section) -> PanelRange:
        """Return every wall that is thinner than the block is deep."""
        return PanelRange(0.5, -self.inner_z_mm, "the block reaches through the wall")

    def walls_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return plate and block less the octagon all along."""
        solid = self.plate.area * self.lip_thickness_mm - self.block.area * self.inner_z_mm
        return solid - self.cavity.area * (section.front_z_mm - section.inner_z_mm)

    @property
    def knee_mm(self) -> float:
        """Return the x at which the cavity's top edge begins to fall."""
        corners = np.array(self.cavity.exterior.coords)
        return float(corners[corners[:, 1] > corners[:, 1].max() - 1e-9][:, 0].max())

    def half_height_mm(self, x: float) -> float:
        high = self.opening_mm[1] / 2 - FIT_CLEARANCE.value - self.wall_mm
        return high - max(0.0, abs(x) - self.knee_mm)


class Octagonal:
    name = "octagonal"
    size: SizeKind = "opening"
    columns = own_columns(OctagonRow)
    opening = "octagon"
    body = OctagonBody

    def filled(self, row: CatalogRow) -> OctagonRow:
        own = {"wall_mm": 2.5, "lip_width_mm": 8.0, "lip_thickness_mm": 3.0}
        return fill(row, OctagonRow, own)

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        refuse_upright(row, refusals, "lip")

    def place_ribs(
        self, row: FilledRow, refusals: Refusals, body: Body, section: Section
    ) -> tuple[Body, tuple[tuple[float, float], ...]]:
        return body, bays(row, refusals, body.half_width_mm, section.stack)

    def bounds(self, row: FilledRow, stack: Stack) -> Bounds:
        own = own_row(row, OctagonRow)
        slot, front, wall = row.drain_height_mm, own.lip_thickness_mm, row.wall_mm
        foot = front - (defaults.FRONT_MARGIN_MM + stack.depth_mm + defaults.INNER_MARGIN_MM)
        ceiling = float(row.size.split("x")[1]) / 2 - FIT_CLEARANCE.value - wall
        tangent = math.tan(math.radians(row.floor_slope_deg))
        return Bounds(
            front_z_mm=front,
            front_margin_mm=defaults.FRONT_MARGIN_MM,
            floor_front_mm=-ceiling,
            slope_deg=row.floor_slope_deg,
            drain_height_mm=slot,
            apron_thickness_mm=defaults.APRON_THICKNESS_MM,
            ceiling_max_mm=ceiling,
            ceiling_min_mm=ceiling - stack.pitch_mm,
            inner_z_mm=foot - defaults.SILL_THICKNESS_MM,
            foot_z_mm=foot,
            sill_top_mm=-ceiling + (front - foot) * tangent + slot + defaults.SILL_OVER_DRAIN_MM,
        )

    def lay_out(
        self, row: FilledRow, refusals: Refusals, stack: Stack
    ) -> tuple[OctagonBody, Bounds]:
        own = own_row(row, OctagonRow)
        size = opening_size(row, refusals)
        bounds = self.bounds(row, stack)
        if min(size) < 50.0:
            refusals.refuse(
                "octagon.size.small",
                "size",
                "an octagon below 50 mm has no floor",
                guesses=({"size": "50x50"},),
            )
        front, inner = bounds.front_z_mm, bounds.inner_z_mm
        return OctagonBody(size, row.wall_mm, own.lip_width_mm, front, inner), bounds


class OctagonBuilder:
    name = "octagonal"

    def vent(self, spec: VentSpec, true_thread: bool) -> cq.Solid:
        body = spec.body
        assert isinstance(body, OctagonBody)
        front = body.lip_thickness_mm
        shell = _shell(body)
        # Only the slanting sides bound the voids; floor, ceiling and ribs bound them else.
        bound = octagon(
            2 * body.half_width_mm + 8.0,
            body.opening_mm[1] - 2 * (FIT_CLEARANCE.value + body.wall_mm) + 8.0,
            body.half_width_mm - body.knee_mm + 8.0,
        )
        corners = prism_z(_ring(bound), body.inner_z_mm - 2 * FAR, front + 2 * FAR)
        tools: list[cq.Shape] = [common(void, corners) for void in _voids(spec)]
        tools += mark_prisms(spec.mark, front - spec.mark.depth_mm, front + FAR)
        return one_solid(cut(shell, tools))

    def envelope(self, spec: VentSpec) -> cq.Solid:
        body = spec.body
        assert isinstance(body, OctagonBody)
        return _shell(body)

    def opening(self, spec: VentSpec, z_mm: tuple[float, float]) -> cq.Solid:
        body = spec.body
        assert isinstance(body, OctagonBody)
        return prism_z(_ring(body.outline(0.0)), *z_mm)


def _shell(body: OctagonBody) -> cq.Solid:
    """Return lip and block, closed all round."""
    front = body.lip_thickness_mm
    block = prism_z(_ring(body.block), body.inner_z_mm, front)
    return fuse(prism_z(_ring(body.plate), 0.0, front), [block])


def _voids(spec: VentSpec) -> list[cq.Solid]:
    """Return the air of every bay, the slats standing in it as holes."""
    section = spec.section
    outline, holes = section.cavity, []
    for slat in section.slats:
        if max(y for _, y in slat.outline) > section.ceiling_mm:
            outline = outline.difference(Polygon(slat.outline))
        else:
            holes.append(slat.outline)
    ring = [(float(z), float(y)) for z, y in list(outline.exterior.coords)[:-1]]
    return [prism_x(ring, x0, x1, holes) for x0, x1 in spec.bays]


def _ring(shape: Polygon) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in list(shape.exterior.coords)[:-1]]
