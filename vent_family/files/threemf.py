"""3MF files of parts as they stand on the print bed, with metadata, read back and compared."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import lib3mf
import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.atomic import write_bytes
from vent_family.mesh.triangles import is_watertight, mesh_volume_mm3

NAMESPACE: Final = "urn:vent-family:part:1"
"""Namespace of all metadata that the 3MF core specification does not name itself."""
CORE_NAMES: Final = ("Title", "Designer", "Description", "CreationDate")
"""Names of the 3MF core specification's metadata used here; these go without a namespace."""

_DECIMALS: Final = 6
_VOLUME: Final = 1e-5
_STRING: Final = "xs:string"

Rgb = tuple[float, float, float]


class ThreeMfError(RuntimeError):
    """The written file does not read back as what was meant."""


@dataclass(frozen=True, eq=False)
class ThreeMf:
    """What a 3MF file holds: one mesh, vertices (n, 3) in mm, triangles (m, 3), metadata."""

    name: str
    part_number: str
    material: str
    unit: str
    vertices: FloatArray
    triangles: IntArray
    metadata: dict[str, str]
    manifold: bool


def write_threemf(
    path: Path,
    *,
    part_number: str,
    vertices: FloatArray,
    triangles: IntArray,
    material: str,
    colour: Rgb,
    metadata: Mapping[str, str],
) -> ThreeMf:
    """Write one watertight mesh standing on z = 0 and return what reads back.

    ``metadata`` holds text by name: :data:`CORE_NAMES` as they are, others under
    :data:`NAMESPACE`. ``vertices`` are (n, 3) in mm. The bytes depend on the arguments only.

    Raises
    ------
    ThreeMfError
        if the file read back differs in mesh, volume or metadata, or is not manifold
    OSError
        if the file cannot be written
    """
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    group = model.GetMetaDataGroup()
    for name, value in metadata.items():
        space = "" if name in CORE_NAMES else NAMESPACE
        group.AddMetaData(space, name, value, _STRING, True)
    materials = model.AddBaseMaterialGroup()
    rgb = [round(255 * c) for c in colour]
    material_id = materials.AddMaterial(material, wrapper.RGBAToColor(*rgb, 255))
    mesh = model.AddMeshObject()
    mesh.SetName(part_number)
    mesh.SetPartNumber(part_number)
    mesh.SetGeometry(_positions(vertices), _triangles(triangles))
    mesh.SetObjectLevelProperty(materials.GetResourceID(), material_id)
    item = model.AddBuildItem(mesh, wrapper.GetIdentityTransform())
    item.SetPartNumber(part_number)
    # Random identifiers would make every file a different one.
    seed = f"{part_number}|{sorted(metadata.items())}"
    mesh.SetUUID(_uuid("mesh", seed))
    item.SetUUID(_uuid("item", seed))
    model.SetBuildUUID(_uuid("build", seed))
    writer = model.QueryWriter("3mf")
    writer.SetDecimalPrecision(_DECIMALS)
    write_bytes(path, bytes(writer.WriteToBuffer()))
    found = read_threemf(path)
    _compare(found, part_number, vertices, triangles, dict(metadata))
    return found


def read_threemf(path: Path) -> ThreeMf:
    """Return what a 3MF file with one mesh holds.

    Raises
    ------
    ThreeMfError
        if it holds another number of meshes, or the reader warns
    """
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(path.read_bytes())
    if reader.GetWarningCount():
        raise ThreeMfError(f"{path.name}: {reader.GetWarning(0)}")
    meshes = model.GetMeshObjects()
    if meshes.Count() != 1:
        raise ThreeMfError(f"{path.name} holds {meshes.Count()} meshes, not one")
    meshes.MoveNext()
    mesh = meshes.GetCurrentMeshObject()
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    resource, index, has_property = mesh.GetObjectLevelProperty()
    material = ""
    if has_property:
        material = model.GetBaseMaterialGroupByID(resource).GetName(index)
    return ThreeMf(
        name=mesh.GetName(),
        part_number=mesh.GetPartNumber(),
        material=material,
        unit=model.GetUnit().name,
        vertices=np.array([list(p.Coordinates) for p in mesh.GetVertices()], dtype=np.float64),
        triangles=np.array([list(t.Indices) for t in mesh.GetTriangleIndices()], dtype=np.int64),
        metadata={entry.GetName(): entry.GetValue() for entry in entries},
        manifold=bool(mesh.IsManifoldAndOriented()),
    )


def _compare(
    found: ThreeMf,
    part_number: str,
    vertices: FloatArray,
    triangles: IntArray,
    metadata: dict[str, str],
) -> None:
    faults = []
    if (found.part_number, found.unit) != (part_number, "MilliMeter"):
        faults.append("part number or unit")
    if not np.array_equal(found.triangles, triangles) or len(found.vertices) != len(vertices):
        faults.append("mesh")
    elif not found.manifold or not is_watertight(found.triangles):
        faults.append("manifold mesh")
    else:
        wanted = mesh_volume_mm3(vertices, triangles)
        if abs(mesh_volume_mm3(found.vertices, found.triangles) / wanted - 1.0) > _VOLUME:
            faults.append("volume")
    if found.metadata != metadata:
        faults.append("metadata")
    if faults:
        raise ThreeMfError(f"the 3MF file of {part_number} reads back with another {faults[0]}")


def _positions(vertices: FloatArray) -> list[Any]:
    result = []
    for point in vertices.tolist():
        position = lib3mf.Position()
        position.Coordinates[:] = point
        result.append(position)
    return result


def _triangles(triangles: IntArray) -> list[Any]:
    result = []
    for corners in triangles.tolist():
        triangle = lib3mf.Triangle()
        triangle.Indices[:] = corners
        result.append(triangle)
    return result


def _uuid(what: str, seed: str) -> str:
    return str(uuid.uuid5(uuid.NAMESPACE_URL, f"{NAMESPACE}|{what}|{seed}"))
