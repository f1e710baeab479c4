"""Whole released parts: what stands in the files is what was built and computed."""

from __future__ import annotations

import json
import math
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import trimesh

from tests.helpers.part21 import Exchange
from tests.helpers.rows import spec
from vent_family.base.limits import ENVELOPE_FACES_MAX
from vent_family.catalog.names import FILE_ENDINGS, files_of
from vent_family.evidence.result import CheckResult, passed
from vent_family.evidence.solid import kind as solid_kind
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.step.read import read_step
from vent_family.release import plan as plan_module
from vent_family.release.examine import CheckFailedError
from vent_family.release.jobs import build_time
from vent_family.release.part import release_part
from vent_family.release.plan import PLAN
from vent_family.release.record import PartRecord, attributes_of
from vent_family.spec.defaults import GASKET_RECESS_MM, GASKET_THICKNESS_MM

CELLS = {
    "round": {"size": "M20x1.5", "slat_form": "folded", "step_thread": "plain", "colour": "blue"},
    "flanged": {"size": "50x50", "material": "PETG", "description": "Fütterungsanlage, Halle Süd"},
    "rectangular": {
        "size": "30x30",
        "fixing": "snap",
        "stl_orientation": "use",
        "screen_mm": 1.0,
    },
}

DRAWN = {"solid_in_file", "volume_mm3", "surface_mm2", "mass_g"}
"""What is said of the very solid in a file."""

WEAK = {
    "round": {"strength: neck under a knock on the rim"},
    "flanged": {"strength: heat"},
    "rectangular": {"strength: pull that draws the vent out"},
}
"""What does not hold in these parts: it is told, and does not stop a release."""


@pytest.fixture(scope="module")
def one_of_each(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, PartRecord]]:
    found = {}
    for family, cells in CELLS.items():
        folder = tmp_path_factory.mktemp("parts") / "T1"
        made = release_part(
            spec(family, **cells),
            folder,
            row_hash="0123456789abcdef",
            time_stamp=build_time(),
            publish_if="any",
            for_people=True,
        )
        found[family] = folder, made.record
    return found


@pytest.fixture(scope="module", params=sorted(CELLS))
def released(
    request: pytest.FixtureRequest, one_of_each: dict[str, tuple[Path, PartRecord]]
) -> tuple[Path, PartRecord]:
    return one_of_each[request.param]


def test_step_reads_back_with_identity_material_and_every_attribute(
    released: tuple[Path, PartRecord],
) -> None:
    folder, record = released
    (found,) = read_step(folder / "T1.step")
    assert (found.part_number, found.revision) == ("T1", record.identity.revision)
    assert found.description == record.identity.description
    assert found.material == record.material.name
    assert found.density_g_cm3 == pytest.approx(record.material.density_g_cm3)
    assert not found.unread
    wanted = {a.name: a for a in attributes_of(record)}
    assert {a.name for a in found.attributes} == set(wanted) | DRAWN
    for attribute in found.attributes:
        if attribute.name in DRAWN:
            continue
        expected = wanted[attribute.name]
        assert attribute.unit == expected.unit
        if isinstance(expected.value, str):
            assert attribute.value == expected.value
        else:
            assert attribute.value == pytest.approx(expected.value)


def test_step_solid_is_the_measured_one(released: tuple[Path, PartRecord]) -> None:
    folder, record = released
    (found,) = read_step(folder / "T1.step")
    assert found.shape.isValid()
    volume = found.shape.Volume(1e-4)
    assert found.volume_mm3 == pytest.approx(volume, rel=1e-4)
    if record.thread is None:
        assert volume == pytest.approx(record.geometry.volume_mm3, rel=1e-6)
    else:
        # The simplified thread is a full cylinder where the true one has grooves.
        assert volume > record.geometry.volume_mm3


