"""The 2-D section of a vent: slats, floor, drain, sill, ceiling, in the (z, y) plane.

All later evidence (sight lines, drops, drainage, air) and the solid itself start from this one
section. Coordinates are those of the part: z = 0 on the outer panel face and positive outwards,
y = 0 on the opening's centre and positive upwards, in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from vent_family.base.limits import GAP_MIN, SIGHT_MARGIN_MIN, SLIVER_MIN
from vent_family.spec.forms import Outline
from vent_family.spec.sightlines import SightResult, sight_margin
from vent_family.spec.stack import Stack

FAR: Final = 1.0
"""How far voids reach beyond the front and inner planes, mm, so that no faces coincide."""
CUT_MIN: Final = 0.3
"""Least height by which a slat cut at the ceiling runs on into it, mm."""
NUDGE: Final = 0.05
"""Least distance of a slat corner from a wall plane, mm; coinciding corners spoil the mesh."""


SHELF_UNDER_BORE_MM: Final = 0.3
"""How far a round vent's shelf stays below the bore's bottom where it meets the cone."""
SHELF_SLOPE_MIN_DEG: Final = 1.5
"""Least slope of the shelf behind a round vent's sill."""
PHASES: Final = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
"""Lattice phases tried, in pitches."""


class SectionError(ValueError):
    """The section cannot be laid out; the message says why, ``fix`` what to do."""

    def __init__(self, message: str, column: str, fix: str) -> None:
        super().__init__(message)
        self.column = column
        self.fix = fix


@dataclass(frozen=True, slots=True)
class Slat:
    """One slat of the section: its bank (0 is outermost), outline and convex pieces (z, y).

    ``leaves`` are the parts of a whole slat that bend each by itself under a load.
    """

    bank: int
    outline: Outline
    pieces: tuple[Outline, ...]
    leaves: tuple[Outline, ...]
    whole: bool
    """False where ceiling or drain channel cuts the slat short."""


@dataclass(frozen=True)
class Section:
    """The laid-out section.

    ``lower`` and ``upper`` are polylines (z, y) from the inner to the outer plane bounding the
    cavity. ``front_z_mm`` is the outer plane; ``stack_z_mm`` inner and outer z of the slat stack.
    ``drain_mm`` is the (bottom, top) of the drain slot in the outer plane, ``sill_top_mm`` the
    height over which water must rise to get inside, ``floor_inner_mm`` the floor's height at the
    foot of the sill.
    """

    stack: Stack
    slats: tuple[Slat, ...]
    lower: Outline
    upper: Outline
    apron: Outline
    stack_z_mm: tuple[float, float]
    ceiling_mm: float
    drain_mm: tuple[float, float]
    floor_inner_mm: float
    sill_top_mm: float

    @property
    def inner_z_mm(self) -> float:
        """z of the plane where the cabinet's air begins."""
        return self.lower[0][0]

    @property
    def front_z_mm(self) -> float:
        """z of the outer plane."""
        return self.lower[-1][0]

    @property
    def window_bottom_mm(self) -> float:
        """Lower edge of the front window, the top of the apron."""
        return max(y for _, y in self.apron)

    @property
    def pieces(self) -> list[Outline]:
        """All convex solids standing inside the cavity."""
        return [p for s in self.slats for p in s.pieces] + [self.apron]

    @cached_property
    def sight(self) -> SightResult:
        """Straight-path margin of the whole section, drain and walls included."""
        return sight_margin(self.pieces, self.lower, self.upper)

    @property
    def closed(self) -> bool:
        """True if every straight line misses by the required margin."""
        return self.sight.margin_mm >= SIGHT_MARGIN_MIN.value

    @cached_property
    def cavity(self) -> Polygon:
        """The cavity without slats and apron, reaching ``FAR`` beyond its two open planes."""
        upper, lower = self.upper, self.lower
        ring = [
            (lower[0][0] - FAR, lower[0][1]),
            *lower,
            (lower[-1][0] + FAR, lower[-1][1]),
            (upper[-1][0] + FAR, upper[-1][1]),
            *reversed(upper),
            (upper[0][0] - FAR, upper[0][1]),
        ]
        z0 = min(z for z, _ in self.apron)
        y0, y1 = self.drain_mm[1], self.window_bottom_mm
        apron = box(z0, y0, self.front_z_mm + 2 * FAR, y1)
        return _single(Polygon(ring).difference(apron))

    def free_height_mm(self, z: float) -> float:
        """Return the total open height at a depth z inside the part."""
        cut = box(z - 1e-4, -1e4, z + 1e-4, 1e4)
        return float(self.air.intersection(cut).area / 2e-4)

    @cached_property
    def air(self) -> Polygon:
        """The cavity minus the slats, between the two open planes."""
        solid = unary_union([Polygon(s.outline) for s in self.slats])
        inside = box(self.inner_z_mm, -1e4, self.front_z_mm, 1e4)
        return _single(self.cavity.intersection(inside).difference(solid))


