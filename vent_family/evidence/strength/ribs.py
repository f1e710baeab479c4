"""How firmly ribs and walls hold the ends of a slat against turning.

A slat that bends turns its end in the rib's plane; the rib, a plate, is bent out of its plane along
a strip as wide as the slat, on either side of it as far as the next thing that holds the rib:
another slat, floor, ceiling or apron. A strip of length a that is clamped there resists with
4 D / a per width, D = E t^3 / (12 (1 - nu^2)) (plate strip, Timoshenko, from memory); one that ends
at the rib's free edge does not. Beyond a rib the slat goes on into the next bay, whose far end is
taken as a hinge: 3 E I / L. Against a finite-element solution of banks with ribs the moment at the
ends comes out within 2.5 % (``tests/evidence/strength/test_ribs.py``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.spec.families import filled_row
from vent_family.spec.forms import Outline
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec

_RAYS: Final = 16
"""Places along a slat's width from which the rib is looked along."""


def strip_mm(
    leaf: Outline,
    others: Sequence[Outline],
    lines: Sequence[Outline],
    z_ends_mm: tuple[float, float],
) -> float:
    """Return the sum over both sides of a leaf of width over length of the rib's strips, 1.

    Parameters
    ----------
    leaf
        outline (z, y) of the slat or leaf that turns
    others
        outlines of all else that holds the rib
    lines
        polylines beyond which all is solid: floor and ceiling
    z_ends_mm
        where the rib ends, inside and outside, mm

    Examples
    --------
    A plate 8 mm wide and 2 mm thick; one like it 4 mm behind half of its width; nothing in front:

    >>> plate = ((-2.0, 0.0), (0.0, 0.0), (0.0, 8.0), (-2.0, 8.0))
    >>> behind = tuple((z - 6.0, y + 4.0) for z, y in plate)
    >>> strip_mm(plate, [behind], [], (-20.0, 1.0))
    1.0
    """
    points = np.asarray(leaf, dtype=np.float64)
    edges = np.roll(points, -1, axis=0) - points
    width = edges[np.argmax(np.hypot(*edges.T))]
    along = width / np.hypot(*width)
    across = np.array([-along[1], along[0]])
    s, n = points @ along, points @ across
    thick = float(np.ptp(n))
    places = s.min() + np.ptp(s) * (np.arange(_RAYS) + 0.5) / _RAYS
    start = places[:, None] * along + (n.min() + n.max()) / 2.0 * across
    a, e = _segments(others, lines)
    total = 0.0
    for way in (across, -across):
        reach = _first_hit(start, way, a, e)
        with np.errstate(divide="ignore", invalid="ignore"):
            out = (np.where(way[0] > 0.0, z_ends_mm[1], z_ends_mm[0]) - start[:, 0]) / way[0]
        # A strip that leaves the rib at an edge is free there.
        held = reach < (out if abs(way[0]) > 1e-9 else np.inf)
        length = np.maximum(reach - thick / 2.0, thick)
        total += float((np.where(held, 1.0 / length, 0.0)).sum()) * float(np.ptp(s)) / _RAYS
    return total


def _segments(others: Sequence[Outline], lines: Sequence[Outline]) -> tuple[FloatArray, FloatArray]:
    """Return starts and vectors of all edges."""
    starts, vectors = [np.empty((0, 2))], [np.empty((0, 2))]
    for outline in others:
        p, vector = _edges(outline)
        starts.append(p)
        vectors.append(vector)
    for line in lines:
        p = np.asarray(line, dtype=np.float64)
        starts.append(p[:-1])
        vectors.append(np.diff(p, axis=0))
    return np.concatenate(starts), np.concatenate(vectors)


@lru_cache(maxsize=1024)
def _edges(outline: Outline) -> tuple[FloatArray, FloatArray]:
    """Return starts and vectors of an outline's edges; each leaf of a vent meets all others'."""
    p = np.asarray(outline, dtype=np.float64)
    return p, np.roll(p, -1, axis=0) - p


def _first_hit(start: FloatArray, way: FloatArray, a: FloatArray, e: FloatArray) -> FloatArray:
    """Return how far from each start a ray first meets an edge, infinity where it meets none."""
    cross = way[0] * e[:, 1] - way[1] * e[:, 0]
    d = a[None, :, :] - start[:, None, :]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (d[..., 0] * e[:, 1] - d[..., 1] * e[:, 0]) / cross
        u = (d[..., 0] * way[1] - d[..., 1] * way[0]) / cross
    hit = (t > 1e-9) & (u >= 0.0) & (u <= 1.0)
    found: FloatArray = np.where(hit, t, np.inf).min(axis=1, initial=np.inf)
    return found


@dataclass(frozen=True, slots=True)
class Holders:
    """What holds the ends of a vent's slats, beside the slats themselves.

    ``plates_mm`` are the thicknesses of rib and wall, ``pairs`` which of them a bay's two ends are,
    each kind of bay once: (rib, rib), (rib, wall) or (wall, wall).
    """

    plates_mm: tuple[float, float]
    pairs: tuple[tuple[int, int], ...]


RIB: Final = 0
WALL: Final = 1


def holders(spec: VentSpec) -> Holders:
    """Return what the bays of a vent end at.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> holders(resolve(CatalogRow(**cells, rib_count=2)))
    Holders(plates_mm=(1.6, 2.0), pairs=((0, 1), (0, 0)))
    """
    count = spec.rib_count
    pairs: tuple[tuple[int, int], ...] = ((WALL, WALL),)
    if count > 0:
        pairs = ((RIB, WALL), (RIB, RIB)) if count > 1 else ((RIB, WALL),)
    return Holders((spec.rib_thickness_mm, filled_row(spec.row).wall_mm), pairs)


def solids_around(section: Section) -> tuple[list[Outline], list[Outline]]:
    """Return every leaf, cut slat and apron of a section, and floor and ceiling as polylines."""
    pieces = [p for s in section.slats for p in (s.leaves or s.pieces)]
    return [*pieces, section.apron], [section.lower, section.upper]


def end_stiffness_nmm(
    strip: float,
    plate_mm: float,
    modulus_mpa: float,
    poisson: float,
    beyond_nmm: float = 0.0,
) -> float:
    """Return the stiffness of an end against turning, N mm per radian.

    Parameters
    ----------
    strip
        width over length of the strips of rib or wall that are bent, summed, a ratio
    plate_mm
        thickness of rib or wall, mm
    modulus_mpa
        Young's modulus, MPa
    poisson
        Poisson's ratio, 1
    beyond_nmm
        stiffness of the slat in the next bay, N mm per radian

    Examples
    --------
    A strip as wide as it is long, 2 mm thick: 4 x 900 x 8 / (12 x 0.75) = 3200 N mm:

    >>> end_stiffness_nmm(1.0, 2.0, 900.0, 0.5)
    3200.0
    """
    plate = modulus_mpa * plate_mm**3 / (12.0 * (1.0 - poisson**2))
    return 4.0 * plate * strip + beyond_nmm
