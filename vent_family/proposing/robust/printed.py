"""A vent as printed: the same layout, every point where shrinkage and scatter put it.

The drawn section is moved, not laid out anew from changed cells: a row with another thickness
would get another pitch, another ceiling, perhaps other slopes, and be held to the limits of
drawings. That is another design, not this one printed worse. Slats grow or thin all round, as for
the sight lines of :mod:`vent_family.evidence.as_made.section`. The body's own outline stays as
drawn.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from shapely.geometry import Polygon

from vent_family.evidence.as_made.made import Made
from vent_family.evidence.as_made.section import MITRE, convex
from vent_family.spec.forms import Outline
from vent_family.spec.section import Point, Section, Slat
from vent_family.spec.stack import Stack
from vent_family.spec.vent import VentSpec

_HAIR_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class AsPrinted:
    """How one printed part departs from its drawing.

    ``shares`` (1) are what lengths along x, y and z shrink by; slats are ``thicker_mm`` than drawn,
    the drain is ``drain_mm`` higher and the sill ``sill_mm``, all before they shrink.
    """

    shares: tuple[float, float, float]
    thicker_mm: float = 0.0
    drain_mm: float = 0.0
    sill_mm: float = 0.0


def as_printed(spec: VentSpec, how: AsPrinted) -> VentSpec:
    """Return a vent as printed.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="80x60", status="draft")
    >>> spec = resolve(row)
    >>> exact = as_printed(spec, AsPrinted((0.0, 0.0, 0.0)))
    >>> exact.section.room.equals(spec.section.room), exact.bays == spec.bays
    (True, True)
    >>> thick = as_printed(spec, AsPrinted((0.0, 0.0, 0.0), thicker_mm=0.1))
    >>> round(spec.section.stack.passage_mm - thick.section.stack.passage_mm, 3)
    0.1
    """
    made = Made(how.shares, 0.0)
    return replace(
        spec,
        section=_section(spec.section, how, made),
        bays=tuple((made.shrunk(a, 0), made.shrunk(b, 0)) for a, b in spec.bays),
    )


def _section(section: Section, how: AsPrinted, made: Made) -> Section:
    def moved(line: Outline, up_mm: float = 0.0) -> Outline:
        return tuple((made.shrunk(z, 2), made.shrunk(y + up_mm, 1)) for z, y in line)

    def point(at: Point, up_mm: float = 0.0) -> Point:
        return moved((at,), up_mm)[0]

    half = 0.5 * how.thicker_mm
    inner, outer = section.stack_z_mm
    # Whatever stands in the upper half of the sill's face belongs to its top.
    middle = 0.5 * (section.foot[1] + section.sill[1])
    bottom, top = section.drain_mm
    slats = tuple(_slat(slat, half, moved) for slat in section.slats)
    return replace(
        section,
        stack=_stack(section, slats, how, made),
        slats=slats,
        shelf=moved(section.shelf, how.sill_mm),
        sill=point(section.sill, how.sill_mm),
        sill_face=tuple(point(p, how.sill_mm if p[1] > middle else 0.0) for p in section.sill_face),
        foot=point(section.foot),
        brink=point(section.brink),
        upper=moved(section.upper),
        apron=moved(_raised_foot(section.apron, how.drain_mm)),
        stack_z_mm=(made.shrunk(inner - half, 2), made.shrunk(outer + half, 2)),
        ceiling_mm=made.shrunk(section.ceiling_mm, 1),
        drain_mm=(made.shrunk(bottom, 1), made.shrunk(top + how.drain_mm, 1)),
        outlet=moved(section.outlet),
        rib_window=moved(section.rib_window),
    )


def _slat(slat: Slat, half_mm: float, moved: Callable[[Outline], Outline]) -> Slat:
    """Return a slat with its faces ``half_mm`` farther out; its leaves stay as drawn."""
    drawn = Polygon(slat.outline)
    outline = slat.outline
    if half_mm:
        grown = drawn.buffer(half_mm, join_style="mitre", mitre_limit=MITRE)
        ring = tuple((float(z), float(y)) for z, y in grown.exterior.coords[:-1])
        same_way = grown.exterior.is_ccw == drawn.exterior.is_ccw
        outline = ring if same_way else ring[::-1]
    outline = moved(outline)
    return replace(slat, outline=outline, pieces=tuple(convex(Polygon(outline))))


def _stack(section: Section, slats: tuple[Slat, ...], how: AsPrinted, made: Made) -> Stack:
    """Return the stack with the sizes its slats come out at."""
    stack = section.stack
    k = next(k for k, slat in enumerate(section.slats) if slat.whole)
    higher = _height_mm(slats[k].outline) - _height_mm(section.slats[k].outline)
    # A slat's thickness lies somewhere between y and z.
    share = 0.5 * (made.shares[1] + made.shares[2])
    return replace(
        stack,
        thickness_mm=(stack.thickness_mm + how.thicker_mm) * (1.0 - share),
        pitch_mm=made.shrunk(stack.pitch_mm, 1),
        slat_height_mm=stack.slat_height_mm + higher,
        gaps_mm=tuple(made.shrunk(gap - how.thicker_mm, 2) for gap in stack.gaps_mm),
        foot_mm=made.shrunk(stack.foot_mm, 2),
    )


def _height_mm(outline: Outline) -> float:
    heights = [y for _, y in outline]
    return max(heights) - min(heights)


def _raised_foot(apron: Outline, by_mm: float) -> Outline:
    """Return the apron with its underside raised."""
    low = min(y for _, y in apron)
    return tuple((z, y + by_mm if y < low + _HAIR_MM else y) for z, y in apron)
