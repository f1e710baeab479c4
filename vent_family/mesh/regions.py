"""What a section encloses: the polygons of every level of a cut mesh."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from vent_family.base.arrays import ObjectArray
from vent_family.mesh.slices import Cuts

Region: TypeAlias = Polygon | MultiPolygon

EMPTY: MultiPolygon = MultiPolygon()


def regions_of(cuts: Cuts) -> list[Region]:
    """Return the region (x, y) of material at every level, mm; empty where there is none.

    Raises
    ------
    OpenMeshError
        if an outline does not close: the mesh is open or its triangles disagree in sense

    Examples
    --------
    A tetrahedron with edges of 10 mm along the axes, 4 mm above its base and above its tip:

    >>> corners = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 10]])
    >>> sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    >>> low, high = regions_of(Cuts(corners, sides, np.array([4.0, 11.0])))
    >>> round(low.area, 3), high.is_empty
    (18.0, True)
    """
    outlines = cuts.outlines
    regions: list[Region] = [EMPTY] * len(cuts.levels_mm)
    if len(outlines.points) == 0:
        return regions
    rings = shapely.linearrings(outlines.points, indices=outlines.loop_of)
    level_of = outlines.level_of
    starts = np.flatnonzero(np.diff(level_of, prepend=-1))
    for begin, end in zip(starts, [*starts[1:], len(level_of)], strict=True):
        regions[level_of[begin]] = _region(rings[begin:end])
    return regions


def _region(rings: ObjectArray) -> Region:
    """Return the region bounded by one level's rings: outlines anticlockwise, holes clockwise."""
    anticlockwise = shapely.is_ccw(rings)
    outer, inner = rings[anticlockwise], rings[~anticlockwise]
    if len(inner) == 0:
        polygons = list(shapely.polygons(outer))
    elif len(outer) == 1:
        polygons = [Polygon(outer[0], list(inner))]
    else:
        polygons = _with_holes(outer, inner)
    region = polygons[0] if len(polygons) == 1 else MultiPolygon(polygons)
    return region if shapely.is_valid(region) else polygons_of(region)


def _with_holes(outer: ObjectArray, inner: ObjectArray) -> list[Polygon]:
    """Return polygons with every hole in the smallest outline around it."""
    bodies = shapely.polygons(outer)
    order = np.argsort(shapely.area(bodies))
    bodies, outer = bodies[order], outer[order]
    holes: list[list[object]] = [[] for _ in bodies]
    tree = shapely.STRtree(bodies)
    probe = shapely.points(shapely.get_coordinates(shapely.get_point(inner, 0)))
    which, owner = tree.query(probe, predicate="within")
    found: dict[int, int] = {}
    for hole, body in zip(which.tolist(), owner.tolist(), strict=True):
        found[hole] = min(found.get(hole, body), body)
    for hole, body in found.items():
        holes[body].append(inner[hole])
    return [Polygon(ring, inside) for ring, inside in zip(outer, holes, strict=True)]


def polygons_of(shape: shapely.Geometry) -> Region:
    """Return the polygons of a shape, crumbs of lines dropped, rings that touch taken apart.

    Examples
    --------
    A bow tie of two triangles of 1 mm2:

    >>> polygons_of(Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])).area
    2.0
    """
    mended = shape if shapely.is_valid(shape) else shapely.make_valid(shape)
    if isinstance(mended, Polygon | MultiPolygon):
        return mended
    parts = [p for p in shapely.get_parts(mended) if isinstance(p, Polygon | MultiPolygon)]
    union = shapely.union_all(parts)
    return union if isinstance(union, Polygon | MultiPolygon) else EMPTY