def test_a_stranger_reads_the_same_from_the_text(released: tuple[Path, PartRecord]) -> None:
    """A second reader, of ISO 10303-21 text, that shares nothing with the package."""
    folder, record = released
    exchange = Exchange.load(folder / "T1.step")
    product = exchange.products()["T1"]
    assert product.revision == record.identity.revision
    assert product.description == record.identity.description
    assert record.material.name in str(product.material)
    names = {a.name for a in attributes_of(record)}
    assert names <= set(product.attributes)
    volume = product.attributes["volume_as_made_mm3"]
    assert volume.si == pytest.approx(record.geometry.volume_mm3 * 1e-9, rel=1e-4)
    assert volume.dimension == {"m": 3}


def test_attributes_are_those_of_the_solid_in_the_same_file(
    released: tuple[Path, PartRecord],
) -> None:
    """Volume, surface and mass by the mesh of what was read back, file by file."""
    folder, record = released
    made = trimesh.load(folder / "T1.stl").volume
    files = [p for p in folder.glob("*.step") if "assembly" not in p.name]
    assert {"T1.step", "T1-envelope.step"} <= {p.name for p in files}
    for path in files:
        (found,) = read_step(path)
        told = {a.name: a.value for a in found.attributes}
        mesh = fine_mesh(found.shape)
        assert told["volume_mm3"] == pytest.approx(mesh.volume, rel=2e-3), path.name
        assert told["surface_mm2"] == pytest.approx(mesh.area, rel=2e-3), path.name
        mass = told["volume_mm3"] * found.density_g_cm3 / 1000.0
        assert told["mass_g"] == pytest.approx(mass, abs=0.006), path.name
        if path.name in ("T1.step", "T1-envelope.step"):
            assert told["volume_as_made_mm3"] == pytest.approx(made, rel=2e-3)
    for part in read_step(folder / "T1-assembly.step"):
        if part.part_number == "T1-gasket":
            told = {a.name: a.value for a in part.attributes}
            assert told["volume_mm3"] == pytest.approx(fine_mesh(part.shape).volume, rel=2e-3)
            assert told["solid_in_file"] == "as fitted"
    (vent,) = read_step(folder / "T1.step")
    told = {a.name: a.value for a in vent.attributes}
    if record.thread is None:
        assert told["solid_in_file"] == "exact"
        assert told["volume_mm3"] == pytest.approx(told["volume_as_made_mm3"], rel=1e-5)
    else:
        assert "thread, plain" in str(told["solid_in_file"])
        # The grooves of a full thread: several cubic millimetres, far above the rounding.
        assert told["volume_mm3"] > told["volume_as_made_mm3"] + 100.0


def test_numbers_carry_no_more_digits_than_they_mean(released: tuple[Path, PartRecord]) -> None:
    """By the text of the file: none is longer than a drawing or a measurement asks for, and no
    number stands for something that has none."""
    folder, record = released
    (found,) = read_step(folder / "T1.step")
    for attribute in found.attributes:
        if isinstance(attribute.value, float) and attribute.name not in record.catalogue:
            digits = f"{abs(attribute.value):.12g}".replace(".", "").lstrip("0").split("e")[0]
            assert len(digits) <= 6, attribute
            assert attribute.value not in (-1000.0, -10000.0), attribute


def test_the_envelope_is_light_and_tells_what_an_assembly_asks(
    released: tuple[Path, PartRecord],
) -> None:
    folder, record = released
    (found,) = read_step(folder / "T1-envelope.step")
    assert found.shape.isValid()
    assert len(found.shape.Faces()) <= ENVELOPE_FACES_MAX.value
    page = (Path(__file__).parents[2] / "docs" / "guide" / "files.md").read_text(encoding="utf-8")
    told_kb = re.search(r"under (\d+) kB", page)
    assert told_kb is not None
    size = (folder / "T1-envelope.step").stat().st_size
    assert 0.2 < size / (1000.0 * int(told_kb[1])) < 1.0
    told = {a.name: a.value for a in found.attributes}
    assert told["belongs_to"] == "T1"
    assert told["datum"] == record.datum
    assert told["opening"] == record.opening.text
    assert told["free_area_mm2"] == pytest.approx(
        min(a.area_mm2 for a in record.open_areas), rel=1e-4
    )
    box, whole = found.shape.BoundingBox(), record.geometry
    assert (box.xmin, box.ymin, box.zmin) == pytest.approx(whole.box_min_mm, abs=0.01)
    assert (box.xmax, box.zmax) == pytest.approx(
        (whole.box_max_mm[0], whole.box_max_mm[2]), abs=0.01
    )


