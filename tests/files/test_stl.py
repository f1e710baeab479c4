"""Binary STL: bytes by hand, mesh by trimesh as a second reader.

Layout (80 bytes, count, 50 bytes a triangle, little-endian): common practice, no source.
"""

from __future__ import annotations

import os
import struct
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from tests.helpers.plain_shapes import (
    cylinder,
    plate,
    plate_volume_mm3,
    slatted,
    slatted_volume_mm3,
)
from tests.helpers.stl import write_mesh, write_stl
from vent_family.files.stl import header_text
from vent_family.mesh.triangles import mesh_of

HEADER = header_text("HT-204", "C", "0123456789abcdef")


def load(path: Path) -> Any:
    return trimesh.load_mesh(path, file_type="stl")


@pytest.mark.parametrize(
    ("shape", "volume_mm3"),
    [
        (plate(), plate_volume_mm3()),
        (slatted(50), slatted_volume_mm3(50)),
        (cylinder(), cylinder().Volume()),
    ],
    ids=["plate", "slatted", "cylinder"],
)
def test_second_reader(tmp_path: Path, shape: cq.Shape, volume_mm3: float) -> None:
    path = tmp_path / "a.stl"
    facts = write_stl(path, shape, HEADER, 0.02, 0.2)
    mesh = load(path)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert len(mesh.faces) == facts.triangles
    assert len(mesh.vertices) == facts.vertices
    assert mesh.volume == pytest.approx(volume_mm3, rel=0.005)
    assert facts.volume_mm3 == pytest.approx(mesh.volume, rel=1e-6)
    assert facts.size_mm == pytest.approx(np.ptp(mesh.bounds, axis=0), abs=1e-4)
    assert facts.watertight
    # Euler: three sides a triangle, each shared by two.
    assert facts.edge_multiplicity == ((2, facts.triangles * 3 // 2),)


def test_bytes(tmp_path: Path) -> None:
    path = tmp_path / "a.stl"
    facts = write_stl(path, cq.Solid.makeBox(1.0, 2.0, 3.0), HEADER, 0.1, 0.5)
    data = path.read_bytes()
    assert facts.triangles == 12
    assert len(data) == 84 + 50 * 12
    assert data[:80] == b"unit=mm lies=print part=HT-204 rev=C row=0123456789abcdef".ljust(80)
    assert struct.unpack("<I", data[80:84]) == (12,)
    for index in range(12):
        *numbers, spare = struct.unpack("<12fH", data[84 + 50 * index : 134 + 50 * index])
        normal, a, b, c = np.array(numbers).reshape(4, 3)
        assert spare == 0
        assert np.cross(b - a, c - a) @ normal > 0.0
        assert np.linalg.norm(normal) == pytest.approx(1.0)
        # Outwards: away from the middle of the box.
        assert (a - [0.5, 1.0, 1.5]) @ normal > 0.0
        assert set(np.concatenate([a, b, c])) <= {0.0, 1.0, 2.0, 3.0}


def test_location_moves_the_mesh_only(tmp_path: Path) -> None:
    shape = cq.Solid.makeBox(1.0, 2.0, 3.0)
    lying = cq.Location((0.0, 0.0, 5.0), (1.0, 0.0, 0.0), 90.0)
    facts = write_stl(tmp_path / "a.stl", shape, HEADER, 0.1, 0.5, lying)
    mesh = load(tmp_path / "a.stl")
    assert mesh.bounds == pytest.approx(np.array([[0.0, -3.0, 5.0], [1.0, 0.0, 7.0]]), abs=1e-6)
    assert mesh.volume == pytest.approx(6.0, rel=1e-6)
    assert facts.size_mm == pytest.approx((1.0, 3.0, 2.0), abs=1e-6)
    assert shape.BoundingBox().zmax == pytest.approx(3.0, abs=1e-6)


def test_finer_after_coarser_is_finer_alone(tmp_path: Path) -> None:
    write_stl(tmp_path / "alone.stl", plate(), HEADER, 0.005, 0.1)
    shape = plate()
    shape.mesh(0.5, 1.0)
    coarse = write_stl(tmp_path / "coarse.stl", shape, HEADER, 0.5, 1.0)
    fine = write_stl(tmp_path / "after.stl", shape, HEADER, 0.005, 0.1)
    write_stl(tmp_path / "again.stl", shape, HEADER, 0.5, 1.0)
    assert fine.triangles > coarse.triangles
    assert (tmp_path / "after.stl").read_bytes() == (tmp_path / "alone.stl").read_bytes()
    assert (tmp_path / "again.stl").read_bytes() == (tmp_path / "coarse.stl").read_bytes()


def test_mesh_made_before_gives_the_same_file(tmp_path: Path) -> None:
    place = cq.Location((0.0, 0.0, 5.0), (1.0, 0.0, 0.0), 90.0)
    vertices, triangles = mesh_of(plate(), 0.02, 0.2)
    kept = vertices.copy()
    made = write_mesh(tmp_path / "a.stl", vertices, triangles, HEADER, place)
    assert made == write_stl(tmp_path / "b.stl", plate(), HEADER, 0.02, 0.2, place)
    assert (tmp_path / "a.stl").read_bytes() == (tmp_path / "b.stl").read_bytes()
    assert np.array_equal(vertices, kept)


def test_open_mesh_is_reported(tmp_path: Path) -> None:
    facts = write_stl(tmp_path / "a.stl", cq.Face.makePlane(2.0, 1.0), HEADER, 0.1, 0.5)
    assert not facts.watertight
    assert facts.edge_multiplicity == ((1, 4), (2, 1))


def test_interrupted_export_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.stl"
    write_stl(path, plate(), HEADER, 0.1, 0.5)
    old = path.read_bytes()

    def fail(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.replace", fail)
    with pytest.raises(KeyboardInterrupt):
        write_stl(path, cylinder(), HEADER, 0.1, 0.5)
    assert path.read_bytes() == old
    assert os.listdir(tmp_path) == ["a.stl"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("solid part", "solid"),
        ("  SOLID", "solid"),
        ("x" * 81, "not 81"),
        ("Größe", "ASCII"),
        ("a\nb", "ASCII"),
    ],
)
def test_refused_headers(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        write_stl(tmp_path / "a.stl", plate(), text, 0.1, 0.5)
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        (("HT-1", "B", "ab12"), "unit=mm lies=print part=HT-1 rev=B row=ab12"),
        (("solid 1", "B", "ab"), "unit=mm lies=print part=solid_1 rev=B row=ab"),
        (("Öl-7 €", "é", "ab"), "unit=mm lies=print part=Ol-7_? rev=e row=ab"),
        (
            ("HT-1", "B", "0" * 64),
            "unit=mm lies=print part=HT-1 rev=B row=000000000000000~",
        ),
        (
            ("N" * 60, "R" * 20, "0" * 64),
            f"unit=mm lies=print part={'N' * 24}~ rev={'R' * 11}~ row=00000000~",
        ),
    ],
)
def test_header_text(fields: tuple[str, str, str], text: str) -> None:
    assert header_text(*fields) == text
    assert len(text) <= 80


@given(st.text(), st.text(), st.text())
def test_header_text_always_fits(number: str, revision: str, row_hash: str) -> None:
    text = header_text(number, revision, row_hash)
    assert len(text) <= 80
    assert text.isascii()
    assert text.isprintable()
    assert text.startswith("unit=mm lies=print part=")
    assert header_text(number, "A", row_hash, orientation="use").startswith("unit=mm lies=use ")
    assert [field.split("=")[0] for field in text.split(" ")] == [
        "unit",
        "lies",
        "part",
        "rev",
        "row",
    ]
