"""All loaded members of a vent, each with load, stress and safety."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.evidence.result import CheckResult
from vent_family.evidence.strength.covers import cover_members
from vent_family.evidence.strength.flame import Flame, flame_with_advice
from vent_family.evidence.strength.heat import Heat, heat
from vent_family.evidence.strength.impact import Impact, impact, under_hammer
from vent_family.evidence.strength.member import Member
from vent_family.evidence.strength.necks import breaking_torque_nmm, neck_members
from vent_family.evidence.strength.shells import SOLID, Shell
from vent_family.evidence.strength.slats import (
    EndBounds,
    bending_allowed_n,
    slat_bounds,
    slat_under_thumb,
)
from vent_family.evidence.strength.snaps import pull_out_n, snap_members
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class StrengthReport:
    """All loaded members, and what they bear.

    ``slat_breaks_at_n`` is the push (N) on one slat at which it is expected to break, ``bounds``
    its safety between clamps and hinges; ``neck_breaks_at_nmm`` the torque (N mm) on a locknut that
    breaks the neck, ``pulled_out_at_n`` the pull (N) that draws a snapped-in vent out; ``None``
    where there is no such thing. ``heat`` and ``flame`` are what its material stands.
    """

    members: tuple[Member, ...]
    slat_breaks_at_n: float
    bounds: EndBounds
    impact: Impact
    neck_breaks_at_nmm: float | None
    pulled_out_at_n: float | None
    heat: Heat
    flame: Flame

    @property
    def checks(self) -> tuple[CheckResult, ...]:
        """The verdicts on all that a vent must bear."""
        judged = [member.check() for member in self.members if member.judged]
        return (*judged, self.heat.check(), *self.flame.checks())


def strength_report(spec: VentSpec, shell: Shell = SOLID) -> StrengthReport:
    """Return what is computed about a vent's strength; ``shell`` says what of it is solid."""
    neck, snap = spec.body.neck, spec.body.snap
    warm = heat(spec)
    return StrengthReport(
        members=members(spec, shell),
        slat_breaks_at_n=bending_allowed_n(spec, shell),
        bounds=slat_bounds(spec, shell),
        impact=impact(spec, shell),
        neck_breaks_at_nmm=None if neck is None else breaking_torque_nmm(spec, neck, shell),
        pulled_out_at_n=None if snap is None else pull_out_n(spec, snap),
        heat=warm,
        flame=flame_with_advice(spec, outdoors=warm.outdoors),
    )


def members(spec: VentSpec, shell: Shell = SOLID) -> tuple[Member, ...]:
    """Return every loaded member of a vent, the weakest slat first."""
    slat, *others = bearing(spec, shell)
    return (slat, *under_hammer(spec, shell), *others)


def bearing(spec: VentSpec, shell: Shell = SOLID) -> tuple[Member, ...]:
    """Return the members that loads other than a hammer's act on, the weakest slat first."""
    found = [slat_under_thumb(spec, shell=shell)]
    body = spec.body
    if body.neck is not None:
        found += neck_members(spec, body.neck, body.gasket, shell)
    if body.snap is not None:
        found += snap_members(spec, body.snap)
    return tuple(found + cover_members(spec, shell))
