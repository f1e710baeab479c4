"""The loaded members of a vent: slats, neck, snap arms, each with load, stress and safety."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from vent_family.base.limits import (
    NECK_TORQUE,
    NUT_FACTOR,
    THUMB_LOAD,
    THUMB_WIDTH,
)
from vent_family.evidence.result import CheckResult
from vent_family.evidence.strength.beams import cross_section, fixed_beam
from vent_family.spec.body import Neck, SnapArms
from vent_family.spec.thread.parts import locknut_size, neck_relief_diameter_mm
from vent_family.spec.vent import VentSpec

_PUSH: Final = (-1.0, 0.0)
"""A thumb pushes along -z; section coordinates are (z, y)."""
_SHEAR: Final = 0.5
"""Shear strength over tensile strength, greatest shear stress (Tresca)."""
_ENGAGED: Final = 0.5
"""Share of the thread's cylinder that is material, at the pitch diameter."""


@dataclass(frozen=True, slots=True)
class Member:
    """One member under load.

    ``stress`` is compared with ``strength``, both in MPa (for a snap arm both are strains in
    percent, see ``unit``); ``safety`` is their ratio. ``deflection_mm`` is ``None`` where nobody
    asks.
    """

    name: str
    load: str
    stress: float
    strength: float
    unit: str
    safety: float
    deflection_mm: float | None
    formula: str

    def as_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        return asdict(self)

    def check(self, safety_min: float) -> CheckResult:
        """Return the verdict against the least safety (1) that the material asks for.

        Examples
        --------
        >>> slat = Member("slat", "20 N", 12.0, 30.0, "MPa", 2.5, 0.1, "")
        >>> slat.check(2.0).verdict, slat.check(3.0).verdict
        ('pass', 'fail')
        >>> slat.check(2.0).message
        '20 N: 12.0 MPa against 30.0 MPa, gives way by 0.10 mm'
        """
        good = self.safety >= safety_min
        message = (
            f"{self.load}: {self.stress:.1f} {self.unit} against {self.strength:.1f} {self.unit}"
        )
        if self.deflection_mm is not None:
            message += f", gives way by {self.deflection_mm:.2f} mm"
        return CheckResult(
            f"strength: {self.name}",
            "pass" if good else "fail",
            message,
            self.safety,
            safety_min,
            "1",
        )


@dataclass(frozen=True, slots=True)
class StrengthReport:
    """All loaded members, and the push (N) on one slat at which it is expected to break."""

    members: tuple[Member, ...]
    slat_breaks_at_n: float


def strength_report(spec: VentSpec) -> StrengthReport:
    """Return what is computed about a vent's strength."""
    return StrengthReport(members(spec), bending_allowed_n(spec))


def members(spec: VentSpec) -> tuple[Member, ...]:
    """Return every loaded member of a vent, the weakest slat first."""
    found = [slat_under_thumb(spec)]
    body = spec.body
    if body.neck is not None:
        found += [neck_under_torque(spec, body.neck), thread_under_torque(spec, body.neck)]
    if body.snap is not None:
        found.append(snap_arm(spec, body.snap))
    return tuple(found)


def slat_under_thumb(
    spec: VentSpec, load_n: float = THUMB_LOAD.value, spread_mm: float = THUMB_WIDTH.value
) -> Member:
    """Return the slat that bears a thumb worst, in the widest bay, both ends held by ribs.

    Along the slat the stress lies in the layers in either orientation. A slat is wide for its
    thickness, so bending along it also stresses it sideways, by Poisson's ratio times as much
    (plate bent to a cylinder, Timoshenko, from memory); where the slat's width runs out of the
    layers, that share pulls across them. A folded slat is too stubby for a beam and gives way leaf
    by leaf: each leaf is taken alone, the help of the other left out.

    Raises
    ------
    ValueError
        if the material is not printed, or the section has no whole slat
    """
    profile = spec.material.print_profile
    span = spec.longest_bridge_mm
    worst: Member | None = None
    seen: set[tuple[tuple[float, float], ...]] = set()
    leaves = [leaf for slat in spec.section.slats for leaf in slat.leaves]
    for leaf in leaves:
        z0, y0 = leaf[0]
        shape = tuple((round(z - z0, 4), round(y - y0, 4)) for z, y in leaf)
        if shape in seen:
            continue
        seen.add(shape)
        result = fixed_beam(
            cross_section(leaf),
            span,
            load_n,
            _PUSH,
            profile.modulus_mpa,
            spread_mm,
            profile.poisson,
        )
        across = profile.poisson * result.stress_mpa * _lean(leaf, spec.print_orientation)
        in_layer = profile.in_layer_mpa / result.stress_mpa
        between = profile.across_layer_mpa / across if across > 0.0 else math.inf
        bonds = between < in_layer
        member = Member(
            name="slat under a thumb",
            load=f"{load_n:g} N over {min(spread_mm, span):.0f} mm in a bay of {span:.1f} mm",
            stress=across if bonds else result.stress_mpa,
            strength=profile.across_layer_mpa if bonds else profile.in_layer_mpa,
            unit="MPa",
            safety=min(in_layer, between),
            deflection_mm=result.deflection_mm,
            formula="fixed ends: M = W (3 L^2 - c^2) / (24 L), d = W (2 L^3 - 2 L c^2 + c^3)"
            " / (384 E I) + W (2 L - c) / (8 k G A); for c = 0 W L / 8 and W L^3 / (192 E I)",
        )
        if worst is None or member.safety < worst.safety:
            worst = member
    if worst is None:
        raise ValueError("the section has no whole slat")
    return worst