def fine_mesh(shape: cq.Shape) -> trimesh.Trimesh:
    vertices, triangles = shape.tessellate(0.01, 0.1)
    return trimesh.Trimesh([v.toTuple() for v in vertices], triangles, process=False)


SUFFIXES = {
    # Ending of an attribute's name: what one of its unit is in SI, and its dimension.
    "_mm": (1e-3, {"m": 1}),
    "_mm2": (1e-6, {"m": 2}),
    "_mm3": (1e-9, {"m": 3}),
    "_g": (1e-3, {"kg": 1}),
    "_deg": (math.pi / 180.0, {}),
}


def test_units_in_the_step_text_are_those_the_names_end_in(
    released: tuple[Path, PartRecord],
) -> None:
    """Read by the stranger: 30 degrees are half a radian and no length."""
    folder, record = released
    found = Exchange.load(folder / "T1.step").products()["T1"].attributes
    seen = set()
    for name, quantity in found.items():
        ending = max((s for s in SUFFIXES if name.endswith(s)), key=len, default="")
        if not ending or isinstance(quantity, str):
            continue
        factor, dimension = SUFFIXES[ending]
        assert quantity.factor == pytest.approx(factor), name
        lengths = {k: v for k, v in quantity.dimension.items() if k != "rad"}
        assert lengths == dimension, name
        seen.add(ending)
    assert seen == set(SUFFIXES)
    elevation = found["sight_elevation_deg"]
    # Stated to a hundredth of a degree.
    assert elevation.si == pytest.approx(
        math.radians(record.geometry.sight_elevation_deg), abs=math.radians(0.0051)
    )


def test_assembly_holds_what_is_fitted(released: tuple[Path, PartRecord]) -> None:
    folder, record = released
    parts = {p.part_number: p for p in read_step(folder / "T1-assembly.step")}
    wanted = {"T1-assembly", "T1", "T1-panel"}
    if record.identity.family != "rectangular":
        wanted.add("T1-gasket")
    else:
        wanted |= {"T1-mesh", "T1-screen-frame"}
    if record.identity.family == "round":
        wanted.add("T1-locknut")
    assert set(parts) == wanted
    assert len(parts["T1-assembly"].instances) == len(wanted) - 1
    if "T1-gasket" in wanted:
        # Drawn pressed down: nothing in the assembly overlaps.
        height = parts["T1-gasket"].shape.BoundingBox().zlen
        assert height == pytest.approx(GASKET_RECESS_MM)
        (free,) = read_step(folder / "T1-gasket.step")
        assert free.shape.BoundingBox().zlen == pytest.approx(GASKET_THICKNESS_MM)


def test_the_catalogue_guards_against_just_the_files_that_are_written(
    one_of_each: dict[str, tuple[Path, PartRecord]],
) -> None:
    """Names are refused when they meet another part's file: no ending too few, none too many."""
    written = [{p.name for p in folder.iterdir()} for folder, _ in one_of_each.values()]
    assert set().union(*written) == set(files_of("T1"))
    assert len(set(FILE_ENDINGS)) == len(FILE_ENDINGS)
    assert {file.ending for file in PLAN} < set(FILE_ENDINGS)
    # What does not exist for a part is not written for it.
    assert set.intersection(*written) != set().union(*written)


def test_the_list_of_files_for_people_is_the_plans() -> None:
    text = (Path(__file__).parents[2] / "exports" / "README.md").read_text(encoding="utf-8")
    told = re.findall(r"`P([^`]*)`", text)
    assert sorted(ending for ending in told if ending) == sorted(FILE_ENDINGS)


def test_the_record_lists_just_the_files_there(released: tuple[Path, PartRecord]) -> None:
    folder, record = released
    assert record.files == sorted(p.name for p in folder.iterdir())


