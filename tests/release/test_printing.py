"""What a released part says about its printing, and the files that go with it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.helpers.rows import spec
from vent_family.files.threemf import read_threemf
from vent_family.mesh.triangles import mesh_volume_mm3
from vent_family.release.examine import CheckFailedError, check_part
from vent_family.release.jobs import build_time
from vent_family.release.part import release_part
from vent_family.release.record import PartRecord, attributes_of
from vent_family.spec.vent import VentSpec


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> tuple[VentSpec, Path, PartRecord]:
    part = spec("round", size="M20x1.5", slat_form="folded", material="PA")
    folder = tmp_path_factory.mktemp("parts") / "T1"
    made = release_part(
        part, folder, row_hash="0123456789abcdef", time_stamp=build_time(), publish_if="any"
    )
    return part, folder, made.record


def test_files_are_there_and_named(released: tuple[VentSpec, Path, PartRecord]) -> None:
    _, folder, record = released
    for name in ("T1.3mf", "T1-locknut.3mf", "T1-print.png", "T1-print.md"):
        assert name in record.files
        assert (folder / name).stat().st_size > 1000


def test_record_holds_the_evidence(released: tuple[VentSpec, Path, PartRecord]) -> None:
    part, folder, record = released
    printing = json.loads((folder / "T1.json").read_text(encoding="utf-8"))["printing"]
    bridges = [p for p in printing["places"] if p["kind"] == "bridge"]
    assert bridges[0]["largest_mm"] == pytest.approx(part.longest_bridge_mm, rel=0.03)
    assert {p["kind"] for p in printing["places"]} <= {"bridge", "steep", "ledge"}
    assert [w["print_orientation"] for w in printing["ways"]] == ["face_down", "upright"]
    assert printing["strength"][0]["name"] == "slat under a thumb"
    assert [o["parts"] for o in printing["cost"]["orders"]] == [1, 100, 1000, 10000]
    assert printing["settings"]["fine_layers_mm"][0][2] == 0.12
    # The solid's mass without three quarters of its cores; filament of 1.75 mm, PA at 1.02 g/cm3.
    laid = record.geometry.mass_g * (1.0 - 0.75 * printing["core_share"])
    assert record.printing.printed_mass_g == pytest.approx(laid, rel=0.03)
    # A low head has cores in its back plate and above its ceiling; most of it is walls.
    assert printing["core_share"] > 0.08
    assert record.printing.printed_mass_g == pytest.approx(
        printing["filament_m"] * 1000.0 * 2.40528 * 1.02e-3, rel=1e-4
    )
    assert printing["wall_share"] + printing["skin_share"] + printing[
        "core_share"
    ] == pytest.approx(1.0)


def test_step_carries_the_key_values(released: tuple[VentSpec, Path, PartRecord]) -> None:
    _, _, record = released
    found = {a.name: a for a in attributes_of(record)}
    assert found["print_time_h"].unit == "h"
    assert found["print_settings"].value == record.printing.settings.text
    assert found["longest_printed_bridge_mm"].unit == "mm"
    assert found["check: print: no supports"].value == "pass"
    assert found["check: strength: slat under a thumb"].value == "pass"


def test_3mf_stands_on_the_bed_as_the_stl_does(
    released: tuple[VentSpec, Path, PartRecord],
) -> None:
    _, folder, record = released
    found = read_threemf(folder / "T1.3mf")
    assert found.metadata["RowHash"] == "0123456789abcdef"
    assert found.metadata["PrintOrientation"] == "face_down"
    assert found.material == "PA"
    volume = mesh_volume_mm3(found.vertices, found.triangles)
    assert volume == pytest.approx(record.geometry.volume_mm3, rel=0.005)
    size = np.ptp(found.vertices, axis=0)
    box = np.subtract(record.geometry.box_max_mm, record.geometry.box_min_mm)
    assert size == pytest.approx(box, abs=0.06)
    assert found.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-6)
    assert found.metadata["Title"] == "T1"


def test_3mf_of_the_locknut_is_its_own(released: tuple[VentSpec, Path, PartRecord]) -> None:
    """M20: 25 mm across flats, 6 mm thick (1.1 d + 3 mm and 5 mm + 0.06 d, common practice)."""
    _, folder, _ = released
    found = read_threemf(folder / "T1-locknut.3mf")
    assert found.metadata["Title"] == "T1-locknut"
    assert found.part_number == "T1-locknut"
    assert found.metadata["PrintOrientation"] == "washer face up"
    size = sorted(np.ptp(found.vertices, axis=0))
    assert size == pytest.approx([6.0, 25.0, 25.0 * 2.0 / 3.0**0.5], abs=0.06)
    assert found.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-6)


def test_report_reads_for_people(released: tuple[VentSpec, Path, PartRecord]) -> None:
    _, folder, _ = released
    text = (folder / "T1-print.md").read_text(encoding="utf-8")
    for word in ("if it were filled solid", "is core, filled to 25 %", "keep water out"):
        assert word in text
    words = ("no supports", "Predicted", "invented", "break", "face down, as stated")
    for word in (*words, "T1-print.png"):
        assert word in text


def test_report_tells_water_as_the_record_does(
    released: tuple[VentSpec, Path, PartRecord],
) -> None:
    _, folder, _ = released
    text = (folder / "T1-print.md").read_text(encoding="utf-8")
    water = json.loads((folder / "T1.json").read_text(encoding="utf-8"))["water"]
    chapter = text.split("\n## Will water get in?\n")[1]
    assert water["exposures"]
    for told in water["exposures"]:
        air, verdict = told["air"], told["verdict"]
        (row,) = [line for line in chapter.splitlines() if line.startswith(f"| {told['name']} |")]
        cells = [cell.strip() for cell in row.strip("|").split("|")]
        assert cells[1:3] == [verdict["outcome"], verdict["mechanism"]]
        assert cells[3] == f"{air['flow_m3_h']:.1f} {air['direction']}"
        assert float(cells[4]) == pytest.approx(air["face_velocity_m_s"], abs=5e-3)
        pa = [air[f"depression_{end}pa"] for end in ("", "low_", "high_")]
        band = " ({1} to {2})" if f"{pa[1]:.0f}" != f"{pa[2]:.0f}" else ""
        assert cells[5].startswith(("{0} Pa" + band).format(*(f"{p:.0f}" for p in pa)))
        assert verdict["deciding_test"] in chapter
    for word in ("Insects", "dust", "snow and ice", "not a rating"):
        assert word in chapter
    # What is told first, too.
    assert f"Water: {water['exposures'][0]['name']} predicted to" in text.split("\n## ")[0]


def test_part_that_does_not_print_is_not_released(tmp_path: Path) -> None:
    """Bays beyond the longest bridge are refused as a row; a shop that bridges less is a check."""
    from dataclasses import replace

    part = spec("rectangular", size="40x40", rib_count=0)
    profile = part.material.print_profile
    timid = replace(part.material, printing=replace(profile, bridge_max_mm=20.0))
    with pytest.raises(CheckFailedError, match="longest"):
        release_part(
            replace(part, material=timid),
            tmp_path / "T1",
            row_hash="0" * 16,
            time_stamp=build_time(),
            publish_if="any",
        )
    assert not (tmp_path / "T1").exists()


def test_weak_slats_are_told_but_not_refused() -> None:
    weak = spec("rectangular", size="60x50", slat_form="flat", slat_thickness_mm=0.8, rib_count=1)
    assert all(c.verdict == "pass" for c in check_part(weak))