def _single(shape: Polygon | MultiPolygon) -> Polygon:
    """Return the one polygon of a shape, dropping numerical crumbs."""
    if isinstance(shape, Polygon):
        return shape
    parts = sorted(shape.geoms, key=lambda g: g.area)
    if sum(g.area for g in parts[:-1]) > 1e-6:
        raise SectionError(
            "the slats close off part of the cavity",
            "pitch_mm",
            "increase pitch_mm or lower slat_height_mm",
        )
    return parts[-1]


@dataclass(frozen=True, slots=True)
class Throat:
    """The way from a round cavity into its neck: bore, and a 45 degree cone widening outwards.

    ``z_mm`` is where the cone leaves the bore, ``cone_radius_mm`` the cavity radius it reaches.
    """

    bore_radius_mm: float
    z_mm: float
    cone_radius_mm: float

    def highest_sill_mm(self, foot_z: float) -> float:
        """Return how high a sill may stand at ``foot_z`` so that the shelf drains over it."""
        rise = (foot_z - self.z_mm) * math.tan(math.radians(SHELF_SLOPE_MIN_DEG))
        return -self.bore_radius_mm - SHELF_UNDER_BORE_MM - rise


@dataclass(frozen=True, slots=True)
class Trough:
    """Bottom, sill and open ends of the section, as the family lays them out.

    ``floor_front_mm`` is the floor's height at the outer plane; the floor rises inwards by
    ``slope_deg`` up to the sill's foot at ``foot_z_mm``. Behind the sill the level stays at its
    top as far as ``inner_z_mm``; with a ``throat`` it rises to the cone, so that whatever gets
    behind the sill runs back over it.
    """

    front_z_mm: float
    front_margin_mm: float
    floor_front_mm: float
    slope_deg: float
    drain_height_mm: float
    apron_thickness_mm: float
    ceiling_max_mm: float
    ceiling_min_mm: float
    inner_z_mm: float
    foot_z_mm: float
    sill_top_mm: float
    throat: Throat | None = None

    @property
    def tangent(self) -> float:
        """Tangent of the floor's slope."""
        return math.tan(math.radians(self.slope_deg))

    def floor_mm(self, z: float) -> float:
        """Height of the floor at depth z."""
        return self.floor_front_mm + (self.front_z_mm - z) * self.tangent

    def lower(self) -> Outline:
        """Return the lower boundary (z, y) from the inner to the outer plane."""
        foot, sill = self.foot_z_mm, self.sill_top_mm
        ends = ((foot, sill), (foot, self.floor_mm(foot)), (self.front_z_mm, self.floor_front_mm))
        if self.throat is None:
            return ((self.inner_z_mm, sill), *ends)
        bore, z0 = self.throat.bore_radius_mm, self.throat.z_mm
        # The shelf slopes like the floor, or less where it would else rise into the bore.
        slope = min(self.tangent, (-bore - SHELF_UNDER_BORE_MM - sill) / (foot - z0))
        # Cone -bore - (z - z0) meets the shelf sill + (foot - z) slope.
        meet = (z0 - bore - sill - foot * slope) / (1.0 - slope)
        shelf = (meet, -bore - (meet - z0))
        return ((self.inner_z_mm, -bore), (z0, -bore), shelf, *ends)

    def upper(self, ceiling: float) -> Outline:
        """Return the upper boundary (z, y) from the inner to the outer plane."""
        end = (self.front_z_mm, ceiling)
        if self.throat is None:
            return ((self.inner_z_mm, ceiling), end)
        bore, z0 = self.throat.bore_radius_mm, self.throat.z_mm
        return ((self.inner_z_mm, bore), (z0, bore), (z0 + ceiling - bore, ceiling), end)


