"""A vent fitted the wrong way up."""

from __future__ import annotations

from vent_family.evidence.water.drainage import Trough, pool_volume_l
from vent_family.evidence.water.frontage import Frontage
from vent_family.evidence.water.report import ExposureReport, UpsideDown
from vent_family.spec.section import Section


def upside_down(section: Section, front: Frontage, reports: list[ExposureReport]) -> UpsideDown:
    """Return what happens when the vent is fitted the wrong way up.

    The ceiling is then the floor: level, without a drain; whatever stands above it at the inner
    end is the only sill.
    """
    basin = max(section.ceiling_mm - section.mouth_top_mm, 0.0)
    inflow = max((r.drainage.inflow_l_min for r in reports), default=0.0)
    fill_s = None
    if inflow > 0.0:
        pool = Trough(
            1.0,
            front.floor_width_mm / front.bays,
            section.front_z_mm - section.stack_z_mm[0],
            0.01,
            basin,
            front.bays,
        )
        fill_s = pool_volume_l(pool, basin) / inflow * 60.0
    reason = (
        "upside down there is no drain and no sloping floor"
        if basin > 0.0
        else "upside down there is no sill and no drain: caught water runs straight in"
    )
    return UpsideDown(True, basin, fill_s, reason + "; unsafe, never mount it that way")
