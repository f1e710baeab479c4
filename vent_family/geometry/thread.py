"""The threaded neck of the round vent: true helical thread, or a plain stand-in.

Axis Z, from Z = -length to Z = 0, the head at Z = 0. From the head down: a plain stub just below
the thread's minor diameter, a 45 degree chamfer out to the thread, the thread, a 45 degree chamfer
in to the tip. The stub keeps the thread's faces away from Z = 0: fusing a head onto the flat ring
there touches no thread face. It is also the relief that lets a nut run up to the panel. Right-hand
thread; a crest is centred on the half-plane of +X at every whole pitch from Z = 0.
"""

from __future__ import annotations

import math

import cadquery as cq

from vent_family.base.problems import InputError, Problem
from vent_family.geometry.faces import cylinder_face, inwards, rim, ring_face, solid_of
from vent_family.geometry.helical import Cone, thread_faces
from vent_family.geometry.primitives import revolve_z
from vent_family.spec.thread.iso import ThreadSpec
from vent_family.spec.thread.parts import (
    RELIEF_DEPTH,
    RELIEF_LENGTH,
    neck_length_min_mm,
    neck_relief_diameter_mm,
)


def threaded_neck(
    thread: ThreadSpec,
    length_mm: float,
    bore_diameter_mm: float,
    relief_length_mm: float = RELIEF_LENGTH.value,
) -> cq.Solid:
    """Return the hollow neck with its true external thread, 6g, lengths in mm.

    ``relief_length_mm`` is the length of the plain stub at the head.

    Raises
    ------
    InputError
        if the bore leaves no wall or the neck is too short for one full turn
    """
    _check(thread, length_mm, bore_diameter_mm, relief_length_mm)
    profile = thread.external
    relief_mm = neck_relief_diameter_mm(profile) / 2.0
    turns = thread_faces(
        profile.points_mm,
        profile.pitch_mm,
        low=Cone(relief_mm, -length_mm, 1.0),
        high=Cone(relief_mm, -relief_length_mm, -1.0),
    )
    head = rim(relief_mm, 0.0, turns.high.seam_rad)
    bore_tip, bore_head = (rim(bore_diameter_mm / 2.0, z) for z in (-length_mm, 0.0))
    return solid_of(
        [
            *turns.faces,
            cylinder_face(turns.high, head),
            ring_face(head, bore_head),
            inwards(ring_face(turns.low, bore_tip)),
            inwards(cylinder_face(bore_tip, bore_head)),
        ]
    )


def simplified_neck(
    thread: ThreadSpec,
    length_mm: float,
    bore_diameter_mm: float,
    relief_length_mm: float = RELIEF_LENGTH.value,
) -> cq.Solid:
    """Return the neck with a plain cylinder at the major diameter in place of the thread, mm.

    Bore, stub and chamfers are those of :func:`threaded_neck`.

    Raises
    ------
    InputError
        as :func:`threaded_neck`
    """
    _check(thread, length_mm, bore_diameter_mm, relief_length_mm)
    profile = thread.external
    bore_mm, relief_mm = bore_diameter_mm / 2.0, neck_relief_diameter_mm(profile) / 2.0
    chamfer_mm = profile.depth_mm + RELIEF_DEPTH.value
    outline = [
        (bore_mm, -length_mm),
        (relief_mm, -length_mm),
        (profile.major_mm / 2.0, -length_mm + chamfer_mm),
        (profile.major_mm / 2.0, -relief_length_mm - chamfer_mm),
        (relief_mm, -relief_length_mm),
        (relief_mm, 0.0),
        (bore_mm, 0.0),
    ]
    return revolve_z(outline)


def _check(
    thread: ThreadSpec, length_mm: float, bore_diameter_mm: float, relief_length_mm: float
) -> None:
    """Raise :class:`InputError` naming everything that keeps the neck from being built."""
    problems = []
    if not (math.isfinite(relief_length_mm) and relief_length_mm >= RELIEF_DEPTH.value):
        problems.append(
            Problem(
                "thread.stub.short",
                "the plain stub of the neck is too short",
                value=f"{relief_length_mm:g} mm",
                allowed=f"{RELIEF_DEPTH.value:g} mm or more",
            )
        )
    else:
        least_mm = neck_length_min_mm(thread, relief_length_mm)
        if not (math.isfinite(length_mm) and length_mm >= least_mm):
            problems.append(
                Problem(
                    "thread.neck.short",
                    f"the neck is too short for one full turn of {thread.designation}",
                    value=f"{length_mm:g} mm",
                    allowed=f"{least_mm:.2f} mm or more",
                )
            )
    most_mm = neck_relief_diameter_mm(thread.external)
    if not 0.0 < bore_diameter_mm < most_mm:
        problems.append(
            Problem(
                "thread.bore.wide",
                f"the bore leaves no wall inside {thread.designation}",
                value=f"{bore_diameter_mm:g} mm",
                allowed=f"more than 0 and less than {most_mm:.2f} mm",
            )
        )
    if problems:
        raise InputError(problems)