def lay_out(stack: Stack, trough: Trough, phase: float = 0.0) -> Section:
    """Place the banks between floor and ceiling and return the section.

    Banks hang on one lattice of the given pitch and shift. At ``phase`` 0 the innermost bank's
    lowest slat ends on the drain channel; other phases lift the lattice by that share of a pitch.
    Banks that end higher are completed by a slat cut short at
    the channel, so every bank closes the cavity down to it. The ceiling is put at the highest
    level where no slat leaves a sliver or a gap that a water film would bridge.

    Raises
    ------
    SectionError
        when the cavity is too low for the stack
    """
    channel = max(trough.drain_height_mm, GAP_MIN.value)
    front = trough.front_z_mm - trough.front_margin_mm
    last = stack.bank_count - 1
    v, pitch = stack.slat_height_mm, stack.pitch_mm

    cut_levels = []
    for bank in range(stack.bank_count):
        z0, _ = stack.bank_z(bank)
        cut_levels.append(trough.floor_mm(front + z0) + channel)
    slot = (trough.floor_front_mm, trough.floor_front_mm + trough.drain_height_mm)
    apron_gap = stack.shape.apron_gap_mm(pitch, v)
    apron_least = slot[1] + trough.apron_thickness_mm
    # The apron stands in front of the outermost bank, so that bank ends above it.
    cut_levels[0] = max(cut_levels[0], apron_least + apron_gap)

    anchor = cut_levels[last] + v / 2 - stack.offsets_mm[last] + phase * pitch
    centres = [
        _centres(anchor + off, pitch, v, cut, trough.ceiling_max_mm)
        for off, cut in zip(stack.offsets_mm, cut_levels, strict=True)
    ]
    ceiling = _ceiling(stack, centres, trough.ceiling_min_mm, trough.ceiling_max_mm)
    slats = [
        slat
        for bank, ys in enumerate(centres)
        for y in ys
        if (slat := _trimmed(stack, bank, y, front, cut_levels[bank], ceiling)) is not None
    ]
    if sum(s.whole for s in slats) < stack.bank_count:
        need = max(cut_levels) + 2 * pitch - trough.ceiling_max_mm
        raise SectionError(
            f"the cavity is {max(need, 0.1):.1f} mm too low for the slat stack",
            "size",
            f"make the opening {math.ceil(max(need, 0.1))} mm higher, or reduce pitch_mm",
        )
    lowest_front = min(y for s in slats if s.bank == 0 for _, y in s.outline)
    apron_top = lowest_front - apron_gap
    z_apron = trough.front_z_mm - trough.apron_thickness_mm
    apron = (
        (z_apron, slot[1]),
        (trough.front_z_mm, slot[1]),
        (trough.front_z_mm, apron_top),
        (z_apron, apron_top),
    )
    return Section(
        stack=stack,
        slats=tuple(slats),
        lower=trough.lower(),
        upper=trough.upper(ceiling),
        apron=apron,
        stack_z_mm=(front - stack.depth_mm, front),
        ceiling_mm=ceiling,
        drain_mm=slot,
        floor_inner_mm=trough.floor_mm(trough.foot_z_mm),
        sill_top_mm=trough.sill_top_mm,
    )


def lay_out_closed(stack: Stack, trough: Trough, sill_steps: int, step_mm: float) -> Section:
    """Return a layout that no straight line passes, with the lowest sill that does it.

    Tries the lattice phases and, for each, the given number of sill heights above the trough's
    own. If none closes the section, the one nearest to it is returned and the caller decides.

    Raises
    ------
    SectionError
        when no phase can be laid out at all
    """
    best: Section | None = None
    fault: SectionError | None = None
    for phase in PHASES:
        try:
            section = lay_out(stack, trough, phase)
        except SectionError as error:
            fault = fault or error
            continue

        def with_sill(i: int, section: Section = section) -> Section:
            raised = replace(trough, sill_top_mm=trough.sill_top_mm + i * step_mm)
            return replace(section, lower=raised.lower(), sill_top_mm=raised.sill_top_mm)

        # More sill never opens a path, so the lowest closing sill can be halved down to; the
        # trough's own sill is nearly always enough.
        if section.closed:
            return section
        low, high = 1, sill_steps
        if not with_sill(high).closed:
            candidate = with_sill(high)
            if best is None or candidate.sight.margin_mm > best.sight.margin_mm:
                best = candidate
            continue
        while low < high:
            middle = (low + high) // 2
            if with_sill(middle).closed:
                high = middle
            else:
                low = middle + 1
        return with_sill(high)
    if best is None:
        assert fault is not None
        raise fault
    return best


