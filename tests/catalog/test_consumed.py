"""A column somebody fills in changes the part: none is read, checked and then ignored."""

from __future__ import annotations

import copy
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel, create_model

from tests.helpers.rows import SIZES, row
from vent_family.catalog.attached import NOTHING_ATTACHED, attached
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import CatalogFile, SourcedRow
from vent_family.evidence.context import PartContext
from vent_family.evidence.strength.flame import flame
from vent_family.evidence.water.conditions import conditions_of
from vent_family.release.jobs import jobs_of
from vent_family.release.part import write_files
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

STAMP = datetime(2026, 1, 1, tzinfo=UTC)

CHANGED: dict[str, tuple[str, dict[str, Any], Any]] = {
    # The family, what else the row says, and the cell that differs from the default.
    "family": ("rectangular", {"size": "92x92"}, "flanged"),
    "size": ("rectangular", {}, "61x60"),
    "material": ("rectangular", {}, "PP"),
    "print_orientation": ("rectangular", {}, "upright"),
    "slat_form": ("rectangular", {}, "flat"),
    "slat_thickness_mm": ("rectangular", {}, 1.6),
    "slat_foot_mm": ("rectangular", {}, 0.5),
    "pitch_mm": ("rectangular", {}, 6.6),
    "overlap_mm": ("rectangular", {}, 3.2),
    "slat_height_mm": ("rectangular", {}, 6.4),
    "bank_count": ("rectangular", {}, 4),
    "bank_gaps_mm": ("rectangular", {}, "4/3"),
    "banks_outside": ("rectangular", {"size": "100x100"}, 1),
    "bank_stagger": ("rectangular", {"slat_form": "folded"}, 0.4),
    "slopes": ("rectangular", {"bank_count": 4}, "out-in-in-out"),
    "rib_count": ("rectangular", {}, 4),
    "rib_thickness_mm": ("rectangular", {}, 2.0),
    "wall_mm": ("rectangular", {}, 2.5),
    "plate_mm": ("rectangular", {}, 2.6),
    "corner_radius_mm": ("rectangular", {}, 5.0),
    "floor_slope_deg": ("rectangular", {}, 6.0),
    "drain_height_mm": ("rectangular", {}, 4.5),
    "sill_height_mm": ("rectangular", {}, 12.0),
    "panel_thickness_mm": ("round", {}, 5.0),
    "lip_width_mm": ("rectangular", {}, 15.0),
    "lip_thickness_mm": ("rectangular", {}, 4.0),
    "fixing": ("rectangular", {}, "snap"),
    "seal": ("rectangular", {}, "gasket"),
    "locating_key": ("rectangular", {}, "notch"),
    "fan_mount": ("rectangular", {}, "60"),
    "flange_width_mm": ("flanged", {}, 30.0),
    "flange_thickness_mm": ("flanged", {}, 5.0),
    "screw": ("rectangular", {}, "M5"),
    "screw_fit": ("rectangular", {}, "coarse"),
    "head_diameter_mm": ("round", {}, 90.0),
    "back_plate_mm": ("round", {}, 3.0),
    "neck_length_mm": ("round", {}, 30.0),
    "step_thread": ("round", {}, "plain"),
    "screen_mm": ("rectangular", {}, 1.0),
    "screen_wire_mm": ("round", {"screen_mm": 1.0}, 0.4),
    "exposure": ("rectangular", {}, "jets"),
    "fan": ("rectangular", {}, "pump-hall-120"),
    "fan_position": ("rectangular", {"fan": "tank-hall-92"}, "outlet"),
    "air_direction": ("rectangular", {}, "out"),
    "vents_in_parallel": ("rectangular", {"fan": "tank-hall-92"}, 2),
    "opposite_vent": ("rectangular", {"fan": "tank-hall-92"}, "T9"),
    "other_openings": ("rectangular", {}, "sheltered"),
    "face_velocity_m_s": ("rectangular", {}, 2.5),
    "extra_depression_pa": ("rectangular", {}, 55.0),
    "mounting_tilt_deg": ("rectangular", {}, 7.0),
    "mounting_roll_deg": ("rectangular", {}, 40.0),
    "cabinet_surface_m2": ("rectangular", {"exposure": "splashing"}, 0.4),
    "flammability_class": ("rectangular", {}, "V-0"),
}
OPPOSITE = row(part_number="T9", size="100x100")
COPIED = {
    # Handed through to the files as they stand: what counts is that the files differ.
    "part_number": "T2",
    "revision": "B",
    "description": "another one",
    "colour": "black",
    "stl_orientation": "use",
}


