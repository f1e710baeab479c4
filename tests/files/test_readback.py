"""A written STEP file is read back: what is right passes, and every planted fault is named.

The faults are planted in the text of the file, where the writer's own code has no part in them, or
by writing something else than what is asked for afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cadquery as cq
import pytest

from tests.files.test_step_assembly import CHILDREN, OWN, PIN, TILTED
from tests.helpers.plain_shapes import cylinder, helical_ridge, plate, slatted
from tests.release.parts import ATTRIBUTES, HEADER, part
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.step.readback import assembly_differences, part_differences
from vent_family.files.step.same import same_in_assembly
from vent_family.files.step.write import write_step, write_step_assembly

GOOD = replace(
    part(plate(), "P-9"),
    name="Plate",
    description="flat",
    attributes=(
        Attribute("length", 10.0, "mm"),
        Attribute("slope", 45.0, "deg"),
        Attribute("count", 7),
        Attribute("note", "leave dry"),
        Attribute("bore", 5, "mm"),
    ),
)
WHOLE = StepAssembly("A-1", "Tray, complete", "D", "with pins", tuple(CHILDREN), OWN)
RACK = StepAssembly(
    "R-1",
    "Rack",
    None,
    "",
    ((PIN, TILTED, "one"), (PIN, cq.Location(), "two")),
    (Attribute("pins", 2),),
    {"two": (0.1, 0.2, 0.3, 0.4)},
    {"one": (Attribute("torque", 1.5, "N m"),)},
)
TREE = replace(WHOLE, children=(*CHILDREN, (RACK, TILTED, "rack"), (RACK, cq.Location(), "spare")))


def edited(path: Path, pattern: str, new: str, count: int = 1) -> None:
    """Change the text of a file; the place must be there."""
    text = path.read_text(encoding="ascii")
    changed, found = re.subn(pattern, new, text, count=count)
    assert found, pattern
    path.write_text(changed, encoding="ascii")


@pytest.mark.parametrize(
    "written",
    [GOOD, part(slatted(6)), part(helical_ridge()), part(cylinder(), "HT/ü")],
    ids=["plate", "slats", "helix", "cylinder"],
)
def test_good_parts_read_back(tmp_path: Path, written: StepPart) -> None:
    write_step(tmp_path / "a.step", written, HEADER)
    assert part_differences(tmp_path / "a.step", written) == []


@pytest.mark.parametrize(
    ("written", "word"),
    [
        (replace(RACK, name="Rail"), "R-1: name is 'Rail' instead of 'Rack'"),
        (replace(RACK, revision="B"), "R-1: revision is 'B' instead of ''"),
        (replace(RACK, attributes=()), "R-1: the attribute 'pins' is missing"),
        (replace(RACK, colours={}), r"two: colour of its own is None instead of \(0.1"),
        (replace(RACK, colours={"two": (0.1, 0.2, 0.4, 0.4)}), "two: colour of its own is"),
        (replace(RACK, colours={"two": (0.1, 0.2, 0.3, 0.6)}), "two: colour of its own is"),
        (replace(RACK, colours={"two": (0.1, 0.2, 0.3)}), "two: colour of its own is"),
        (replace(RACK, said={}), "one: the attribute 'torque' is missing"),
        (
            replace(RACK, said={**RACK.said, "two": (Attribute("x", 1),)}),
            "two: the attribute 'x' was never written",
        ),
        (
            replace(RACK, children=(RACK.children[0], (PIN, TILTED, "two"))),
            "two: lies .* beside its place",
        ),
        (
            replace(RACK, children=(*RACK.children, (PIN, TILTED, "three")), said={}),
            "R-1: holds one, three, two instead of one, two",
        ),
    ],
)
def test_what_differs_deep_in_a_tree_is_named(
    tmp_path: Path, written: StepAssembly, word: str
) -> None:
    children = (*CHILDREN, (written, TILTED, "rack"), (written, cq.Location(), "spare"))
    write_step_assembly(tmp_path / "a.step", replace(TREE, children=children), HEADER)
    assert assembly_differences(tmp_path / "a.step", replace(TREE, children=children)) == []
    assert any(re.search(word, found) for found in assembly_differences(tmp_path / "a.step", TREE))


def test_good_assembly_reads_back(tmp_path: Path) -> None:
    write_step_assembly(tmp_path / "a.step", WHOLE, HEADER)
    assert assembly_differences(tmp_path / "a.step", WHOLE) == []


@pytest.mark.parametrize(
    ("pattern", "new", "word"),
    [
        (r"PROPERTY_DEFINITION\('count'", "PROPERTY_DEFINITION('counts'", "'count' is missing"),
        (r"PROPERTY_DEFINITION\('count'", "PROPERTY_DEFINITION('counts'", "'counts' was never"),
        (r"ITEM\('count',7\)", "ITEM('count',8)", "'count' is 8 instead of"),
        (r"'leave dry'", "'leave wet'", "'leave wet' instead of"),
        (r"LENGTH_MEASURE\(10\.\)", "LENGTH_MEASURE(10.001)", "10.001 mm instead of"),
        (r"PLANE_ANGLE_MEASURE\(45\.\)", "PLANE_ANGLE_MEASURE(54.)", "54.0 deg instead of"),
        (r"VOLUME_MEASURE\([^)]*\)", "VOLUME_MEASURE(7000.)", "stated volume is 7000.0 mm3"),
        (r"AREA_MEASURE\([^)]*\)", "AREA_MEASURE(7000.)", "stated area is 7000.0 mm2"),
        (r"'centre point',\([^)]*\)", "'centre point',(0.,0.,1.)", "stated centroid is"),
        (r"POSITIVE_RATIO_MEASURE\([^)]*\)", "POSITIVE_RATIO_MEASURE(2.7)", "density in g/cm3"),
        (r"'PETG'", "'ABS'", "material is 'ABS' instead of 'PETG'"),
        (r"COLOUR_RGB\('',0\.2", "COLOUR_RGB('',0.9", "colour is"),
        (r"PRODUCT\('P-9'", "PRODUCT('P-8'", "holds P-8 instead of P-9"),
        (r"FORMATION\('C'", "FORMATION('B'", "revision is 'B' instead of 'C'"),
        # A hole drilled larger: the volume stated is still the good one.
        (r"CYLINDRICAL_SURFACE\('',(#\d+),2\.5\)", r"CYLINDRICAL_SURFACE('',\1,2.6)", "volume is"),
    ],
)
def test_faults_in_the_text_are_named(tmp_path: Path, pattern: str, new: str, word: str) -> None:
    path = tmp_path / "a.step"
    write_step(path, GOOD, HEADER)
    edited(path, pattern, new)
    found = part_differences(path, GOOD)
    assert any(word in clause for clause in found), found
    assert all("\n" not in clause for clause in found)


def test_a_unit_that_became_another_one(tmp_path: Path) -> None:
    """The degree of the slope becomes a radian: the number stays, its meaning does not."""
    path = tmp_path / "a.step"
    write_step(path, GOOD, HEADER)
    text = path.read_text(encoding="ascii")
    item = re.search(
        r"MEASURE_REPRESENTATION_ITEM\('slope',PLANE_ANGLE_MEASURE\(45\.\),(#\d+)", text
    )
    radian = re.search(r"(#\d+)=\(NAMED_UNIT\(\*\)PLANE_ANGLE_UNIT\(\)SI_UNIT\(\$,\.RADIAN", text)
    assert item is not None
    assert radian is not None
    edited(path, re.escape(item[0]), item[0].replace(item[1], radian[1]))
    assert part_differences(path, GOOD) == [
        "P-9: the attribute 'slope' has a value or unit that cannot be read"
    ]


@pytest.mark.parametrize("name", [a.name for a in GOOD.attributes])
def test_an_attribute_left_out(tmp_path: Path, name: str) -> None:
    fewer = tuple(a for a in GOOD.attributes if a.name != name)
    write_step(tmp_path / "a.step", replace(GOOD, attributes=fewer), HEADER)
    found = part_differences(tmp_path / "a.step", GOOD)
    assert found == [f"P-9: the attribute {name!r} is missing"]


@pytest.mark.parametrize(
    ("unit", "other"), [("mm", "m"), ("mm", "1"), ("deg", "mm"), ("N", "Pa"), ("min", "s")]
)
def test_a_unit_written_wrong(tmp_path: Path, unit: str, other: str) -> None:
    wanted = replace(GOOD, attributes=(Attribute("x", 1.5, unit),))
    written = replace(GOOD, attributes=(Attribute("x", 1.5, other),))
    write_step(tmp_path / "a.step", written, HEADER)
    (clause,) = part_differences(tmp_path / "a.step", wanted)
    assert clause == f"P-9: the attribute 'x' is 1.5 {other} instead of 1.5 {unit}"


def test_another_solid(tmp_path: Path) -> None:
    for shape, word in (
        (slatted(6), "volume is"),
        (
            cq.Compound.makeCompound([plate(), plate().moved(cq.Location((99, 0, 0)))]),
            "solids is 2",
        ),
    ):
        write_step(tmp_path / "a.step", replace(GOOD, shape=shape), HEADER)
        assert any(word in clause for clause in part_differences(tmp_path / "a.step", GOOD))


def test_a_measure_taken_over_from_another_shape(tmp_path: Path) -> None:
    """A stale measure is written into the validation properties: the solid gives it away."""
    stale = replace(GOOD, mass=part(cylinder()).mass_properties())
    write_step(tmp_path / "a.step", stale, HEADER)
    assert any("volume is" in clause for clause in part_differences(tmp_path / "a.step", stale))


def moved(change: Callable[[list[tuple[StepPart, cq.Location, str]]], None]) -> StepAssembly:
    children = list(CHILDREN)
    change(children)
    return replace(WHOLE, children=tuple(children))


@pytest.mark.parametrize(
    ("written", "word"),
    [
        (
            moved(lambda c: c.__setitem__(1, (PIN, cq.Location((0.0, 0.0, 3.01)), c[1][2]))),
            "pin upright: lies 0.01 mm beside its place",
        ),
        (
            moved(lambda c: c.__setitem__(2, (PIN, cq.Location((5.0, 6.0, 7.0)), c[2][2]))),
            "pin tilted: lies",
        ),
        (moved(lambda c: c.__setitem__(2, (PIN, TILTED, "pin bent"))), "pin bent"),
        (moved(lambda c: c.__setitem__(3, (c[0][0], c[3][1], c[3][2]))), "pin again: is a B-1"),
        (moved(lambda c: c.pop()), "holds base"),
        (moved(lambda c: c.pop(0)), "holds A-1, P-1 instead of A-1, B-1, P-1"),
        (replace(WHOLE, revision="E"), "revision is 'E' instead of 'D'"),
        (replace(WHOLE, attributes=OWN[1:]), "A-1: the attribute 'parts' is missing"),
        (
            moved(
                lambda c: c.__setitem__(0, (replace(c[0][0], attributes=ATTRIBUTES[1:]), *c[0][1:]))
            ),
            "B-1: the attribute 'slat_count' is missing",
        ),
    ],
)
def test_faults_of_an_assembly_are_named(tmp_path: Path, written: StepAssembly, word: str) -> None:
    write_step_assembly(tmp_path / "a.step", written, HEADER)
    found = assembly_differences(tmp_path / "a.step", WHOLE)
    assert any(word in clause for clause in found), found


def test_a_place_changed_in_the_text(tmp_path: Path) -> None:
    path = tmp_path / "a.step"
    write_step_assembly(path, WHOLE, HEADER)
    edited(path, r"CARTESIAN_POINT\('',\(5\.,6\.,7\.\)\)", "CARTESIAN_POINT('',(5.,6.5,7.))")
    assert "pin tilted: lies 0.5 mm beside its place" in assembly_differences(path, WHOLE)


def test_a_file_that_is_none(tmp_path: Path) -> None:
    path = tmp_path / "a.step"
    path.write_text("solid a\n", encoding="ascii")
    assert "not a STEP file" in " ".join(part_differences(path, GOOD))
    assert "not a STEP file" in " ".join(assembly_differences(path, WHOLE))
    with pytest.raises(FileNotFoundError):
        part_differences(tmp_path / "none.step", GOOD)


PLATE, ROD = CHILDREN[0][0], PIN


@pytest.fixture
def fitted(tmp_path: Path) -> tuple[Path, Path, Path]:
    files = tmp_path / "whole.step", tmp_path / "plate.step", tmp_path / "pin.step"
    write_step_assembly(files[0], WHOLE, HEADER)
    write_step(files[1], PLATE, HEADER)
    write_step(files[2], ROD, HEADER)
    return files


def test_parts_stand_in_the_assembly_record_for_record(fitted: tuple[Path, Path, Path]) -> None:
    whole, *parts = fitted
    assert same_in_assembly(whole, parts) == set(parts)


@pytest.mark.parametrize(
    ("pattern", "new"),
    [
        (r"LENGTH_MEASURE\(10\.\)", "LENGTH_MEASURE(11.)"),
        (r"CYLINDRICAL_SURFACE\('',(#\d+),2\.\)", r"CYLINDRICAL_SURFACE('',\1,2.1)"),
        (r"COLOUR_RGB\('',0\.9", "COLOUR_RGB('',0.8"),
        (r"VOLUME_MEASURE\(1", "VOLUME_MEASURE(2"),
        (r"FORMATION\('A'", "FORMATION('B'"),
        # Left out altogether: what remains still stands in the assembly.
        (r"#\d+=PROPERTY_DEFINITION_REPRESENTATION\([^;]*\);\n", ""),
        (r"#\d+=GENERAL_PROPERTY_ASSOCIATION\([^;]*\);\n", ""),
        (r"#\d+=MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION\([^;]*\);\n", ""),
        # The same said twice.
        (r"(#\d+)(=COLOUR_RGB\([^;]*\);\n)", r"\1\2#99999\2"),
    ],
)
def test_a_part_that_says_something_else_is_noticed(
    fitted: tuple[Path, Path, Path], pattern: str, new: str
) -> None:
    whole, plate_file, pin_file = fitted
    edited(pin_file, pattern, new)
    assert same_in_assembly(whole, [plate_file, pin_file]) == {plate_file}
