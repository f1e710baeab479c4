"""A whole cabinet as STEP: read by the kernel's reader, by a parser of the text, and by our own.

What is expected of names, places, colours and volumes comes from CadQuery's own walk through the
assembly; of numbers, materials and attributes from what ``tests/enclosure/cabinet.py`` says.
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest

from tests.enclosure.cabinet import LONG, TRICKY, cabinet
from tests.helpers.part21 import Exchange
from tests.helpers.step_tree import leaves
from vent_family.enclosure.export import export_assembly
from vent_family.files.step.parts import StepAssembly
from vent_family.files.step.read import placed_parts, read_step
from vent_family.files.step.readback import assembly_differences

TIME = "2026-03-04T05:06:07Z"


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, StepAssembly]:
    path = tmp_path_factory.mktemp("cabinet") / "cabinet.step"
    tree = export_assembly(cabinet(), path, time=TIME)
    assert isinstance(tree, StepAssembly)
    return path, tree


@pytest.fixture(scope="module")
def parsed(written: tuple[Path, StepAssembly]) -> Exchange:
    exchange = Exchange.load(written[0])
    exchange.products()
    return exchange


def test_names_places_colours_and_volumes_are_those_of_the_assembly(
    written: tuple[Path, StepAssembly],
) -> None:
    found = leaves(written[0])
    wanted = list(cabinet())
    assert len(found) == len(wanted) == 16
    for leaf, (shape, name, place, colour) in zip(found, wanted, strict=True):
        path = tuple(name.split("/")[1:])
        assert leaf.path[:-1] == path[:-1]
        assert leaf.path[-1] == path[-1] or leaf.path[-1] == "screw 1-2", "the one without a name"
        there = shape.moved(place)
        assert leaf.shape.Volume() == pytest.approx(there.Volume(), rel=1e-9)
        assert leaf.shape.Center().toTuple() == pytest.approx(there.Center().toTuple(), abs=1e-6)
        for one, other in zip(_moments(leaf.shape), _moments(there), strict=True):
            assert one == pytest.approx(other, rel=1e-6, abs=1e-3), "turned as it should be"
        if colour is None:
            assert leaf.colour is None
        else:
            assert leaf.colour == pytest.approx(colour.toTuple(), abs=1e-6)


def _moments(shape: cq.Shape) -> list[float]:
    matrix = cq.Shape.matrixOfInertia(shape)
    return [value for row in matrix for value in row]


def test_the_same_solid_stands_in_the_file_once(parsed: Exchange) -> None:
    bodies = {product.number: len(product.bodies) for product in parsed.products().values()}
    assert {number: count for number, count in bodies.items() if count} == {
        "BODY-300": 5,
        "DOOR-300": 1,
        "hinge above": 1,
        "knob 'ü'": 1,
        "DV-60": 1,
        "DV-60-gasket": 1,
        "FAN-80": 1,
        "screw 1": 1,
    }
    text = parsed.text
    assert len(re.findall(r"=MANIFOLD_SOLID_BREP\(", text)) == 12
    uses = Counter(part for _, _, _, part in parsed.occurrences())
    assert uses["DV-60-fitted"] == 3
    assert uses["DV-60"] == uses["DV-60-gasket"] == 1
    assert uses["screw 1"] == 4
    assert uses["hinge above"] == 2


def test_what_the_products_say(parsed: Exchange) -> None:
    products = parsed.products()
    whole, body, fan = products["WC-300"], products["DV-60"], products["FAN-80"]
    assert (whole.name, whole.revision, whole.description) == (
        "Wall cabinet 300 x 400",
        "B",
        LONG,
    )
    assert len(LONG) == 300
    assert whole.attributes["heat_w"].si == 60.0
    assert whole.attributes["ambient_temperature_c"].dimension == {"K": 1}
    assert whole.attributes["shelves"] == 2
    assert whole.attributes["override_lean_deg"].si == pytest.approx(np.radians(4.0))
    assert whole.attributes["override_by"] == TRICKY
    assert (body.name, body.revision) == ("DV-60", "C")
    assert body.attributes["free_area_mm2"].si == pytest.approx(1152.0e-6)
    assert body.attributes["air_flow_m3_h"].si == pytest.approx(21.5 / 3600.0)
    assert (body.attributes["slat_count"], body.attributes["finish"]) == (8, "matt")
    assert (fan.revision, fan.description) == ("", TRICKY)
    assert (fan.attributes["voltage"], fan.attributes["spare"]) == ("24 V DC", "yes")
    assert products["screw 1"].attributes["length_mm"].si == pytest.approx(0.012)


def test_materials(parsed: Exchange) -> None:
    products = parsed.products()
    stated = {number: product.material for number, product in products.items() if product.material}
    assert {number: held["material name"] for number, held in stated.items()} == {
        "BODY-300": ("1.4404", "stainless steel"),
        "DOOR-300": ("1.4404", "stainless steel"),
        "DV-60": ("ASA", "ASA"),
        "DV-60-gasket": ("EPDM", "EPDM"),
        "screw 1": ("A2", "A2"),
    }
    densities = {n: held["density"][1].si for n, held in stated.items() if "density" in held}
    assert densities == pytest.approx({"BODY-300": 7980.0, "DOOR-300": 7980.0, "DV-60": 1070.0})


def test_what_one_use_says(parsed: Exchange) -> None:
    """What is said of one use alone stands with it, what of all with the part."""
    said = {key: held for key, held in parsed.said.items() if held}
    assert said.pop(("spares", "spare")) == {"override": "not fitted"}
    torques = {name: held["torque"].si for (whole, name), held in said.items()}
    assert torques == {"screw 1": 1.5, "screw 2": 1.5, "screw 3": 1.5, "screw 1-2": 1.2}
    assert {whole for whole, _ in said} == {"screws"}
    assert "torque" not in parsed.products()["screw 1"].attributes


def test_validation_of_every_level(parsed: Exchange) -> None:
    """Volume, surface and centroid of the assemblies, worked out from the parts' own numbers."""
    products, places = parsed.products(), parsed.places()
    for number in ("door", "DV-60-fitted", "vents", "screws", "WC-300"):
        volume, area, moment = 0.0, 0.0, np.zeros(3)
        for _, name, whole, part in parsed.occurrences():
            if whole != number:
                continue
            held = products[part].validation
            origin, z_axis, x_axis = (np.array(axis) for axis in places[whole, name])
            turn = np.column_stack([x_axis, np.cross(z_axis, x_axis), z_axis])
            size = held["volume"][1].value
            volume += size
            area += held["surface area"][1].value
            moment += size * (turn @ np.array(held["centroid"][1]) + origin)
        stated = products[number].validation
        assert stated["volume"][1].value == pytest.approx(volume, rel=1e-12)
        assert stated["surface area"][1].value == pytest.approx(area, rel=1e-12)
        assert stated["centroid"][1] == pytest.approx(tuple(moment / volume), abs=1e-5)


def test_it_reads_back(written: tuple[Path, StepAssembly]) -> None:
    path, tree = written
    assert assembly_differences(path, tree) == []
    found = read_step(path)
    uses = placed_parts(found)
    by_kernel = leaves(path)
    assert [use.path for use in uses] == [leaf.path for leaf in by_kernel]
    for use, leaf in zip(uses, by_kernel, strict=True):
        centre = use.shape().Center().toTuple()
        assert centre == pytest.approx(leaf.shape.Center().toTuple(), abs=1e-6)
        shown = (1.0, *(use.colour_rgb or ()))
        assert shown == pytest.approx((1.0, *(leaf.colour or ()))[: len(shown)], abs=1e-6)
    assert Counter(use.part.part_number for use in uses)["DV-60"] == 3


def test_bytes_depend_on_the_assembly_alone(
    tmp_path: Path, written: tuple[Path, StepAssembly]
) -> None:
    """Built anew, at other addresses and with other names for what has none."""
    path = tmp_path / "cabinet.step"
    export_assembly(cabinet(), path, time=TIME)
    assert path.read_bytes() == written[0].read_bytes()
