"""The whole water check of one part: exposures in, report out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.water.access import access_report
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.answer import answered
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.drainage import overflow_depression_pa, trough_of
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.frontage import check_drain, frontage
from vent_family.evidence.water.judge import DROP_MECHANISMS, judge
from vent_family.evidence.water.penetration import CUT_VELOCITIES_M_S, cut_size
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.sweep import mountings_of
from vent_family.evidence.water.predicted import RANK, StateVerdict
from vent_family.evidence.water.report import ExposureReport, WaterReport, severity
from vent_family.evidence.water.setup import Setup, setup_of
from vent_family.evidence.water.sight import sight_report
from vent_family.evidence.water.upside_down import upside_down
from vent_family.evidence.water.verdict import plain
from vent_family.spec.forms import FORMS
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

WORTHWHILE: Final = 0.7
"""A change that leaves more than this share of the water passing is no help."""


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
    section = vent.section
    check_drain(section, vent.part_number)
    trials = _Trials(vent, conditions.vent, source)
    front = frontage(vent)
    own = conditions.calm.face_velocity_m_s
    velocities = sorted({*CUT_VELOCITIES_M_S, max(own, 0.0)} - {0.0})
    reports = []
    for states in conditions.singles():
        (exposure,) = states[0].table
        found = [answered(trials.setup(vent, state), exposure, state) for state in states]
        report, state = max(zip(found, states, strict=True), key=lambda pair: severity(pair[0]))
        if advise and isinstance(report, ExposureReport) and report.verdict.outcome != "holds":
            report = _advised(trials, vent, report, exposure, state)
        reports.append(replace(report, states=tuple(StateVerdict.of(r) for r in found)))
    return WaterReport(
        part_number=vent.part_number,
        conditions=conditions.stated(),
        sight=sight_report(section, front.bay_mm),
        access=access_report(section, front.bay_mm),
        cut_sizes=tuple(cut_size(section, v, source) for v in velocities),
        exposures=tuple(reports),
        overflow_depression_pa=overflow_depression_pa(
            trough_of(section, front.floor_width_mm, front.bays)
        ),
        upside_down=upside_down(vent, [r for r in reports if isinstance(r, ExposureReport)]),
        mountings=mountings_of(vent, conditions, source) if sweep else None,
    )


class _Trials:
    """A vent and its changed rows: each row is resolved once, each setup made once."""

    def __init__(self, vent: VentSpec, air: VentAir | None, source: AirSource) -> None:
        self._source = source
        self._vents: dict[CatalogRow, VentSpec | None] = {vent.row: vent}
        self._airs = {} if air is None else {vent.row: air}
        self._setups: dict[tuple[CatalogRow, float, Posture], Setup] = {}

    def vent(self, row: CatalogRow) -> VentSpec | None:
        """Return the vent of a row, ``None`` if the row breaks a rule."""
        if row not in self._vents:
            try:
                self._vents[row] = resolve(row, advise=False)
            except InputError:
                self._vents[row] = None
        return self._vents[row]

    def air(self, vent: VentSpec) -> VentAir:
        """Return the air side of a vent."""
        if vent.row not in self._airs:
            self._airs[vent.row] = vent_air(vent)
        return self._airs[vent.row]

    def setup(self, vent: VentSpec, conditions: Conditions) -> Setup:
        """Return the setup of a vent under the conditions of one exposure."""
        ((point,),) = conditions.states
        velocity = point.face_velocity_m_s
        key = (vent.row, velocity, conditions.posture)
        if key not in self._setups:
            self._setups[key] = setup_of(vent, velocity, conditions.posture, self._source)
        return self._setups[key]


def _advised(
    trials: _Trials,
    vent: VentSpec,
    report: ExposureReport,
    exposure: Exposure,
    conditions: Conditions,
) -> ExposureReport:
    """Return the report with the first change that helps, found by trying; unchanged if none."""
    if report.verdict.mechanism not in DROP_MECHANISMS:
        return report
    best: tuple[int, float, str] | None = None
    now = (RANK[report.verdict.outcome], report.passed_l.high)
    for words, update, velocity in _changes(vent.row, report, conditions):
        trial = trials.vent(vent.row.model_copy(update=update))
        if trial is None:
            continue
        with_air = (
            conditions.on(trials.air(trial))
            if velocity is None
            else conditions.at_velocity(trials.air(trial), velocity)
        )
        answer = judge(trials.setup(trial, with_air), exposure, with_air)
        score = (RANK[answer.verdict.outcome], answer.passed_l.high)
        helps = score[0] < now[0] or score[1] < WORTHWHILE * now[1]
        if helps and (best is None or score < best[:2]):
            best = (*score, words)
        if score[0] == 0:
            break
    if best is None:
        change = "no single change tried helps: shield the vent from this water"
    elif best[0] < now[0]:
        word = "hold" if best[0] == 0 else "be marginal"
        change = f"{best[2]} (then predicted to {word})"
    else:
        change = f"{best[2]} (helps, passes at most {plain(1000.0 * best[1])} mL, not enough alone)"
    return replace(report, verdict=replace(report.verdict, change=change))


def _changes(
    row: CatalogRow, report: ExposureReport, conditions: Conditions
) -> list[tuple[str, dict[str, Any], float | None]]:
    """Return changes worth trying: words, columns to change, another face velocity."""
    velocity = conditions.calm.face_velocity_m_s
    banks = row.bank_count or len(report.caught_by_bank)
    changes: list[tuple[str, dict[str, Any], float | None]] = []
    if banks < 6:
        more = {"bank_count": banks + 1, "bank_gaps_mm": None, "slopes": None}
        changes.append((f"set bank_count to {banks + 1}", more, None))
    if velocity > 0.5 and conditions.calm.source != "fan":
        slower = round(velocity / 2.0, 2)
        changes.append((f"halve the face velocity to {slower:g} m/s", {}, slower))
    if row.slat_form is not None and not FORMS[row.slat_form].slopes_chosen:
        blank = ("pitch_mm", "bank_gaps_mm", "bank_count", "slat_height_mm", "overlap_mm")
        # Slopes that are chosen bank by bank close what fixed ones leave open.
        changes += [
            (
                f"use {form.name} slats",
                {"slat_form": form.name} | dict.fromkeys(blank),
                None,
            )
            for form in FORMS
            if form.slopes_chosen
        ]
    return changes
