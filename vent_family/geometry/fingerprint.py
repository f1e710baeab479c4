"""What identifies a solid: a few numbers, the same on every machine, in which it differs from any
other one that is not the same to within the kernel's tolerance.

Reading and comparing fingerprints needs no kernel; only :func:`fingerprint` loads it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Final

from vent_family.base.limits import (
    SAME_EDGES,
    SAME_FACES,
    SAME_MOMENTS,
    SAME_PLACE,
    Limit,
)

if TYPE_CHECKING:
    import cadquery as cq

Point = tuple[float, float, float]

FIXED_POINTS_MM: Final[tuple[Point, Point, Point]] = (
    (-167.0, -101.0, -73.0),
    (113.0, -179.0, 83.0),
    (59.0, 151.0, -131.0),
)
"""Points from which faces and edges are sighted, mm: beside the parts, and so that no mirror takes
one to another or leaves it where it is."""

_INTEGRATION_ERROR: Final = 1e-6
"""Relative error asked of the kernel's integrals: at 1e-4 the centroid of a threaded neck moves by
5e-5 mm from one reading of its file to the next, at 1e-6 by 1e-6 mm."""
_DIGITS: Final = 11
"""Significant digits of the text: what tells two parts apart, and a little more."""


class FingerprintError(ValueError):
    """A text that is no fingerprint; the message says why."""


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """Numbers that identify a solid.

    ``moments_mm5`` are the volume's second moments about its centroid: xx, yy, zz, xy, xz, yz.
    ``squares_mm4`` is the sum of the squares of the faces' areas. ``faces_mm3`` and ``edges_mm2``
    are the sums of area, or length, times the distance of the face's, or edge's, centroid from
    each of :data:`FIXED_POINTS_MM`: what moves inside a box of unchanged volume is seen in them.
    """

    faces: int
    edges: int
    volume_mm3: float
    surface_mm2: float
    length_mm: float
    low_mm: Point
    high_mm: Point
    centroid_mm: Point
    moments_mm5: tuple[float, float, float, float, float, float]
    squares_mm4: float
    faces_mm3: Point
    edges_mm2: Point

    def text(self) -> str:
        """Return the fingerprint in one line; :func:`from_text` reads it.

        Examples
        --------
        >>> import cadquery as cq
        >>> found = fingerprint(cq.Solid.makeBox(10.0, 20.0, 30.0)).text()
        >>> found.split()[:5]
        ['faces=6', 'edges=12', 'volume_mm3=6000', 'surface_mm2=2200', 'length_mm=240']
        >>> from_text(found).high_mm
        (10.0, 20.0, 30.0)
        """
        return " ".join(f"{f.name}={_written(getattr(self, f.name))}" for f in fields(self))


def _written(value: int | float | tuple[float, ...]) -> str:
    if isinstance(value, tuple):
        return "/".join(_written(v) for v in value)
    if isinstance(value, int):
        return str(value)
    # Nine decimals: below them a box of 1e-18 mm at the origin would show the machine's noise.
    return f"{round(value, 9) + 0.0:.{_DIGITS}g}"


_NUMBER: Final = re.compile(r"-?[0-9]+(?:\.[0-9]+)?(?:e[+-]?[0-9]+)?")


def from_text(text: str) -> Fingerprint:
    """Return the fingerprint that a text states.

    Raises
    ------
    FingerprintError
        if it states none
    """
    found = dict(part.partition("=")[::2] for part in text.split())
    names = [f.name for f in fields(Fingerprint)]
    if list(found) != names:
        lacking = [name for name in names if name not in found]
        raise FingerprintError(f"{lacking[0]} is missing" if lacking else "it names other numbers")
    values: dict[str, object] = {}
    for name, written in found.items():
        parts = written.split("/")
        count = _COUNTS.get(name, 1)
        if len(parts) != count or not all(_NUMBER.fullmatch(p) for p in parts):
            raise FingerprintError(f"{name} is {written!r}, not {count} number{'s'[: count - 1]}")
        if name in ("faces", "edges"):
            if not written.isdigit():
                raise FingerprintError(f"{name} is {written!r}, not a whole number")
            values[name] = int(written)
        else:
            numbers = tuple(float(p) for p in parts)
            values[name] = numbers if name in _COUNTS else numbers[0]
    return Fingerprint(**values)  # type: ignore[arg-type]


_COUNTS: Final = {
    "low_mm": 3,
    "high_mm": 3,
    "centroid_mm": 3,
    "moments_mm5": 6,
    "faces_mm3": 3,
    "edges_mm2": 3,
}


def differences(before: Fingerprint, now: Fingerprint) -> list[str]:
    """Return in words what differs between two solids; empty for one and the same.

    Examples
    --------
    >>> import cadquery as cq
    >>> box = fingerprint(cq.Solid.makeBox(10.0, 20.0, 30.0))
    >>> differences(box, box)
    []
    >>> differences(box, fingerprint(cq.Solid.makeBox(10.0, 20.0, 30.01)))[:2]
    ['volume 6002 mm3, before 6000 mm3', 'surface 2200.6 mm2, before 2200 mm2']
    """
    found = []
    for numbers in _compared(before, now):
        for words, old, new, unit, tolerance in numbers:
            if abs(new - old) > tolerance:
                was, is_now = _apart(old, new)
                found.append(f"{words} {is_now}{unit}, before {was}{unit}")
                break
    return found


Compared = tuple[str, float, float, str, float]
"""Words, number before and now, unit with a space before it, and how far they may differ in it."""


def _compared(before: Fingerprint, now: Fingerprint) -> Iterator[list[Compared]]:
    """Yield the numbers that are compared; of those in one list the first that differs is told."""
    pairs = {f.name: (getattr(before, f.name), getattr(now, f.name)) for f in fields(before)}

    def one(name: str, words: str, unit: str, limit: Limit) -> list[Compared]:
        old, new = pairs[name]
        return [(words, old, new, unit, limit.value * abs(old))]

    yield one("volume_mm3", "volume", " mm3", SAME_FACES)
    yield one("surface_mm2", "surface", " mm2", SAME_FACES)
    yield [("number of faces", *pairs["faces"], "", 0.0)]
    yield [("number of edges", *pairs["edges"], "", 0.0)]
    for name, side in (("low_mm", "least"), ("high_mm", "greatest"), ("centroid_mm", "centroid")):
        for axis, old, new in zip("xyz", *pairs[name], strict=True):
            yield [(f"{side} {axis}", old, new, " mm", SAME_PLACE.value)]
    yield one("length_mm", "length of all edges", " mm", SAME_EDGES)
    yield one("squares_mm4", "sum of the squares of the faces' areas", " mm4", SAME_FACES)
    yield _sighted("faces lie elsewhere, area", " mm3", SAME_FACES, *pairs["faces_mm3"])
    yield _sighted("edges lie elsewhere, length", " mm2", SAME_EDGES, *pairs["edges_mm2"])
    olds, news = pairs["moments_mm5"]
    share = SAME_MOMENTS.value * math.fsum(olds[:3])
    yield [
        (f"second moment {axes}", old, new, " mm5", share)
        for axes, old, new in zip(("xx", "yy", "zz", "xy", "xz", "yz"), olds, news, strict=True)
    ]


def _sighted(words: str, unit: str, limit: Limit, olds: Point, news: Point) -> list[Compared]:
    places = ["/".join(f"{c:g}" for c in at) for at in FIXED_POINTS_MM]
    return [
        (f"{words} times distance from {at} mm", old, new, unit, limit.value * abs(old))
        for at, old, new in zip(places, olds, news, strict=True)
    ]


def _apart(old: float, new: float) -> tuple[str, str]:
    """Return two numbers with the decimals that show by how much they differ.

    Examples
    --------
    >>> _apart(14249.945155, 14249.95212), _apart(6000.0, 6002.0)
    (('14249.94515', '14249.95212'), ('6000', '6002'))
    """
    decimals = max(0, 2 - math.floor(math.log10(abs(new - old))))
    was, is_now = (_trimmed(f"{number:.{decimals}f}") for number in (old, new))
    return was, is_now


def _trimmed(number: str) -> str:
    """Return a number without zeros at the end of its decimals."""
    return number.rstrip("0").rstrip(".") if "." in number else number


def fingerprint(shape: cq.Shape) -> Fingerprint:
    """Measure a solid: integrals over the exact volume, faces and edges, and the exact box."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    bulk = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape.wrapped, bulk, _INTEGRATION_ERROR, False, False)
    moments = bulk.MatrixOfInertia()

    faces, edges = [], []
    for face in shape.Faces():
        found = GProp_GProps()
        BRepGProp.SurfaceProperties_s(face.wrapped, found, _INTEGRATION_ERROR, False)
        faces.append((found.Mass(), _point(found.CentreOfMass())))
    for edge in shape.Edges():
        found = GProp_GProps()
        BRepGProp.LinearProperties_s(edge.wrapped, found)
        edges.append((found.Mass(), _point(found.CentreOfMass())))

    # Without the triangles, which are there or not, and without the tolerance of each vertex.
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape.wrapped, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return Fingerprint(
        faces=len(faces),
        edges=len(edges),
        volume_mm3=bulk.Mass(),
        surface_mm2=math.fsum(area for area, _ in faces),
        length_mm=math.fsum(length for length, _ in edges),
        low_mm=_point(low),
        high_mm=_point(high),
        centroid_mm=_point(bulk.CentreOfMass()),
        moments_mm5=(
            moments.Value(1, 1),
            moments.Value(2, 2),
            moments.Value(3, 3),
            moments.Value(1, 2),
            moments.Value(1, 3),
            moments.Value(2, 3),
        ),
        squares_mm4=math.fsum(area * area for area, _ in faces),
        faces_mm3=_distances(faces),
        edges_mm2=_distances(edges),
    )


def _point(point: object) -> Point:
    """Return a point of the kernel, mm."""
    return (point.X(), point.Y(), point.Z())  # type: ignore[attr-defined]


def _distances(pieces: list[tuple[float, Point]]) -> Point:
    """Return the sums of size times distance of pieces from the fixed points."""
    first, second, third = (
        math.fsum(size * math.dist(centre, at) for size, centre in pieces) for at in FIXED_POINTS_MM
    )
    return first, second, third
