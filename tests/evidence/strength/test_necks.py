"""Necks under a knock and a spanner: levers, rings and flats measured, notches by mechanics."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest
from shapely.geometry import Point

from tests.helpers.rows import spec
from vent_family.base.shop import demo_shop
from vent_family.evidence.strength.members import members, strength_report
from vent_family.evidence.strength.necks import (
    breaking_torque_nmm,
    flats_under_spanner,
    neck_under_torque,
    notch_factor,
    nut_under_spanner,
    rim_knock,
    spanner_torque_nmm,
    thread_under_torque,
)
from vent_family.evidence.strength.shells import SOLID, Shell, bending_share, ring, shell_of
from vent_family.geometry.locknut import simplified_locknut
from vent_family.geometry.vent import build_solids
from vent_family.spec.vent import VentSpec


@pytest.fixture(scope="module")
def part() -> VentSpec:
    """A small round vent in a panel of 2.5 mm."""
    return spec(
        "round", size="M20x1.5", slat_form="flat", panel_thickness_mm=2.5, step_thread="plain"
    )


@pytest.fixture(scope="module")
def solid(part: VentSpec) -> cq.Solid:
    return build_solids(part).vent_step


def inertia_mm4(outer: float, inner: float) -> float:
    """Return the second moment of a ring about a diameter, strip by strip."""
    y = np.linspace(-outer, outer, 200001)
    width = np.sqrt(np.clip(outer**2 - y**2, 0.0, None))
    width -= np.sqrt(np.clip(inner**2 - y**2, 0.0, None))
    return float(np.trapezoid(2.0 * width * y**2, y))


def test_knock_bends_the_ring_in_the_thread(part: VentSpec, solid: cq.Solid) -> None:
    """150 N on the rim, levered from the nut's face; ASA across its layers 18 MPa.

    The head's height is measured on the solid; the gasket, 2 mm in a recess of 1.2 mm, still holds
    it off; the nut bears on the panel's back.
    """
    neck = part.body.neck
    assert neck is not None
    lever = solid.BoundingBox().zmax + (2.0 - 1.2) + 2.5
    root = neck.thread.external.minor_mm / 2.0
    bend = 150.0 * lever * root / inertia_mm4(root, neck.bore_radius_mm)
    # K = 1.2 MPa m^0.5 and 18 MPa: a crack of pi l counts in full, l = 1.4147 mm.
    depth = (neck.thread.external.major_mm - neck.thread.external.minor_mm) / 2.0
    notch = math.sqrt(1.0 + 1.12**2 * depth / 1.4147)
    knock = rim_knock(part, neck, part.body.gasket)
    assert knock.stress == pytest.approx(bend * notch, rel=2e-3)
    assert knock.strength == 18.0
    assert knock.safety == pytest.approx(18.0 / (bend * notch), rel=2e-3)
    assert f"{lever:.1f} mm" in knock.load
    bare = rim_knock(part, neck, None)
    assert bare.stress == pytest.approx(bend * notch * (lever - 0.8) / lever, rel=2e-3)


def test_a_notch_averages_stress_over_a_length() -> None:
    """Line method: the stress ahead of a crack, s x / sqrt(x^2 - a^2), averaged over 2 l.

    Taylor's theory of critical distances, from memory; an edge crack is 1.12 times as bad as half
    an inner one.
    """
    strength, toughness = 20.0, 1.0
    length = 1000.0 * (toughness / strength) ** 2 / math.pi
    for depth in (0.2, 0.8, 3.0):
        a = 1.12**2 * depth
        # x = a cosh t takes out the root at the tip.
        t = np.linspace(0.0, math.acosh(1.0 + 2.0 * length / a), 20001)
        mean = float(np.trapezoid(a * np.cosh(t), t)) / (2.0 * length)
        assert notch_factor(depth, strength, toughness) == pytest.approx(mean, rel=1e-4)
    # Deep cracks break by toughness: s 1.12 sqrt(pi a) = K.
    deep = strength / notch_factor(1000.0, strength, toughness)
    assert deep * 1.12 * math.sqrt(math.pi * 1.0) == pytest.approx(toughness, rel=1e-3)
    assert notch_factor(0.0, strength, toughness) == 1.0


def test_flats_are_those_of_the_solid(part: VentSpec, solid: cq.Solid) -> None:
    neck = part.body.neck
    assert neck is not None
    # The cavity's sides are parallel to them, a wall farther in.
    flats = [
        f
        for f in solid.Faces()
        if f.geomType() == "PLANE"
        and abs(f.normalAt().x) > 0.999
        and abs(f.Center().x) > solid.BoundingBox().xmax - 0.01
    ]
    assert len(flats) == 2
    for flat in flats:
        assert neck.flats_mm[0] == pytest.approx(flat.BoundingBox().ylen, abs=1e-3)
        # Behind its straight sides it narrows, where the cone around the rear corner is cut.
        straight = max(e.BoundingBox().zlen for e in flat.Edges() if e.geomType() == "LINE")
        assert neck.flats_mm[1] == pytest.approx(straight, abs=1e-3)


def test_spanner_presses_on_the_leading_halves(part: VentSpec) -> None:
    """Pressure rises from the middle to the edge; two flats together make the torque."""
    neck = part.body.neck
    assert neck is not None
    assert spanner_torque_nmm() == pytest.approx(100.0 * 250.0)
    found = flats_under_spanner(part, neck, 25000.0)
    width, length = neck.flats_mm
    y = np.linspace(0.0, width / 2.0, 10001)
    pressure = found.stress * y / (width / 2.0)
    torque = 2.0 * float(np.trapezoid(pressure * y * length, y))
    assert torque == pytest.approx(25000.0, rel=1e-4)
    nut = simplified_locknut(neck.thread)
    sides = [f for f in nut.Faces() if f.geomType() == "PLANE" and abs(f.normalAt().y) > 0.999]
    corner = max(f.BoundingBox().xlen for f in sides)
    height = nut.BoundingBox().zlen - 0.4
    by_hand = 6.0 * 25000.0 / (height * corner**2)
    assert nut_under_spanner(part, neck, 25000.0).stress == pytest.approx(by_hand, rel=0.01)


def test_neck_breaks_at_its_torque(part: VentSpec) -> None:
    neck = part.body.neck
    assert neck is not None
    torque = breaking_torque_nmm(part, neck)
    weakest = min(
        neck_under_torque(part, neck, torque).safety,
        thread_under_torque(part, neck, torque).safety,
    )
    assert weakest == pytest.approx(1.0)
    assert strength_report(part).neck_breaks_at_nmm == torque
    # A hand breaks nothing, a hand on a spanner does: it is told, not judged.
    found = {m.name: m for m in members(part)}
    assert found["neck under its locknut"].verdict == "holds"
    spanner = found["neck under a spanner"]
    assert (spanner.verdict, spanner.judged) == ("weak", False)
    names = [c.name for c in strength_report(part).checks]
    assert "strength: neck under its locknut" in names
    assert "strength: neck under a spanner" not in names


def test_sparse_cores_bear_nothing() -> None:
    """Two thin rings and two skins, drawn with polygons and integrated."""
    shell = Shell(0.9, 0.6)
    found = ring(12.0, 8.0, shell)
    outline = Point(0, 0).buffer(12.0, 2048).difference(Point(0, 0).buffer(11.1, 2048))
    inner = Point(0, 0).buffer(8.9, 2048).difference(Point(0, 0).buffer(8.0, 2048))
    assert found.area_mm2 == pytest.approx(outline.area + inner.area, rel=1e-4)
    apart = inertia_mm4(12.0, 11.1) + inertia_mm4(8.9, 8.0)
    assert found.inertia_mm4 == pytest.approx(apart, rel=1e-3)
    assert ring(12.0, 10.3, shell) == ring(12.0, 10.3)
    z = np.linspace(-2.5, 2.5, 100001)
    skins = float(np.trapezoid(np.where(np.abs(z) > 1.9, z**2, 0.0), z))
    assert bending_share(5.0, 0.6) == pytest.approx(skins / (5.0**3 / 12.0), rel=1e-3)


def test_what_is_solid_follows_from_the_shop(part: VentSpec) -> None:
    sliced = demo_shop().printing
    full = sliced.model_copy(update={"infill_share": 1.0})
    assert shell_of(full) == SOLID
    # One wall of 0.45 mm on a neck wall of 1.6 mm and more leaves a core in it.
    one = {"infill_share": 0.2, "wall_count": 1, "line_width_mm": 0.45, "layer_mm": 0.2}
    thin = shell_of(sliced.model_copy(update=one | {"top_layers": 2, "bottom_layers": 3}))
    assert (thin.side_mm, thin.flat_mm) == (pytest.approx(0.45), pytest.approx(0.4))
    solid = {m.name: m.safety for m in members(part)}
    sparse = {m.name: m.safety for m in members(part, thin)}
    for name in ("neck under its locknut", "neck under a knock on the rim", "slat under a thumb"):
        assert sparse[name] < 0.95 * solid[name], name
