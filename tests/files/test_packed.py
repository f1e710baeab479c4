"""Meshes packed for a browser, unpacked here by the module's description alone."""

from __future__ import annotations

import base64
import json
import zlib

import numpy as np
import pytest

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.files.packed import GRID, packed_script


def unpacked(script: bytes) -> tuple[FloatArray, IntArray, dict[str, object]]:
    text = script.decode("ascii")
    assert text.startswith("self.ventModel=")
    assert text.endswith(";\n")
    model = json.loads(text.removeprefix("self.ventModel=").removesuffix(";\n"))
    data = zlib.decompress(base64.b64decode(model["data"]))
    at = 0

    def column(count: int, width: int) -> list[int]:
        nonlocal at
        planes = [data[at + k * count : at + (k + 1) * count] for k in range(width)]
        at += count * width
        before, values = 0, []
        for i in range(count):
            folded = sum(plane[i] << (8 * k) for k, plane in enumerate(planes))
            step = -((folded + 1) // 2) if folded % 2 else folded // 2
            before = (before + step) % (1 << (8 * width))
            values.append(before)
        return values

    axes = [column(model["vertices"], 2) for _ in range(3)]
    corners = column(3 * model["triangles"], model["index_bytes"])
    assert at == len(data)
    vertices = np.array(model["low_mm"]) + model["step_mm"] * np.array(axes).T
    return vertices, np.array(corners).reshape(-1, 3), model


@pytest.mark.parametrize("count", [4, 300, 70_000])
def test_corners_come_back_to_half_a_step_and_triangles_exactly(count: int) -> None:
    rng = np.random.default_rng(count)
    vertices = rng.uniform([-80.0, -20.0, -30.0], [120.0, 60.0, 2.0], (count, 3))
    triangles = rng.integers(0, count, (500, 3))
    triangles[0] = (count - 1, 0, count // 2)
    found, corners, model = unpacked(packed_script(vertices, triangles, "#123456"))
    assert (corners == triangles).all()
    half = 0.5 * float(np.ptp(vertices, axis=0).max()) / GRID
    assert float(np.abs(found - vertices).max()) < 1.01 * half
    assert half < 0.002
    assert model["colour"] == "#123456"


def test_what_lies_far_from_the_origin_keeps_its_place() -> None:
    vertices = np.array([[1000.0, -2000.0, 1.0], [1001.0, -2000.0, 1.0], [1000.0, -1999.0, 1.0]])
    found, _, _ = unpacked(packed_script(vertices, np.array([[0, 1, 2]]), "#000000"))
    assert found == pytest.approx(vertices, abs=1e-4)


def test_the_same_mesh_makes_the_same_bytes() -> None:
    vertices = np.random.default_rng(1).uniform(0.0, 9.0, (50, 3))
    triangles = np.arange(48).reshape(-1, 3)
    first = packed_script(vertices, triangles, "#ffffff")
    assert first == packed_script(vertices.copy(), triangles.copy(), "#ffffff")


@pytest.mark.parametrize("bad", ["no triangle", "not finite"])
def test_what_cannot_be_packed_is_refused(bad: str) -> None:
    vertices = np.zeros((3, 3))
    triangles = np.array([[0, 1, 2]])
    if bad == "no triangle":
        triangles = triangles[:0]
    else:
        vertices[1, 2] = np.nan
    with pytest.raises(ValueError, match="triangles and finite corners"):
        packed_script(vertices, triangles, "#ffffff")
