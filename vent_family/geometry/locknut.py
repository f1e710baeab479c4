"""The printed hexagon locknut of the round vent: true internal thread, or a plain hole.

Axis Z, from Z = -thickness to Z = 0; the washer face, which clamps the panel, is at Z = 0. Flats
face +Y and -Y. A groove of the thread is centred on the half-plane of +X at every whole pitch from
Z = 0, as a crest of the neck is: a nut and a neck in the same frame mesh. Moved along the axis, the
nut must turn with the thread: :func:`locknut_location` gives that place.
"""

from __future__ import annotations

import math

import cadquery as cq

from vent_family.geometry.faces import (
    Face,
    Rim,
    cylinder_face,
    inwards,
    pierced_face,
    rim,
    solid_of,
)
from vent_family.geometry.helical import Cone, thread_faces
from vent_family.geometry.primitives import common, prism_z, revolve_z
from vent_family.spec.thread.iso import ThreadSpec
from vent_family.spec.thread.parts import BACK_CHAMFER_DEG, LocknutSize, locknut_size


def locknut(thread: ThreadSpec) -> cq.Solid:
    """Return the locknut whose thread clears :func:`~.thread.threaded_neck` by the clearance, mm.

    Raises
    ------
    InputError
        for a pitch too coarse for the nut
    """
    size = locknut_size(thread)
    profile = thread.internal
    mouth_mm = size.countersink_diameter_mm / 2.0
    turns = thread_faces(
        profile.points_mm,
        profile.pitch_mm,
        low=Cone(mouth_mm, -size.thickness_mm, -1.0),
        high=Cone(mouth_mm, 0.0, 1.0),
    )
    around = pierced_hexagon(size, turns.low, turns.high)
    return solid_of([*around, *(inwards(face) for face in turns.faces)])


def simplified_locknut(thread: ThreadSpec) -> cq.Solid:
    """Return the locknut with a plain hole at its thread's major diameter, mm.

    At that diameter it clears the simplified neck, so light assemblies show no interference.
    """
    size = locknut_size(thread)
    low, high = (rim(thread.internal.major_mm / 2.0, z) for z in (-size.thickness_mm, 0.0))
    return solid_of([*pierced_hexagon(size, low, high), inwards(cylinder_face(low, high))])


def thread_phase_deg(thread: ThreadSpec, rise_mm: float) -> float:
    """Return the turn about +Z, degrees in [0, 360), that goes with a rise along +Z, mm."""
    return _phase_deg(thread.pitch_mm, rise_mm)


def locknut_location(
    thread: ThreadSpec, clamp_z_mm: float, neck_z_mm: float = 0.0, neck_angle_deg: float = 0.0
) -> cq.Location:
    """Return where a locknut sits so that its thread meshes with the neck's.

    ``clamp_z_mm`` is the height of the nut's washer face, ``neck_z_mm`` that of the neck's head
    end, both in the frame the location is for; ``neck_angle_deg`` is the neck's own turn about +Z.
    """
    angle_deg = neck_angle_deg + thread_phase_deg(thread, clamp_z_mm - neck_z_mm)
    return _at(clamp_z_mm, angle_deg)


def seated_location(pitch_mm: float, clamp_z_mm: float) -> cq.Location:
    """Return where a locknut sits on an unturned neck whose head ends at z = 0.

    ``pitch_mm`` is the thread's, ``clamp_z_mm`` the height of the nut's washer face; mm.
    """
    return _at(clamp_z_mm, _phase_deg(pitch_mm, clamp_z_mm))


def _at(z_mm: float, angle_deg: float) -> cq.Location:
    return cq.Location(cq.Vector(0, 0, z_mm), cq.Vector(0, 0, 1), angle_deg)


def _phase_deg(pitch_mm: float, rise_mm: float) -> float:
    return (360.0 * rise_mm / pitch_mm) % 360.0


def pierced_hexagon(size: LocknutSize, low: Rim, high: Rim) -> list[Face]:
    """Return the nut's outer faces, its two end faces pierced by the given circles."""
    corner_mm = size.across_corners_mm / 2.0
    washer_mm = size.washer_diameter_mm / 2.0
    points = [
        (corner_mm * math.cos(a), corner_mm * math.sin(a))
        for a in (math.pi / 3.0 * k for k in range(6))
    ]
    hexagon = prism_z(points, -size.thickness_mm, 0.0)
    reach_mm = corner_mm + 1.0
    back_mm = (reach_mm - washer_mm) * math.tan(math.radians(BACK_CHAMFER_DEG))
    outline = [
        (0.0, -size.thickness_mm),
        (washer_mm, -size.thickness_mm),
        (reach_mm, -size.thickness_mm + back_mm),
        (reach_mm, -size.washer_height_mm),
        (washer_mm, -size.washer_height_mm),
        (washer_mm, 0.0),
        (0.0, 0.0),
    ]
    faces: list[Face] = []
    for face in common(hexagon, revolve_z(outline)).Faces():
        ends = [one for one in (low, high) if abs(face.Center().z - one.z_mm) < 1e-6]
        faces.append(pierced_face(face, ends[0]) if ends else face.wrapped)
    return faces
