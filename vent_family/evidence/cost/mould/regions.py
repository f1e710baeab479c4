"""Which part of a vent each piece of its surface belongs to, where the layout knows it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.ops import unary_union

from vent_family.base.arrays import BoolArray, FloatArray, ObjectArray
from vent_family.evidence.cost.mould.samples import Samples
from vent_family.spec.forms import Outline
from vent_family.spec.thread.iso import ThreadSpec
from vent_family.spec.vent import VentSpec

NEAR_MM: Final = 0.02
"""A point so near to an outline of the layout lies on it, mm: the mesh is off by less."""
NECK_WALL_MM: Final = 1.0
"""Behind the panel the thread begins so far outside the bore, mm: walls of necks are thicker."""
SHELL: Final = "shell"
RIBS: Final = "ribs"
APRON: Final = "apron"
FLOOR: Final = "floor, sill and drain"
THREAD: Final = "thread"
SNAP: Final = "snap arms"


def bank_name(bank: int) -> str:
    """Return what the slats of a bank are called; bank 0 is the outermost.

    Examples
    --------
    >>> bank_name(0)
    'slats of bank 1'
    """
    return f"slats of bank {bank + 1}"


def regions(spec: VentSpec, samples: Samples) -> ObjectArray:
    """Return the name of the region of each sample of a vent's surface."""
    x, y, z = samples.points_mm.T
    section, body = spec.section, spec.body
    names = np.full(len(samples), SHELL, dtype=object)
    across = (x > spec.bays[0][0] - NEAR_MM) & (x < spec.bays[-1][1] + NEAR_MM)
    room = across & (z > section.inner_z_mm - NEAR_MM) & (z < section.front_z_mm + NEAR_MM)
    room &= (y > _height(section.lower, z) - NEAR_MM) & (y < _height(section.upper, z) + NEAR_MM)
    names[across & on_outline(shapely.LineString(section.lower), samples)] = FLOOR
    if body.neck is not None:
        neck = np.hypot(x, y) > body.neck.bore_radius_mm + NECK_WALL_MM
        names[neck & (z < -NEAR_MM)] = THREAD
    if body.snap is not None:
        names[(z < -NEAR_MM) & (np.abs(x) > body.half_width_mm + NEAR_MM)] = SNAP
    low, high = section.drain_mm[1] - NEAR_MM, section.window_bottom_mm + NEAR_MM
    inner = min(at for at, _ in section.apron) - NEAR_MM
    names[room & (y > low) & (y < high) & (z > inner)] = APRON
    deep = room & (z > body.rib_end_z_mm(section) - NEAR_MM)
    for (_, left), (right, _) in zip(spec.bays[:-1], spec.bays[1:], strict=True):
        names[deep & (x > left - NEAR_MM) & (x < right + NEAR_MM)] = RIBS
    for bank in range(section.stack.bank_count):
        slats = outlines_shape([s.outline for s in section.slats if s.bank == bank])
        names[across & on_outline(slats, samples)] = bank_name(bank)
    return names


def nut_regions(thread: ThreadSpec, samples: Samples) -> ObjectArray:
    """Return the name of the region of each sample of a nut's or ring's surface: thread or not."""
    names = np.full(len(samples), SHELL, dtype=object)
    radius = np.hypot(samples.points_mm[:, 0], samples.points_mm[:, 1])
    names[radius < thread.internal.major_mm / 2.0 + NEAR_MM] = THREAD
    return names


def outlines_shape(outlines: Sequence[Outline]) -> shapely.Geometry:
    """Return outlines (z, y) as one shape."""
    return unary_union([Polygon(outline) for outline in outlines])


def on_outline(shape: shapely.Geometry, samples: Samples) -> BoolArray:
    """Return which samples lie on a shape (z, y) drawn along x, or within it.

    Those that face along x do not count: they are cut through the shape, not along its outline.
    """
    wide = shape.buffer(NEAR_MM)
    z0, y0, z1, y1 = wide.bounds
    z, y = samples.points_mm[:, 2], samples.points_mm[:, 1]
    near = (z >= z0) & (z <= z1) & (y >= y0) & (y <= y1) & (np.abs(samples.normals[:, 0]) < 0.99)
    shapely.prepare(wide)
    found = np.zeros(len(samples), dtype=np.bool_)
    found[near] = shapely.contains_xy(wide, z[near], y[near])
    return found


def _height(line: Outline, z: FloatArray) -> FloatArray:
    """Return the height of a polyline that runs from inside out, at each z, mm."""
    zs, ys = np.array(line).T
    return np.asarray(np.interp(z, zs, ys))
