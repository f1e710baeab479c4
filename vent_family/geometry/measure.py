"""Mass properties of a shape, from the exact geometry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS_Shape

INTEGRATION_ERROR: Final = 1e-4
"""Relative error asked of the kernel's integrals.

Without one, the volume of a helical face with several turns can be far off (12 % tried here).
"""


@dataclass(frozen=True, slots=True)
class MassProperties:
    """Volume, surface and centroid of a shape; mm3, mm2, mm."""

    volume_mm3: float
    area_mm2: float
    centroid_mm: tuple[float, float, float]


def mass_properties(shape: TopoDS_Shape) -> MassProperties:
    """Return volume, surface area and centroid of a kernel shape."""
    bulk, skin = _bulk(shape), GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, skin, INTEGRATION_ERROR, False)
    centre = bulk.CentreOfMass()
    return MassProperties(bulk.Mass(), skin.Mass(), (centre.X(), centre.Y(), centre.Z()))


def volume_mm3(shape: TopoDS_Shape) -> float:
    """Return the volume (mm3) of a kernel shape, negative if it is inside out."""
    return float(_bulk(shape).Mass())


def _bulk(shape: TopoDS_Shape) -> GProp_GProps:
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found, INTEGRATION_ERROR, False, False)
    return found