def test_stl_lies_as_the_row_says(released: tuple[Path, PartRecord]) -> None:
    folder, record = released
    header = (folder / "T1.stl").read_bytes()[:80].decode("ascii")
    assert "part=T1" in header
    assert "unit=mm" in header
    assert "row=0123456789abcdef" in header
    mesh = trimesh.load(folder / "T1.stl")
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(record.geometry.volume_mm3, rel=0.005)
    size = np.array(record.geometry.box_max_mm) - np.array(record.geometry.box_min_mm)
    assert mesh.extents == pytest.approx(size, abs=0.06)
    if record.mesh.orientation == "print":
        assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-4)
    else:
        assert mesh.bounds[0] == pytest.approx(record.geometry.box_min_mm, abs=0.06)


def test_record_counts_mass_from_density(released: tuple[Path, PartRecord]) -> None:
    folder, record = released
    data = json.loads((folder / "T1.json").read_text(encoding="utf-8"))
    mass = data["geometry"]["volume_mm3"] * data["material"]["density_g_cm3"] / 1000.0
    assert data["geometry"]["mass_g"] == pytest.approx(mass)
    assert math.isfinite(record.drain_area_mm2)
    failed = {c["name"] for c in data["checks"] if c["verdict"] != "pass"}
    assert failed == WEAK[data["identity"]["family"]]
    assert "not a certified IP rating" in data["caution"]


def test_a_failed_check_writes_nothing_and_keeps_the_last_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = spec("rectangular", size="30x30", slat_form="folded")
    target = tmp_path / "T1"
    release_part(good, target, row_hash="a" * 16, time_stamp=build_time(), publish_if="any")
    before = (target / "T1.json").read_bytes()
    failing = CheckResult("one piece", "fail", "two solids")
    monkeypatch.setattr(solid_kind, "check_vent", lambda *_: (failing,))
    with pytest.raises(CheckFailedError, match="one piece: two solids"):
        release_part(good, target, row_hash="b" * 16, time_stamp=build_time(), publish_if="any")
    assert (target / "T1.json").read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["T1"]


def without_the_mass(part: StepPart) -> StepPart:
    return replace(part, attributes=tuple(a for a in part.attributes if a.name != "mass_g"))


def mass_in_kilograms(part: StepPart) -> StepPart:
    return replace(
        part,
        attributes=tuple(replace(a, unit="kg") if a.unit == "g" else a for a in part.attributes),
    )


def panel_pushed_aside(assembly: StepAssembly) -> StepAssembly:
    (vent, (panel, place, name), *others) = assembly.children
    aside = cq.Location((0.0, 0.0, 0.1)) * place
    return replace(assembly, children=(vent, (panel, aside, name), *others))


@pytest.mark.parametrize(
    ("writer", "fault", "message"),
    [
        ("write_step", without_the_mass, r"T1\.step .*'mass_g' is missing"),
        ("write_step", mass_in_kilograms, r"'mass_g' is \S+ kg instead of \S+ g"),
        ("write_step_assembly", panel_pushed_aside, r"T1-panel: lies 0\.1 mm beside its place"),
    ],
)
def test_a_file_that_reads_back_differently_is_not_published(
    one_of_each: dict[str, tuple[Path, PartRecord]],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    writer: str,
    fault: Callable[[Any], Any],
    message: str,
) -> None:
    target = tmp_path / "T1"
    shutil.copytree(one_of_each["rectangular"][0], target)
    before = {p.name: p.read_bytes() for p in target.iterdir()}
    real = getattr(plan_module, writer)
    monkeypatch.setattr(
        plan_module, writer, lambda path, meant, header: real(path, fault(meant), header)
    )
    part = spec("rectangular", **CELLS["rectangular"])
    with pytest.raises(CheckFailedError, match=message) as told:
        release_part(part, target, row_hash="b" * 16, time_stamp=build_time(), publish_if="any")
    assert {c.name for c in told.value.failures} == {"files read back"}
    assert {p.name: p.read_bytes() for p in target.iterdir()} == before
    assert [p.name for p in tmp_path.iterdir()] == ["T1"]


def test_a_check_that_could_not_run_does_not_pass() -> None:
    assert not passed(())
    assert not passed((CheckResult("x", "not_run", "no kernel"),))
    assert passed((CheckResult("x", "pass", "fine"),))
