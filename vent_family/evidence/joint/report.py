"""What keeps water out between the fitted vent and its panel, by closed forms; lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import (
    CREEP_LEFT,
    FIT_CLEARANCE,
    GASKET_FACTOR,
    GASKET_PRESSURE,
    GASKET_RELAXED,
    NECK_TORQUE,
    NUT_FACTOR,
    SCREW_FACTOR,
    SCREW_TORQUE,
)
from vent_family.evidence.joint.flatness import gape_mm
from vent_family.evidence.joint.record import GasketRecord, JointRecord
from vent_family.evidence.strength.covers import gasket_area_mm2
from vent_family.spec.vent import VentSpec

_SIDES: Final = ("left", "right", "bottom", "top")


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the opening: how far the cover reaches over it, and how long it is."""

    name: str
    overlap_mm: float
    length_mm: float

    @property
    def slit_mm(self) -> float:
        """Width of the gap beside the body that the cover leaves in sight.

        Examples
        --------
        A lip flush with the body leaves the whole gap, one flush with the opening none:

        >>> Side("bottom", -0.3, 60.0).slit_mm, Side("bottom", 0.0, 60.0).slit_mm
        (0.3, 0.0)
        """
        return min(max(0.0, -self.overlap_mm), FIT_CLEARANCE.value)


def sides_of(spec: VentSpec) -> tuple[Side, ...]:
    """Return the sides of a vent's opening as its cover overlaps them; a notch lies below."""
    width, height = spec.opening.size_mm
    edges = (width / 2.0, width / 2.0, height / 2.0, height / 2.0)
    lengths = (height, height, width, width)
    deeper = spec.opening.notch_mm[1] if spec.opening.notch_mm else 0.0
    more = (0.0, 0.0, deeper, 0.0)
    return tuple(
        Side(name, reach - edge - notch, length)
        for name, reach, edge, notch, length in zip(
            _SIDES, spec.body.cover.reach_mm, edges, more, lengths, strict=True
        )
    )


def slit_mm2(sides: Sequence[Side]) -> float:
    """Return the area (mm2) beside the body that can be looked straight through once fitted."""
    return sum(side.slit_mm * side.length_mm for side in sides)


def joint_of(spec: VentSpec) -> JointRecord:
    """Return the joint of a vent.

    A gap that leads straight inwards is open to sight, spray and jets alike; a gasket closes the
    rest. Without one a flat lip on a flat panel keeps spray off, and water that runs down the panel
    is drawn between them.
    """
    sides = sides_of(spec)
    overlap = min(side.overlap_mm for side in sides)
    gasket = gasket_record(spec)
    return JointRecord(
        gasket=gasket,
        overlap_mm=overlap,
        gap_mm=None if gasket is not None else max(gape_mm(side.length_mm) for side in sides),
        slit_mm2=slit_mm2(sides),
        leak_path=_leak_words(sides, overlap, sealed=gasket is not None),
    )


def _leak_words(sides: tuple[Side, ...], overlap_mm: float, *, sealed: bool) -> str:
    open_sides = [side for side in sides if side.slit_mm > 0.0]
    if open_sides:
        told = " and ".join(
            f"{s.length_mm:g} x {s.slit_mm:.2g} mm at the {s.name}" for s in open_sides
        )
        return f"open: a slit straight through beside the body, {told}"
    if sealed:
        return "sealed by its gasket all round"
    return (
        f"no gasket: water that runs down the panel creeps {overlap_mm:.1f} mm behind the cover to"
        " the opening; whether it stays there the water check says, and silicone closes it"
    )


def gasket_record(spec: VentSpec) -> GasketRecord | None:
    """Return how a vent's gasket is pressed flush, ``None`` where it has none.

    F = p A; each of n screws, or the locknut, is tightened to T = K (F / n) d / c, where c is the
    share of its pull that creep leaves. It holds water back up to p / m, for it must push m times
    as hard; of its push the rubber's relaxation, and a torque less than needed, leave a share.
    """
    gasket, neck, holes = spec.body.gasket, spec.body.neck, spec.opening.holes
    if gasket is None:
        return None
    area = gasket_area_mm2(gasket)
    force = GASKET_PRESSURE.value * area
    if neck is not None:
        diameter, count = neck.thread.nominal_mm, 1
        factor, by_hand = NUT_FACTOR.value, NECK_TORQUE.value
    else:
        diameter, count = holes[0].screw_mm, len(holes)
        factor, by_hand = SCREW_FACTOR.value, SCREW_TORQUE.value
    torque = factor * force / count * diameter / CREEP_LEFT.value
    holds_pa = 1e6 * GASKET_PRESSURE.value / GASKET_FACTOR.value
    return GasketRecord(
        thickness_mm=gasket.thickness_mm,
        compressed_mm=gasket.recess_mm,
        squeeze=1.0 - gasket.recess_mm / gasket.thickness_mm,
        area_mm2=area,
        pressure_mpa=GASKET_PRESSURE.value,
        stiffness=GASKET_PRESSURE.source,
        clamp_force_n=force,
        torque_n_m=torque * 1e-3,
        torque_by_hand_n_m=by_hand * diameter * 1e-3,
        holds_pa=GASKET_RELAXED.value * min(1.0, by_hand * diameter / torque) * holds_pa,
        holds_new_pa=holds_pa,
    )
