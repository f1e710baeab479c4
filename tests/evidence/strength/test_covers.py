"""Snap arms, lips and flanges: forces by equilibrium, angles on the solid, sums in numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from tests.helpers.rows import spec
from vent_family.evidence.strength.covers import (
    angle_inertia_mm4,
    body_under_knock,
    flange_between_screws,
    gasket_area_mm2,
    longest_gap_mm,
    squeeze,
    washers,
)
from vent_family.evidence.strength.shells import SOLID, Shell
from vent_family.evidence.strength.snaps import (
    deflection_force_n,
    sliding_force_n,
    snap_hooks,
    snap_pulled_out,
    snap_pushed_in,
)
from vent_family.geometry.vent import build_solids
from vent_family.spec.body import HOLD_DEG, LEAD_IN_DEG
from vent_family.spec.vent import VentSpec


def snapped() -> VentSpec:
    return spec("rectangular", size="60x60", fixing="snap")


def test_force_of_an_arm_by_its_strain() -> None:
    """P = E b t^2 e / (6 l), the strain of its root 3 t y / (2 l^2) (Bayer, from memory)."""
    part = snapped()
    snap = part.body.snap
    assert snap is not None
    strain = 3.0 * snap.thickness_mm * snap.hook_mm / (2.0 * snap.length_mm**2)
    # The arm is as high as the body: 60 mm less 0.3 mm on either side.
    by_hand = 1900.0 * 59.4 * snap.thickness_mm**2 * strain / (6.0 * snap.length_mm)
    assert deflection_force_n(part, snap) == pytest.approx(by_hand)


@pytest.mark.parametrize("angle", [20.0, 30.0, 45.0, 60.0])
def test_hook_slides_where_forces_balance(angle: float) -> None:
    """Normal force N and friction 0.3 N on a face at an angle to the way hold P and W."""
    a = math.radians(angle)
    along = np.array([[math.cos(a) - 0.3 * math.sin(a)], [math.sin(a) + 0.3 * math.cos(a)]])
    normal = 50.0 / along[0, 0]
    assert sliding_force_n(50.0, angle, 0.3) == pytest.approx(normal * along[1, 0])


def test_angles_are_those_of_the_hooks() -> None:
    """Faces beyond the body that lean: led in from the cabinet's side, held from the panel's."""
    part = snapped()
    solid = build_solids(part).vent
    beyond = part.opening.size_mm[0] / 2.0
    leaning = [
        f.normalAt()
        for f in solid.Faces()
        if f.geomType() == "PLANE" and f.Center().z < -0.5 and f.BoundingBox().xmax > beyond + 0.5
    ]
    found = sorted(
        # The angle of a face to the way, z, is that of its normal to x.
        (round(n.z / abs(n.z)), round(math.degrees(math.atan2(abs(n.z), abs(n.x))), 3))
        for n in leaning
        if min(abs(n.x), abs(n.z)) > 0.1
    )
    assert found == [(-1, LEAD_IN_DEG), (1, HOLD_DEG)]


def test_pushed_in_by_thumbs_and_not_pulled_out() -> None:
    part = snapped()
    snap = part.body.snap
    assert snap is not None
    force = deflection_force_n(part, snap)
    push, pull = snap_pushed_in(part, snap), snap_pulled_out(part, snap)
    tan30 = 1.0 / math.sqrt(3.0)
    assert push.stress == pytest.approx(2.0 * force * (0.3 + tan30) / (1.0 - 0.3 * tan30))
    assert push.safety == pytest.approx(150.0 / push.stress)
    assert pull.strength == pytest.approx(2.0 * force * 1.3 / 0.7)
    assert pull.safety == pytest.approx(pull.strength / 50.0)
    # Hooks 1.2 mm and 0.3 mm of gap high, at 45 and 30 degrees: 1.5 + 1.5 sqrt(3) mm at the foot.
    hooks = snap_hooks(part, snap)
    assert hooks.stress == pytest.approx(pull.strength / (2.0 * 59.4 * 1.5 * (1.0 + 3.0**0.5)))
    assert hooks.strength == pytest.approx(0.5 * 32.0)


def test_washer_presses_on_a_ring() -> None:
    """M4: 200 x 4 N mm over 0.2 x 4 mm is 1000 N, on 9 mm around a hole of 4.5 mm."""
    found = washers(spec("flanged"), spec("flanged").opening.holes)
    assert found.stress == pytest.approx(1000.0 / (math.pi / 4.0 * (9.0**2 - 4.5**2)))
    big = spec("flanged", screw="M6")
    wide = washers(big, big.opening.holes)
    assert wide.stress == pytest.approx(1000.0 / (math.pi / 4.0 * (12.0**2 - 6.6**2)))


def test_screws_squeeze_the_gasket() -> None:
    """The recess's area on the solid's back, 0.12 MPa, and 0.3 of 1000 N left on each screw."""
    part = spec("flanged")
    gasket, holes = part.body.gasket, part.opening.holes
    assert gasket is not None
    back = [
        f
        for f in build_solids(part).vent.Faces()
        if f.geomType() == "PLANE" and f.normalAt().z < -0.99 and abs(f.Center().z - 1.2) < 1e-6
    ]
    assert sum(f.Area() for f in back) == pytest.approx(gasket_area_mm2(gasket), rel=1e-6)
    found = squeeze(gasket, holes)
    assert found.stress == pytest.approx(0.12 * gasket_area_mm2(gasket) / len(holes))
    assert found.safety == pytest.approx(300.0 / found.stress)


def test_flange_bends_with_its_wall() -> None:
    """An angle of flange and wall over the longest gap, and the strip out to the screws."""
    width, thick, depth, wall = 17.0, 4.0, 26.0, 2.0
    angle = Polygon(box(0.0, 0.0, width, thick)).union(box(0.0, -depth, wall, 0.0))
    y = np.linspace(-depth, thick, 300001)
    across = np.where(y > 0.0, width, wall)
    middle = float(np.trapezoid(across * y, y)) / angle.area
    inertia = float(np.trapezoid(across * (y - middle) ** 2, y))
    assert angle_inertia_mm4(width, thick, depth, wall) == pytest.approx(inertia, rel=1e-3)

    part = spec("flanged", size="120x92", flange_thickness_mm=4.0)
    gasket, holes = part.body.gasket, part.opening.holes
    assert gasket is not None
    xs = sorted({h.x_mm for h in holes if abs(h.y_mm - max(g.y_mm for g in holes)) < 1e-6})
    ys = sorted({h.y_mm for h in holes if abs(h.x_mm - max(g.x_mm for g in holes)) < 1e-6})
    gap = max(float(np.diff(xs).max()), float(np.diff(ys).max()))
    assert longest_gap_mm(holes) == pytest.approx(gap)
    modulus, push = 0.3 * 1900.0, 0.12 * 4.0
    own = angle_inertia_mm4(part.body.cover.reach_mm[0] - 60.0, 4.0, -part.section.inner_z_mm, 2.0)
    arm = max(xs) - 60.0 + 0.3 + 1.0
    plate = modulus * 4.0**3 / (12.0 * (1.0 - 0.36**2))
    by_hand = push * gap**4 / (384.0 * modulus * own) + push * arm**3 / (3.0 * plate)
    found = flange_between_screws(part, gasket, holes, SOLID)
    assert found.stress == pytest.approx(by_hand)
    # A quarter of the squeeze, 2 mm in a recess of 1.2 mm.
    assert found.strength == pytest.approx(0.25 * 0.8)
    sparse = flange_between_screws(part, gasket, holes, Shell(0.9, 0.4))
    assert sparse.stress > 1.2 * found.stress


def test_body_bears_a_knock_on_its_lip() -> None:
    """Two walls of 2 mm and two ribs of 1.6 mm, as high as the cavity."""
    part = spec("rectangular", size="80x60", rib_count=2, slat_form="flat")
    section = part.section
    height = section.ceiling_mm - section.floor_inner_mm
    shear = 1.5 * 150.0 / (7.2 * height)
    bend = 150.0 * 3.0 / (7.2 * height**2 / 6.0)
    # Greatest principal stress as the larger root of s1^2 - s s1 - t^2 = 0.
    principal = max(np.roots([1.0, -bend, -(shear**2)]).real)
    found = body_under_knock(part)
    assert found.stress == pytest.approx(principal)
    assert found.strength == pytest.approx(9.0)
