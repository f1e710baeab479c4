"""Any row a spreadsheet can hold either becomes a valid solid or is refused with a reason."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from tests.helpers.rows import row
from vent_family.base.limits import SIGHT_MARGIN_MIN, STL_ANGLE, STL_CHORD
from vent_family.base.problems import InputError
from vent_family.evidence.result import passed
from vent_family.evidence.solid.check import check_vent, measure
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec


def maybe(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Mostly blank cells, as in a real catalogue."""
    return st.one_of(st.none(), st.none(), st.none(), st.none(), values)


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda x: round(x, 2))


COMMON = {
    "slat_form": maybe(st.sampled_from(["flat", "inclined", "folded"])),
    "slat_thickness_mm": maybe(number(0.5, 3.0)),
    "pitch_mm": maybe(number(5.0, 20.0)),
    "overlap_mm": maybe(number(-1.0, 6.0)),
    "slat_height_mm": maybe(number(3.0, 14.0)),
    "bank_count": maybe(st.integers(1, 5)),
    "bank_gaps_mm": maybe(number(2.0, 9.0).map(lambda x: f"{x:g}")),
    "bank_shift": maybe(number(0.1, 0.9)),
    "slopes": maybe(st.sampled_from(["auto", "out-in-out", "out-out", "in-out"])),
    "rib_count": maybe(st.integers(0, 6)),
    "rib_thickness_mm": maybe(number(1.2, 4.0)),
    "wall_mm": maybe(number(1.2, 5.0)),
    "floor_slope_deg": maybe(number(1.0, 20.0)),
    "drain_height_mm": maybe(number(2.0, 9.0)),
    "panel_thickness_mm": maybe(number(0.5, 8.0)),
    "print_orientation": maybe(st.sampled_from(["face_down", "upright"])),
    "material": maybe(st.sampled_from(["ASA", "PETG", "PA", "PC", "PP"])),
}
WIDTHS = st.integers(20, 110)
BLOCK = {
    "size": st.tuples(WIDTHS, WIDTHS).map(lambda s: f"{s[0]}x{s[1]}"),
    "sill_height_mm": maybe(number(2.0, 20.0)),
    "key": maybe(st.sampled_from(["none", "notch"])),
    "screw": maybe(st.sampled_from(["M3", "M4", "M5", "M6"])),
    "screw_fit": maybe(st.sampled_from(["fine", "medium", "coarse"])),
}
RECTANGULAR = {
    "family": st.just("rectangular"),
    "fixing": maybe(st.sampled_from(["snap", "screw"])),
    "lip_width_mm": maybe(number(2.0, 20.0)),
    "lip_thickness_mm": maybe(number(1.6, 8.0)),
}
FLANGED = {
    "family": st.just("flanged"),
    "flange_width_mm": maybe(number(6.0, 40.0)),
    "flange_thickness_mm": maybe(number(2.0, 10.0)),
}
ROUND = {
    "family": st.just("round"),
    "size": st.sampled_from(["M20x1.5", "M25x1.5", "M32x1.5", "M40x1.5", "M50x1.5"]),
    "head_diameter_mm": maybe(number(20.0, 130.0)),
    "neck_length_mm": maybe(number(8.0, 30.0)),
}
ROWS = st.one_of(
    st.fixed_dictionaries(COMMON | BLOCK | RECTANGULAR),
    st.fixed_dictionaries(COMMON | BLOCK | FLANGED),
    st.fixed_dictionaries(COMMON | ROUND),
)


def resolved_or_refused(cells: dict[str, Any]) -> VentSpec | None:
    """Return the spec, or ``None`` if the row is refused in the proper way."""
    try:
        found = resolve(row(**{k: v for k, v in cells.items() if v is not None}))
    except ValidationError:
        return None  # out of a column's range; the reader words this
    except InputError as error:
        refused = error.problems
    else:
        assert found.section.sight.margin_mm >= SIGHT_MARGIN_MIN.value
        return found
    assert refused
    for problem in refused:
        assert problem.column in cells or problem.column == "fixing", problem
        assert problem.message
        assert problem.suggestion
    return None


@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(ROWS)
def test_rows_resolve_or_are_refused_with_reasons(cells: dict[str, Any]) -> None:
    resolved_or_refused(cells)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(ROWS)
def test_resolved_rows_become_valid_solids(cells: dict[str, Any]) -> None:
    found = resolved_or_refused(cells)
    if found is None:
        return
    solid = build_solids(found).vent
    checks = check_vent(
        found, solid, measure(solid), *mesh_of(solid, STL_CHORD.value, STL_ANGLE.value)
    )
    assert passed(checks), [c for c in checks if c.verdict != "pass"]
