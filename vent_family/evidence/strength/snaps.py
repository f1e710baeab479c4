"""Snap arms: while they pass the panel, pushed in and pulled out again.

Formulas of cantilever snap fits: Bayer, Snap-Fit Joints for Plastics, a design guide (page on
mating force read in a public copy; strain of a constant section from memory).
"""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.limits import FIT_CLEARANCE, SNAP_FRICTION, SNAP_PULL, SNAP_PUSH
from vent_family.evidence.strength.member import Member, Place
from vent_family.evidence.strength.necks import SHEAR
from vent_family.spec.body import HOLD_DEG, LEAD_IN_DEG, SnapArms
from vent_family.spec.vent import VentSpec

ARMS: Final = 2
"""Arms left and right."""


def snap_members(spec: VentSpec, snap: SnapArms) -> list[Member]:
    """Return all members of snap arms."""
    return [
        snap_arm(spec, snap),
        snap_pushed_in(spec, snap),
        snap_pulled_out(spec, snap),
        snap_hooks(spec, snap),
    ]


def arm_width_mm(spec: VentSpec) -> float:
    """Return the width of an arm, the body's whole height, mm."""
    return spec.opening.size_mm[1] - 2.0 * FIT_CLEARANCE.value


def snap_arm(spec: VentSpec, snap: SnapArms) -> Member:
    """Return the snap arm while its hook passes the panel: strain 3 t y / (2 l^2).

    Cantilever of constant thickness. The arm lies in the layers when the part is printed upright.

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
        least=profile.safety_min,
        deflection_mm=snap.hook_mm,
        formula="e = 3 t y / (2 l^2)",
        place=_roots(spec, snap),
    )


def _roots(spec: VentSpec, snap: SnapArms) -> Place:
    """Return lines along the roots of both arms, where they bend most."""
    half, out = arm_width_mm(spec) / 2.0, spec.opening.size_mm[0] / 2.0 - FIT_CLEARANCE.value
    z = snap.free_end_z_mm - snap.length_mm
    return tuple(((x, -half, z), (x, half, z)) for x in (-out, out))


def deflection_force_n(spec: VentSpec, snap: SnapArms) -> float:
    """Return the force (N) that bends one arm by its hook: E b t^3 y / (4 l^3)."""
    stiff = spec.material.print_profile.modulus_mpa * arm_width_mm(spec) * snap.thickness_mm**3
    return stiff * snap.hook_mm / (4.0 * snap.length_mm**3)


def sliding_force_n(force_n: float, angle_deg: float, friction: float) -> float:
    """Return the push along the way that bends arms aside: P (m + tan a) / (1 - m tan a), N.

    Parameters
    ----------
    force_n
        force P that bends the arms, square to the way, N
    angle_deg
        angle a of the hook's face to the way, degrees
    friction
        coefficient of friction m, a ratio

    Examples
    --------
    45 degrees without friction turn the force over as it is; with 0.5 they hold three times it, and
    with 1 nothing slides any more:

    >>> round(sliding_force_n(10.0, 45.0, 0.0), 6), round(sliding_force_n(10.0, 45.0, 0.5), 6)
    (10.0, 30.0)
    >>> sliding_force_n(10.0, 45.0, 1.0)
    inf
    """
    slope = math.tan(math.radians(angle_deg))
    left = 1.0 - friction * slope
    return force_n * (friction + slope) / left if left > 1e-9 else math.inf


def snap_pushed_in(spec: VentSpec, snap: SnapArms) -> Member:
    """Return the push that snaps the vent in, against what two thumbs give."""
    push = ARMS * sliding_force_n(deflection_force_n(spec, snap), LEAD_IN_DEG, SNAP_FRICTION.value)
    return Member(
        name="push that snaps the vent in",
        load=f"{ARMS} arms {arm_width_mm(spec):.0f} mm wide, hooks led in at {LEAD_IN_DEG:g} deg",
        stress=push,
        strength=SNAP_PUSH.value,
        unit="N",
        least=1.0,
        deflection_mm=None,
        formula="P = E b t^3 y / (4 l^3); W = n P (m + tan a) / (1 - m tan a)",
    )


def snap_pulled_out(spec: VentSpec, snap: SnapArms) -> Member:
    """Return the pull that a snapped-in vent follows, against the one it must not follow."""
    pull = pull_out_n(spec, snap)
    return Member(
        name="pull that draws the vent out",
        load=f"a pull of {SNAP_PULL.value:g} N on hooks at {HOLD_DEG:g} deg",
        stress=SNAP_PULL.value,
        strength=pull,
        unit="N",
        least=1.0,
        deflection_mm=None,
        formula="P = E b t^3 y / (4 l^3); W = n P (m + tan a) / (1 - m tan a)",
    )


def pull_out_n(spec: VentSpec, snap: SnapArms) -> float:
    """Return the pull that draws a snapped-in vent out, N."""
    force = deflection_force_n(spec, snap)
    return ARMS * sliding_force_n(force, HOLD_DEG, SNAP_FRICTION.value)


def snap_hooks(spec: VentSpec, snap: SnapArms) -> Member:
    """Return the hooks in shear at their foot while the vent is pulled out."""
    profile = spec.material.print_profile
    pull = pull_out_n(spec, snap)
    stress = pull / (ARMS * snap.foot_mm * arm_width_mm(spec))
    # A part with snap arms is printed upright: the foot is cut square to the layers.
    strength = SHEAR * profile.in_layer_mpa
    return Member(
        name="hooks of the snap arms",
        load=f"a pull of {pull:.0f} N on {ARMS} hooks {snap.foot_mm:.1f} mm long",
        stress=stress,
        strength=strength,
        unit="MPa",
        least=profile.safety_min,
        deflection_mm=None,
        formula="t = W / (n b l), against half the strength",
    )
