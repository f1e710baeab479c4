"""The whole water check of one part: exposures in, report out."""

from __future__ import annotations

import math
from dataclasses import replace

from vent_family.evidence.joint.report import sides_of, slit_mm2
from vent_family.evidence.water.access import access_report
from vent_family.evidence.water.advice import Trials, advised_reports
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.drainage import trough_of
from vent_family.evidence.water.frontage import check_drain, frontage
from vent_family.evidence.water.penetration import CUT_VELOCITIES_M_S, cut_size
from vent_family.evidence.water.pool import borne_depression_pa
from vent_family.evidence.water.posture.basin import basin_of
from vent_family.evidence.water.posture.sweep import mountings_of
from vent_family.evidence.water.predicted import StateVerdict
from vent_family.evidence.water.report import ExposureReport, Reported, WaterReport, severity
from vent_family.evidence.water.sight import sight_report
from vent_family.evidence.water.upside_down import upside_down
from vent_family.spec.vent import VentSpec


def assess(
    vent: VentSpec,
    conditions: Conditions,
    *,
    source: AirSource = potential_flow,
    advise: bool = True,
    sweep: bool = False,
) -> WaterReport:
    """Return the water report of a part.

    ``source`` gives the air field; ``advise`` tries changes of the row for exposures that do not
    hold, which takes a further assessment for each change tried. ``sweep`` judges every mounting.

    Raises
    ------
    InputError
        if the part has no drain, or one that is not at its bottom
    """
    section, screen = vent.section, vent.body.screen
    check_drain(section, vent.part_number)
    trials = Trials(vent, conditions.vent, source)
    front = frontage(vent)
    own = conditions.calm.face_velocity_m_s
    velocities = sorted({*CUT_VELOCITIES_M_S, max(own, 0.0)} - {0.0})
    reports: list[Reported] = []
    for states in conditions.singles():
        found = trials.worst(vent, states)
        worst = max(found, key=severity)
        several = tuple(StateVerdict.of(r) for r in found) if len(found) > 1 else ()
        reports.append(replace(worst, states=several))
    if advise:
        reports = advised_reports(trials, vent, conditions, reports)
    return WaterReport(
        part_number=vent.part_number,
        conditions=conditions.stated(),
        sight=sight_report(section, front.bay_mm, slit_mm2(sides_of(vent))),
        access=access_report(
            section, front.bay_mm, math.inf if screen is None else screen.mesh.opening_mm
        ),
        cut_sizes=tuple(cut_size(section, v, source) for v in velocities),
        exposures=tuple(reports),
        overflow_depression_pa=borne_depression_pa(
            trough_of(section, front.floor_width_mm, front.bays),
            basin_of(vent),
            conditions.posture,
        ),
        upside_down=upside_down(vent, [r for r in reports if isinstance(r, ExposureReport)]),
        mountings=mountings_of(vent, conditions, source) if sweep else None,
    )
