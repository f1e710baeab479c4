"""Sight lines through the section as it is printed: slats thinner, gaps wider, all of it shrunk."""

from __future__ import annotations

import itertools
from typing import Final

from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from vent_family.evidence.as_made.made import Made
from vent_family.spec.forms import Outline
from vent_family.spec.section import BEYOND_MM, Section
from vent_family.spec.sightlines import sight_margin

_CRUMB_MM2 = 1e-9
MITRE: Final = 5.0
"""How far a corner may be drawn out, in times the distance: sharp edges stay sharp."""


def made_margin_mm(section: Section, made: Made, thinner_mm: float) -> float:
    """Return the sight margin, mm, of a printed section.

    Parameters
    ----------
    section
        the section as drawn
    made
        how lengths come out
    thinner_mm
        by how much slats, apron and walls come out thinner than they shrink, and gaps wider

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="80x60", status="draft")
    >>> section = resolve(row).section
    >>> exact = Made((0.0, 0.0, 0.0), 0.1)
    >>> abs(made_margin_mm(section, exact, 0.0) - section.sight.margin_mm) < 1e-9
    True
    >>> made_margin_mm(section, exact, 0.2) < section.sight.margin_mm - 0.2
    True
    """
    half = thinner_mm / 2.0
    solids = [*(slat.outline for slat in section.slats), section.apron]
    pieces = [
        piece
        for outline in solids
        for piece in convex(
            Polygon(_shrunk(outline, made)).buffer(-half, join_style="mitre", mitre_limit=MITRE)
        )
    ]
    lower = _shrunk(_raised(section.lower, -half), made)
    upper = _shrunk(_raised(section.upper, half), made)
    return sight_margin(pieces, lower, upper).margin_mm


def _raised(line: Outline, by_mm: float) -> Outline:
    return tuple((z, y + by_mm) for z, y in line)


def _shrunk(line: Outline, made: Made) -> Outline:
    return tuple((made.shrunk(z, 2), made.shrunk(y, 1)) for z, y in line)


def convex(shape: BaseGeometry) -> list[Outline]:
    """Return convex pieces of a shape (z, y), mm, cut at its corners' z.

    Straight lines through a vent are never vertical, so none passes between two such pieces.
    """
    cuts = sorted({round(z, 9) for part in _parts(shape) for z, _ in part.exterior.coords})
    found = []
    for z0, z1 in itertools.pairwise(cuts):
        strip = shape.intersection(box(z0, -BEYOND_MM, z1, BEYOND_MM))
        found += [
            tuple(part.exterior.coords)[:-1] for part in _parts(strip) if part.area > _CRUMB_MM2
        ]
    return found


def _parts(shape: BaseGeometry) -> list[Polygon]:
    parts = getattr(shape, "geoms", [shape])
    return [part for part in parts if isinstance(part, Polygon) and not part.is_empty]
