"""Will it hold: loaded members and what the material bears, as they stand in the record."""

from __future__ import annotations

import math
from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, Shown, TableColumn
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.strength.flame import Burning
from vent_family.evidence.strength.member import Holding
from vent_family.evidence.strength.members import StrengthReport
from vent_family.evidence.strength.necks import hand_torque_nmm
from vent_family.evidence.strength.shells import Shell
from vent_family.spec.vent import VentSpec


class MemberRecord(Frozen):
    """A loaded member; stress and strength in ``unit``."""

    name: Annotated[str, Fact("which member", column=TableColumn("member"))]
    load: Annotated[str, Fact("what it bears", column=TableColumn("load"))]
    stress: Annotated[
        float,
        Fact(
            "greatest stress, strain, force, way or energy",
            "{unit}",
            column=TableColumn("found", lambda r: f"{r.stress:.3g} {r.unit}"),
        ),
    ]
    strength: Annotated[
        float,
        Fact(
            "at which it breaks, or gives way more than allowed",
            "{unit}",
            column=TableColumn("bears", lambda r: f"{r.strength:.3g} {r.unit}"),
        ),
    ]
    unit: Annotated[str, Fact("unit of stress and strength")]
    safety: Annotated[
        float,
        Fact(
            "strength over stress",
            "1",
            attribute=Shown("safety_{name:_}"),
            column=TableColumn(
                "safety", lambda r: f"{r.safety:.2f}" if r.safety < 10.0 else f"{r.safety:.0f}"
            ),
        ),
    ]
    least: Annotated[
        float, Fact("safety it needs, for the scatter", "1", column=TableColumn("least", ".1f"))
    ]
    judged: Annotated[bool, Fact("false: a vent is not made for this load, it is only told")]
    verdict: Annotated[
        Holding,
        Fact(
            "whether it holds; marginal: it breaks within the scatter",
            column=TableColumn(
                "verdict", lambda r: r.verdict if r.judged else f"{r.verdict}, not judged"
            ),
        ),
    ]
    deflection_mm: Annotated[
        float | None, Fact("by how much it gives way; null where nobody asks", "mm")
    ]
    formula: Annotated[str, Fact("the formulas", column=TableColumn("formula"))]


class StrengthRecord(Frozen):
    """Will it hold: loaded members, and what the material bears."""

    strength: Annotated[list[MemberRecord], Fact("loaded members", rank=2)]
    slat_breaks_at_n: Annotated[
        float,
        Fact(
            "push on one slat at which it is expected to break",
            "N",
            attribute=Shown("slat_breaks_at_n", rank=-1),
        ),
    ]
    slat_safety_clamped: Annotated[
        float, Fact("safety of the weakest slat under a thumb, were its ends clamped", "1")
    ]
    slat_safety_hinged: Annotated[
        float, Fact("safety of the weakest slat under a thumb, were its ends hinged", "1")
    ]
    impact_energy_j: Annotated[
        float,
        Fact(
            "impact on one slat of the front that it takes at least, without yielding",
            "J",
            attribute="impact_energy_j",
        ),
    ]
    impact_tough_energy_j: Annotated[
        float,
        Fact(
            "impact that breaks out all slats struck, estimated by the impact strength",
            "J",
            attribute="impact_tough_energy_j",
        ),
    ]
    impact_code: Annotated[
        str,
        Fact(
            "highest IK code of IEC 62262 that follows at least: predicted, never a rating",
            attribute="impact_code_predicted",
        ),
    ]
    impact_tough_code: Annotated[
        str,
        Fact(
            "the same estimated by the impact strength: predicted, never a rating",
            attribute="impact_tough_code_predicted",
        ),
    ]
    neck_breaks_at_n_m: Annotated[
        float | None,
        Fact(
            "torque on the locknut that breaks the neck; null: no neck",
            "N m",
            attribute="neck_breaks_at_n_m",
        ),
    ]
    neck_tightened_to_n_m: Annotated[
        float | None, Fact("torque the locknut is tightened to by hand; null: no neck", "N m")
    ]
    pulled_out_at_n: Annotated[
        float | None,
        Fact(
            "pull that draws a snapped-in vent out; null: no snap arms",
            "N",
            attribute="pulled_out_at_n",
        ),
    ]
    solid_depth_mm: Annotated[
        float | None,
        Fact("depth behind a side face to which walls count; null: cores are filled, too", "mm"),
    ]
    strength_source: Annotated[str, Fact("where the strengths come from")]
    impact_kj_m2: Annotated[
        float, Fact("notched impact strength of printed specimens along the beads", "kJ/m2")
    ]
    impact_source: Annotated[str, Fact("where the impact strength comes from")]
    uv: Annotated[str, Fact("how the material stands sunlight")]
    outdoors: Annotated[bool, Fact("whether the row names rain, so that the sun may shine on it")]
    part_deg_c: Annotated[float, Fact("how warm a clean part gets there", "degC")]
    hottest_deg_c: Annotated[
        float, Fact("how warm the darkest part of its colour gets there", "degC")
    ]
    heat_deflection_deg_c: Annotated[float, Fact("at 0.45 MPa", "degC")]
    heat_verdict: Annotated[
        Outcome, Fact("whether it keeps its shape there", attribute="heat_verdict")
    ]
    heat_verdict_in_sun: Annotated[Outcome, Fact("the same, were it in the sun")]
    heat_advice: Annotated[str, Fact("a change that was tried and holds")]
    flammability: Annotated[str, Fact("how the material burns")]
    flammability_given: Annotated[str, Fact("class of the material as usually bought")]
    flammability_verdict: Annotated[
        Burning,
        Fact("against the class that the row asks for", attribute="flammability_verdict"),
    ]
    flammability_advice: Annotated[str, Fact("what to buy, or a change that was tried")]


def strength_record(spec: VentSpec, report: StrengthReport, shell: Shell) -> StrengthRecord:
    """Return what the record says of a part's strength."""
    profile, warm, burning = spec.material.print_profile, report.heat, report.flame
    neck = spec.body.neck
    return StrengthRecord(
        strength=[MemberRecord.model_validate(m, from_attributes=True) for m in report.members],
        slat_breaks_at_n=report.slat_breaks_at_n,
        slat_safety_clamped=report.bounds.clamped,
        slat_safety_hinged=report.bounds.hinged,
        impact_energy_j=report.impact.energy_j,
        impact_code=report.impact.code,
        impact_tough_energy_j=report.impact.tough_energy_j,
        impact_tough_code=report.impact.tough_code,
        neck_breaks_at_n_m=_n_m(report.neck_breaks_at_nmm),
        neck_tightened_to_n_m=None if neck is None else _n_m(hand_torque_nmm(neck)),
        pulled_out_at_n=report.pulled_out_at_n,
        solid_depth_mm=shell.side_mm if math.isfinite(shell.side_mm) else None,
        strength_source=profile.strength_source,
        impact_kj_m2=profile.impact_kj_m2,
        impact_source=profile.impact_source,
        uv=profile.uv,
        outdoors=warm.outdoors,
        part_deg_c=warm.part_deg_c,
        hottest_deg_c=warm.hottest_deg_c,
        heat_deflection_deg_c=profile.heat_deflection_deg_c,
        heat_verdict=warm.verdict,
        heat_verdict_in_sun=warm.in_sun,
        heat_advice=warm.advice,
        flammability=profile.flammability,
        flammability_given=burning.given,
        flammability_verdict=burning.verdict,
        flammability_advice=burning.advice,
    )


def _n_m(torque_nmm: float | None) -> float | None:
    return None if torque_nmm is None else torque_nmm / 1000.0
