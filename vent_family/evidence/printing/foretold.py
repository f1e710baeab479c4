"""A body as it will be printed, foretold from what it is made of: no solid, no mesh.

The layers are cut from a part's pieces (:mod:`vent_family.spec.pieces`) and then filled and timed
as those of a mesh are. Between two heights at which a piece begins, ends or turns, layers differ
little: those stand for one another between which no side moves farther than a bead is wide.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Final

import numpy as np
import shapely
from shapely.errors import GEOSException
from shapely.geometry import MultiPolygon, Polygon

from vent_family.base.arrays import FloatArray, IntArray, ObjectArray
from vent_family.base.materials import MATERIALS, Material
from vent_family.base.shop import Shop, SlicerSettings
from vent_family.evidence.printing.filled import Filled, filled
from vent_family.evidence.printing.orientation import AXES
from vent_family.evidence.printing.settings import PrintSettings, beside_settings, vent_settings
from vent_family.evidence.printing.time import LayerTimes, layer_times
from vent_family.mesh.layers import Layers, layer_plan
from vent_family.mesh.slices import beside_faces
from vent_family.spec.mark import mark_outlines
from vent_family.spec.pieces import Axis, Pieces, Prism, edges_along, material_at
from vent_family.spec.thread.iso import ThreadSpec
from vent_family.spec.thread.pieces import locknut_pieces
from vent_family.spec.vent import VentSpec

_MOVE_MM: Final = 1.6
"""How far a side may move between layers that stand for one another, mm."""
_GRID_MM: Final = 1e-5
"""To what corners are rounded where they lie too near to one another, mm."""
_LYING: Final[tuple[Axis, int]] = (2, 1)
"""How what is printed beside a vent stands on the bed: as it is drawn."""


@dataclass(frozen=True, eq=False)
class Foreprint:
    """A body as it will be printed; ``size_mm`` is its box on the bed."""

    material: Material
    size_mm: tuple[float, float, float]
    filled: Filled
    times: LayerTimes

    @property
    def mass_g(self) -> float:
        """Mass of the plastic laid, g."""
        return self.filled.mass_g(self.material.density_g_cm3)


@dataclass(frozen=True, slots=True)
class OnBed:
    """A part on the bed: its box there, where along its own axis that begins, and which way (1)."""

    size_mm: tuple[float, float, float]
    start_mm: float
    sign: int

    @staticmethod
    def of(pieces: Pieces, stands: tuple[Axis, int]) -> OnBed:
        """Return how pieces stand; ``stands`` is their axis that points up, and its sign."""
        (axis, sign), box = stands, pieces.box_mm()
        sizes = [high - low for low, high in box]
        size = (sizes[(axis + 1) % 3], sizes[(axis + 2) % 3], sizes[axis])
        return OnBed(size, box[axis][0 if sign > 0 else 1], sign)

    def levels_mm(self, bottoms_mm: FloatArray, heights_mm: FloatArray) -> FloatArray:
        """Return where along the part's axis layers (mm above the bed) are cut, as meshes are."""
        return self.start_mm + self.sign * beside_faces(bottoms_mm + 0.5 * heights_mm)


def vent_pieces(spec: VentSpec) -> Pieces:
    """Return what a vent is made of, mark and label included."""
    body, mark, label = spec.body, spec.mark, spec.label
    pieces = body.pieces(spec.section, spec.bays)
    fills, taken = list(pieces.fills), list(pieces.taken)
    glyphs = [Polygon(ring, [hole] if hole else []) for ring, hole in mark_outlines(mark)]
    front = spec.section.front_z_mm
    ends = (front, front + mark.depth_mm) if mark.raised else (front - mark.depth_mm, front)
    (fills if mark.raised else taken).append(Prism(2, MultiPolygon(glyphs), (ends,)))
    if label.text:
        letters = MultiPolygon(list(label.outlines()))
        taken.append(Prism(2, letters, ((label.z_mm, label.z_mm + label.depth_mm),)))
    return Pieces(tuple(fills), tuple(taken), pieces.room)


