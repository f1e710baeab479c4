"""The views of a part that its sheets show, taken from the exact solids."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shapely.geometry import LineString, MultiLineString, Polygon, box

from vent_family.files.drawing.model import (
    DASHED,
    OUTLINE_MM,
    THICK_MM,
    THIN_MM,
    Marks,
    Patch,
    Point,
    Stroke,
    together,
)
from vent_family.geometry.projection import (
    FROM_FRONT,
    FROM_LEFT,
    Line,
    cut_areas,
    cut_x_mm,
    half_beyond,
    seen_from,
)
from vent_family.geometry.vent import VentSolids, assembled
from vent_family.spec.vent import VentSpec

_HATCH_MM: Final = 1.1
"""Distance of hatch lines, mm of paper."""
_CUT_GREY: Final = 0.86
_SEAL_GREY: Final = 0.55
_SHEET_BEYOND_MM: Final = 7.0
"""How far the panel is shown beyond the cover, mm of paper."""


@dataclass(frozen=True, slots=True, eq=False)
class PartViews:
    """A part from the front (x, y) and cut open at ``cut_x_mm``, from the left (z, y); mm.

    ``front`` and ``section`` are visible lines, ``areas`` what is cut of the vent, ``fitted`` what
    is cut of the things it is fitted with, by their names.
    """

    cut_x_mm: float
    front: tuple[Line, ...]
    section: tuple[Line, ...]
    areas: tuple[Polygon, ...]
    fitted: dict[str, tuple[Polygon, ...]]


def part_views(spec: VentSpec, solids: VentSolids) -> PartViews:
    """Return the views of a part."""
    x = cut_x_mm(spec.bays)
    half = half_beyond(solids.vent, x)
    fitted = {
        placed.name: cut_areas(half_beyond(placed.shape.moved(placed.location), x), x)
        for placed in assembled(spec, solids)
        if placed.name
    }
    # Seen from the side a true thread has too many faces for the exact way.
    threaded = spec.body.neck is not None
    return PartViews(
        x,
        seen_from(FROM_FRONT, solids.vent),
        seen_from(FROM_LEFT, half, facets=threaded),
        cut_areas(half, x),
        fitted,
    )


def front_marks(views: PartViews, scale: float) -> Marks:
    """Return the front view on paper, ``scale`` (1) times as large, its origin at 0, 0."""
    return Marks(strokes=_strokes(views.front, scale))


def section_marks(views: PartViews, scale: float, *, fitted: bool = True) -> Marks:
    """Return the section on paper, ``scale`` (1) times as large, z = 0 and y = 0 at 0, 0.

    What the vent is fitted with is dashed, a gasket grey; it is left out without ``fitted``.
    """
    cut = [_scaled(area, scale) for area in views.areas]
    ys = [y for line in views.section for _, y in line]
    around = Marks()
    if fitted:
        reach = _SHEET_BEYOND_MM / scale
        strip = box(-1e4, min(ys) - reach, 1e4, max(ys) + reach)
        around = together(
            _outlined(area.intersection(strip), scale, name == "gasket")
            for name, areas in views.fitted.items()
            for area in areas
        )
    grey = tuple(Patch(_rings(area), _CUT_GREY) for area in cut)
    hatch = tuple(Stroke(line, THIN_MM) for area in cut for line in hatched(area, _HATCH_MM))
    # Drawn small, thin slats would be all edge.
    wide = THICK_MM if scale >= 1.0 else OUTLINE_MM
    edges = tuple(Stroke(ring, wide) for area in cut for ring in _rings(area))
    lines = Marks(grey, (*_strokes(views.section, scale), *hatch, *edges))
    return together([around, lines])


def hatched(area: Polygon, distance_mm: float) -> list[tuple[Point, ...]]:
    """Return lines at 45 degrees across an area, ``distance_mm`` (mm) from each other.

    They lie on one pattern over the whole paper, so that cut faces of one part match.

    Examples
    --------
    >>> from shapely.geometry import box
    >>> hatched(box(0.5, 0.0, 3.5, 3.0), 3.0 / 2.0**0.5)
    [((3.0, 0.0), (3.5, 0.5)), ((0.5, 0.5), (3.0, 3.0))]
    """
    left, low, right, high = area.bounds
    step, found = distance_mm * 2.0**0.5, []
    # The line of number n is y = x + n * step.
    first, last = int((low - right) // step), int((high - left) // step) + 1
    for number in range(first, last + 1):
        rise = number * step
        line = LineString([(left - 1.0, left - 1.0 + rise), (right + 1.0, right + 1.0 + rise)])
        inside = area.intersection(line)
        pieces = inside.geoms if isinstance(inside, MultiLineString) else [inside]
        found += [
            tuple((round(x, 2), round(y, 2)) for x, y in piece.coords)
            for piece in pieces
            if isinstance(piece, LineString) and piece.length > 0.1
        ]
    return found


def _outlined(area: Polygon, scale: float, seal: bool) -> Marks:
    pieces = [_scaled(piece, scale) for piece in getattr(area, "geoms", [area]) if piece.area]
    if seal:
        return Marks(tuple(Patch(_rings(piece), _SEAL_GREY) for piece in pieces))
    return Marks(
        strokes=tuple(Stroke(r, THIN_MM, DASHED) for piece in pieces for r in _rings(piece))
    )


def _scaled(area: Polygon, scale: float) -> Polygon:
    rings = [
        [(x * scale, y * scale) for x, y in ring.coords]
        for ring in (area.exterior, *area.interiors)
    ]
    return Polygon(rings[0], rings[1:])


def _rings(area: Polygon) -> tuple[tuple[Point, ...], ...]:
    return tuple(tuple(ring.coords) for ring in (area.exterior, *area.interiors))


def _strokes(lines: tuple[Line, ...], scale: float) -> tuple[Stroke, ...]:
    return tuple(
        Stroke(tuple((x * scale, y * scale) for x, y in line), OUTLINE_MM) for line in lines
    )