def plain(value: Any) -> Any:
    """Return a value as nested tuples, without the rows it was made from and what only copies them.

    A field of the specification that is named as a column and holds its text or number is an echo.
    """
    if isinstance(value, CatalogRow):
        return "row"
    if isinstance(value, BaseModel):
        value = {n: getattr(value, n) for n in type(value).model_fields}
    elif is_dataclass(value):
        found = {f.name: getattr(value, f.name) for f in fields(value)}
        if isinstance(value, VentSpec):
            echo = [n for n, v in found.items() if n in COLUMNS and isinstance(v, str | float)]
            found = {n: v for n, v in found.items() if n not in echo}
        value = found
    if isinstance(value, dict):
        return tuple((k, plain(v)) for k, v in value.items())
    if isinstance(value, list | tuple):
        return tuple(plain(v) for v in value)
    return repr(value)


def inputs(made: CatalogRow) -> Any:
    """Return all that geometry and evidence work from: the specification and the conditions."""
    named, faults = attached(made, [made, OPPOSITE], None)
    assert not faults
    vent = resolve(made, named)
    asked = conditions_of(vent)
    # What the row names outside itself counts only as far as the air that follows from it.
    air = (asked.exposures, asked.calm, asked.states, asked.posture, asked.cabinet_m2)
    return plain(replace(vent, attached=NOTHING_ATTACHED)), plain(air), plain(flame(vent))


def is_consumed(before: CatalogRow, after: CatalogRow) -> bool:
    """Tell whether two rows lead to different parts."""
    return bool(inputs(before) != inputs(after))


def test_every_column_has_a_change() -> None:
    assert {*CHANGED, *COPIED, "status"} == set(COLUMNS)


@pytest.mark.parametrize("name", CHANGED)
def test_a_changed_cell_changes_the_part(name: str) -> None:
    family, others, cell = CHANGED[name]
    before = row(family, **others)
    after = CatalogRow.model_validate(before.model_dump(exclude_none=True) | {name: cell})
    assert is_consumed(before, after)
    assert not is_consumed(before, before.model_copy(update={"description": "echo"}))


def test_a_column_that_nobody_reads_is_noticed() -> None:
    wider: Any = create_model(
        "Wider", __base__=CatalogRow, fly_screen_mm=(float | None, None), status=(str, "draft")
    )
    cells = {"part_number": "T1", "family": "rectangular", "size": SIZES["rectangular"]}
    before, after = wider(**cells), wider(**cells, fly_screen_mm=2.0)
    assert before != after
    assert not is_consumed(before, after)
    assert is_consumed(before, wider(**cells, wall_mm=2.5))


def test_the_status_decides_what_is_published(tmp_path: Path) -> None:
    found = {}
    for status in ("draft", "released", "retired"):
        source = SourcedRow(2, row(status=status), "0" * 16)
        file = CatalogFile("catalog.csv", (source,), ())
        jobs = jobs_of(file, file.rows, tmp_path, drafts=False, stamp=STAMP)
        found[status] = [bool(job.target) for job in jobs]
    assert found == {"draft": [False], "released": [True], "retired": []}


def files_of(context: PartContext, folder: Path) -> dict[str, bytes]:
    """Write a part and return its bytes, of all files that are no record of it."""
    folder.mkdir()
    write_files(context, folder, "0" * 16, STAMP)
    kinds = (".step", ".stl", ".3mf")
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.suffix in kinds}


@pytest.fixture(scope="module")
def base() -> PartContext:
    """A small part that meets no water."""
    return PartContext(resolve(row(size="25x25", exposure="dry")))


@pytest.fixture(scope="module")
def base_files(base: PartContext, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What is written for it."""
    return files_of(base, tmp_path_factory.mktemp("base") / "part")


@pytest.mark.parametrize("name", COPIED)
def test_a_copied_cell_changes_the_files(
    name: str, base: PartContext, base_files: dict[str, bytes], tmp_path: Path
) -> None:
    context = copy.copy(base)
    cells = base.spec.row.model_dump(exclude_none=True) | {name: COPIED[name]}
    context.spec = resolve(CatalogRow.model_validate(cells))
    assert files_of(context, tmp_path / "part") != base_files


def test_the_same_cells_give_the_same_files(
    base: PartContext, base_files: dict[str, bytes], tmp_path: Path
) -> None:
    context = copy.copy(base)
    context.spec = resolve(row(size="25x25", exposure="dry"))
    assert files_of(context, tmp_path / "part") == base_files
