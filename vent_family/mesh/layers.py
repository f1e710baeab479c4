"""Layers of a body as it is printed: their plan, and the material of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from vent_family.base.arrays import FloatArray, IntArray, ObjectArray
from vent_family.mesh.regions import Region, regions_of
from vent_family.mesh.slices import Cuts


@dataclass(frozen=True, eq=False)
class Layers:
    """A sliced body.

    Attributes
    ----------
    bottoms_mm, heights_mm : (n,) arrays
        Underside and thickness of every layer, mm.
    regions : tuple of n polygons
        Material (x, y), mm, cut at half the layer's height; empty where there is none.

    Examples
    --------
    >>> from shapely.geometry import box
    >>> regions = (box(0, 0, 4, 5), box(0, 0, 4, 3))
    >>> body = Layers(np.array([0.0, 0.2]), np.array([0.2, 0.1]), regions)
    >>> body.areas_mm2.tolist(), body.middles_mm.round(3).tolist()
    ([20.0, 12.0], [0.1, 0.25])
    >>> round(body.volume_mm3, 3)
    5.2
    """

    bottoms_mm: FloatArray
    heights_mm: FloatArray
    regions: tuple[Region, ...]

    @property
    def tops_mm(self) -> FloatArray:
        """Top of every layer, mm."""
        return self.bottoms_mm + self.heights_mm

    @property
    def middles_mm(self) -> FloatArray:
        """Height at which every layer was cut, mm."""
        return self.bottoms_mm + 0.5 * self.heights_mm

    @cached_property
    def unlike(self) -> tuple[ObjectArray, IntArray]:
        """The regions (k,) without those that stand for several layers again, and which is whose.

        What is told of a region has to be found once only: ``found[index]`` tells it by layer (n,).
        """
        places: dict[int, int] = {}
        index = np.array([places.setdefault(id(r), len(places)) for r in self.regions], dtype=int)
        _, first = np.unique(index, return_index=True)
        return np.array(self.regions, dtype=object)[first], index

    @cached_property
    def areas_mm2(self) -> FloatArray:
        """Area of material of every layer, mm2."""
        regions, index = self.unlike
        return np.asarray(shapely.area(regions)[index], dtype=np.float64)

    @property
    def volume_mm3(self) -> float:
        """Sum of the layers' prisms, mm3 (Cavalieri; midpoint rule)."""
        return float(np.dot(self.areas_mm2, self.heights_mm))


def layer_plan(
    height_mm: float,
    layer_mm: float,
    fine: Sequence[tuple[float, float, float]] = (),
) -> tuple[FloatArray, FloatArray]:
    """Return bottoms and heights (n,), mm, of the layers that fill a height from the bed up.

    Inside a range of fine layers, and between ranges, all layers are equally high and at most as
    high as asked.

    Parameters
    ----------
    height_mm : float
        Height of the body, mm.
    layer_mm : float
        Thickest layer, mm.
    fine : sequence of (from, to, layer height)
        Ranges printed with layers of their own, mm above the bed, in order, not overlapping.

    Raises
    ------
    ValueError
        for heights that are not positive or ranges out of order

    Examples
    --------
    >>> bottoms, heights = layer_plan(1.0, 0.4)
    >>> heights.round(4).tolist()
    [0.3333, 0.3333, 0.3333]
    >>> layer_plan(1.0, 0.4, [(0.4, 0.7, 0.15)])[1].round(4).tolist()
    [0.4, 0.15, 0.15, 0.3]
    """
    if not (height_mm > 0.0 and layer_mm > 0.0):
        raise ValueError("heights must be positive")
    stretches: list[tuple[float, float, float]] = []
    here = 0.0
    for low, high, step in fine:
        low, high = max(low, 0.0), min(high, height_mm)
        if low < here - 1e-9 or step <= 0.0:
            raise ValueError("ranges of fine layers overlap or run backwards")
        if high <= low:
            continue
        stretches += [(here, low, layer_mm), (low, high, step)]
        here = high
    stretches.append((here, height_mm, layer_mm))
    edges = [np.zeros(1)]
    for low, high, step in stretches:
        count = int(np.ceil((high - low) / step - 1e-6))
        if count > 0:
            edges.append(np.linspace(low, high, count + 1)[1:])
    levels = np.concatenate(edges)
    return levels[:-1], np.diff(levels)


def slice_layers(
    vertices: FloatArray, triangles: IntArray, bottoms_mm: FloatArray, heights_mm: FloatArray
) -> Layers:
    """Return the layers of a body standing on z = 0, each cut at half its height.

    Parameters
    ----------
    vertices, triangles : (n, 3) and (m, 3) arrays
        A closed mesh, mm, outward normals by the right hand.
    bottoms_mm, heights_mm : (k,) arrays
        Underside and thickness of every layer, mm, from the bed up.

    Raises
    ------
    OpenMeshError
        if an outline does not close

    Examples
    --------
    A tetrahedron with edges of 10 mm along the axes, in two layers of 5 mm:

    >>> corners = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 10]])
    >>> sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    >>> body = slice_layers(corners, sides, np.array([0.0, 5.0]), np.array([5.0, 5.0]))
    >>> body.areas_mm2.round(2).tolist()
    [28.12, 3.12]
    """
    cuts = Cuts(vertices, triangles, bottoms_mm + 0.5 * heights_mm)
    return Layers(bottoms_mm, heights_mm, tuple(regions_of(cuts)))
