"""Loaded members of vents, recomputed by hand from the formulas they name."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.helpers.rows import spec
from vent_family.base.limits import NECK_TORQUE, NUT_FACTOR
from vent_family.base.materials import FLAMMABILITY, MATERIALS
from vent_family.evidence.strength.members import members
from vent_family.evidence.strength.necks import (
    hand_torque_nmm,
    neck_under_torque,
    thread_under_torque,
)
from vent_family.evidence.strength.slats import bending_allowed_n, slat_under_thumb
from vent_family.evidence.strength.snaps import snap_arm
from vent_family.spec.families.block_body import BlockBody
from vent_family.spec.families.round_body import RoundBody


def test_push_that_breaks_a_slat_follows_from_its_safety() -> None:
    """Stress grows with the load: 20 N times the safety breaks it."""
    part = spec("rectangular", size="60x60", slat_form="flat", material="PETG")
    member = slat_under_thumb(part)
    assert member.strength == MATERIALS["PETG"].print_profile.in_layer_mpa
    assert member.safety == pytest.approx(member.strength / member.stress)
    assert bending_allowed_n(part) == pytest.approx(20.0 * member.safety)


def test_ribs_and_thickness_help() -> None:
    few = slat_under_thumb(spec("rectangular", size="80x60", rib_count=2))
    many = slat_under_thumb(spec("rectangular", size="80x60", rib_count=4))
    thick = slat_under_thumb(spec("rectangular", size="80x60", rib_count=2, slat_thickness_mm=1.8))
    assert many.safety > few.safety
    assert thick.safety > few.safety
    assert (many.deflection_mm or 0) < (few.deflection_mm or 0)


def test_upright_is_never_stronger() -> None:
    lying = slat_under_thumb(spec("rectangular", slat_form="flat"))
    standing = slat_under_thumb(spec("rectangular", slat_form="flat", print_orientation="upright"))
    assert standing.safety <= lying.safety


def test_thin_slats_far_apart_are_called_weak() -> None:
    part = spec("rectangular", size="80x60", slat_form="flat", slat_thickness_mm=0.8, rib_count=2)
    least = part.material.print_profile.safety_min
    check = slat_under_thumb(part).check()
    assert check.verdict == "fail"
    assert check.value is not None
    assert check.value < least == check.limit


def test_least_safety_follows_from_the_scatter() -> None:
    """Two standard deviations below the mean: 15 % leave 0.7 of it, 1 / 0.7 = 1.43, that is 1.5."""
    least = {name: m.print_profile.safety_min for name, m in MATERIALS.items()}
    assert least == {"ASA": 1.5, "PETG": 1.5, "PA": 1.5, "PC": 1.5, "PP": 1.7}
    even = replace(MATERIALS["ASA"].print_profile, scatter=0.05)
    assert even.safety_min == pytest.approx(1.2)
    uneven = replace(even, scatter=0.3)
    assert uneven.safety_min == pytest.approx(2.5)
    with pytest.raises(ValueError, match="no strength"):
        assert replace(even, scatter=0.5).safety_min
    part = spec("rectangular", size="80x60", slat_form="flat", slat_thickness_mm=1.0)
    member = slat_under_thumb(part)
    assert member.least == part.material.print_profile.safety_min
    scattered = replace(member, strength=2.0 * member.stress)
    assert replace(scattered, least=even.safety_min).check().verdict == "pass"
    assert replace(scattered, least=uneven.safety_min).check().verdict == "fail"


def test_neck_by_hand() -> None:
    part = spec("round", size="M32x1.5")
    body = part.body
    assert isinstance(body, RoundBody)
    torque = NECK_TORQUE.value * 32.0
    pull = torque / (NUT_FACTOR.value * 32.0)
    assert pull == pytest.approx(1000.0 / 3.0)
    member = neck_under_torque(part, body.neck, torque)
    assert torque == hand_torque_nmm(body.neck)
    outer = member.stress
    r1 = body.neck.bore_radius_mm
    r2 = body.neck.thread.external.minor_mm / 2 - 0.1
    direct = pull / (math.pi * (r2**2 - r1**2))
    twist = 0.5 * torque * r2 / (math.pi / 2 * (r2**4 - r1**4))
    assert outer == pytest.approx(direct / 2 + math.sqrt(direct**2 / 4 + twist**2))
    assert member.strength == part.material.print_profile.across_layer_mpa
    assert (
        thread_under_torque(part, body.neck, torque).safety > part.material.print_profile.safety_min
    )


def test_snap_arm_by_hand() -> None:
    part = spec("rectangular", size="60x60", fixing="snap")
    body = part.body
    assert isinstance(body, BlockBody)
    assert body.snap is not None
    length = body.snap.free_end_z_mm - body.inner_z_mm - body.snap.root_mm
    member = snap_arm(part, body.snap)
    assert member.stress == pytest.approx(
        150.0 * body.snap.thickness_mm * body.snap.hook_mm / length**2
    )
    assert member.unit == "%"


def test_every_family_lists_its_members() -> None:
    names = {
        family: {m.name for m in members(spec(family, **cells))}
        for family, cells in (("flanged", {}), ("round", {}), ("rectangular", {"fixing": "snap"}))
    }
    slats = {
        "slat under a thumb",
        "front slat under a hammer",
        "front slats broken out by a hammer",
    }
    assert all(slats <= found for found in names.values())
    assert names["flanged"] - slats == {
        "body under a knock on the rim",
        "plastic under a washer",
        "screws against the gasket",
        "flange between its screws",
    }
    assert names["round"] - slats == {
        "neck under its locknut",
        "thread of the neck",
        "neck under a knock on the rim",
        "neck under a spanner",
        "flats of the head under a spanner",
        "hexagon of the locknut under a spanner",
    }
    assert names["rectangular"] - slats == {
        "snap arm while fitting",
        "push that snaps the vent in",
        "pull that draws the vent out",
        "hooks of the snap arms",
        "body under a knock on the rim",
    }


@pytest.mark.parametrize("name", sorted(MATERIALS))
def test_material_table_is_plausible(name: str) -> None:
    """Across the layers 40 to 75 % of along the beads (range of published data, from memory)."""
    profile = MATERIALS[name].print_profile
    assert 0.4 <= profile.across_layer_mpa / profile.in_layer_mpa <= 0.75
    assert profile.strength_source
    assert profile.uv
    assert profile.flammability_class in FLAMMABILITY
    assert profile.retardant_class in FLAMMABILITY
    assert profile.bridge_good_mm <= profile.bridge_max_mm
