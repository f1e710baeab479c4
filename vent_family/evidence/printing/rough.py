"""A body as it will be printed, reckoned roughly and quickly, for thousands that are only weighed.

Its layers are told by stretches between which its outside changes. In each the outside is one
outline; what stands in the room between the walls is told by mean values over the stretch: how much
of it is open, how long its edges are and how many. Cores are only those of the outside; what is
thick enough for a core inside the room, and what lies over or under it, is counted as solid or core
as the outside says. How near that comes is measured (:mod:`vent_family.evidence.cost.foretold`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry import Polygon

from vent_family.base.arrays import FloatArray, IntArray, ObjectArray
from vent_family.base.materials import Material
from vent_family.base.shop import Shop, SlicerSettings
from vent_family.evidence.printing.filled import eroded
from vent_family.evidence.printing.foretold import OnBed, vent_pieces
from vent_family.evidence.printing.orientation import AXES
from vent_family.evidence.printing.settings import vent_settings
from vent_family.evidence.printing.time import LayerShapes, LayerTimes, outlines_of, shape_times
from vent_family.mesh.layers import Layers, layer_plan
from vent_family.spec.pieces import Axis, Pieces, edges_along, material_at
from vent_family.spec.room import RoomMeans, room_means
from vent_family.spec.vent import VentSpec

_APART_MM: Final = 0.5
"""Stretches shorter than this are told with those beside them, mm."""
_MOVE_MM: Final = 2.0
"""How far a side of the outside may move in a stretch, mm."""
_FLOOR: Final = 0.7
"""What leans by less (1) may be a floor, which goes on for long."""
_LEAST: Final = 20
"""Into so many stretches, at least, an upright part's height falls."""
_AT: Final = 0.49
"""Where the outside is looked at in a stretch: nearly in its middle, where nothing ends."""
_SKINS: Final = 3
"""How many stretches beside one are asked whether they cover its cores."""


@dataclass(frozen=True, eq=False)
class RoughPrint:
    """A vent as it will be printed, roughly; ``size_mm`` is its box on the bed."""

    material: Material
    size_mm: tuple[float, float, float]
    mass_g: float
    times: LayerTimes


def rough_vent(spec: VentSpec, shop: Shop) -> RoughPrint:
    """Return a vent as it will be printed, roughly; what is sunk to mark it is left out."""
    stands = axis, sign = AXES[spec.print_orientation]
    # A raised mark makes the box on the bed larger.
    pieces = vent_pieces(spec) if spec.mark.raised else spec.body.pieces(spec.section, spec.bays)
    standing = OnBed.of(pieces, stands)
    size = standing.size_mm
    settings = vent_settings(spec, size[2], shop)
    bottoms, heights = layer_plan(size[2], settings.layer_mm, settings.fine_mm)
    levels = standing.levels_mm(bottoms, heights)
    low, high = sorted([standing.start_mm, standing.start_mm + sign * size[2]])
    edges = _outside(pieces, axis)
    outside = _moving(_apart(edges[:, :2].reshape(-1), low, high), edges)
    ends = _apart(np.append(outside, _inside(pieces, axis, spec)), low, high)
    if axis != 2:
        outside = ends = _finer(ends)
    stretch = np.clip(np.searchsorted(ends, levels) - 1, 0, len(ends) - 2)
    kinds, which = np.unique(stretch, return_inverse=True)
    if sign < 0:
        kinds, which = kinds[::-1], len(kinds) - 1 - which
    lows, highs = ends[kinds], ends[kinds + 1]
    around_it = np.searchsorted(outside, 0.5 * (lows + highs)) - 1
    places, told_by = np.unique(around_it, return_inverse=True)
    looked_at = outside[places] + _AT * (outside[places + 1] - outside[places])
    forms = material_at(Pieces(pieces.fills, pieces.taken), axis, looked_at)
    frames = forms[told_by]
    room = room_means(pieces.room, axis, lows, highs)
    printing = settings.printing
    core = _cores(frames, eroded(forms, printing)[told_by], room, which, printing)
    told = outlines_of(Layers(lows, highs - lows, tuple(frames)))
    outline, rings, corners, around = (values[which] for values in told)
    area = np.maximum(shapely.area(frames) - room.open_mm2, 0.0)[which]
    shapes = LayerShapes(
        heights_mm=heights,
        area_mm2=area,
        laid_mm2=area - (1.0 - printing.infill_share) * np.minimum(core, area),
        outline_mm=outline + room.edges_mm[which],
        rings=rings + room.rings[which],
        corners=corners + 4.0 * room.boxes[which],
        box_mm2=around,
    )
    flow = spec.material.print_profile.flow_mm3_s
    times = shape_times(shapes, printing, shop.process, flow)
    volume = float(np.dot(shapes.laid_mm2, heights))
    return RoughPrint(spec.material, size, volume * spec.material.density_g_cm3 * 1e-3, times)


