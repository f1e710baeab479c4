"""3MF: read back with lib3mf and, by a stranger, as the zip archive of XML that it is.

The 3MF core specification is cited from memory: an OPC package whose 3D/3dmodel.model part holds
resources, vertices, triangles and a build.
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from tests.helpers.print_shapes import box, mesh
from vent_family.files.threemf import NAMESPACE, ThreeMfError, read_threemf, write_threemf
from vent_family.mesh.triangles import mesh_volume_mm3

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
METADATA = {
    "Title": "T1",
    "Description": "Fütterung, Halle «Süd» & 3 < 4",
    "RowHash": "0123456789abcdef",
    "PrintSettings": "0.4 mm nozzle",
}


def write(path: Path, **changes: object) -> Path:
    vertices, triangles = mesh(box((0, 10), (0, 20), (0, 5)))
    values: dict[str, object] = {
        "part_number": "T1",
        "vertices": vertices,
        "triangles": triangles,
        "material": "PETG",
        "colour": (0.16, 0.37, 0.60),
        "metadata": METADATA,
    }
    write_threemf(path, **(values | changes))  # type: ignore[arg-type]
    return path


def test_reads_back(tmp_path: Path) -> None:
    found = read_threemf(write(tmp_path / "a.3mf"))
    assert (found.name, found.part_number, found.material) == ("T1", "T1", "PETG")
    assert found.unit == "MilliMeter"
    assert found.metadata == METADATA
    assert found.manifold
    assert mesh_volume_mm3(found.vertices, found.triangles) == pytest.approx(1000.0)
    assert found.vertices[:, 2].min() == 0.0


def test_a_stranger_reads_the_same(tmp_path: Path) -> None:
    with zipfile.ZipFile(write(tmp_path / "a.3mf")) as archive:
        assert archive.testzip() is None
        root = ElementTree.fromstring(archive.read("3D/3dmodel.model"))
    assert root.get("unit") == "millimeter"
    metadata = {m.get("name"): m.text for m in root.iter(f"{CORE}metadata")}
    assert metadata["Title"] == "T1"
    assert metadata["Description"] == METADATA["Description"]
    (prefixed,) = [n for n in metadata if n and n.endswith(":RowHash")]
    assert metadata[prefixed] == METADATA["RowHash"]
    points = np.array([[float(v.get(a, "nan")) for a in "xyz"] for v in root.iter(f"{CORE}vertex")])
    faces = np.array(
        [[int(t.get(a, "-1")) for a in ("v1", "v2", "v3")] for t in root.iter(f"{CORE}triangle")]
    )
    assert mesh_volume_mm3(points, faces) == pytest.approx(1000.0)
    (item,) = root.iter(f"{CORE}item")
    assert item.get("partnumber") == "T1"
    base = next(root.iter(f"{CORE}base"))
    assert (base.get("name"), base.get("displaycolor")) == ("PETG", "#295E99FF")


def test_own_names_have_a_namespace(tmp_path: Path) -> None:
    with zipfile.ZipFile(write(tmp_path / "a.3mf")) as archive:
        text = archive.read("3D/3dmodel.model").decode("utf-8")
    assert NAMESPACE in text


def test_bytes_depend_on_the_content_only(tmp_path: Path) -> None:
    first, second = write(tmp_path / "a.3mf"), write(tmp_path / "b.3mf")
    assert first.read_bytes() == second.read_bytes()
    other = write(tmp_path / "c.3mf", metadata=METADATA | {"RowHash": "f" * 16})
    assert first.read_bytes() != other.read_bytes()


def test_torn_mesh_is_refused(tmp_path: Path) -> None:
    vertices, triangles = mesh(box((0, 10), (0, 20), (0, 5)))
    with pytest.raises(ThreeMfError, match="manifold"):
        write(tmp_path / "a.3mf", vertices=vertices, triangles=triangles[1:])
