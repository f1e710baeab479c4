"""What fills a sliced body: walls, solid skins, and cores that may be sparse.

Walls reach as far in from a layer's outline as the shop's lines lie side by side, corners mitred as
slicers lay them. Farther in, whatever one of the next layers above or of the last layers below does
not cover is skin and solid. The rest is core: lines with gaps between them, so that a share of it
is plastic. A piece of core too small to be worth it is filled solid, as slicers do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from vent_family.base.arrays import FloatArray, IntArray, ObjectArray
from vent_family.base.shop import SlicerSettings
from vent_family.mesh.layers import Layers
from vent_family.mesh.regions import EMPTY, Region


@dataclass(frozen=True, eq=False)
class Filled:
    """Layers and how they are filled.

    Attributes
    ----------
    layers : Layers
        The sliced body.
    wall_mm2, core_mm2 : (n,) arrays
        Area of walls and of cores in every layer, mm2; the rest of the layer is solid skin.
    infill_share : float
        Share of the cores that is plastic, 1.
    cores : tuple of n polygons
        The cores themselves (x, y), mm; none where only their areas are known.

    Examples
    --------
    Two layers of 100 mm2, 0.2 mm high; the upper one has 40 mm2 of core, filled to a quarter:

    >>> from shapely.geometry import box
    >>> square = box(0, 0, 10, 10)
    >>> layers = Layers(np.array([0.0, 0.2]), np.full(2, 0.2), (square, square))
    >>> body = Filled(layers, np.full(2, 46.0), np.array([0.0, 40.0]), 0.25)
    >>> body.laid_mm2.tolist(), round(body.volume_mm3, 6)
    ([100.0, 70.0], 34.0)
    >>> body.core_share, round(body.skin_share, 6), round(body.filament_m(1.0), 4)
    (0.2, 0.34, 0.0433)
    """

    layers: Layers
    wall_mm2: FloatArray
    core_mm2: FloatArray
    infill_share: float
    cores: tuple[Region, ...] = ()

    @property
    def laid_mm2(self) -> FloatArray:
        """Area of plastic in every layer (n,), mm2."""
        return np.asarray(self.layers.areas_mm2 - (1.0 - self.infill_share) * self.core_mm2)

    @property
    def volume_mm3(self) -> float:
        """Volume of plastic, mm3."""
        return float(np.dot(self.laid_mm2, self.layers.heights_mm))

    @property
    def wall_share(self) -> float:
        """Share of the body's volume that is wall, 1."""
        return self._share(self.wall_mm2)

    @property
    def core_share(self) -> float:
        """Share of the body's volume that is core, 1."""
        return self._share(self.core_mm2)

    @property
    def skin_share(self) -> float:
        """Share of the body's volume that is solid skin, 1."""
        return 1.0 - self.wall_share - self.core_share

    def mass_g(self, density_g_cm3: float) -> float:
        """Return the mass of the plastic laid, g, by its density, g/cm3."""
        return self.volume_mm3 * density_g_cm3 * 1e-3

    def filament_m(self, diameter_mm: float) -> float:
        """Return the length of filament laid, m; ``diameter_mm`` is the filament's, mm."""
        return self.volume_mm3 / (math.pi / 4.0 * diameter_mm**2) / 1000.0

    def _share(self, area_mm2: FloatArray) -> float:
        return float(np.dot(area_mm2, self.layers.heights_mm)) / self.layers.volume_mm3


_MITRE_MAX = 3.0
"""A mitred corner reaches at most so many times the offset, as in slicers."""


def filled(layers: Layers, printing: SlicerSettings) -> Filled:
    """Return how a shop fills layers.

    Examples
    --------
    A block of 20 x 10 mm in ten layers of 0.2 mm: walls of 3 x 0.45 mm leave 17.3 x 7.3 mm; with
    four solid layers below and five above, one layer has a core:

    >>> from shapely.geometry import box
    >>> from vent_family.base.shop import demo_shop
    >>> block = Layers(0.2 * np.arange(10), np.full(10, 0.2), (box(0, 0, 20, 10),) * 10)
    >>> filled(block, demo_shop().printing).core_mm2.round(2).tolist()
    [0.0, 0.0, 0.0, 0.0, 126.29, 0.0, 0.0, 0.0, 0.0, 0.0]
    """
    regions, index = layers.unlike
    count = len(index)
    inner = eroded(regions, printing)
    walls = shapely.area(regions) - shapely.area(inner)
    alive = ~shapely.is_empty(inner)[index]
    alive[: printing.bottom_layers] = False
    alive[max(0, count - printing.top_layers) :] = False
    steps = [*range(1, printing.top_layers + 1), *range(-1, -printing.bottom_layers - 1, -1)]
    where = np.flatnonzero(alive)
    # Layers alike among layers alike have the same core.
    around, owner = np.unique(index[where[:, None] + [0, *steps]], axis=0, return_inverse=True)
    core = _cores(inner[around[:, 0]], regions, around, printing.core_min_mm2)
    cores = np.full(count, EMPTY, dtype=object)
    cores[where] = core[owner.reshape(-1)]
    areas = np.asarray(shapely.area(cores), dtype=np.float64)
    return Filled(layers, np.asarray(walls[index]), areas, printing.infill_share, tuple(cores))


def eroded(regions: ObjectArray, printing: SlicerSettings) -> ObjectArray:
    """Return what of regions lies farther in than a shop's walls reach."""
    found = shapely.buffer(regions, -printing.shell_mm, join_style="mitre", mitre_limit=_MITRE_MAX)
    return np.array(found, dtype=object)


def _cores(
    inner: ObjectArray, regions: ObjectArray, around: IntArray, least_mm2: float
) -> ObjectArray:
    """Return what of areas within walls is covered on both sides, and large enough (mm2).

    ``around`` (n, m) are the places among the regions of a layer and of those it is covered by.
    """
    core = inner.copy()
    alive = np.full(len(core), True)
    # Most cores are covered whole by most layers near them, which is soon told of prepared regions.
    shapely.prepare(regions)
    for column in range(1, around.shape[1]):
        told = (around[:, :column] == around[:, column, None]).any(axis=1)
        here = np.flatnonzero(alive & ~told)
        beside = regions[around[here, column]]
        open_ = ~shapely.covers(beside, core[here])
        here = here[open_]
        core[here] = shapely.intersection(core[here], beside[open_])
        alive[here] = ~shapely.is_empty(core[here])
    here = np.flatnonzero(alive)
    pieces, owner = shapely.get_parts(core[here], return_index=True)
    # Layers that touch have lines and points in common, which no shop fills.
    flat = shapely.get_dimensions(pieces) == 2
    kept = flat & (shapely.area(pieces) >= least_mm2)
    index = here[owner[kept]]
    cores = np.full(len(core), EMPTY, dtype=object)
    cores[np.unique(index)] = shapely.multipolygons(
        pieces[kept], indices=np.unique(index, return_inverse=True)[1]
    )
    return cores
