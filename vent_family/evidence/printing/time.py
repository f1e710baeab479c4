"""Print time from the slices.

The length of bead in a layer is the area of plastic laid over the line width, whatever the path: a
sparse core takes its share. The outer wall is as long as the outlines; the other walls follow it as
far as there is plastic for them; the rest is infill of skins and cores, whose lines are on average
as long as a straight line through the layer: pi A / P (mean chord of a plane figure,
Cauchy-Crofton, from memory). Every line between two corners is run up and down at the machine's
acceleration. Between outlines the head travels; n stops scattered over an area A are
0.7124 sqrt(n A) apart in all (Beardwood, Halton and Hammersley 1959, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from vent_family.base.arrays import FloatArray
from vent_family.base.shop import Process, SlicerSettings
from vent_family.evidence.printing.filled import Filled
from vent_family.mesh.layers import Layers

_CORNER_DEG: Final = 30.0
"""Turns sharper than this stop the head."""
_TOUR: Final = 0.7124


@dataclass(frozen=True, eq=False)
class LayerShapes:
    """What the time of every layer (n,) depends on.

    Its height, the area of material and of the plastic laid in it, the length of its outlines, how
    many ``rings`` they are and how many ``corners`` they have (1), and the area of the box around.
    """

    heights_mm: FloatArray
    area_mm2: FloatArray
    laid_mm2: FloatArray
    outline_mm: FloatArray
    rings: FloatArray
    corners: FloatArray
    box_mm2: FloatArray


@dataclass(frozen=True, eq=False)
class LayerTimes:
    """Seconds of work per layer (n,) for one part, by kind of move; cooling left out."""

    wall_s: FloatArray
    infill_s: FloatArray
    travel_s: FloatArray

    @property
    def work_s(self) -> FloatArray:
        """All moves of each layer, s."""
        return np.asarray(self.wall_s + self.infill_s + self.travel_s)


def line_seconds(length_mm: FloatArray, speed_mm_s: FloatArray, acceleration: float) -> FloatArray:
    """Return the time (s) of straight lines from rest to rest, trapezoid speed profile.

    Parameters
    ----------
    length_mm, speed_mm_s
        length and speed of each line, mm and mm/s
    acceleration
        speeding up and slowing down, mm/s2

    Examples
    --------
    100 mm at 100 mm/s with ramps of 0.1 s at both ends, as long as 110 mm without; and 2.5 mm, too
    short to reach that speed, 2 sqrt(2.5 / 1000):

    >>> line_seconds(np.array([100.0, 2.5]), np.array([100.0, 100.0]), 1000.0).round(6).tolist()
    [1.1, 0.1]
    """
    ramp = speed_mm_s**2 / acceleration
    short = 2.0 * np.sqrt(np.maximum(length_mm, 0.0) / acceleration)
    full = length_mm / speed_mm_s + speed_mm_s / acceleration
    return np.asarray(np.where(length_mm < ramp, short, full))


def layer_times(
    body: Filled, printing: SlicerSettings, process: Process, flow_mm3_s: float
) -> LayerTimes:
    """Return the time of every layer; ``flow_mm3_s`` caps the speed of every bead.

    Examples
    --------
    A square of 10 mm in beads 0.4 mm wide and 0.2 mm high, 40 mm of outer wall at 60 mm/s and 80 mm
    of inner walls at 100 mm/s, in sides of 10 mm: 4 x (10 / 60 + 60 / 3000) + 8 x (10 / 100 + 100 /
    3000) = 1.8133 s:

    >>> from shapely.geometry import box
    >>> from vent_family.base.shop import demo_shop
    >>> square = Layers(np.zeros(1), np.array([0.2]), (box(0.0, 0.0, 10.0, 10.0),))
    >>> shop = demo_shop()
    >>> printing = shop.printing.model_copy(update={"line_width_mm": 0.4})
    >>> body = Filled(square, np.zeros(1), np.zeros(1), 1.0)
    >>> layer_times(body, printing, shop.process, 100.0).wall_s.round(4).tolist()
    [1.8133]
    """
    layers = body.layers
    shapes = LayerShapes(layers.heights_mm, layers.areas_mm2, body.laid_mm2, *outlines_of(layers))
    return shape_times(shapes, printing, process, flow_mm3_s)


def shape_times(
    shapes: LayerShapes, printing: SlicerSettings, process: Process, flow_mm3_s: float
) -> LayerTimes:
    """Return the time of layers of known shape; ``flow_mm3_s`` caps the speed of every bead."""
    line_width_mm, area, outline = printing.line_width_mm, shapes.area_mm2, shapes.outline_mm
    rings, corners, box = shapes.rings, shapes.corners, shapes.box_mm2
    total = shapes.laid_mm2 / line_width_mm
    outer = np.minimum(outline, total)
    inner = np.minimum((printing.wall_count - 1) * outline, total - outer)
    fill = total - outer - inner
    cap = flow_mm3_s / (line_width_mm * shapes.heights_mm)
    a = process.acceleration_mm_s2
    side = outline / np.maximum(corners, 1.0)
    wall = np.zeros_like(area)
    for length, speed in ((outer, process.outer_wall_mm_s), (inner, process.inner_wall_mm_s)):
        each = line_seconds(side, np.minimum(cap, speed), a)
        wall += np.where(length > 0.0, length / np.maximum(side, 1e-9), 0.0) * each
    chord = math.pi * area / np.maximum(outline, 1e-9)
    lines = fill / np.maximum(chord, line_width_mm)
    infill = lines * line_seconds(
        np.maximum(chord, line_width_mm), np.minimum(cap, process.infill_mm_s), a
    )
    stops = np.maximum(rings, 1.0)
    hop = _TOUR * np.sqrt(box / stops)
    travel_speed = np.full_like(area, process.travel_mm_s)
    travel = rings * (line_seconds(hop, travel_speed, a) + process.move_overhead_s)
    return LayerTimes(wall, infill, travel)


def plate_seconds(work_s: FloatArray, parts: int, process: Process) -> float:
    """Return the time (s) of a plate with so many equal parts, all printed layer by layer.

    Layers done faster than the least layer time wait for it.

    Examples
    --------
    Layers of 4 s and 20 s; the first waits for the least layer time of 8 s, each is followed by 0.5
    s, and the plate begins with 420 s. With two parts neither waits:

    >>> from vent_family.base.shop import demo_shop
    >>> process = demo_shop().process
    >>> work = np.array([4.0, 20.0])
    >>> plate_seconds(work, 1, process), plate_seconds(work, 2, process)
    (449.0, 469.0)
    """
    busy = np.maximum(parts * work_s, process.layer_min_s) + process.layer_change_s
    return float(busy.sum() + process.plate_start_s)


def outlines_of(layers: Layers) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return, per layer: outline length, number of rings, of corners, area of the box."""
    regions, index = layers.unlike
    count = len(regions)
    outline = np.asarray(shapely.length(regions), dtype=np.float64)
    bounds = shapely.bounds(regions)
    box = np.nan_to_num((bounds[:, 2] - bounds[:, 0]) * (bounds[:, 3] - bounds[:, 1]))
    pieces, layer = shapely.get_parts(regions, return_index=True)
    rings, piece = shapely.get_rings(pieces, return_index=True)
    owner = layer[piece]
    ring_count = np.bincount(owner, minlength=count).astype(np.float64)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    corners = np.zeros(count)
    if len(points) > 2:
        onward = np.diff(points, axis=0)
        same = ring[1:] == ring[:-1]
        turn = np.full(len(points), np.nan)
        heading = np.degrees(np.arctan2(onward[:, 1], onward[:, 0]))
        bend = np.abs((np.diff(heading) + 180.0) % 360.0 - 180.0)
        inside = same[1:] & same[:-1]
        turn[1:-1] = np.where(inside, bend, np.nan)
        # The closing point of a ring counts as one corner.
        sharp = (turn > _CORNER_DEG) | np.isnan(turn)
        sharp[np.flatnonzero(np.diff(ring, prepend=-1))] = False
        corners = np.bincount(owner[ring], weights=sharp, minlength=count).astype(np.float64)
    return outline[index], ring_count[index], corners[index], box[index]
