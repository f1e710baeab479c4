"""STL files of plain shapes, written as the release writes those of vents."""

from __future__ import annotations

from pathlib import Path

import cadquery as cq

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.atomic import write_bytes
from vent_family.files.stl import MeshFacts, stl_file
from vent_family.mesh.triangles import mesh_of


def write_stl(
    path: Path,
    shape: cq.Shape,
    header_text: str,
    chord_mm: float,
    angle_rad: float,
    location: cq.Location | None = None,
) -> MeshFacts:
    return write_mesh(path, *mesh_of(shape, chord_mm, angle_rad), header_text, location)


def write_mesh(
    path: Path,
    vertices: FloatArray,
    triangles: IntArray,
    header_text: str,
    location: cq.Location | None = None,
) -> MeshFacts:
    made = stl_file(vertices, triangles, header_text, location)
    write_bytes(path, made.data)
    return made.facts
