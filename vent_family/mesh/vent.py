"""The meshes of one part: the vent and everything delivered beside it."""

from __future__ import annotations

from typing import Final

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import STL_ANGLE, STL_CHORD
from vent_family.geometry.vent import VentSolids
from vent_family.mesh.triangles import mesh_of

Meshes = dict[str, tuple[FloatArray, IntArray]]
"""Vertices (n, 3) in mm and triangles (m, 3) by body: "" for the vent, "locknut", "gasket",
"screen-frame"."""
PRINTED_BESIDE: Final = ("locknut", "screen-frame")
"""Bodies that are printed beside the vent, on plates of their own; gaskets are cut from sheet."""


def printed_beside(meshes: Meshes) -> Meshes:
    """Return the meshes of what is printed beside the vent."""
    return {name: meshes[name] for name in PRINTED_BESIDE if name in meshes}


def meshes_of(solids: VentSolids) -> Meshes:
    """Return the meshes of vent and companions, at the tolerance they are exported with."""
    bodies = [("", solids.vent), *solids.companions()]
    return {name: mesh_of(solid, STL_CHORD.value, STL_ANGLE.value) for name, solid in bodies}
