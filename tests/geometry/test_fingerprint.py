"""Fingerprints of solids: what they notice, and what they must not."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path

import cadquery as cq
import pytest

from tests.helpers.plain_shapes import PLATE_HOLE_RADIUS_MM, PLATE_HOLES, PLATE_MM, plate
from tests.helpers.rows import spec
from vent_family.base.limits import SAME_EDGES, SAME_FACES, SAME_MOMENTS, SAME_PLACE
from vent_family.geometry.fingerprint import (
    FIXED_POINTS_MM,
    Fingerprint,
    FingerprintError,
    differences,
    fingerprint,
    from_text,
)
from vent_family.geometry.vent import build_solids

CELLS = {"family": "round", "size": "M20x1.5", "slat_form": "folded"}
"""A vent with a true thread: the only faces whose integrals are not exact."""


@pytest.fixture(scope="module")
def vent() -> cq.Solid:
    return build_solids(spec(**CELLS)).vent


@pytest.fixture(scope="module")
def found(vent: cq.Solid) -> Fingerprint:
    return fingerprint(vent)


def through_step(shape: cq.Shape, path: Path) -> cq.Shape:
    """Write and read by CadQuery's own functions, not by the package's."""
    cq.exporters.export(cq.Workplane(obj=shape), str(path))
    return cq.importers.importStep(str(path)).val().Solids()[0]


def test_a_box_measures_what_closed_forms_say() -> None:
    a, b, c = 7.0, 11.0, 13.0
    shape = cq.Solid.makeBox(a, b, c).moved(cq.Location((3.0, -2.0, 5.0)))
    got = fingerprint(shape)
    middle = (3.0 + a / 2, -2.0 + b / 2, 5.0 + c / 2)
    assert (got.faces, got.edges) == (6, 12)
    assert got.volume_mm3 == pytest.approx(a * b * c)
    assert got.surface_mm2 == pytest.approx(2 * (a * b + b * c + c * a))
    assert got.length_mm == pytest.approx(4 * (a + b + c))
    assert got.squares_mm4 == pytest.approx(2 * ((a * b) ** 2 + (b * c) ** 2 + (c * a) ** 2))
    assert got.centroid_mm == pytest.approx(middle)
    assert got.low_mm == pytest.approx((3.0, -2.0, 5.0))
    assert got.high_mm == pytest.approx((10.0, 9.0, 18.0))
    mass = a * b * c / 12.0
    wanted = (mass * (b * b + c * c), mass * (a * a + c * c), mass * (a * a + b * b), 0.0, 0.0, 0.0)
    assert got.moments_mm5 == pytest.approx(wanted, abs=1e-6)
    sides, half = (a, b, c), (a / 2, b / 2, c / 2)
    faces, edges = [], []
    for axis in range(3):
        others = [k for k in range(3) if k != axis]
        for sign in (-1, 1):
            centre = list(middle)
            centre[axis] += sign * half[axis]
            faces.append((sides[others[0]] * sides[others[1]], centre))
        for signs in itertools.product((-1, 1), repeat=2):
            centre = list(middle)
            for k, sign in zip(others, signs, strict=True):
                centre[k] += sign * half[k]
            edges.append((sides[axis], centre))
    for k, point in enumerate(FIXED_POINTS_MM):
        assert got.faces_mm3[k] == pytest.approx(sum(s * math.dist(m, point) for s, m in faces))
        assert got.edges_mm2[k] == pytest.approx(sum(s * math.dist(m, point) for s, m in edges))


def test_products_of_inertia_are_about_the_centroid() -> None:
    """Two equal cubes joined along a diagonal: the product is theirs by the parallel axes."""
    cube = cq.Solid.makeBox(10.0, 10.0, 10.0)
    got = fingerprint(cube.fuse(cube.moved(cq.Location((5.0, 5.0, 10.0)))).Solids()[0])
    # Each of 1000 mm3, its centre 2.5 mm off in x and y and 5 mm in z: minus the sum of m x y.
    assert got.moments_mm5[3] == pytest.approx(-2000.0 * 2.5 * 2.5)
    assert got.moments_mm5[4:] == pytest.approx((-2000.0 * 2.5 * 5.0,) * 2)


def test_rebuilt_it_is_the_same(found: Fingerprint) -> None:
    assert differences(found, fingerprint(build_solids(spec(**CELLS)).vent)) == []


def test_a_step_file_holds_the_same(vent: cq.Solid, found: Fingerprint, tmp_path: Path) -> None:
    read = fingerprint(through_step(vent, tmp_path / "vent.step"))
    assert differences(found, read) == []
    # The tolerances are not so wide that a spread ten times as large would pass unnoticed.
    assert read.volume_mm3 == pytest.approx(found.volume_mm3, rel=SAME_FACES.value / 2)
    assert read.edges_mm2 == pytest.approx(found.edges_mm2, rel=SAME_EDGES.value / 5)


def test_another_process_finds_the_same_digits(found: Fingerprint) -> None:
    script = (
        "from tests.helpers.rows import spec\n"
        "from vent_family.geometry.fingerprint import fingerprint\n"
        "from vent_family.geometry.vent import build_solids\n"
        f"print(fingerprint(build_solids(spec(**{CELLS!r})).vent).text())"
    )
    result = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    assert differences(from_text(result.stdout), found) == []


def test_triangles_on_the_shape_change_nothing(found: Fingerprint) -> None:
    fresh = build_solids(spec(**CELLS)).vent
    fresh.mesh(0.05, 0.3)
    assert fingerprint(fresh) == found


def holed(*holes: tuple[float, float, float]) -> cq.Shape:
    """Return the plate with holes at x, y and of a radius, mm."""
    width, height, depth = PLATE_MM
    body = cq.Solid.makeBox(width, height, depth).moved(
        cq.Location((-width / 2, -height / 2, -depth / 2))
    )
    for x, y, radius in holes:
        body = body.cut(cq.Solid.makeCylinder(radius, depth, cq.Vector(x, y, -depth / 2)))
    return body.Solids()[0]


HOLES = [(x, y, PLATE_HOLE_RADIUS_MM) for x, y in PLATE_HOLES]


@pytest.mark.parametrize(("dx", "dy"), [(0.01, 0.0), (0.0, 0.01), (-0.007, 0.007)])
def test_a_hole_moved_by_a_hundredth_is_noticed(dx: float, dy: float) -> None:
    (x, y, radius), *others = HOLES
    told = differences(fingerprint(plate()), fingerprint(holed((x + dx, y + dy, radius), *others)))
    assert told
    assert any("edges lie elsewhere" in sentence for sentence in told)
    assert not any("volume" in sentence or "number of" in sentence for sentence in told)


def test_a_hole_moved_by_a_hundredth_in_a_large_vent_is_noticed() -> None:
    """By the sums themselves: one hole for M4 of a vent of 2,958 faces moves."""
    whole = Fingerprint(
        2958, 8700, 315000.0, 442900.0, 80000.0, *[(0.0,) * 3] * 3, (1e9,) * 3 + (0.0,) * 3,
        1e9, (7e7,) * 3, (1.6e7,) * 3,
    )  # fmt: skip
    rims = 2.0 * math.pi * 4.5 + 4.0
    moved = replace(whole, edges_mm2=tuple(v + rims * 0.01 * 0.58 for v in whole.edges_mm2))
    assert differences(whole, moved)


def test_a_face_moved_while_the_volume_stays_is_noticed() -> None:
    """One step of a stair is 0.02 mm higher, an equal one as much lower."""

    def stair(first: float, second: float) -> cq.Shape:
        body = cq.Solid.makeBox(30.0, 10.0, 5.0)
        for x, height in ((0.0, first), (20.0, second)):
            step = cq.Solid.makeBox(10.0, 10.0, height).moved(cq.Location((x, 0.0, 5.0)))
            body = body.fuse(step)
        return body.moved(cq.Location((-15.0, 0.0, 0.0))).clean().Solids()[0]

    told = differences(fingerprint(stair(3.0, 3.0)), fingerprint(stair(3.02, 2.98)))
    assert any(s.startswith("faces lie elsewhere, area times distance from -167") for s in told)
    assert not any(s.startswith("volume") for s in told)


@pytest.mark.parametrize("plane", ["YZ", "XZ", "XY"])
def test_a_mirrored_part_is_noticed(vent: cq.Solid, found: Fingerprint, plane: str) -> None:
    assert differences(found, fingerprint(vent.mirror(plane)))


def test_a_mirrored_plate_with_a_mirrored_box_is_noticed() -> None:
    """Its box, volume, faces and edges are the same; only where they lie differs."""
    told = differences(fingerprint(plate()), fingerprint(plate().mirror("XZ")))
    assert any("centroid y" in sentence for sentence in told)
    assert any("edges lie elsewhere" in sentence for sentence in told)


TOLERANCES = {
    "volume_mm3": SAME_FACES.value,
    "surface_mm2": SAME_FACES.value,
    "squares_mm4": SAME_FACES.value,
    "length_mm": SAME_EDGES.value,
}


@pytest.mark.parametrize("name", TOLERANCES)
def test_tolerances_are_the_stated_ones(found: Fingerprint, name: str) -> None:
    value = getattr(found, name)
    for part, noticed in ((0.9, False), (1.1, True)):
        moved = replace(found, **{name: value * (1.0 + part * TOLERANCES[name])})
        assert bool(differences(found, moved)) == noticed


def test_every_number_is_compared(found: Fingerprint) -> None:
    for field in fields(Fingerprint):
        value = getattr(found, field.name)
        if isinstance(value, int):
            assert len(differences(found, replace(found, **{field.name: value + 1}))) == 1
        elif isinstance(value, float):
            assert len(differences(found, replace(found, **{field.name: value * 1.0001}))) == 1
        else:
            for k in range(len(value)):
                step = 2 * SAME_PLACE.value
                if field.name == "moments_mm5":
                    step = 2 * SAME_MOMENTS.value * sum(value[:3])
                elif not field.name.endswith("_mm"):
                    step = 1e-6 * abs(value[k])
                changed = tuple(v + step * (i == k) for i, v in enumerate(value))
                assert len(differences(found, replace(found, **{field.name: changed}))) == 1


def test_the_text_is_one_line_and_reads_back(found: Fingerprint) -> None:
    text = found.text()
    assert "\n" not in text
    assert "," not in text
    assert len(text) < 500
    assert differences(found, from_text(text)) == []
    assert from_text(text).text() == text


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("faces=", "face=", "faces is missing"),
        ("volume_mm3=", "volume_mm3=x", "volume_mm3 is 'x"),
        ("/", "", "not 3 numbers"),
        ("faces=", "faces=1.5 more=", "edges"),
        ("length_mm=", "length_mm=nan", "length_mm"),
    ],
)
def test_a_damaged_text_is_refused(found: Fingerprint, old: str, new: str, message: str) -> None:
    with pytest.raises(FingerprintError) as told:
        from_text(found.text().replace(old, new))
    if message != "edges":
        assert message in str(told.value)


def test_numbers_are_told_with_the_digits_that_differ(found: Fingerprint) -> None:
    moved = replace(found, volume_mm3=found.volume_mm3 + 0.0123)
    (told,) = differences(found, moved)
    before, now = found.volume_mm3, found.volume_mm3 + 0.0123
    assert told == f"volume {now:.4f} mm3, before {before:.4f} mm3"
