"""Threaded necks: under their locknut, under a spanner, under a knock on the head's rim."""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.limits import (
    ACROSS_TOUGHNESS,
    KNOCK_LOAD,
    NECK_TORQUE,
    NUT_FACTOR,
    SPANNER_FORCE,
    SPANNER_LENGTH,
)
from vent_family.evidence.strength.member import Member
from vent_family.evidence.strength.places import circle
from vent_family.evidence.strength.shells import SOLID, Shell, ring
from vent_family.spec.body import GasketSpec, Neck
from vent_family.spec.thread.parts import (
    RELIEF_LENGTH,
    locknut_size,
    neck_relief_diameter_mm,
)
from vent_family.spec.vent import VentSpec

SHEAR: Final = 0.5
"""Shear strength over tensile strength, greatest shear stress (Tresca)."""
_ENGAGED: Final = 0.5
"""Share of the thread's cylinder that is material, at the pitch diameter."""
_EDGE_CRACK: Final = 1.12
"""Stress intensity of a crack in an edge over s sqrt(pi a) (fracture mechanics, from memory)."""


def hand_torque_nmm(neck: Neck) -> float:
    """Return the torque with which a locknut is tightened by hand, N mm."""
    return NECK_TORQUE.value * neck.thread.nominal_mm


def spanner_torque_nmm() -> float:
    """Return the torque of a hand on a spanner, N mm."""
    return SPANNER_FORCE.value * SPANNER_LENGTH.value


def neck_members(
    spec: VentSpec, neck: Neck, gasket: GasketSpec | None, shell: Shell
) -> list[Member]:
    """Return all members of a neck, those by hand first."""
    hand, spanner = hand_torque_nmm(neck), spanner_torque_nmm()
    return [
        neck_under_torque(spec, neck, hand, shell),
        thread_under_torque(spec, neck, hand),
        rim_knock(spec, neck, gasket, shell),
        neck_under_torque(spec, neck, spanner, shell, spanner=True),
        flats_under_spanner(spec, neck, spanner),
        nut_under_spanner(spec, neck, spanner),
    ]


def neck_under_torque(
    spec: VentSpec,
    neck: Neck,
    torque_nmm: float,
    shell: Shell = SOLID,
    *,
    spanner: bool = False,
) -> Member:
    """Return the neck between head and thread while its locknut is tightened.

    T = K F d gives the pull; half the torque twists the neck (the other half is friction under the
    nut). Pull and twist act across the layers, since the neck is printed standing; the greatest
    principal stress counts. The plain stub it is taken at is smaller than the thread's root and has
    no notch.

    Parameters
    ----------
    spec, neck
        the vent and its neck
    torque_nmm
        torque on the locknut, N mm
    shell
        what of the wall is solid
    spanner
        whether a spanner gives the torque, which is not meant to happen

    Examples
    --------
    M32: T = 100 x 32 N mm, F = T / (0.3 x 32) = 333 N on a ring of 30.07 mm around a bore of 26.8
    mm, 146.0 mm2: s = 2.283 MPa; T / 2 on J = 29,610 mm4 at 15.03 mm: t = 0.812 MPa; s1 = 2.54 MPa:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="round", size="M32x1.5")
    >>> vent = resolve(row)
    >>> round(neck_under_torque(vent, vent.body.neck, 3200.0).stress, 2)
    2.54
    """
    profile, d = spec.material.print_profile, neck.thread.nominal_mm
    pull = torque_nmm / (NUT_FACTOR.value * d)
    outer = neck_relief_diameter_mm(neck.thread.external) / 2.0
    wall = ring(outer, neck.bore_radius_mm, shell)
    direct = pull / wall.area_mm2
    twist = 0.5 * torque_nmm * outer / wall.polar_mm4
    principal = direct / 2.0 + math.hypot(direct / 2.0, twist)
    return Member(
        name="neck under a spanner" if spanner else "neck under its locknut",
        load=f"{torque_nmm / 1000.0:.1f} N m, a pull of {pull:.0f} N",
        stress=principal,
        strength=profile.across_layer_mpa,
        unit="MPa",
        least=profile.safety_min,
        deflection_mm=None,
        formula="F = T / (K d); s = F / A, t = (T / 2) r / J; s1 = s / 2 + sqrt(s^2 / 4 + t^2)",
        judged=not spanner,
        place=(circle(outer, -RELIEF_LENGTH.value / 2.0),),
    )


