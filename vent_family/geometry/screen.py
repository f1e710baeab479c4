"""Insect screens: rails behind a block, the sliding frame, the neck's ring, the mesh as a sheet.

Frames and rings are made as they lie on the bed. A frame's broad face, which bears on the mesh, is
at Z = 0, its own Y that of the part. A ring is open at Z = 0, where a locknut's washer face is, and
its thread meshes as a locknut's does.
"""

from __future__ import annotations

from dataclasses import replace
from functools import singledispatch

import cadquery as cq

from vent_family.geometry.faces import Face, Rim, cylinder_face, inwards, rim, ring_face, solid_of
from vent_family.geometry.helical import Cone, thread_faces
from vent_family.geometry.locknut import locknut_location, pierced_hexagon
from vent_family.geometry.primitives import box, common, cut, cylinder, prism_x, prism_y, prism_z
from vent_family.spec.screen import (
    BEVEL_MM,
    CORNER_MM,
    FRAME_MM,
    RING_MM,
    Screen,
    ScrewScreen,
    SlideScreen,
)
from vent_family.spec.section import FAR, Section
from vent_family.spec.vent import VentSpec


def rails(screen: SlideScreen, section: Section) -> list[cq.Solid]:
    """Return both rails and the ledge between them; they end in the block's rear plane."""
    side, ledge = (
        [(float(z), float(y)) for z, y in list(outline.exterior.coords)[:-1]]
        for outline in (screen.side(section), screen.ledge(section))
    )
    ys, w = [y for _, y in side], screen.half_width_mm
    right = [(float(x), float(z)) for x, z in list(screen.rail().exterior.coords)[:-1]]
    found = [prism_x(ledge, -w, w)]
    for sense in (1.0, -1.0):
        rail = prism_y([(sense * x, z) for x, z in right], min(ys) - FAR, max(ys) + FAR)
        found.append(common(rail, prism_x(side, -w - FAR, w + FAR)))
    return found


@singledispatch
def screen_frame(screen: Screen, spec: VentSpec, true_thread: bool) -> cq.Solid:
    """Return the printed frame or ring that holds a vent's mesh.

    ``true_thread`` chooses between a ring's thread and a plain hole that clears a plain neck.

    Raises
    ------
    TypeError
        for a screen of which no frame is known
    """
    raise TypeError(f"no frame is known of a {type(screen).__name__}")


@singledispatch
def frame_location(screen: Screen) -> cq.Location:
    """Return where the frame sits in the fitted vent.

    Raises
    ------
    TypeError
        for a screen of which no frame is known
    """
    raise TypeError(f"no frame is known of a {type(screen).__name__}")


@singledispatch
def mesh_sheet(screen: Screen, spec: VentSpec) -> cq.Solid:
    """Return the mesh where it lies in the fitted vent, as a plain sheet two wires thick.

    What is folded round a frame's edges is left out.

    Raises
    ------
    TypeError
        for a screen of which no frame is known
    """
    raise TypeError(f"no frame is known of a {type(screen).__name__}")


@screen_frame.register
def _(screen: SlideScreen, spec: VentSpec, true_thread: bool) -> cq.Solid:
    face, back = screen.face_half_mm, screen.back_half_mm
    top = screen.top_mm(spec.section)
    right = [(face, 0.0), (back, BEVEL_MM), (back, FRAME_MM)]
    plate = prism_y(
        [*right, *((-x, z) for x, z in reversed(right))], screen.seat_mm(spec.section), top
    )
    through = (-FAR, FRAME_MM + FAR)
    # The frame lies on its face: what is on the part's right is on its left.
    tools: list[cq.Shape] = [
        box((-x1, -x0), y, through) for (x0, x1), y in screen.windows(spec.section, spec.bays)
    ]
    for side in (1.0, -1.0):
        corner = [(side * (face - CORNER_MM), top), (side * face, top - CORNER_MM)]
        corner += [(side * (face + FAR), top - CORNER_MM), (side * (face + FAR), top + FAR)]
        corner.append((side * (face - CORNER_MM), top + FAR))
        tools.append(prism_z(corner, *through))
    return cut(plate, tools)


@frame_location.register
def _(screen: SlideScreen) -> cq.Location:
    place = cq.Vector(0.0, 0.0, screen.frame_z_mm)
    return cq.Location(place, cq.Vector(0.0, 1.0, 0.0), 180.0)


@mesh_sheet.register
def _(screen: SlideScreen, spec: VentSpec) -> cq.Solid:
    half, z = screen.face_half_mm, screen.inner_z_mm
    heights = (screen.seat_mm(spec.section), screen.top_mm(spec.section))
    return box((-half, half), heights, (z - screen.mesh.thickness_mm, z))


@screen_frame.register
def _(screen: ScrewScreen, spec: VentSpec, true_thread: bool) -> cq.Solid:
    inner_z = -screen.size.thickness_mm
    back_z = inner_z - RING_MM
    hole, hole_back = (rim(screen.bore_radius_mm, z) for z in (inner_z, back_z))
    if true_thread:
        low, high, inside = _turns(screen, inner_z)
    else:
        low, high = (rim(screen.thread.internal.major_mm / 2.0, z) for z in (inner_z, 0.0))
        inside = [cylinder_face(low, high)]
    size = replace(screen.size, thickness_mm=-back_z)
    return solid_of(
        [
            *pierced_hexagon(size, hole_back, high),
            *(inwards(face) for face in inside),
            ring_face(low, hole),
            inwards(cylinder_face(hole_back, hole)),
        ]
    )


def _turns(screen: ScrewScreen, inner_z: float) -> tuple[Rim, Rim, list[Face]]:
    """Return the rims of a ring's thread, inner and outer, and its faces, normals outwards."""
    profile, mouth_mm = screen.thread.internal, screen.size.countersink_diameter_mm / 2.0
    turns = thread_faces(
        profile.points_mm,
        profile.pitch_mm,
        low=Cone(mouth_mm, inner_z, -1.0),
        high=Cone(mouth_mm, 0.0, 1.0),
    )
    return turns.low, turns.high, list(turns.faces)


@frame_location.register
def _(screen: ScrewScreen) -> cq.Location:
    return locknut_location(screen.thread, screen.mouth_z_mm)


@mesh_sheet.register
def _(screen: ScrewScreen, spec: VentSpec) -> cq.Solid:
    z = screen.end_z_mm
    return cylinder(screen.disc_radius_mm, (z - screen.mesh.thickness_mm, z))