def _lean(leaf: tuple[tuple[float, float], ...], orientation: str) -> float:
    """Return sin^2 of the angle between a leaf's width and the layers."""
    points = np.asarray(leaf)
    edges = np.roll(points, -1, axis=0) - points
    width = edges[np.argmax(np.hypot(*edges.T))]
    # Layers are square to z when printed face down, to y when upright.
    out = width[0] if orientation == "face_down" else width[1]
    return float(out**2 / (width @ width))


def neck_under_torque(spec: VentSpec, neck: Neck) -> Member:
    """Return the neck between head and thread while its locknut is tightened.

    T = K F d gives the pull; half the torque twists the neck (the other half is friction under the
    nut). Pull and twist act across the layers, since the neck is printed standing; the greatest
    principal stress counts.

    Examples
    --------
    M32: T = 100 x 32 N mm, F = T / (0.3 x 32) = 333 N on a ring of 30.07 mm around a bore of 26.8
    mm, 146.0 mm2: s = 2.283 MPa; T / 2 on J = 29,610 mm4 at 15.03 mm: t = 0.812 MPa; s1 = 2.54 MPa:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="round", size="M32x1.5")
    >>> vent = resolve(row)
    >>> round(neck_under_torque(vent, vent.body.neck).stress, 2)
    2.54
    """
    profile, d = spec.material.print_profile, neck.thread.nominal_mm
    torque = NECK_TORQUE.value * d
    pull = torque / (NUT_FACTOR.value * d)
    outer, inner = neck_relief_diameter_mm(neck.thread.external) / 2.0, neck.bore_radius_mm
    direct = pull / (math.pi * (outer**2 - inner**2))
    twist = 0.5 * torque * outer / (0.5 * math.pi * (outer**4 - inner**4))
    principal = direct / 2.0 + math.hypot(direct / 2.0, twist)
    return Member(
        name="neck under its locknut",
        load=f"{torque / 1000.0:.1f} N m, a pull of {pull:.0f} N",
        stress=principal,
        strength=profile.across_layer_mpa,
        unit="MPa",
        safety=profile.across_layer_mpa / principal,
        deflection_mm=None,
        formula="F = T / (K d); s = F / A, t = (T / 2) r / J; s1 = s / 2 + sqrt(s^2 / 4 + t^2)",
    )


def thread_under_torque(spec: VentSpec, neck: Neck) -> Member:
    """Return the thread's turns in shear over the locknut's engaged length.

    Examples
    --------
    M32: 333 N over 5.42 mm of d2 = 30.92 mm, half of the cylinder being thread: 333 / 263 = 1.27
    MPa:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="round", size="M32x1.5")
    >>> vent = resolve(row)
    >>> thread = thread_under_torque(vent, vent.body.neck)
    >>> thread.load, round(thread.stress, 2)
    ('a pull of 333 N over 5.4 mm of M32', 1.27)
    """
    profile, d = spec.material.print_profile, neck.thread.nominal_mm
    pull = NECK_TORQUE.value / NUT_FACTOR.value
    nut = locknut_size(neck.thread).thickness_mm
    engaged = nut - 2.0 * neck.thread.internal.depth_mm
    area = _ENGAGED * math.pi * neck.thread.external.pitch_diameter_mm * engaged
    strength = _SHEAR * profile.across_layer_mpa
    return Member(
        name="thread of the neck",
        load=f"a pull of {pull:.0f} N over {engaged:.1f} mm of M{d:g}",
        stress=pull / area,
        strength=strength,
        unit="MPa",
        safety=strength * area / pull,
        deflection_mm=None,
        formula="t = F / (pi d2 l / 2), against half the strength across layers",
    )


def snap_arm(spec: VentSpec, snap: SnapArms) -> Member:
    """Return the snap arm while its hook passes the panel: strain 3 t y / (2 l^2).

    Cantilever of constant thickness (common snap-fit formula, from memory). The arm lies in the
    layers when the part is printed upright.

    Examples
    --------
    An arm 2 mm thick and 20 mm long with a hook of 1 mm: 3 x 2 x 1 / (2 x 400) = 0.75 %:

    >>> from vent_family.spec.body import SnapArms
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="round", size="M32x1.5")
    >>> vent = resolve(row)
    >>> arm = SnapArms(2.0, 1.8, 3.0, 1.0, -1.7, length_mm=20.0)
    >>> round(snap_arm(vent, arm).stress, 6), snap_arm(vent, arm).unit
    (0.75, '%')
    """
    profile = spec.material.print_profile
    length = snap.length_mm
    strain = 1.5 * snap.thickness_mm * snap.hook_mm / length**2
    return Member(
        name="snap arm while fitting",
        load=f"hook of {snap.hook_mm:g} mm passes the panel, arm {length:.1f} mm long",
        stress=100.0 * strain,
        strength=100.0 * profile.snap_strain,
        unit="%",
        safety=profile.snap_strain / strain,
        deflection_mm=snap.hook_mm,
        formula="e = 3 t y / (2 l^2)",
    )


def bending_allowed_n(spec: VentSpec) -> float:
    """Return the push (N) on one slat at which it is expected to break."""
    return slat_under_thumb(spec, 1.0).safety


__all__ = [
    "Member",
    "StrengthReport",
    "bending_allowed_n",
    "members",
    "neck_under_torque",
    "slat_under_thumb",
    "snap_arm",
    "strength_report",
    "thread_under_torque",
]
