"""Banks outside the trough: what shelters the drain, measured with shapely on whole sections."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon
from shapely.geometry import box as rectangle
from shapely.ops import unary_union

from tests.helpers.rows import spec
from vent_family.base.limits import GAP_MIN, SIGHT_MARGIN_MIN
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec

ROWS = [
    ("rectangular", {"size": "160x120", "slat_form": "channel", "banks_outside": 1,
                     "drain_height_mm": 8.0, "sill_height_mm": 26.0}),
    ("flanged", {"size": "120x100", "slat_form": "channel", "banks_outside": 2}),
    ("rectangular", {"size": "80x80", "slat_form": "inclined", "banks_outside": 1}),
    ("flanged", {"size": "92x110", "slat_form": "flat", "banks_outside": 1,
                 "slat_thickness_mm": 1.4, "floor_slope_deg": 9.0}),
    ("round", {"size": "M63x1.5", "slat_form": "channel", "banks_outside": 1,
               "drain_height_mm": 8.0, "sill_height_mm": 26.0}),
    ("round", {"size": "M25x1.5", "slat_form": "channel", "banks_outside": 2,
               "drain_height_mm": 4.0}),
]  # fmt: skip


@pytest.fixture(params=ROWS, ids=lambda r: f"{r[0]}-{r[1]['slat_form']}")
def vent(request: pytest.FixtureRequest) -> VentSpec:
    family, cells = request.param
    return spec(family, **cells)


def outside(vent: VentSpec) -> int:
    """Return how many banks the row puts outside the trough."""
    return int(vent.row.banks_outside or 0)


def solids(section: Section) -> list[Polygon]:
    """Return slats, apron, what lies above the upper boundary, and the ground below the lower."""
    low = min(y for _, y in section.lower) - 5.0
    high = max(y for _, y in section.upper) + 5.0
    roof = [(section.inner_z_mm, high), *section.upper, (section.front_z_mm, high)]
    ground = [(section.inner_z_mm, low), *section.lower, (section.front_z_mm, low)]
    slats = [Polygon(s.outline) for s in section.slats]
    return [*slats, Polygon(section.apron), Polygon(roof), Polygon(ground)]


def test_apron_stands_free_between_its_two_banks(vent: VentSpec) -> None:
    section, apron = vent.section, Polygon(vent.section.apron)
    ground = solids(section)[-1]
    assert ground.is_valid
    z0, _, z1, _ = apron.bounds
    for slat in section.slats:
        a, _, b, _ = Polygon(slat.outline).bounds
        if slat.bank < outside(vent):
            assert a >= z1 + GAP_MIN.value - 1e-9
        else:
            assert b <= z0 - GAP_MIN.value + 1e-9
    slot = vent.row.drain_height_mm or 4.0
    # Under the apron, and between it and the trough's floor, water passes as through the drain.
    assert apron.distance(ground) == pytest.approx(slot, rel=0.02)
    assert section.brink_drain_mm[1] - section.brink_drain_mm[0] == pytest.approx(slot)


def test_what_falls_from_a_bank_lands_on_its_own_side(vent: VentSpec) -> None:
    """From outer banks on the floor that leads out, from inner ones in the trough or its drain."""
    section = vent.section
    ground = solids(section)[-1]
    brink_z, brink_y = section.brink
    for slat in section.slats:
        if not slat.whole:
            continue
        zs = [z for z, _ in slat.outline]
        for z in np.linspace(min(zs), max(zs), 7):
            fall = LineString([(z, min(y for _, y in slat.outline) - 0.01), (z, -500.0)])
            y = fall.intersection(ground).bounds[3]
            if slat.bank < outside(vent):
                assert y < brink_y - 1.0
            else:
                assert y >= brink_y - 1e-6 or z > brink_z
                assert z < section.apron[0][0]


def test_no_straight_line_through_the_mouth_below_sees_the_trough(vent: VentSpec) -> None:
    """A jet at the drain strikes banks, apron or step; rays are tried, no formula is used."""
    section = vent.section
    blocks = unary_union([s.buffer(-1e-6) for s in solids(section)])
    low, high = section.drain_mm
    front = section.front_z_mm
    floor = [
        (z, np.interp(z, [section.foot[0], section.brink[0]], [section.foot[1], section.brink[1]]))
        for z in np.linspace(section.foot[0] + 0.1, section.brink[0] - 0.1, 15)
    ]
    for y in np.linspace(low + 0.1, high - 0.1, 9):
        for z, at in floor:
            assert LineString([(front, y), (z, at + 0.01)]).intersects(blocks)


def test_section_is_closed_to_rays(vent: VentSpec) -> None:
    section = vent.section
    assert section.sight.margin_mm >= SIGHT_MARGIN_MIN.value - 1e-9
    blocks = unary_union([s.buffer(-0.5 * SIGHT_MARGIN_MIN.value + 0.01) for s in solids(section)])
    rng = np.random.default_rng(11)
    top = section.ceiling_mm
    starts = rng.uniform(section.drain_mm[0], top, 400)
    ends = rng.uniform(section.sill_top_mm, section.mouth_top_mm, 400)
    for a, b in zip(starts, ends, strict=True):
        line = LineString([(section.front_z_mm, a), (section.inner_z_mm, b)])
        assert line.intersects(blocks)


def test_windows_join_the_floors_and_leave_the_slats_alone(vent: VentSpec) -> None:
    section = vent.section
    window = Polygon(section.rib_window)
    ground = solids(section)[-1]
    # Down to the floor all along, over most of its length.
    z0, _, z1, _ = window.bounds
    assert window.distance(ground) < 1e-9
    assert window.buffer(-1e-6).disjoint(ground)
    assert z1 - z0 > 0.5 * (section.brink[0] - section.foot[0])
    for slat in section.slats:
        assert Polygon(slat.outline).distance(window) >= 0.8
    # What is left of a rib in front of the sill carries it while it is printed.
    assert z0 - section.foot[0] >= 2.0


def test_lip_of_the_sill_stands_clear_of_floor_and_slats(vent: VentSpec) -> None:
    section = vent.section
    corners = section.sill_face[-4:]
    lip = Polygon(corners)
    assert lip.is_valid
    z0, low, z1, high = lip.bounds
    assert z0 == section.foot[0] < z1
    # Water runs off it, and under and over it.
    assert corners[1][1] < corners[0][1]
    assert low - section.foot[1] >= GAP_MIN.value
    assert high <= section.sill_top_mm - 1.0
    assert min(Polygon(s.outline).distance(lip) for s in section.slats) >= GAP_MIN.value


def test_a_low_sill_has_no_lip() -> None:
    cells = {"size": "100x100", "slat_form": "channel", "banks_outside": 1}
    assert spec("rectangular", **cells, sill_height_mm=6.5).section.sill_face == ()
    assert spec("rectangular", **cells, sill_height_mm=8.0).section.sill_face != ()


def test_the_room_is_one_and_adds_up(vent: VentSpec) -> None:
    section = vent.section
    frame = rectangle(section.inner_z_mm, -500.0, section.front_z_mm, section.ceiling_mm)
    air = frame.difference(unary_union(solids(section)))
    parts = [p for p in getattr(air, "geoms", [air]) if p.bounds[3] > section.brink[1]]
    assert section.air.area == pytest.approx(max(p.area for p in parts), rel=1e-9)
    assert all(a[0] <= b[0] + 1e-9 for a, b in pairwise([section.foot, section.brink]))


def test_blank_rows_are_as_before() -> None:
    section = spec("rectangular", size="80x60").section
    assert not section.sheltered
    assert not section.rib_window
    assert section.brink_drain_mm == section.drain_mm
    assert section.lower[-1] == section.brink
