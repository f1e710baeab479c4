"""Threaded parts as forms that change with the depth: neck, locknut, and a screen's ring.

A plane square to the axis cuts a thread in one outline, turned with the height: its radius runs
through one pitch of the profile on its way round. Lengths in mm.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from shapely.geometry import Polygon

from vent_family.base.arrays import FloatArray
from vent_family.spec.pieces import Lofted, Piece, Pieces, Prism, disc, quarter_chords
from vent_family.spec.thread.iso import ThreadProfile, ThreadSpec
from vent_family.spec.thread.parts import (
    BACK_CHAMFER_DEG,
    RELIEF_DEPTH,
    RELIEF_LENGTH,
    LocknutSize,
    locknut_size,
    neck_relief_diameter_mm,
)

_FINER: Final = 2
"""A thread's outline takes so many times the chords of a plain circle, since it bends more."""


def neck_form(thread: ThreadSpec, length_mm: float) -> Lofted:
    """Return a neck's outside: plain stub, chamfer, thread, and chamfer to its tip.

    ``length_mm`` is the neck's, mm.
    """
    profile, stub = thread.external, RELIEF_LENGTH.value
    relief = neck_relief_diameter_mm(profile) / 2.0
    chamfer = profile.depth_mm + RELIEF_DEPTH.value

    def at(z_mm: float) -> Polygon:
        cone = relief + max(min(z_mm + length_mm, -stub - z_mm), 0.0)
        return _round(np.minimum(_radii(profile, z_mm), cone))

    ends = (-length_mm, chamfer - length_mm, -stub - chamfer, -stub, 0.0)
    return Lofted(at, ends, (1.0, 0.0, 1.0, 0.0))


def locknut_pieces(thread: ThreadSpec) -> Pieces:
    """Return a locknut as it is printed, its washer face at z = 0."""
    size = locknut_size(thread)
    return hexagon_pieces(size, thread.internal, size.thickness_mm)


def hexagon_pieces(
    size: LocknutSize, profile: ThreadProfile, thickness_mm: float, bore_mm: float = 0.0
) -> Pieces:
    """Return a hexagon with a thread as deep as ``size`` says, behind it a bore.

    Parameters
    ----------
    size
        Sizes of the threaded part.
    profile
        The thread in it.
    thickness_mm
        How thick all of it is, mm.
    bore_mm
        Radius of the bore, mm; needed where it is thicker than its thread is deep.
    """
    inner, washer = -size.thickness_mm, size.washer_diameter_mm / 2.0
    corner = size.across_corners_mm / 2.0
    around = [math.pi / 3.0 * k for k in range(6)]
    hexagon = Polygon([(corner * math.cos(a), corner * math.sin(a)) for a in around])
    slope = math.tan(math.radians(BACK_CHAMFER_DEG))
    back, face = (corner - washer) * slope - thickness_mm, -size.washer_height_mm
    mouth = size.countersink_diameter_mm / 2.0
    sunk = mouth - profile.minor_mm / 2.0

    def outside(z_mm: float) -> Polygon:
        if z_mm > face:
            return disc(washer)
        radius = washer + (z_mm + thickness_mm) / slope
        return hexagon if radius >= corner else hexagon.intersection(disc(radius))

    def hole(z_mm: float) -> Polygon:
        cone = mouth - min(z_mm - inner, -z_mm)
        return _round(np.maximum(_radii(profile, z_mm), cone))

    form = Lofted(outside, (-thickness_mm, back, face, 0.0), (1.0 / slope, 0.0, 0.0))
    taken: list[Piece] = [Lofted(hole, (inner, inner + sunk, -sunk, 0.0), (1.0, 0.0, 1.0))]
    if thickness_mm > size.thickness_mm:
        taken.append(Prism(2, disc(bore_mm), ((-thickness_mm, inner),)))
    return Pieces((form,), tuple(taken))


def _radii(profile: ThreadProfile, z_mm: float) -> FloatArray:
    """Return the radii (mm) of a thread in a plane, evenly spaced on one way round."""
    radii, heights = zip(*profile.points_mm, strict=True)
    count = _FINER * 4 * quarter_chords(radii[0])
    turn = np.arange(count) / count
    low, pitch = heights[0], profile.pitch_mm
    return np.asarray(np.interp(low + (z_mm - low - turn * pitch) % pitch, heights, radii))


def _round(radii: FloatArray) -> Polygon:
    turn = 2.0 * math.pi * np.arange(len(radii)) / len(radii)
    return Polygon(np.column_stack([radii * np.cos(turn), radii * np.sin(turn)]))
