"""The whole water check of one part: exposures in, report out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import MOUNTING_TOLERANCE
from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.water.access import access_report
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.drainage import (
    Trough,
    drainage,
    held_on_slats_l,
    overflow_depression_pa,
    pool_volume_l,
    tilt_limit_deg,
    trough_of,
)
from vent_family.evidence.water.exposures import Exposure, beams, time_on_vent_s
from vent_family.evidence.water.frontage import Frontage, check_drain, frontage
from vent_family.evidence.water.penetration import (
    CUT_VELOCITIES_M_S,
    Spray,
    cut_size,
    scene_of,
    spray,
)
from vent_family.evidence.water.report import (
    Balance,
    ExposureReport,
    Penetration,
    Range,
    UpsideDown,
    Verdict,
    WaterReport,
)
from vent_family.evidence.water.sight import sight_report
from vent_family.evidence.water.splash import BRACKET
from vent_family.evidence.water.transport import Drip, DropScene, drip_matrix
from vent_family.evidence.water.verdict import (
    Evidence,
    drainage_change,
    mechanism_of,
    outcome_of,
    plain,
)
from vent_family.spec.forms import FORMS
from vent_family.spec.resolve import resolve
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec

WORTHWHILE: Final = 0.7
"""A change that leaves more than this share of the water passing is no help."""
RANK: Final = {"holds": 0, "marginal": 1, "fails": 2}
DROP_MECHANISMS: Final = ("direct drops", "splash", "dripping film", "straight path")


def assess(
    vent: VentSpec,
    conditions: Conditions,
    *,
    source: AirSource = potential_flow,
    advise: bool = True,
) -> WaterReport:
    """Return the water report of a part.

    ``source`` gives the air field; ``advise`` tries changes of the row for exposures that do not
    hold, which takes a further assessment for each change tried.

    Raises
    ------
    InputError
        if the part has no drain, or one that is not at its bottom
    """
    section = vent.section
    check_drain(section, vent.part_number)
    trials = _Trials(vent, source)
    setup = trials.setup(vent, conditions)
    front, trough = setup.front, setup.trough
    velocities = sorted({*CUT_VELOCITIES_M_S, conditions.face_velocity_m_s} - {0.0})
    reports = []
    for exposure in conditions.table:
        report = _exposure(setup, exposure, conditions)
        if advise and report.verdict.outcome != "holds":
            report = _advised(trials, vent.row, report, exposure, conditions)
        reports.append(report)
    return WaterReport(
        part_number=vent.part_number,
        conditions=conditions,
        sight=sight_report(section, front.bay_mm),
        access=access_report(section, front.bay_mm),
        cut_sizes=tuple(cut_size(section, v, source) for v in velocities),
        exposures=tuple(reports),
        overflow_depression_pa=overflow_depression_pa(trough),
        upside_down=_upside_down(section, front, reports),
    )


@dataclass(frozen=True, eq=False)
class _Setup:
    """What all exposures of a vent share at one face velocity and tilt."""

    front: Frontage
    trough: Trough
    scene: DropScene
    drips: list[Drip]


def _setup(vent: VentSpec, conditions: Conditions, source: AirSource) -> _Setup:
    front = frontage(vent)
    trough = trough_of(vent.section, front.floor_width_mm, front.bays)
    scene = scene_of(vent.section, conditions.face_velocity_m_s, conditions.tilt_deg, source)
    return _Setup(front, trough, scene, [drip_matrix(scene, model) for model in BRACKET])


class _Trials:
    """A vent and its changed rows: each row is resolved once, each setup made once."""

    def __init__(self, vent: VentSpec, source: AirSource) -> None:
        self._source = source
        self._vents: dict[CatalogRow, VentSpec | None] = {vent.row: vent}
        self._setups: dict[tuple[CatalogRow, float, float], _Setup] = {}

    def vent(self, row: CatalogRow) -> VentSpec | None:
        """Return the vent of a row, ``None`` if the row breaks a rule."""
        if row not in self._vents:
            try:
                self._vents[row] = resolve(row)
            except InputError:
                self._vents[row] = None
        return self._vents[row]

    def setup(self, vent: VentSpec, conditions: Conditions) -> _Setup:
        """Return what the exposures of a vent share under some conditions."""
        key = (vent.row, conditions.face_velocity_m_s, conditions.tilt_deg)
        if key not in self._setups:
            self._setups[key] = _setup(vent, conditions, self._source)
        return self._setups[key]


def _exposure(setup: _Setup, exposure: Exposure, conditions: Conditions) -> ExposureReport:
    """Return the report of one exposure."""
    front, trough, scene = setup.front, setup.trough, setup.scene
    came = beams(exposure, conditions.face_velocity_m_s)
    wetted_mm = exposure.footprint_mm if exposure.kind == "nozzle" else math.inf
    bands = max(1, min(12, int(front.height_mm // wetted_mm))) if wetted_mm < math.inf else 1
    sprays = [
        spray(scene, came, conditions.tilt_deg, model, bands, drip)
        for model, drip in zip(BRACKET, setup.drips, strict=True)
    ]
    time_s = time_on_vent_s(exposure, front.face_m2)
    rates = np.array([_arriving(s.flux_l_min_m2, came, exposure, front) for s in sprays[:1]])[0]
    total = rates.sum(axis=1)
    share = rates / np.maximum(total, 1e-300)[:, None]

    def per_beam(values: FloatArray) -> FloatArray:
        """Weigh classes by their share; a jet may stay on the worst band of the height."""
        return np.asarray((values * share[:, :, None]).sum(axis=1))

    passing = [per_beam(s.passed) for s in sprays]
    worst_rate = passing[-1].max(axis=1) * total
    k = int(np.argmax(worst_rate))
    band = int(np.argmax(passing[-1][k]))
    # Drainage has its own worst direction: where most water ends in the trough.
    inflows = [float((per_beam(s.trough) * total[:, None]).max()) for s in sprays]
    inflow_rate = max(inflows)
    concentration = _concentration(wetted_mm, front)
    suction = conditions.depression_pa

    def drain(inflow: float, more_deg: float = 0.0) -> Any:
        return drainage(
            trough,
            inflow,
            time_s,
            suction_pa=suction,
            tilt_deg=conditions.tilt_deg + more_deg,
            roll_deg=more_deg,
            concentration=concentration,
        )

    peak, tilted = drain(inflow_rate), drain(inflow_rate, MOUNTING_TOLERANCE.value)
    arriving_l = float(total[k]) * time_s / 60.0
    severe = sprays[-1]
    pick = _pick(severe, share, k, band)
    overs = [drain(q).overflow_l for q in inflows]
    arriving_safe = max(arriving_l, 1e-300)
    overflow_share = min(max(overs) / arriving_safe, 1.0)
    passed_l = Range.of(
        [float(p[k, band]) * arriving_l + o for p, o in zip(passing, overs, strict=True)]
    )
    passed_share = Range(
        min(passed_l.low / arriving_safe, 1.0) if arriving_l else 0.0,
        min(passed_l.high / arriving_safe, 1.0) if arriving_l else 0.0,
    )
    evidence = Evidence(
        sight_margin_mm=scene.section.sight.margin_mm,
        passed_share=passed_share,
        passed_ml=Range(1000.0 * passed_l.low, 1000.0 * passed_l.high),
        direct_share=pick["direct"],
        splash_share=pick["air"] - pick["direct"],
        drip_share=pick["drip"],
        overflow_share=overflow_share,
        drainage=peak,
        drainage_tilted=tilted,
        suction_pa=suction,
        overflow_depression_pa=overflow_depression_pa(trough),
    )
    mechanism, reason = mechanism_of(evidence)
    outcome = outcome_of(evidence)
    change = ""
    if outcome != "holds" and mechanism not in DROP_MECHANISMS:
        change = drainage_change(evidence, trough, concentration)
    classes = came[k].diameter_mm
    by_diameter = tuple(
        Penetration(
            float(classes[c]),
            float(share[k, c]),
            Range.of([float(s.passed[k, c, band]) for s in sprays]),
        )
        for c in range(classes.size)
    )
    return ExposureReport(
        name=exposure.name,
        worst_elevation_deg=came[k].elevation_deg,
        time_s=time_s,
        arriving_l=arriving_l,
        passed_l=passed_l,
        passed_share=passed_share,
        direct_share=evidence.direct_share,
        splash_share=evidence.splash_share,
        drip_share=evidence.drip_share,
        overflow_share=overflow_share,
        caught_by_bank=tuple(float(x) for x in pick["banks"]),
        by_diameter=by_diameter,
        drainage=peak,
        drainage_tilted=tilted,
        tilt_limit_deg=tilt_limit_deg(
            trough, inflow_rate, suction_pa=suction, concentration=concentration
        ),
        balance=_balance(scene.section, front, trough, pick, arriving_l, time_s, drain),
        verdict=Verdict(outcome, mechanism, reason, change, exposure.test),
    )


def _arriving(flux: FloatArray, came: list[Any], exposure: Exposure, front: Frontage) -> FloatArray:
    """Return L/min per beam and class through the open face.

    A jet narrower than the vent spends itself on its spot, however large the vent is.
    """
    if exposure.kind != "nozzle":
        return flux * front.face_m2
    spot = math.pi * (exposure.footprint_mm * 1e-3) ** 2 / 4.0
    areas = [
        min(front.face_m2, spot / max(math.cos(math.radians(b.elevation_deg)), 0.05)) for b in came
    ]
    return np.asarray(flux * np.array(areas)[:, None])


def _concentration(wetted_mm: float, front: Frontage) -> float:
    """Return how much more than its share of the water the worst bay gets."""
    total = front.floor_width_mm
    if wetted_mm >= total:
        return 1.0
    # The jet wets a strip; the bay in its middle takes all of it, or its own width's part.
    in_bay = min(1.0, front.bay_mm / wetted_mm)
    return max(1.0, in_bay * front.bays)


def _pick(s: Spray, share: FloatArray, k: int, band: int) -> dict[str, Any]:
    """Return class-weighted shares of one beam and band."""

    def mean(values: FloatArray) -> float:
        return float((values[k, :, band] * share[k]).sum())

    banks = (s.caught_by_bank[k, :, band, :] * share[k][:, None]).sum(axis=0)
    return {
        "air": mean(s.passed_air),
        "direct": mean(s.passed_direct),
        "drip": mean(s.passed_drip),
        "trough": mean(s.trough),
        "returned": mean(s.returned),
        "banks": banks,
    }


def _balance(
    section: Section,
    front: Frontage,
    trough: Trough,
    pick: dict[str, Any],
    arriving_l: float,
    time_s: float,
    drain: Callable[[float], Any],
) -> Balance:
    """Return the water balance of one beam under the severe assumption."""
    to_trough = pick["trough"] * arriving_l
    rate = to_trough / time_s * 60.0 if time_s else 0.0
    report = drain(rate)
    over = min(report.overflow_l, to_trough)
    lines = sum(_perimeter_mm(s.outline) for s in section.slats)
    on_slats = held_on_slats_l(
        lines * front.floor_width_mm, front.floor_width_mm * len(section.slats)
    )
    held = min(report.held_l + on_slats, to_trough - over)
    return Balance(
        in_l=arriving_l,
        drained_l=to_trough - over - held,
        passed_l=(pick["air"] + pick["drip"]) * arriving_l + over,
        returned_l=pick["returned"] * arriving_l,
        held_l=held,
    )


def _perimeter_mm(outline: tuple[tuple[float, float], ...]) -> float:
    """Return the length (mm) of a closed outline."""
    return sum(math.dist(p, q) for p, q in zip(outline, (*outline[1:], outline[0]), strict=True))


def _upside_down(section: Section, front: Frontage, reports: list[ExposureReport]) -> UpsideDown:
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


def _advised(
    trials: _Trials,
    row: CatalogRow,
    report: ExposureReport,
    exposure: Exposure,
    conditions: Conditions,
) -> ExposureReport:
    """Return the report with the first change that helps, found by trying; unchanged if none."""
    if report.verdict.mechanism not in DROP_MECHANISMS:
        return report
    single = replace(conditions, exposures=(exposure.name,))
    best: tuple[int, float, str] | None = None
    now = (RANK[report.verdict.outcome], report.passed_l.high)
    for words, update, velocity in _changes(row, report, conditions):
        trial = trials.vent(row.model_copy(update=update))
        if trial is None:
            continue
        with_air = replace(single, face_velocity_m_s=velocity)
        answer = _exposure(trials.setup(trial, with_air), exposure, with_air)
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


def assess_one(
    vent: VentSpec, conditions: Conditions, source: AirSource = potential_flow
) -> ExposureReport:
    """Return the report of the first exposure only, without advice, probes and cut sizes."""
    return _exposure(_setup(vent, conditions, source), conditions.table[0], conditions)


def _changes(
    row: CatalogRow, report: ExposureReport, conditions: Conditions
) -> list[tuple[str, dict[str, Any], float]]:
    """Return changes worth trying: words, columns to change, face velocity."""
    velocity = conditions.face_velocity_m_s
    banks = row.bank_count or len(report.caught_by_bank)
    changes: list[tuple[str, dict[str, Any], float]] = []
    if banks < 6:
        more = {"bank_count": banks + 1, "bank_gaps_mm": None, "slopes": None}
        changes.append((f"set bank_count to {banks + 1}", more, velocity))
    if velocity > 0.5:
        slower = round(velocity / 2.0, 2)
        changes.append((f"halve the face velocity to {slower:g} m/s", {}, slower))
    if row.slat_form is not None and not FORMS[row.slat_form].slopes_chosen:
        blank = ("pitch_mm", "bank_gaps_mm", "bank_count", "slat_height_mm", "overlap_mm")
        # Slopes that are chosen bank by bank close what fixed ones leave open.
        changes += [
            (
                f"use {form.name} slats",
                {"slat_form": form.name} | dict.fromkeys(blank),
                velocity,
            )
            for form in FORMS
            if form.slopes_chosen
        ]
    return changes
