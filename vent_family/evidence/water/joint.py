"""The joint of vent and panel under one exposure: what presses water through, what holds it back.

**A bare cover** gapes by what plates of its size are flat to. Water that runs down the panel is
drawn into the gap and fills it as far as the edge of the opening. There it hangs on the panel's
edge and on the cover's back. As on the drain (:mod:`vent_family.evidence.water.held`) it stays on
the edge up to the contact angle past the face that turns away by 90 degrees, while on the smooth
back it advances at the contact angle itself. An arc that ends so is curved most, and holds most, at

    p = sigma (-cos(edge) - cos(contact)) / gap      (Young and Laplace),

0.81 sigma / gap at 80 degrees, and nothing below 45, where water creeps along the corner behind
(Concus and Finn 1969, from memory). Two plates that both ended there would hold up to 2 sigma /
gap, two that both went on nothing. What the slit beside the body holds besides is left out.

**What presses**: the cabinet's pressure below the outside; above the opening the water in the gap,
as high as the cover overlaps, and what stands on the cover's upper edge, no more than a sharp edge
holds. Beside the opening the gap drains out sideways, for the panel outside is wet; below, its
water hangs. A spray pushes by its momentum over its spot, a full jet by its stagnation pressure.
Single drops push harder for a tenth of a millisecond and over their own width, which a gap several
times as deep evens out: they are left out.

**What runs in**, once the edge has let go, is flow between parallel plates (the cubic law; White,
Viscous Fluid Flow, from memory), less what the water's own speed takes, and no more than comes down
to the joint. It runs down behind the panel inside.

**A gasket** holds as long as it is pressed enough, :mod:`vent_family.evidence.joint.report`.

A joint holds, or fails, if it does over the band of the depression, and over the classes of
flatness or what relaxation leaves of the gasket's push; else it is marginal.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.constants import (
    PASCAL_PER_MM_WATER,
    SURFACE_TENSION_N_M,
    WATER_DENSITY_KG_M3,
    WATER_VISCOSITY_PA_S,
)
from vent_family.base.limits import WATER_HOLDS_ML
from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.joint.flatness import CLASSES, USUAL, FlatnessClass, gape_mm
from vent_family.evidence.joint.report import Side, gasket_record, sides_of, slit_mm2
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.arrival import Arrival
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.held import edge_angle_deg, edge_mm
from vent_family.evidence.water.house import CONTACT_ANGLE, PANEL_ABOVE
from vent_family.evidence.water.joint_report import JointWater
from vent_family.evidence.water.posture.frame import Vector
from vent_family.evidence.water.setup import Setup
from vent_family.evidence.water.verdict import plain_range

ENDS_LOSS: Final = 1.5
"""Velocity heads lost where water enters a slit, 0.5, and leaves it, 1 (handbooks, from memory)."""
_OUTWARDS: Final[dict[str, tuple[float, float]]] = {
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
    "bottom": (0.0, -1.0),
    "top": (0.0, 1.0),
}


def held_pa(gap_mm: float) -> float:
    """Return the pressure (Pa) at which water in a gap (mm) lets go of an edge by a smooth wall.

    Examples
    --------
    0.0728 N/m x (sin 80 - cos 80 deg) / 0.2 mm:

    >>> round(held_pa(0.2), 1)
    295.3
    """
    pull = -math.cos(math.radians(edge_angle_deg())) - math.cos(math.radians(CONTACT_ANGLE.now))
    return max(0.0, SURFACE_TENSION_N_M * pull / (gap_mm * 1e-3))


def flow_l_min(gap_mm: float, length_mm: float, depth_mm: float, drive_pa: float) -> float:
    """Return what a pressure (Pa) presses through a slit, L/min.

    Between parallel plates dp = 12 mu L v / g^2, and dp = 1.5 rho v^2 / 2 at its ends; v is the
    mean speed at which both together use the pressure up.

    Parameters
    ----------
    gap_mm, length_mm
        width and length of the slit, mm
    depth_mm
        its extent along the flow, mm
    drive_pa
        the pressure, Pa; below zero nothing runs in

    Examples
    --------
    100 Pa through 0.1 mm x 80 mm, 10 mm deep: g^3 dp w / (12 mu L) = 0.0665 cm3/s:

    >>> round(1000.0 / 60.0 * flow_l_min(0.1, 80.0, 10.0, 100.0), 4)
    0.0665
    """
    if drive_pa <= 0.0:
        return 0.0
    gap, depth = gap_mm * 1e-3, depth_mm * 1e-3
    viscous = 12.0 * WATER_VISCOSITY_PA_S * depth / gap**2
    ends = 0.5 * ENDS_LOSS * WATER_DENSITY_KG_M3
    speed = 2.0 * drive_pa / (viscous + math.sqrt(viscous**2 + 4.0 * ends * drive_pa))
    return speed * gap * length_mm * 1e-3 * 60_000.0


def push_pa(exposure: Exposure) -> float:
    """Return what an exposure pushes water into a gap with, besides the wind, Pa.

    Examples
    --------
    A hose of 20 L/min through 6 mm, 11.8 m/s; the hand nozzle's spray over its spot; rain:

    >>> from vent_family.evidence.water.exposures import EXPOSURES
    >>> [round(push_pa(EXPOSURES[name])) for name in ("hose_down", "spraying", "rain")]
    [69368, 22, 0]
    """
    if exposure.kind != "nozzle":
        return 0.0
    speed = exposure.exit_speed_m_s
    if exposure.coherent:
        return 0.5 * WATER_DENSITY_KG_M3 * speed**2
    spot_m2 = math.pi * (exposure.footprint_mm * 1e-3) ** 2 / 4.0
    return WATER_DENSITY_KG_M3 * exposure.flow_l_min / 60_000.0 * speed / spot_m2


def edge_head_mm(side: Side, up: Vector) -> float:
    """Return how high (mm) water in the gap stands over the opening's edge on one side.

    ``up`` is the unit vector against gravity in the part's coordinates.

    Examples
    --------
    6 mm of overlap and the 5.4 mm that an edge holds above the opening; below it, it hangs:

    >>> sides = [Side(name, 6.0, 80.0) for name in ("top", "left", "bottom")]
    >>> [round(edge_head_mm(side, (0.0, 1.0, 0.0)), 1) for side in sides]
    [11.4, 0.0, -6.0]
    """
    x, y = _OUTWARDS[side.name]
    above = x * up[0] + y * up[1]
    return side.overlap_mm * above + edge_mm() * max(above, up[2], 0.0)


def joint_water(
    setup: Setup, exposure: Exposure, point: OperatingPoint, came: Arrival
) -> JointWater:
    """Return the joint of a vent under one exposure.

    ``point`` is the operating point of its air, ``came`` the water that comes at it.
    """
    return _Joint(setup, exposure, point, came).judged()


@dataclass(frozen=True, eq=False)
class _Joint:
    """The joint of one vent under one exposure."""

    setup: Setup
    exposure: Exposure
    point: OperatingPoint
    came: Arrival

    @property
    def _depressions_pa(self) -> tuple[float, float, float]:
        """The cabinet below the outside: low, nominal, high, as wide a band as over the pool."""
        p = self.point
        now = p.opening_depression_pa
        ends = (p.depression_low_pa, p.depression_high_pa)
        low, high = (now + end - p.depression_pa for end in ends)
        return low, now, high

    def _drive_pa(self, side: Side, depression_pa: float) -> float:
        head = edge_head_mm(side, self.setup.posture.up)
        return depression_pa + PASCAL_PER_MM_WATER * head + push_pa(self.exposure)

    def judged(self) -> JointWater:
        """Return the answer: a slit in sight, a gasket, or a bare cover."""
        sides = sides_of(self.setup.vent)
        seal = gasket_record(self.setup.vent)
        _, now, _ = self._depressions_pa
        decides = False
        if seal is not None:
            worst = max(sides, key=lambda s: self._drive_pa(s, now))
            found = self._at(worst, None, (seal.holds_pa, seal.holds_pa, seal.holds_new_pa))
            outcome = _agreed(
                self._drive_pa(worst, d) <= h
                for d in self._depressions_pa
                for h in (seal.holds_pa, seal.holds_new_pa)
            )
        else:
            worst = max(sides, key=lambda s: self._drive_pa(s, now) - held_pa(gape_mm(s.length_mm)))
            holds = [held_pa(gape_mm(worst.length_mm, c)) for c in reversed(CLASSES)]
            found = self._at(worst, gape_mm(worst.length_mm), (holds[0], holds[1], holds[2]))
            leaks = {
                (c, d): self._leak_l_min(sides, c, d) for c in CLASSES for d in self._depressions_pa
            }
            dry = {case: self._amount_ml(q) <= WATER_HOLDS_ML.value for case, q in leaks.items()}
            outcome = _agreed(dry.values())
            decides = _agreed(dry[c, now] for c in CLASSES) == "marginal"
            found = replace(
                found, leak_l_min=leaks[USUAL, now], leak_high_l_min=max(leaks.values())
            )
        reason = self._reason(found, outcome, decides)
        slit = slit_mm2(sides)
        if slit > 0.0:
            outcome = "fails"
            reason = f"a slit of {slit:.2g} mm2 beside the body leads straight inside; {reason}"
        return replace(found, outcome=outcome, reason=reason)

    def _at(
        self, side: Side, gap_mm: float | None, holds_pa: tuple[float, float, float]
    ) -> JointWater:
        low, now, high = holds_pa
        return JointWater(
            outcome="holds",
            side=side.name,
            gap_mm=gap_mm,
            head_mm=edge_head_mm(side, self.setup.posture.up),
            push_pa=push_pa(self.exposure),
            drive_pa=self._drive_pa(side, self._depressions_pa[1]),
            drive_high_pa=self._drive_pa(side, self._depressions_pa[2]),
            holds_pa=now,
            holds_low_pa=low,
            holds_high_pa=high,
            leak_l_min=0.0,
            leak_high_l_min=0.0,
            reason="",
        )

    def _amount_ml(self, leak_l_min: float) -> float:
        return leak_l_min * self.came.time_s / 60.0 * 1000.0

    def _leak_l_min(
        self, sides: tuple[Side, ...], flatness: FlatnessClass, depression_pa: float
    ) -> float:
        """Return what runs in on all sides; of a full jet, which meets one place, on the worst."""
        found = []
        for side in sides:
            gap = gape_mm(side.length_mm, flatness)
            drive = self._drive_pa(side, depression_pa)
            if drive <= held_pa(gap):
                continue
            length = side.length_mm
            if self.exposure.coherent:
                length = min(length, self.exposure.bore_mm)
            most = flow_l_min(gap, length, max(side.overlap_mm, gap), drive)
            found.append(min(most, self._supply_l_min(side)))
        return max(found, default=0.0) if self.exposure.coherent else sum(found)

    def _supply_l_min(self, side: Side) -> float:
        """Return what comes down to one side of the joint.

        A nozzle's water over the side's length; of rain and drips what meets the panel above it,
        and the cover's own upper edge.
        """
        exposure, length = self.exposure, side.length_mm
        if exposure.coherent:
            return exposure.flow_l_min
        if exposure.kind == "nozzle":
            return exposure.flow_l_min * min(1.0, length / exposure.footprint_mm)
        face = float(self.came.total_l_min.max()) / self.setup.front.face_m2
        edge_m = self.setup.vent.section.front_z_mm * 1e-3
        per_m = face * PANEL_ABOVE.now + exposure.intensity_mm_h / 60.0 * edge_m
        return per_m * length * 1e-3

    def _reason(self, found: JointWater, outcome: Outcome, flatness: bool) -> str:
        """Return the sentence; ``flatness`` says that classes of flatness disagree."""
        parts = f"{found.head_mm:.1f} mm of water over the opening's edge"
        parts += f" and {self._depressions_pa[1]:.0f} Pa of depression"
        if found.push_pa:
            parts += f" and {_pressure(found.push_pa)} of push"
        press = f"{_pressure(found.drive_pa)} ({parts}) press at the {found.side}"
        low, now, high = map(_pressure, (found.holds_low_pa, found.holds_pa, found.holds_high_pa))
        if found.gap_mm is None:
            return (
                f"{press} on a gasket that holds {now} for years, and {high} new and tightened as"
                " stated"
            )
        text = (
            f"{press}; the bare joint, {found.gap_mm:g} mm wide by flatness class {USUAL}, holds"
            f" {now} by surface tension"
        )
        if outcome == "holds":
            return text
        classes = f"{high} in class {CLASSES[0]}, {low} in class {CLASSES[-1]}"
        text += f"; {'flatness decides: ' if flatness else ''}{classes}"
        if outcome == "marginal" and not flatness:
            most = _pressure(found.drive_high_pa)
            text += f"; the depression's band decides, {most} at its upper end"
        leaks = plain_range(1000.0 * found.leak_l_min, 1000.0 * found.leak_high_l_min)
        return f"{text}; {leaks} mL/min run in and down behind the panel"


def _pressure(value_pa: float) -> str:
    """Return a pressure, Pa, in words of three or four figures."""
    return f"{value_pa:.0f} Pa" if value_pa < 9999.5 else f"{value_pa / 1000.0:.3g} kPa"


def _agreed(holds: Iterable[bool]) -> Outcome:
    """Return the outcome that all agree on; marginal where they do not."""
    found = set(holds)
    if len(found) > 1:
        return "marginal"
    return "holds" if found == {True} else "fails"