def thread_under_torque(spec: VentSpec, neck: Neck, torque_nmm: float) -> Member:
    """Return the thread's turns in shear over the locknut's engaged length.

    ``torque_nmm`` is the torque on the locknut, N mm.

    Examples
    --------
    M32: 333 N over 5.42 mm of d2 = 30.92 mm, half of the cylinder being thread: 333 / 263 = 1.27
    MPa:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="round", size="M32x1.5")
    >>> vent = resolve(row)
    >>> thread = thread_under_torque(vent, vent.body.neck, 3200.0)
    >>> thread.load, round(thread.stress, 2)
    ('a pull of 333 N over 5.4 mm of M32', 1.27)
    """
    profile, d = spec.material.print_profile, neck.thread.nominal_mm
    pull = torque_nmm / (NUT_FACTOR.value * d)
    nut = locknut_size(neck.thread).thickness_mm
    engaged = nut - 2.0 * neck.thread.internal.depth_mm
    area = _ENGAGED * math.pi * neck.thread.external.pitch_diameter_mm * engaged
    strength = SHEAR * profile.across_layer_mpa
    return Member(
        name="thread of the neck",
        load=f"a pull of {pull:.0f} N over {engaged:.1f} mm of M{d:g}",
        stress=pull / area,
        strength=strength,
        unit="MPa",
        least=profile.safety_min,
        deflection_mm=None,
        formula="t = F / (pi d2 l / 2), against half the strength across layers",
        place=(circle(neck.thread.external.major_mm / 2.0, -spec.panel_thickness_mm),),
    )


def breaking_torque_nmm(spec: VentSpec, neck: Neck, shell: Shell = SOLID) -> float:
    """Return the torque on the locknut (N mm) at which neck or thread is expected to break."""
    torque = hand_torque_nmm(neck)
    neck_safety = neck_under_torque(spec, neck, torque, shell).safety
    return torque * min(neck_safety, thread_under_torque(spec, neck, torque).safety)


def notch_factor(depth_mm: float, strength_mpa: float, toughness: float) -> float:
    """Return by how much a groove weakens a wall that is pulled across its layers, 1.

    A groove is no worse than a crack as deep. A wall with a crack of depth a breaks at
    s_u / sqrt(1 + 1.12^2 a / l), l = (K / s_u)^2 / pi: strength for shallow cracks, fracture
    mechanics for deep ones (critical distance; El Haddad's interpolation, from memory. That notched
    prints follow critical distances: Ng and Susmel 2020, Addit. Manuf. 101212, abstract read). The
    turns beside it shield a groove; that is left out.

    Parameters
    ----------
    depth_mm
        depth of the groove, mm
    strength_mpa
        strength without it, MPa
    toughness
        fracture toughness, MPa m^0.5

    Examples
    --------
    1.2 MPa m^0.5 and 18 MPa: l = 1.415 mm; a thread 0.9 mm deep: sqrt(1 + 1.2544 x 0.636) = 1.341:

    >>> round(notch_factor(0.9, 18.0, 1.2), 3)
    1.341
    """
    length_mm = 1000.0 * (toughness / strength_mpa) ** 2 / math.pi
    return math.sqrt(1.0 + _EDGE_CRACK**2 * depth_mm / length_mm)