def _centres(start: float, pitch: float, v: float, cut: float, top: float) -> list[float]:
    """Return slat centres of one bank from the channel to the highest possible ceiling."""
    first = math.floor((cut - v / 2 - start) / pitch) - 1
    count = math.ceil((top - cut) / pitch) + 4
    ys = [start + (first + i) * pitch for i in range(count)]
    return [y for y in ys if y + v / 2 > cut + SLIVER_MIN.value and y - v / 2 < top]


def _ceiling(
    stack: Stack, centres: Sequence[Sequence[float]], lowest: float, highest: float
) -> float:
    """Return the highest ceiling that leaves neither slivers nor bridged gaps under it."""
    v = stack.slat_height_mm
    gap = stack.shape.ceiling_gap_mm(stack.pitch_mm, v)
    stub = stack.shape.stub_mm(stack.thickness_mm)

    def clean(level: float) -> bool:
        for ys in centres:
            for y in ys:
                bottom, top = y - v / 2, y + v / 2
                if bottom >= level + NUDGE or top <= level - gap + 1e-9:
                    continue
                if top >= level + CUT_MIN and bottom <= level - stub:
                    corners = _corner_levels(stack, y)
                    if all(abs(c - level) >= NUDGE for c in corners):
                        continue
                return False
        return True

    for level in np.arange(highest, lowest - 1e-9, -0.1):
        if clean(float(level)):
            return round(float(level), 3)
    raise SectionError(
        "no clean ceiling: every height between the slats leaves a sliver or a bridged gap",
        "pitch_mm",
        f"make the opening higher, or change pitch_mm (now {stack.pitch_mm:g})",
    )


def _corner_levels(stack: Stack, y: float) -> list[float]:
    """Return the heights of the corners of a slat centred at y."""
    return [c for _, c in stack.shape.outline(stack.slat_box(0, y))]


def _trimmed(
    stack: Stack, bank: int, y: float, front: float, floor: float, ceiling: float
) -> Slat | None:
    """Return a slat moved to its place and cut at the channel and the ceiling, if any is left."""
    v = stack.slat_height_mm
    bottom, top = y - v / 2, y + v / 2
    if bottom >= ceiling or top <= floor:
        return None
    shape, box_ = stack.shape, stack.slat_box(bank, y)
    outline, *pieces = (_moved(p, front) for p in (shape.outline(box_), *shape.pieces(box_)))
    if bottom >= floor - 1e-9 and top <= ceiling:
        leaves = tuple(_moved(p, front) for p in shape.leaves(box_))
        return Slat(bank, outline, tuple(pieces), leaves, whole=True)
    # Above the ceiling the slat runs on into the wall, so the cut leaves no coinciding face.
    window = box(-1e3, floor, 1e3, ceiling + FAR)
    left = Polygon(outline).intersection(window)
    if not isinstance(left, Polygon) or left.is_empty:
        return None
    if bottom < floor and top - floor < stack.thickness_mm + SLIVER_MIN.value:
        return None
    kept = [_ring(Polygon(p).intersection(window)) for p in pieces]
    return Slat(bank, _ring(left), tuple(p for p in kept if p), (), whole=False)


def _moved(outline: Outline, dz: float) -> Outline:
    """Return an outline moved along z (mm)."""
    return tuple((z + dz, y) for z, y in outline)


def _ring(shape: Polygon) -> Outline:
    """Return the outline of a polygon without its repeated last corner; empty if it has none."""
    if not isinstance(shape, Polygon) or shape.is_empty:
        return ()
    return tuple((float(z), float(y)) for z, y in list(shape.exterior.coords)[:-1])
