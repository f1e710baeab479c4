"""A family that no other file knows of goes the whole way, from catalogue text to its record.

Registered are one family and one builder, both of ``tests/helpers/octagon.py``.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.helpers.families import fourth_family
from vent_family.catalog.reader import read_catalog
from vent_family.catalog.reference import column_reference
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.water.frontage import frontage
from vent_family.files.step.read import read_step
from vent_family.release.part import ReleasedPart, release_part
from vent_family.spec.areas import open_areas, smallest
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

TEXT = (
    "part_number;family;size;status;lip_width_mm;exposure;drain_height_mm\n"
    # With a drain of 4 mm a slat would end 0.09 mm from a corner of the cavity.
    "OCT-90;Octagonal;90x80;released;9,5;splashing;4,3\n"
    "OCT-40;octagonal;40x90;released;;;\n"
    "OCT-91;octagonal;90x80;released;;;\n"
    "OCT-92;octagonal;M32x1.5;released;;;\n"
)


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    path = tmp_path_factory.mktemp("fourth") / "catalog.csv"
    path.write_text(TEXT, encoding="utf-8")
    with fourth_family():
        yield path


@pytest.fixture(scope="module")
def vent(catalogue: Path) -> VentSpec:
    return resolve(read_catalog(catalogue).rows[0].row)


@pytest.fixture(scope="module")
def released(vent: VentSpec, catalogue: Path) -> tuple[ReleasedPart, Path]:
    folder = catalogue.parent / vent.part_number
    stamp = datetime(2026, 1, 2, tzinfo=UTC)
    return release_part(vent, folder, row_hash="0" * 16, time_stamp=stamp, publish_if="any"), folder


def test_the_catalogue_reads_it(catalogue: Path, vent: VentSpec) -> None:
    found = read_catalog(catalogue)
    assert [s.row.part_number for s in found.rows] == ["OCT-90", "OCT-40", "OCT-91"]
    assert vent.row.lip_width_mm == 9.5
    assert [(p.part_number, p.column) for p in found.problems] == [("OCT-92", "size")]
    assert "a thread size does not fit the octagonal family" in found.problems[0].message
    assert "octagonal" in column_reference()


def test_its_own_rule_refuses_a_row(catalogue: Path) -> None:
    with pytest.raises(Exception, match="an octagon below 50 mm has no floor"):
        resolve(read_catalog(catalogue).rows[1].row)


def test_no_straight_line_passes_and_its_areas_are_its_own(vent: VentSpec) -> None:
    assert vent.section.closed
    areas = {a.name: a.area_mm2 for a in open_areas(vent)}
    assert set(areas) == {"front", "bank 1", "bank 2", "bank 3", "inner"}
    # By hand: cavity 84.4 x 74.4 mm less four corners of 15.63 mm (16 mm, moved in by 2.8 mm),
    # three ribs of 1.6 mm less.
    corner = 16.0 - 2.8 * (2.0 - 2.0**0.5)
    behind = (84.4 * 74.4 - 2.0 * corner**2) - 3 * 1.6 * 74.4
    across = vent.body.clear_area_mm2((-45.0, 45.0), (-40.0, 40.0))
    assert across == pytest.approx(84.4 * 74.4 - 2.0 * corner**2)
    assert areas["front"] < behind
    assert smallest(open_areas(vent)).area_mm2 == min(areas.values())
    # The floor at the bottom lies between the corners.
    assert frontage(vent).floor_width_mm == pytest.approx(84.4 - 2.0 * corner - 3 * 1.6, abs=0.01)


def test_air_passes_with_a_plausible_resistance(vent: VentSpec) -> None:
    air = vent_air(vent)
    assert air.opening_mm2 == pytest.approx(90.0 * 80.0 - 2.0 * 16.0**2)
    assert [m.name for m in air.leave["in"]] == ["sill"]


def test_it_is_released_whole(released: tuple[ReleasedPart, Path]) -> None:
    part, folder = released
    names = {f.name for f in part.files}
    for ending in (".step", ".stl", ".3mf", ".json", "-assembly.step", "-print.md", "-print.png"):
        assert f"OCT-90{ending}" in names
    assert not [n for n in names if "locknut" in n or "gasket" in n]
    assert names == {p.name for p in folder.iterdir()}
    record = json.loads((folder / "OCT-90.json").read_text(encoding="utf-8"))
    assert record["identity"]["family"] == "octagonal"
    assert record["opening"]["kind"] == "octagon"
    assert record["opening"]["text"] == "octagon 90 x 80 mm, corners cut by 16 mm"
    assert record["thread"] is None
    assert record["catalogue"]["lip_width_mm"] == 9.5


def test_every_kind_of_evidence_speaks(released: tuple[ReleasedPart, Path]) -> None:
    part, folder = released
    verdicts = {c.name: c.verdict for c in part.record.checks}
    for name in (
        "valid solid",
        "one piece",
        "watertight mesh",
        "volume against independent estimate",
        "no straight path",
        "print: no supports",
        "print: thinnest wall",
        "print: mark legible",
        "strength: slat under a thumb",
    ):
        assert verdicts[name] == "pass", name
    told = json.loads((folder / "OCT-90.json").read_text(encoding="utf-8"))
    assert told["water"]["conditions"]["exposures"] == ["splashing"]
    assert len(told["water"]["exposures"]) == 1
    assert told["air"]["k_in"] > 1.0
    assert told["air"]["opening_area_mm2"] == pytest.approx(90.0 * 80.0 - 2.0 * 16.0**2)
    assert told["printing"]["strength"][0]["safety"] > 1.5
    assert told["printing"]["cost"]["orders"]


def test_the_step_file_holds_the_solid_and_tells_the_opening(
    released: tuple[ReleasedPart, Path],
) -> None:
    part, folder = released
    (found,) = read_step(folder / "OCT-90.step")
    assert found.shape.isValid()
    assert found.shape.Volume(tol=1e-4) == pytest.approx(part.record.geometry.volume_mm3, rel=1e-5)
    told = {a.name: a.value for a in found.attributes}
    assert told["family"] == "octagonal"
    assert told["opening"] == "octagon 90 x 80 mm, corners cut by 16 mm"
    assembly = {p.part_number for p in read_step(folder / "OCT-90-assembly.step")}
    assert {"OCT-90", "OCT-90-panel"} <= assembly