def foretold_vent(spec: VentSpec, shop: Shop) -> Foreprint:
    """Return a vent as it will be printed."""
    pieces = vent_pieces(spec)
    stands = AXES[spec.print_orientation]
    settings = vent_settings(spec, OnBed.of(pieces, stands).size_mm[2], shop)
    return foretold_print(pieces, stands, spec.material, settings, shop)


def foretold_beside(spec: VentSpec, shop: Shop) -> Mapping[str, Foreprint]:
    """Return what is printed beside a vent as it will be, by name."""
    neck, screen = spec.body.neck, spec.body.screen
    found = {}
    if neck is not None:
        found["locknut"] = _locknut(neck.thread, spec.material.name, shop)
    if screen is not None:
        settings = beside_settings(spec.material, shop, threaded=neck is not None)
        frame = screen.frame(spec.section, spec.bays)
        found["screen-frame"] = foretold_print(frame, _LYING, spec.material, settings, shop)
    return MappingProxyType(found)


@lru_cache(maxsize=64)
def _locknut(thread: ThreadSpec, material: str, shop: Shop) -> Foreprint:
    """Return a thread's locknut, the same for every vent of a shop."""
    of = MATERIALS[material]
    settings = beside_settings(of, shop, threaded=True)
    return foretold_print(locknut_pieces(thread), _LYING, of, settings, shop)


def foretold_print(
    pieces: Pieces,
    stands: tuple[Axis, int],
    material: Material,
    settings: PrintSettings,
    shop: Shop,
) -> Foreprint:
    """Return a body as it will be printed; ``stands`` is its axis that points up, and its sign."""
    (axis, sign), standing = stands, OnBed.of(pieces, stands)
    bottoms, heights = layer_plan(standing.size_mm[2], settings.layer_mm, settings.fine_mm)
    levels = standing.levels_mm(bottoms, heights)
    which = _alike(pieces, axis, levels, heights)
    middles = np.bincount(which, levels) / np.bincount(which)
    regions = material_at(pieces, axis, middles)
    if sign < 0:
        regions = shapely.transform(regions, lambda at: at * (1.0, -1.0))
    inside = _filled(bottoms, heights, regions, which, settings.printing)
    times = layer_times(inside, settings.printing, shop.process, material.print_profile.flow_mm3_s)
    return Foreprint(material, standing.size_mm, inside, times)


def _filled(
    bottoms: FloatArray,
    heights: FloatArray,
    regions: ObjectArray,
    which: IntArray,
    printing: SlicerSettings,
) -> Filled:
    """Return how layers are filled, of which those of a group (n,) have one region in common."""
    try:
        return filled(Layers(bottoms, heights, tuple(regions[which])), printing)
    except GEOSException:
        # Sides a hair apart, which the kernel of plane shapes now and then cannot tell apart.
        coarse = shapely.set_precision(regions, _GRID_MM)
        return filled(Layers(bottoms, heights, tuple(coarse[which])), printing)


def _alike(pieces: Pieces, axis: Axis, levels: FloatArray, heights: FloatArray) -> IntArray:
    """Return which group (n,) every layer belongs to, counted from 0 from the bed up."""
    edges = np.concatenate([edges_along(p, axis) for p in (*pieces.fills, *pieces.open)])
    ends = np.unique(edges[:, :2])
    stretch = np.searchsorted(ends, levels)
    low, high, lean = edges.T
    there = (low <= levels[:, None]) & (levels[:, None] <= high)
    moves = np.where(there, lean, 0.0).max(axis=1) * heights
    first = np.flatnonzero(np.diff(stretch, prepend=-1))
    group, count = np.empty(len(levels), dtype=np.int64), 0
    for a, b in zip(first, [*first[1:], len(levels)], strict=True):
        parts = max(1, min(b - a, int(np.ceil(moves[a:b].sum() / _MOVE_MM - 1e-9))))
        group[a:b] = count + np.arange(b - a) * parts // (b - a)
        count += parts
    return group
