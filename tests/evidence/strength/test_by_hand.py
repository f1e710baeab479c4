"""Loaded members by hand: sums written out with numbers, and shares measured on the solids."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString

from tests.helpers.rows import spec
from tests.helpers.sections import axial_section, crossings
from vent_family.evidence.strength.beams import cross_section, pushed_beam
from vent_family.evidence.strength.necks import thread_under_torque
from vent_family.evidence.strength.slats import slat_bounds, slat_under_thumb
from vent_family.geometry.locknut import locknut
from vent_family.geometry.thread import threaded_neck
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.vent import VentSpec


def weak_between_layers(part: VentSpec, across_mpa: float) -> VentSpec:
    """Return a part of a material whose layers hold together badly."""
    profile = replace(part.material.print_profile, across_layer_mpa=across_mpa)
    return replace(part, material=replace(part.material, printing=profile))


def test_turns_of_the_neck_by_the_material_that_stands_in_the_thread() -> None:
    """The sheared area is the material at the pitch diameter, measured on the neck's section.

    M32x1.5 under 100 N mm of torque per mm of diameter, K = 0.3 (T = K F d, textbook): F = 333 N.
    A thread is half material at its pitch diameter (ISO 68-1), the diameter it is sheared at.
    """
    part = spec("round", size="M32x1.5", material="ASA")
    body = part.body
    assert isinstance(body, RoundBody)
    thread = body.neck.thread
    nut = locknut(thread)
    height = nut.BoundingBox().zmax - nut.BoundingBox().zmin
    # Both ends of the nut are cut away as deep as its thread: half the difference of the radii
    # at which its material begins, inside and at its ends.
    inside = axial_section(nut, 0.0)
    low = inside.bounds[1]
    middle = inside.bounds[0]
    end = inside.intersection(LineString([(0.0, low + 1e-3), (1e3, low + 1e-3)])).bounds[0]
    engaged = height - 2.0 * (end - middle)
    # A neck as long as it takes to see ten turns.
    neck = axial_section(threaded_neck(thread, 30.0, 20.0), 0.0)
    radius = thread.external.pitch_diameter_mm / 2.0
    teeth = crossings(neck, radius, (-25.0, -5.0))
    pitches = np.diff([(a + b) / 2.0 for a, b in teeth])
    share = float(np.mean([b - a for a, b in teeth])) / float(np.mean(pitches))
    assert share == pytest.approx(0.5, abs=0.01)
    by_hand = (100.0 / 0.3) / (2.0 * math.pi * radius * engaged * share)
    member = thread_under_torque(part, body.neck, 3200.0)
    assert member.stress == pytest.approx(by_hand, rel=0.05)
    assert member.strength == pytest.approx(0.5 * 18.0)
    assert member.safety == pytest.approx(member.strength / member.stress)


@pytest.mark.parametrize(
    ("form", "orientation", "share"),
    [
        # sin^2 of the angle between a slat's width and the layers: upright and flat 90 degrees,
        # inclined and folded 45 degrees either way.
        ("flat", "upright", 1.0),
        ("inclined", "face_down", 0.5),
        ("inclined", "upright", 0.5),
        ("folded", "face_down", 0.5),
    ],
)
def test_slat_is_pulled_across_its_layers(form: str, orientation: str, share: float) -> None:
    """Poisson's ratio times the bending stress, where the width runs out of the layers.

    Plate bent to a cylinder (Timoshenko, from memory): s_across = nu s_along.
    """
    part = spec("rectangular", size="80x60", slat_form=form, print_orientation=orientation)
    along = slat_under_thumb(part)
    weak = slat_under_thumb(weak_between_layers(part, 1.0))
    nu = part.material.print_profile.poisson
    assert along.stress > 5.0
    assert weak.stress == pytest.approx(nu * share * along.stress, rel=1e-6)
    assert weak.strength == 1.0
    assert weak.safety == pytest.approx(1.0 / (nu * share * along.stress), rel=1e-6)


def test_flat_slat_face_down_is_never_pulled_across_its_layers() -> None:
    """Its width lies in the layers: weak bonds between layers cost it nothing."""
    part = spec("rectangular", size="80x60", slat_form="flat", print_orientation="face_down")
    assert slat_under_thumb(weak_between_layers(part, 1.0)) == slat_under_thumb(part)


def test_stress_and_deflection_of_a_flat_slat_in_numbers() -> None:
    """20 N over 15 mm on a bay of 24.067 mm; 9 mm wide and 1.5 mm thick; ASA, E 1900, nu 0.36.

    Fixed ends (Roark, from memory): M = W (3 L^2 - c^2) / (24 L); d = W (2 L^3 - 2 L c^2 + c^3) /
    (384 E I), and shear W (2 L - c) / (8 k G A) with k = 5/6. Ribs 1.6 mm thick let the ends turn a
    little: the moment there falls by some percent, the deflection grows.
    """
    part = spec("rectangular", size="80x60", slat_form="flat", material="ASA", rib_count=2)
    width = part.section.stack.slat_height_mm
    span = max(b - a for a, b in part.bays)
    assert (width, span) == pytest.approx((9.0, 24.067), abs=0.01)
    moment = 20.0 * (3.0 * span**2 - 225.0) / (24.0 * span)
    inertia = 9.0 * 1.5**3 / 12.0
    bending = 20.0 * (2.0 * span**3 - 450.0 * span + 3375.0) / (384.0 * 1900.0 * inertia)
    shear_modulus = 1900.0 / 2.72
    shear = 20.0 * (2.0 * span - 15.0) / (8.0 * 5.0 / 6.0 * shear_modulus * 13.5)
    clamped = moment / (9.0 * 1.5**2 / 6.0)
    assert slat_bounds(part).clamped == pytest.approx(32.0 / clamped, rel=1e-3)
    hinged = 20.0 * (span / 4.0 - 15.0 / 8.0) / (9.0 * 1.5**2 / 6.0)
    assert slat_bounds(part).hinged == pytest.approx(32.0 / hinged, rel=1e-3)
    member = slat_under_thumb(part)
    assert 0.9 * clamped < member.stress < 1.05 * clamped
    assert member.deflection_mm is not None
    assert 1.02 < member.deflection_mm / (bending + shear) < 1.3


def test_only_the_direction_of_a_push_counts() -> None:
    """A bar 8 x 2 mm pushed aslant: twice the vector is the same push."""
    bar = cross_section([(0.0, 0.0), (8.0, 0.0), (8.0, 2.0), (0.0, 2.0)])
    once = pushed_beam(bar, 30.0, 10.0, (0.6, 0.8), 2000.0)
    twice = pushed_beam(bar, 30.0, 10.0, (1.2, 1.6), 2000.0)
    assert (twice.stress_mpa, twice.deflection_mm) == pytest.approx(
        (once.stress_mpa, once.deflection_mm)
    )
    # By hand: M = W L / 8, and each share of the push bends its own way: M / (b h^2 / 6).
    moment = 10.0 * 30.0 / 8.0
    by_hand = moment * (0.6 / (2.0 * 8.0**2 / 6.0) + 0.8 / (8.0 * 2.0**2 / 6.0))
    assert once.stress_mpa == pytest.approx(by_hand)
