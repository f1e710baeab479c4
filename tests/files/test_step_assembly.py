"""STEP assemblies: structure, names and places, by both readers.

Structure checked against the usage of ISO 10303-242 in public files (PRODUCT_DEFINITION,
NEXT_ASSEMBLY_USAGE_OCCURRENCE, CONTEXT_DEPENDENT_SHAPE_REPRESENTATION); the standard's text was
not read.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import cadquery as cq
import pytest
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf

from tests.helpers.part21 import Exchange
from tests.helpers.plain_shapes import cylinder, plate, plate_volume_mm3
from tests.release.parts import ATTRIBUTES, HEADER, part
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.step.read import read_step
from vent_family.files.step.readback import assembly_differences
from vent_family.files.step.write import write_step_assembly

PIN = replace(
    part(cylinder(2.0, 10.0), "P-1", (Attribute("length", 10.0, "mm"),)),
    name="Pin",
    revision="A",
    material="PA",
    density_g_cm3=1.02,
    colour_rgb=(0.9, 0.1, 0.1),
)
TILTED = cq.Location((5.0, 6.0, 7.0), (1.0, 0.0, 0.0), 90.0)
CHILDREN: list[tuple[StepPart, cq.Location, str]] = [
    (part(plate(), "B-1"), cq.Location(), "base 'ü'"),
    (PIN, cq.Location((0.0, 0.0, 3.0)), "pin upright"),
    (PIN, TILTED, "pin tilted"),
    # Same place as the first: two instances must not melt into one.
    (PIN, cq.Location((0.0, 0.0, 3.0)), "pin again"),
]
OWN = (Attribute("parts", 4), Attribute("use", "Schlüpfrinne"), Attribute("torque note", 1.5, "N"))


def write(path: Path, **change: Any) -> None:
    arguments: dict[str, Any] = {
        "part_number": "A-1",
        "name": "Tray, complete",
        "revision": "D",
        "description": "with pins",
        "children": tuple(CHILDREN),
        "attributes": OWN,
    }
    write_step_assembly(path, StepAssembly(**{**arguments, **change}), HEADER)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("step") / "assembly.step"
    write(path)
    return path


def test_kernel_reader(file: Path) -> None:
    assembly, base, pin = read_step(file)
    assert (assembly.part_number, assembly.name, assembly.revision, assembly.description) == (
        "A-1",
        "Tray, complete",
        "D",
        "with pins",
    )
    assert assembly.attributes == OWN
    assert assembly.material is None
    assert (base.part_number, pin.part_number, pin.name, pin.revision) == ("B-1", "P-1", "Pin", "A")
    assert base.attributes == ATTRIBUTES
    assert pin.attributes == (Attribute("length", 10.0, "mm"),)
    assert (base.material, pin.material) == ("PETG", "PA")
    assert base.colour_rgb == pytest.approx((0.2, 0.45, 0.6), abs=1e-6)
    assert pin.colour_rgb == pytest.approx((0.9, 0.1, 0.1), abs=1e-6)
    assert [(i.name, i.part_number) for i in assembly.instances] == [
        ("base 'ü'", "B-1"),
        ("pin upright", "P-1"),
        ("pin tilted", "P-1"),
        ("pin again", "P-1"),
    ]
    for (_, place, _), found in zip(CHILDREN, assembly.instances, strict=True):
        for a, b in zip(place.toTuple(), found.location.toTuple(), strict=True):
            assert a == pytest.approx(b, abs=1e-9)


def test_validation_of_the_whole(file: Path) -> None:
    assembly, base, pin = read_step(file)
    assert base.volume_mm3 is not None
    assert pin.volume_mm3 is not None
    assert base.volume_mm3 == pytest.approx(plate_volume_mm3(), rel=1e-9)
    assert assembly.volume_mm3 == pytest.approx(base.volume_mm3 + 3.0 * pin.volume_mm3, rel=1e-12)
    shape = cq.Compound.makeCompound([p.shape.moved(place) for p, place, _ in CHILDREN])
    assert assembly.shape.Volume() == pytest.approx(shape.Volume(), rel=1e-9)
    assert assembly.area_mm2 == pytest.approx(shape.Area(), rel=1e-9)
    # Centre of the children, weighted by volume; the tilted pin points along -Y.
    total = base.volume_mm3 + 3.0 * pin.volume_mm3
    centre = [
        (
            base.volume_mm3 * p.shape.Center().toTuple()[axis]
            + pin.volume_mm3 * (2.0 * (0.0, 0.0, 8.0)[axis] + (5.0, 1.0, 7.0)[axis])
        )
        / total
        for axis, p in enumerate([CHILDREN[0][0]] * 3)
    ]
    assert assembly.centroid_mm == pytest.approx(centre, abs=1e-5)


def test_independent_parser(file: Path) -> None:
    parsed = Exchange.load(file)
    products = parsed.products()
    assert list(products) == ["A-1", "B-1", "P-1"], "each distinct part once"
    assert products["A-1"].attributes.keys() == {a.name for a in OWN}
    assert products["A-1"].attributes["use"] == "Schlüpfrinne"
    assert products["A-1"].material == {}
    assert products["A-1"].bodies == []
    assert products["B-1"].bodies == ["B-1"]
    assert products["P-1"].bodies == ["P-1"]
    assert products["P-1"].material["density"][1].si == pytest.approx(1020.0)
    assert set(products["A-1"].validation) == {"volume", "surface area", "centroid"}
    assert parsed.occurrences() == [
        ("1", "base 'ü'", "A-1", "B-1"),
        ("2", "pin upright", "A-1", "P-1"),
        ("3", "pin tilted", "A-1", "P-1"),
        ("4", "pin again", "A-1", "P-1"),
    ]
    assert len(parsed.all("MANIFOLD_SOLID_BREP")) == 2
    assert [pytest.approx(c, abs=1e-6) for c in parsed.colours()] == [
        (0.2, 0.45, 0.6),
        (0.9, 0.1, 0.1),
    ]


def test_places_in_the_text(file: Path) -> None:
    placements = Exchange.load(file).placements()
    upright = ((0.0, 0.0, 3.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    assert placements["base 'ü'"] == ((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    assert placements["pin upright"] == placements["pin again"] == upright
    origin, axis, x_axis = placements["pin tilted"]
    assert origin == pytest.approx((5.0, 6.0, 7.0))
    assert axis == pytest.approx((0.0, -1.0, 0.0), abs=1e-12)
    assert x_axis == pytest.approx((1.0, 0.0, 0.0), abs=1e-12)


def test_sets_hold_no_item_twice(file: Path) -> None:
    """The items of a representation are a set: sharing equal numbers must not repeat one."""
    parsed = Exchange.load(file)
    for name in ("SHAPE_REPRESENTATION", "ADVANCED_BREP_SHAPE_REPRESENTATION"):
        found = parsed.all(name)
        assert found, name
        for _, (_, items, _) in found:
            assert items
            assert len({item.number for item in items}) == len(items)


def test_equal_parts_made_twice_are_one_part(tmp_path: Path) -> None:
    twin = replace(PIN)
    assert twin is not PIN
    write(tmp_path / "a.step", children=[(PIN, cq.Location(), "a"), (twin, TILTED, "b")])
    assert list(Exchange.load(tmp_path / "a.step").products()) == ["A-1", "P-1"]


RACK = StepAssembly(
    "R-1", "Rack", None, "", ((PIN, TILTED, "one"), (PIN, cq.Location(), "two")), OWN[:1]
)


TURNED_RACK = replace(RACK, children=((PIN, TILTED, "one"), (PIN, TILTED, "two")))
SHIFTED = cq.Location((0.0, 0.0, 1e-3))
SHIFTED_RACK = replace(RACK, children=((PIN, TILTED, "one"), (PIN, SHIFTED, "two")))
MOVED = PIN.shape.moved(cq.Location((0.0, 0.0, 1.0)))
_MIRROR = gp_Trsf()
_MIRROR.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)))
MIRRORED = cq.Location(_MIRROR)


def test_a_tree(tmp_path: Path) -> None:
    """One part at the origin of two assemblies, an assembly used on two levels."""
    row = StepAssembly("R-2", "Row", "B", "", ((RACK, cq.Location(), "rack"), (PIN, TILTED, "pin")))
    children = [(RACK, TILTED, "first"), (row, cq.Location(), "row"), (PIN, cq.Location(), "pin")]
    write(tmp_path / "a.step", children=children)
    parsed = Exchange.load(tmp_path / "a.step")
    products = parsed.products()
    assert set(products) == {"A-1", "R-1", "R-2", "P-1"}
    assert products["R-1"].revision == ""
    assert len(parsed.all("MANIFOLD_SOLID_BREP")) == 1
    assert sorted(use[1:] for use in parsed.occurrences()) == [
        ("first", "A-1", "R-1"),
        ("one", "R-1", "P-1"),
        ("pin", "A-1", "P-1"),
        ("pin", "R-2", "P-1"),
        ("rack", "R-2", "R-1"),
        ("row", "A-1", "R-2"),
        ("two", "R-1", "P-1"),
    ]
    places = parsed.places()
    assert places["R-1", "one"][0] == places["A-1", "first"][0] == (5.0, 6.0, 7.0)
    assert places["R-1", "two"][0] == places["A-1", "pin"][0] == (0.0, 0.0, 0.0)
    pin, six = products["P-1"].validation["volume"][1].value, 6.0
    assert products["A-1"].validation["volume"][1].value == pytest.approx(six * pin)


def test_what_is_not_known_is_not_written(tmp_path: Path) -> None:
    nothing: dict[str, Any] = {"revision": None, "colour_rgb": None, "material": None}
    bare = replace(PIN, density_g_cm3=None, material_description="", **nothing)
    stuff = replace(PIN, part_number="P-2", density_g_cm3=None)
    children = [(bare, TILTED, "a"), (stuff, TILTED, "b")]
    write(tmp_path / "a.step", children=children, revision=None)
    parsed = Exchange.load(tmp_path / "a.step")
    products = parsed.products()
    assert (products["P-1"].revision, products["P-1"].material) == ("", {})
    assert list(products["P-2"].material) == ["material name"]
    assert len(parsed.colours()) == 1
    assert parsed.header["FILE_DESCRIPTION"][0] == ["A-1: Tray, complete"]
    assert [product.bodies for product in products.values()] == [[], ["P-1"], ["P-2"]]


def test_one_solid_in_several_parts(tmp_path: Path) -> None:
    """The same shape of the kernel, alone, under another number, and twice within a third part."""
    alone = replace(part(cylinder(), "S-1"), colour_rgb=(1.0, 0.0, 0.0))
    other = replace(alone, part_number="S-2", colour_rgb=(0.0, 1.0, 0.0))
    twice = cq.Compound.makeCompound([alone.shape, alone.shape.moved(TILTED)])
    pair = replace(alone, part_number="S-3", shape=twice, colour_rgb=(0.0, 0.0, 1.0))
    for order in ((alone, other, pair), (pair, other, alone)):
        children = tuple((one, cq.Location(), one.part_number) for one in order)
        assembly = StepAssembly("A-1", "All", "A", "", children)
        write_step_assembly(tmp_path / "a.step", assembly, HEADER)
        assert assembly_differences(tmp_path / "a.step", assembly) == []
        parsed = Exchange.load(tmp_path / "a.step")
        bodies = {number: found.bodies for number, found in parsed.products().items()}
        assert bodies == {"A-1": [], "S-1": ["S-1"], "S-2": ["S-2"], "S-3": ["S-3", "S-3"]}
        assert len(parsed.all("MANIFOLD_SOLID_BREP")) == 4
        assert len(parsed.colours()) == 4


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"children": []}, "no children"),
        ({"children": [(PIN, TILTED, "a"), (PIN, TILTED, "a")]}, "different name"),
        ({"children": [(PIN, TILTED, " ")]}, "different name"),
        ({"part_number": "P-1"}, "its own number"),
        ({"children": [(PIN, TILTED, "a"), (replace(PIN, name="Bolt"), TILTED, "b")]}, "'P-1'"),
        (
            {"children": [(PIN, TILTED, "a"), (replace(PIN, shape=cylinder()), TILTED, "b")]},
            "'P-1'",
        ),
        ({"children": [(PIN, TILTED, "a"), (PIN, MIRRORED, "b")]}, "'b' mirrored or scaled"),
        (
            {"children": [(PIN, TILTED, "a"), (replace(PIN, shape=MOVED), TILTED, "b")]},
            "two different parts numbered 'P-1'",
        ),
        (
            {"children": [(RACK, TILTED, "a"), (replace(RACK, name="Rail"), TILTED, "b")]},
            "two different parts numbered 'R-1'",
        ),
        (
            {"children": [(RACK, TILTED, "a"), (TURNED_RACK, TILTED, "b")]},
            "two different parts numbered 'R-1'",
        ),
        (
            {"children": [(RACK, TILTED, "a"), (SHIFTED_RACK, TILTED, "b")]},
            "two different parts numbered 'R-1'",
        ),
        ({"children": [(RACK, TILTED, "a")], "part_number": "P-1"}, "its own number"),
        ({"colours": {"pin": (0.0, 0.0, 1.0)}}, "colours 'pin', which is no coloured part in it"),
        ({"colours": {"pin again": (0.0, 0.0, 2.0)}}, "'pin again' in assembly .* has the colour"),
        ({"said": {"pin": OWN}}, "attributes of 'pin', which is not in it"),
        ({"said": {"pin again": OWN[:1] * 2}}, "two attributes named parts"),
        ({"attributes": (OWN[0], OWN[0])}, "two attributes named parts"),
        ({"name": ""}, "no name"),
    ],
)
def test_refused(tmp_path: Path, change: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        write(tmp_path / "a.step", **change)
    assert os.listdir(tmp_path) == []
