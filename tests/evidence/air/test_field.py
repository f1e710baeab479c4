"""Solved fields: kept, found again, and laid over the section in the right place."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from tests.helpers.rows import spec
from vent_family.base.cache import CACHE_VARIABLE
from vent_family.evidence.air import field as fields
from vent_family.evidence.air.field import (
    cell_phase_mm,
    drop_air,
    rounded_re,
    section_field,
    stack_flow,
)
from vent_family.evidence.air.flow2d import solve_stack
from vent_family.evidence.water.airfield import potential_flow
from vent_family.evidence.water.solved_air import solved_flow
from vent_family.spec.forms import IN, OUT
from vent_family.spec.section import Section

CELLS = 8


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(autouse=True)
def own_cache(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CACHE_VARIABLE, str(cache))


@pytest.fixture
def section() -> Section:
    return spec("rectangular").section


def test_a_field_is_solved_once(section: Section, monkeypatch: pytest.MonkeyPatch) -> None:
    first = stack_flow(section.stack, 100.0, cells=CELLS)

    def never(*args: object, **kwargs: object) -> None:
        raise AssertionError("solved again")

    monkeypatch.setattr(fields, "solve_stack", never)
    again = stack_flow(section.stack, 101.0, cells=CELLS)  # rounds to the same number
    assert again.k == first.k
    assert again.grid == first.grid
    np.testing.assert_allclose(again.u, first.u, atol=1e-5)
    with pytest.raises(AssertionError, match="solved again"):
        stack_flow(section.stack, 300.0, cells=CELLS)
    with pytest.raises(AssertionError, match="solved again"):
        stack_flow(section.stack, 100.0, direction="out", cells=CELLS)


def test_a_damaged_entry_is_solved_again(section: Section, cache: Path) -> None:
    good = stack_flow(section.stack, 100.0, cells=CELLS)
    entries = list((cache / "air").glob("*.npz"))
    assert entries
    for entry in entries:
        entry.write_bytes(entry.read_bytes()[:100])
    assert stack_flow(section.stack, 100.0, cells=CELLS).k == pytest.approx(good.k, rel=1e-6)
    assert not [p for p in (cache / "air").iterdir() if p.name.startswith(".")]


def test_a_flow_found_again_is_the_flow_kept(section: Section) -> None:
    """Bit for bit but for the fields, which are kept in single precision."""
    again = [stack_flow(section.stack, 100.0, cells=CELLS) for _ in range(2)]
    for name in ("k", "k_spread", "re", "mass_error", "unsteady", "steps", "settled"):
        one, other = (getattr(flow, name) for flow in again)
        assert (type(one), one) == (type(other), other)
    solved = fields.solve_stack(section.stack, rounded_re(100.0), cells=CELLS)
    assert again[1].k == solved.k
    np.testing.assert_array_equal(again[1].pressure, solved.pressure.astype(np.float32))


def test_an_entry_that_lacks_a_part_is_solved_again(section: Section, cache: Path) -> None:
    good = stack_flow(section.stack, 100.0, cells=CELLS)
    for entry in (cache / "air").glob("*.npz"):
        with np.load(entry) as kept:
            arrays = {name: kept[name] for name in kept.files if name != "steps"}
        np.savez_compressed(entry, **arrays)
    assert stack_flow(section.stack, 100.0, cells=CELLS).steps == good.steps


def test_a_cache_that_cannot_be_written_is_no_error(
    section: Section, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = stack_flow(section.stack, 100.0, cells=CELLS)
    (tmp_path / "home").write_text("no folder")
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "home"))
    assert stack_flow(section.stack, 100.0, cells=CELLS).k == good.k
    assert (tmp_path / "home").read_text() == "no folder"


def test_reynolds_numbers_are_rounded_within_the_range() -> None:
    assert rounded_re(1.0) == pytest.approx(10.0)
    assert rounded_re(1e6) == pytest.approx(1995.3, abs=0.1)
    assert rounded_re(400.0) == pytest.approx(398.1, abs=0.1)


def test_field_lies_where_the_slats_are(section: Section) -> None:
    """Every slat node of the repeated cell falls on a slat of the section, and the other way."""
    flow = stack_flow(section.stack, 100.0, cells=CELLS)
    step = flow.grid.step_mm
    phase = cell_phase_mm(section)
    slats = shapely.union_all([Polygon(s.outline) for s in section.slats if s.whole])
    inner, outer = section.stack_z_mm
    z = np.arange(inner + step, outer, step)
    whole = [s for s in section.slats if s.whole]
    low = max(min(y for s in whole if s.bank == b for _, y in s.outline) for b in range(3))
    high = min(max(y for s in whole if s.bank == b for _, y in s.outline) for b in range(3))
    y = np.arange(low + 2, high - 2, step)
    column = np.clip(((outer - z - flow.grid.s0_mm) / step - 0.5).round().astype(int), 0, None)
    row = ((y - phase) / step - 0.5).round().astype(int) % flow.grid.ny
    on_cell = flow.solid[np.ix_(row, column)].T
    zz, yy = np.meshgrid(z, y, indexing="ij")
    on_slat = shapely.contains_xy(slats, zz, yy)
    assert on_slat.any()
    assert (on_cell == on_slat).mean() > 0.9


@pytest.mark.parametrize(("direction", "sign"), [("in", -1), ("out", 1)])
def test_field_carries_the_flow_the_right_way(section: Section, direction: str, sign: int) -> None:
    face = 0.4
    found = section_field(section, face, direction=direction, cells=CELLS)
    nz, ny = found.w_m_s.shape
    z = found.z0_mm + np.arange(nz) * found.dz_mm
    y = found.y0_mm + np.arange(ny) * found.dy_mm
    gap = section.stack_z_mm[1] - section.stack.bank_depth_mm - 1.5
    i = int(np.argmin(np.abs(z - gap)))
    pitch = section.stack.pitch_mm
    band = (y > 0) & (y < 3 * pitch)
    assert found.w_m_s[i, band].mean() == pytest.approx(sign * face, rel=0.06)
    zz, yy = np.meshgrid(z, y, indexing="ij")
    for slat in section.slats:
        inside = shapely.contains_xy(Polygon(slat.outline), zz, yy)
        assert (found.w_m_s[inside] == 0).all()
    with pytest.raises(ValueError, match="above zero"):
        section_field(section, 0.0)


def test_air_for_drops_carries_the_whole_flow(section: Section) -> None:
    """Flow through slats and drain channel adds up to the face velocity over the whole height."""
    face = 0.5
    found = drop_air(section, face)
    z = found.z0_mm + np.arange(len(found.w_m_s)) * found.dz_mm
    gap = section.stack_z_mm[1] - section.stack.bank_depth_mm - 1.5
    i = int(np.argmin(np.abs(z - gap)))
    flow = -found.w_m_s[i].sum() * found.dy_mm
    height = section.upper[-1][1] - section.lower[-1][1]
    assert flow == pytest.approx(face * height, rel=0.12)
    assert (drop_air(section, 0.0).w_m_s == 0).all()


def test_drops_can_fly_in_the_solved_air(section: Section) -> None:
    """Same contract as the water check's own fields: shape, sign, flow."""
    solved, potential = solved_flow(section, 0.4), potential_flow(section, 0.4)
    middle = 0.5 * (section.ceiling_mm + section.window_bottom_mm)
    heights = np.linspace(middle - 6.5, middle + 6.5, 60)
    z = section.stack_z_mm[1] - section.stack.bank_depth_mm - 1.5
    means = [np.mean([f.velocity(z, float(y))[0] for y in heights]) for f in (solved, potential)]
    assert means[0] < 0
    assert means[0] == pytest.approx(means[1], rel=0.2)


def test_air_blown_out_is_solved_for_that_way(section: Section) -> None:
    """An uneven stack resists differently both ways; each is kept as its own field."""
    stack = replace(section.stack, gaps_mm=(9.0, 3.0), slopes=(OUT, OUT, IN))
    for direction in ("in", "out"):
        solved = solve_stack(stack, 100.0, direction=direction, cells=CELLS)
        assert stack_flow(stack, 100.0, direction=direction, cells=CELLS).k == solved.k
    kept = [stack_flow(stack, 100.0, direction=d, cells=CELLS).k for d in ("in", "out")]
    assert abs(kept[0] / kept[1] - 1.0) > 0.005
