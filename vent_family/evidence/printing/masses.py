"""The mass of a printed part by its members, from the layers laid.

Every layer is cut along the members' bounds, walls and skins solid and cores as filled. What falls
into no member, or into two, is told beside them: the members are meant to hold the whole part.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.affinity import scale

from vent_family.base.arrays import FloatArray, IntArray, ObjectArray
from vent_family.base.limits import MEMBERS_VOLUME, STL_CHORD
from vent_family.catalog.model import Orientation
from vent_family.evidence.printing.filled import Filled
from vent_family.evidence.printing.orientation import AXES
from vent_family.evidence.result import CheckResult
from vent_family.spec.body import Body
from vent_family.spec.members import BodyMember, Stretch
from vent_family.spec.section import BEYOND_MM

_HAIR_MM: Final = 1e-6
"""Layers are cut so far above their middle, mm."""
_FULL: Final = 0.5
"""A layer belongs to a plate if it holds this share of the plate's area or more."""


@dataclass(frozen=True, eq=False)
class Share:
    """What one member is made of: volumes in mm3, mass in g.

    ``solid_mm3`` is the member's own volume, ``laid_mm3`` the plastic in it.
    """

    name: str
    solid_mm3: float
    laid_mm3: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class FlatPlate:
    """A plate that lies flat on the bed's plane: what whole layers make of its thickness, mm."""

    name: str
    designed_mm: float
    layers: int
    printed_mm: float


@dataclass(frozen=True, eq=False)
class Masses:
    """A part taken apart.

    ``missed_mm3`` is the volume that falls into no member or into more than one.
    """

    shares: tuple[Share, ...]
    plates: tuple[FlatPlate, ...]
    missed_mm3: float


def mass_check(found: Masses, whole_mm3: float) -> CheckResult:
    """Return whether the members hold the whole part, of a volume in mm3, and each piece once."""
    share = found.missed_mm3 / whole_mm3
    return CheckResult(
        "print: masses add up",
        "pass" if share <= MEMBERS_VOLUME.value else "fail",
        f"{len(found.shares)} kinds of members hold the part but for {100.0 * share:.2f} %",
        share,
        MEMBERS_VOLUME.value,
        "1",
    )


_Ends = tuple[FloatArray, FloatArray]


@dataclass(frozen=True, slots=True)
class _View:
    """How layers cut a part: square to one of its axes, counted along or against it.

    The layers' first and second axis are those of the part that follow ``axis`` in turn, the second
    times ``sign``.
    """

    axis: int
    sign: int

    def flat(self, along: _Ends, x: _Ends) -> tuple[_Ends, _Ends]:
        """Return boxes' lower and upper ends along the first and second axis of a layer, mm.

        ``along`` are those in the section: heights where layers lie square to the depth.
        """
        first, (low, high) = (x, along) if self.axis == 2 else (along, x)
        return first, ((low, high) if self.sign > 0 else (-high, -low))


def masses(
    body: Body,
    members: Iterable[BodyMember],
    printed: Filled,
    way: Orientation,
    lowest_mm: float,
    density_g_cm3: float,
) -> Masses:
    """Return a part's mass by member, in order of the members' names as they come.

    Parameters
    ----------
    body
        The part's body.
    members
        What it is made of.
    printed
        Its layers and their filling.
    way
        Which side lies on the bed.
    lowest_mm : float
        Coordinate of that side along the part's axis that points away from it, mm.
    density_g_cm3 : float
        The material's density, g/cm3.

    Raises
    ------
    ValueError
        for a member bounded by the cavity's outline in layers that run along the depth
    """
    view = _View(*AXES[way])
    layers, heights = printed.layers, printed.layers.heights_mm
    # A cut that runs along the bound of two members would count for both.
    levels = lowest_mm + view.sign * (layers.middles_mm + _HAIR_MM)
    whole = np.array(layers.regions, dtype=object), np.array(printed.cores, dtype=object)
    members = tuple(members)
    sides: dict[bool | None, tuple[ObjectArray, ObjectArray]] = {None: whole}
    if any(m.inside is not None for m in members):
        cavity = _cavities(body, view, levels)
        sides[True] = shapely.intersection(whole[0], cavity), shapely.intersection(whole[1], cavity)
        sides[False] = shapely.difference(whole[0], cavity), shapely.difference(whole[1], cavity)
    sums: dict[str, FloatArray] = {}
    plates: list[FlatPlate] = []
    known = np.zeros(len(levels))
    for member in members:
        found = np.zeros((2, len(levels)))
        for stretch in member.stretches:
            index, boxes = _cut(stretch, view, levels)
            for areas, regions in zip(found, sides[member.inside], strict=True):
                areas[index] += shapely.area(shapely.intersection(regions[index], boxes))
        known += found[0]
        laid = found[0] - (1.0 - printed.infill_share) * found[1]
        sums.setdefault(member.name, np.zeros(2))[:] += np.stack([found[0], laid]) @ heights
        plates += _plates(member, view, found[0], heights)
    return Masses(
        shares=tuple(
            Share(name, float(own), float(laid), float(laid) * density_g_cm3 * 1e-3)
            for name, (own, laid) in sums.items()
            if own > 0.0
        ),
        plates=tuple(plates),
        missed_mm3=float(np.abs(layers.areas_mm2 - known) @ heights),
    )


