"""Wash-down rows: predicted to turn a hose jet, and what of them does it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from tests.evidence.water.jets.test_verdict import bare
from tests.helpers.rows import spec
from tests.helpers.washdown import SHARED, WASHDOWN
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.drainage import trough_of
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.frontage import frontage
from vent_family.evidence.water.jets.judge import judge_jet
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.jets.rules import CLEAN, DRY_FLOOR
from vent_family.evidence.water.jets.sweep import FINE, Jet, shot
from vent_family.evidence.water.jets.walls import walls_of
from vent_family.evidence.water.setup import setup_of
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec

HOSE = Jet(6.0, 11.8, (0.0,))


def washdown(name: str, **cells: Any) -> VentSpec:
    """Return a wash-down row, some cells changed."""
    family, own = WASHDOWN[name]
    return spec(family, **(SHARED | own | cells))


def judged(vent: VentSpec) -> JetReport:
    """Return the verdict of a row under its own air."""
    conditions = conditions_of(vent)
    point = conditions.point("hose_down")
    setup = setup_of(vent, point.face_velocity_m_s, conditions.posture)
    return judge_jet(setup, EXPOSURES["hose_down"], conditions)


@pytest.mark.parametrize("name", WASHDOWN)
def test_wash_down_row_turns_a_hose_jet(name: str) -> None:
    report = judged(washdown(name))
    assert report.verdict.outcome == "holds", report.verdict.reason
    assert report.inside_share.high <= 0.001
    assert report.worst_inside_share.high <= 0.01
    # With the depression that its own air makes, at the upper end of the band.
    assert report.air.depression_high_pa > report.air.depression_pa > 15.0
    assert report.worst_inflow_l_min < report.capacity_l_min


def test_a_drain_in_the_front_lets_a_jet_in() -> None:
    """The same slats over a trough in the usual place fail: a jet aimed at the drain enters."""
    report = judged(washdown("HV-R160W", banks_outside=0))
    assert report.verdict.outcome == "fails"
    low, high = washdown("HV-R160W", banks_outside=0).section.drain_mm
    assert report.worst_inside_share.high > 0.01
    assert low - 6.0 < report.worst_height_mm < high + 12.0


def without(section: Section, name: str) -> Section:
    """Return a section without one of its points of shelter."""
    if name == "lip":
        return replace(section, sill_face=())
    z, _ = section.brink
    step = section.outlet[-2]
    assert name == "nose"
    return replace(section, outlet=((z, step[1]), section.outlet[-1]))


@pytest.mark.parametrize(("name", "floor"), [("lip", DRY_FLOOR), ("nose", CLEAN)])
def test_lip_and_nose_turn_what_runs_along_walls(name: str, floor: Any) -> None:
    section = washdown("HV-R160W").section
    low = section.drain_mm[0]
    heights = np.repeat(np.linspace(low - 1.0, low + 40.0, 20), 3)
    elevations = np.tile([0.0, 20.0, 45.0], 20)

    def reached(one: Section) -> float:
        found = shot(bare(one), HOSE, floor, 6.0, heights, elevations, FINE)
        return float((found.inside_share if name == "lip" else found.trough_share).mean())

    assert reached(without(section, name)) > 1.5 * reached(section) + 1e-4


def test_what_lands_past_the_brink_is_outside() -> None:
    """Who owns each wall, asked of the place of its middle."""
    section = washdown("HV-R160W").section
    walls = walls_of(section, 6.0)
    edges = walls.arrays.edges
    brink_z, brink_y = section.brink
    apron = Polygon(section.apron).buffer(1e-3)
    middle = 0.5 * (edges[:, :2] + edges[:, 2:])
    slot = walls.arrays.slot
    below = (middle[:, 1] < brink_y - 2.0) & (middle[:, 0] > section.foot[0])
    below &= middle[:, 0] < section.front_z_mm - 0.01
    on_slats = slot < walls.slats
    assert (slot[below & ~on_slats] == walls.returned).all()
    on_apron = [apron.contains(LineString([e[:2], e[2:]])) for e in edges]
    assert sum(on_apron) >= 4
    assert (slot[np.array(on_apron)] == walls.returned).all()
    face = (np.abs(middle[:, 0] - section.foot[0]) < 0.01) & (middle[:, 1] < section.sill_top_mm)
    face &= middle[:, 1] > section.foot[1]
    assert (slot[face] == walls.trough).all()
    # Nothing but the end of the domain takes a sheet up that came past the brink.
    assert not walls.arrays.sink[below & ~on_slats].any()
    assert brink_z < section.apron[0][0]


def test_trough_is_measured_from_its_own_brink() -> None:
    vent = washdown("HV-R160W")
    section, front = vent.section, frontage(vent)
    trough = trough_of(section, front.floor_width_mm, front.bays)
    (foot_z, foot_y), (brink_z, brink_y) = section.foot, section.brink
    assert trough.length_mm == pytest.approx(brink_z - foot_z)
    assert trough.slot_mm == pytest.approx(section.apron[0][0] - brink_z)
    # The row's 26 mm stand over the foot; the floor falls by 5 degrees from there.
    fall = (brink_z - foot_z) * np.tan(np.radians(5.0))
    assert trough.sill_mm == pytest.approx(26.0 + fall)
    assert foot_y - brink_y == pytest.approx(fall)
    # Over the apron all is open, and nothing else leads out.
    (over,) = trough.relief
    assert over.crest_mm == pytest.approx(max(y for _, y in section.apron) - brink_y)
    assert over.height_mm > 50.0