def rim_knock(
    spec: VentSpec, neck: Neck, gasket: GasketSpec | None, shell: Shell = SOLID
) -> Member:
    """Return the neck while something knocks sideways on the rim of its head.

    Lever is how far the head stands proud of the panel, on a gasket that is not yet squeezed,
    and the panel's thickness: the nut holds the neck behind it. The whole moment goes by the neck,
    for the gasket is soft and the nut's pull has crept away. It bends the ring inside the thread's
    root across the layers, and the root counts as a notch.

    Examples
    --------
    M20 in polyamide: 150 N on a ring of 18.27 mm around a bore of 14.8 mm, I = 3119 mm4; the root,
    0.79 mm deep, weakens 24 MPa by 1.50:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="round", size="M20x1.5",
    ...     material="PA", panel_thickness_mm=2.0, slat_form="flat")
    >>> vent = resolve(row)
    >>> knock = rim_knock(vent, vent.body.neck, vent.body.gasket)
    >>> lever = vent.section.front_z_mm + 0.8 + 2.0
    >>> abs(knock.stress - 150.0 * lever * 9.137 / 3119.0 * 1.497) < 0.01 * knock.stress
    True
    """
    profile, outer = spec.material.print_profile, neck.thread.external.minor_mm / 2.0
    proud = spec.section.front_z_mm
    if gasket is not None:
        proud += gasket.thickness_mm - gasket.recess_mm
    lever = proud + spec.panel_thickness_mm
    bend = KNOCK_LOAD.value * lever * outer / ring(outer, neck.bore_radius_mm, shell).inertia_mm4
    depth = neck.thread.external.depth_mm
    notch = notch_factor(depth, profile.across_layer_mpa, ACROSS_TOUGHNESS.value)
    return Member(
        name="neck under a knock on the rim",
        load=f"{KNOCK_LOAD.value:g} N sideways, {lever:.1f} mm from the nut",
        stress=bend * notch,
        strength=profile.across_layer_mpa,
        unit="MPa",
        least=profile.safety_min,
        deflection_mm=None,
        formula="s = f F h r / I at the thread's root; f = sqrt(1 + 1.25 a / l),"
        " l = (K / s_u)^2 / pi",
        place=(circle(outer, -spec.panel_thickness_mm),),
    )


def flats_under_spanner(spec: VentSpec, neck: Neck, torque_nmm: float) -> Member:
    """Return the head's two flats while a spanner turns it.

    A jaw bears on the leading half of each flat, rising from nothing in its middle to the edge:
    p = 6 T / (l b^2) (linear pressure, by statics). It is compared with the tensile strength, which
    plastics exceed in compression.

    Parameters
    ----------
    spec, neck
        the vent and its neck
    torque_nmm
        the spanner's torque, N mm

    Examples
    --------
    Flats 10 mm wide and 30 mm long under 1000 N mm: 6 x 1000 / (30 x 100) = 2 MPa:

    >>> from dataclasses import replace
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="round", size="M32x1.5")
    >>> vent = resolve(row)
    >>> flats_under_spanner(vent, replace(vent.body.neck, flats_mm=(10.0, 30.0)), 1000.0).stress
    2.0
    """
    width, length = neck.flats_mm
    return _bearing(spec, "flats of the head under a spanner", torque_nmm, width, length)


def nut_under_spanner(spec: VentSpec, neck: Neck, torque_nmm: float) -> Member:
    """Return the printed locknut's hexagon while a spanner turns it.

    An open spanner bears on two of its flats, s / sqrt(3) wide, as on those of the head.

    Parameters
    ----------
    spec, neck
        the vent and its neck
    torque_nmm
        the spanner's torque, N mm
    """
    nut = locknut_size(neck.thread)
    width = nut.across_flats_mm / math.sqrt(3.0)
    length = nut.thickness_mm - nut.washer_height_mm
    return _bearing(spec, "hexagon of the locknut under a spanner", torque_nmm, width, length)


def _bearing(spec: VentSpec, name: str, torque_nmm: float, width: float, length: float) -> Member:
    profile = spec.material.print_profile
    pressure = 6.0 * torque_nmm / (length * width**2)
    return Member(
        name=name,
        load=f"{torque_nmm / 1000.0:.1f} N m on two flats of {width:.1f} x {length:.1f} mm",
        stress=pressure,
        strength=profile.in_layer_mpa,
        unit="MPa",
        least=profile.safety_min,
        deflection_mm=None,
        formula="p = 6 T / (l b^2), on the leading half of each flat",
        judged=False,
    )