def _outside(pieces: Pieces, axis: Axis) -> FloatArray:
    """Return the edges (n, 3) along an axis of the outside, and of what bounds the room."""
    told = [*pieces.fills, *pieces.taken]
    told += [prism.within for prism in pieces.room[:1] if prism.within is not None]
    return np.concatenate([edges_along(piece, axis) for piece in told])


def _inside(pieces: Pieces, axis: Axis, spec: VentSpec) -> list[float]:
    """Return where along an axis banks begin and end, or floor and ceiling, mm."""
    if axis != 2:
        return list(pieces.room[0].outline.bounds[1::2])
    stack, front = spec.section.stack, spec.section.stack_z_mm[1]
    return [front + z for bank in range(stack.bank_count) for z in stack.bank_z(bank)]


def _apart(found: FloatArray, low: float, high: float) -> FloatArray:
    """Return ends between two (mm), rising, without those that follow one too near."""
    kept = [low]
    for end in np.unique(found).tolist():
        if end - kept[-1] >= _APART_MM and high - end >= _APART_MM:
            kept.append(end)
    return np.array([*kept, high])


def _moving(ends: FloatArray, edges: FloatArray) -> FloatArray:
    """Return ends (mm) with more between where a floor of the outside moves far."""
    low, high, lean = edges.T
    middles = 0.5 * (ends[1:] + ends[:-1])[:, None]
    # What leans by more, as cones and bevels do, is short.
    flat = (low < middles) & (middles < high) & (lean < _FLOOR)
    leans = np.where(flat, lean, 0.0).max(axis=1)
    return _divided(ends, np.diff(ends) * leans / _MOVE_MM)


def _finer(ends: FloatArray) -> FloatArray:
    """Return ends (mm) with more between, so that no stretch is long."""
    return _divided(ends, np.diff(ends) * _LEAST / (ends[-1] - ends[0]))


def _divided(ends: FloatArray, parts: FloatArray) -> FloatArray:
    """Return ends (mm) with each stretch between divided in at least so many parts, no less."""
    counts = np.maximum(np.ceil(parts - 1e-9), 1.0).astype(int)
    pairs = zip(ends[:-1], ends[1:], counts, strict=True)
    finer = [np.linspace(a, b, n + 1)[:-1] for a, b, n in pairs]
    return np.concatenate([*finer, ends[-1:]])


def _cores(
    frames: ObjectArray,
    inner: ObjectArray,
    room: RoomMeans,
    which: IntArray,
    printing: SlicerSettings,
) -> FloatArray:
    """Return the area of core in every layer (n,), mm2, from the bed up."""
    # What walls around the room take, a core beside it would need.
    room_and_walls = room.around(printing.shell_mm)
    core = shapely.difference(inner, room_and_walls)
    solid = shapely.difference(frames, room_and_walls)
    count = np.bincount(which)
    first = np.cumsum(count) - count
    place = np.arange(len(which)) - first[which]
    above = _covered(core, solid, count, printing.top_layers)
    below = _covered(core[::-1], solid[::-1], count[::-1], printing.bottom_layers)[::-1]
    whole = shapely.area(core)
    over = np.where(count[which] - place <= printing.top_layers, above[which], whole[which])
    under = np.where(place < printing.bottom_layers, below[which], whole[which])
    return np.asarray(np.minimum(over, under))


def _covered(core: ObjectArray, solid: ObjectArray, count: IntArray, layers: int) -> FloatArray:
    """Return what of each stretch's core (mm2) those cover that follow within so many layers."""
    found, ends = core.copy(), np.cumsum(count)
    for step in range(1, _SKINS + 1):
        between = ends[step - 1 : -1] - ends[:-step]
        here = np.flatnonzero((between < layers) & ~shapely.is_empty(found[:-step]))
        found[here] = shapely.intersection(found[here], solid[here + step])
    found[-1] = Polygon()
    return np.asarray(shapely.area(found))
