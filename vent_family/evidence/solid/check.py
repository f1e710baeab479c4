"""Is the solid honest: one valid closed body, a watertight mesh, the volume it should have."""

from __future__ import annotations

from dataclasses import dataclass

import cadquery as cq

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import ESTIMATE_VOLUME, MESH_VOLUME, SIGHT_MARGIN_MIN
from vent_family.evidence.result import CheckResult
from vent_family.evidence.solid.volume import estimate_volume_mm3
from vent_family.geometry.measure import MassProperties, mass_properties
from vent_family.mesh.triangles import edge_multiplicity, is_watertight, mesh_volume_mm3
from vent_family.spec.sightlines import closes
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class SolidFacts:
    """Measured on the exact solid; mm, mm2, mm3."""

    volume_mm3: float
    area_mm2: float
    centroid_mm: tuple[float, float, float]
    box_min_mm: tuple[float, float, float]
    box_max_mm: tuple[float, float, float]
    face_count: int


def measure(solid: cq.Solid, mass: MassProperties | None = None) -> SolidFacts:
    """Return volume, surface, centroid, box and face count of a solid; ``mass`` if known."""
    mass = mass or mass_properties(solid.wrapped)
    box = solid.BoundingBox()
    return SolidFacts(
        volume_mm3=mass.volume_mm3,
        area_mm2=mass.area_mm2,
        centroid_mm=mass.centroid_mm,
        box_min_mm=(box.xmin, box.ymin, box.zmin),
        box_max_mm=(box.xmax, box.ymax, box.zmax),
        face_count=len(solid.Faces()),
    )


def check_vent(
    spec: VentSpec, solid: cq.Solid, facts: SolidFacts, vertices: FloatArray, triangles: IntArray
) -> tuple[CheckResult, ...]:
    """Return the checks every released vent must pass.

    ``vertices`` (n, 3) in mm and ``triangles`` (m, 3) are the mesh that is exported.
    """
    estimate = estimate_volume_mm3(spec)
    return (
        *check_body(solid, facts, vertices, triangles),
        _relative(
            "volume against independent estimate",
            facts.volume_mm3,
            estimate,
            ESTIMATE_VOLUME.value,
        ),
        _sight(spec),
    )


def check_body(
    solid: cq.Solid, facts: SolidFacts, vertices: FloatArray, triangles: IntArray
) -> tuple[CheckResult, ...]:
    """Return the checks of any body of the family: vent, locknut or gasket; ``vertices`` in mm."""
    multiplicity = edge_multiplicity(triangles)
    return (
        _flag(
            "valid solid", solid.isValid(), "the kernel finds no fault", "the kernel finds faults"
        ),
        _flag(
            "one piece",
            len(solid.Solids()) == 1 and len(solid.Shells()) == 1,
            "one solid with one closed shell",
            f"{len(solid.Solids())} solids and {len(solid.Shells())} shells",
        ),
        _flag(
            "watertight mesh",
            is_watertight(triangles),
            "every edge joins two triangles",
            f"triangles per edge: {multiplicity}",
        ),
        _relative(
            "mesh volume against exact volume",
            mesh_volume_mm3(vertices, triangles),
            facts.volume_mm3,
            MESH_VOLUME.value,
        ),
    )


def _sight(spec: VentSpec) -> CheckResult:
    margin, limit = spec.section.sight.margin_mm, SIGHT_MARGIN_MIN.value
    angle = spec.section.sight.elevation_deg
    return CheckResult(
        "no straight path",
        "pass" if closes(margin) else "fail",
        f"the nearest straight line, at {angle:.0f} degrees, misses by {margin:.2f} mm",
        margin,
        limit,
        "mm",
    )


def _flag(name: str, good: bool, yes: str, no: str) -> CheckResult:
    return CheckResult(name, "pass" if good else "fail", yes if good else no)


def _relative(name: str, value: float, reference: float, limit: float) -> CheckResult:
    error = abs(value / reference - 1.0)
    return CheckResult(
        name,
        "pass" if error <= limit else "fail",
        f"{value:.1f} mm3 against {reference:.1f} mm3",
        error,
        limit,
        "1",
    )