def _cavities(body: Body, view: _View, levels: FloatArray) -> ObjectArray:
    """Return the outline of the cavity in every layer, a chord's height inside the true one."""
    if view.axis != 2:
        raise ValueError("a cavity that is not as wide all along prints on its face only")
    found = [body.cavity_outline(float(z)).buffer(-STL_CHORD.value) for z in levels]
    return np.array([scale(o, 1.0, view.sign, origin=(0.0, 0.0)) for o in found], dtype=object)


def _cut(stretch: Stretch, view: _View, levels: FloatArray) -> tuple[IntArray, ObjectArray]:
    """Return the layers that a stretch is met in, and what each cuts from it, in a layer's axes."""
    along_y = view.axis == 2
    ends = np.array([[(v, -BEYOND_MM), (v, BEYOND_MM)] for v in levels])
    lines = shapely.linestrings(ends if along_y else ends[..., ::-1])
    pieces, layer = shapely.get_parts(
        shapely.intersection(stretch.outline, lines), return_index=True
    )
    bounds = shapely.bounds(pieces)[:, [1, 3] if along_y else [0, 2]]
    real = bounds[:, 1] > bounds[:, 0]
    owner, bounds = np.repeat(layer[real], len(stretch.xs_mm)), bounds[real]
    xs = [np.tile(x, len(bounds)) for x in np.transpose(stretch.xs_mm)]
    lows, highs = np.repeat(bounds, len(stretch.xs_mm), axis=0).T
    (a0, a1), (b0, b1) = view.flat((lows, highs), (xs[0], xs[1]))
    index, place = np.unique(owner, return_inverse=True)
    if len(index) == 0:
        return index, np.array([], dtype=object)
    return index, shapely.multipolygons(shapely.box(a0, b0, a1, b1), indices=place)


def _plates(
    member: BodyMember, view: _View, area: FloatArray, heights: FloatArray
) -> list[FlatPlate]:
    """Return a member's thickness as designed and as printed, if it is a plate that lies flat."""
    if not member.plate or not area.any():
        return []
    designed = {t for stretch in member.stretches for t in _lying(stretch, view)}
    if len(designed) != 1 or None in designed:
        return []
    (thickness,) = designed
    assert thickness is not None
    full = area >= _FULL * area.max()
    name = f"{member.name}, {member.detail}" if member.detail else member.name
    return [FlatPlate(name, thickness, int(full.sum()), float(heights[full].sum()))]


def _lying(stretch: Stretch, view: _View) -> set[float | None]:
    """Return the thicknesses (mm) of a stretch's outlines, ``None`` for those that lie not flat."""
    width = min(b - a for a, b in stretch.xs_mm)
    found: set[float | None] = set()
    for part in shapely.get_parts(stretch.outline):
        z0, y0, z1, y1 = part.bounds
        thickness, across = (z1 - z0, y1 - y0) if view.axis == 2 else (y1 - y0, z1 - z0)
        square = part.area >= (1.0 - 1e-6) * (z1 - z0) * (y1 - y0)
        flat = square and thickness < min(across, width)
        found.add(round(thickness, 6) if flat else None)
    return found
