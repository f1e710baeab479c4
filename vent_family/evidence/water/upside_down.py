"""A vent fitted the wrong way up."""

from __future__ import annotations

from vent_family.base.limits import MOUNTING_ROLL_MAX
from vent_family.evidence.water.posture.basin import basin_of
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.trough import posed
from vent_family.evidence.water.report import ExposureReport, UpsideDown
from vent_family.spec.vent import VentSpec


def upside_down(vent: VentSpec, reports: list[ExposureReport]) -> UpsideDown:
    """Return what the pool does when the vent is fitted the wrong way up.

    The ceiling is then the floor: level, without a drain, its outer edge or that of a slat which
    grows out of it the only way out. Inwards nothing stands above it but the edge of a neck's bore.
    The trough gets what it gets upright.
    """
    section = vent.section
    sill = section.sill_top_mm - section.brink_drain_mm[0]
    trough = posed(basin_of(vent), Posture(0.0, MOUNTING_ROLL_MAX.value), sill)
    pools = [
        trough.drained(r.drainage.inflow_l_min, r.time_s, suction_pa=r.air.depression_high_pa)
        for r in reports
    ]
    worst = min(pools, key=lambda p: p.margin_mm, default=None)
    still = worst if worst is not None else trough.drained(0.0, 0.0, suction_pa=0.0)
    stands = still.capillary_mm + still.flow_mm + still.suction_mm
    # What the last edge inwards stands above that outwards.
    edge = still.margin_mm + stands
    if edge <= 0.0:
        reason = (
            "upside down its floor is level, without drain and sill: caught water runs straight in"
        )
    else:
        reason = "upside down its floor is level and without a drain: "
        if still.margin_mm < 0.0:
            reason += (
                f"before {stands:.1f} mm of water stand over the edge outwards it runs over the"
                f" edge of the bore, {edge:.1f} mm above it, and in"
            )
        else:
            reason += (
                f"water stands up to {stands:.1f} mm over the edge outwards,"
                f" {still.margin_mm:.1f} mm below the edge of the bore"
            )
    return UpsideDown(
        unsafe=True,
        basin_mm=max(edge, 0.0),
        margin_mm=still.margin_mm,
        fill_s=min((p.overflow_s for p in pools if p.overflow_s is not None), default=None),
        reason=reason + "; unsafe, never mount it that way",
    )
