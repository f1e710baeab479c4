"""Will it hold: loaded members and what the material bears, as they stand in the record."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, Shown, TableColumn
from vent_family.evidence.strength.members import StrengthReport
from vent_family.spec.vent import VentSpec


class MemberRecord(Frozen):
    """A loaded member; stress and strength in ``unit``."""

    name: Annotated[str, Fact("which member", column=TableColumn("member"))]
    load: Annotated[str, Fact("what it bears", column=TableColumn("load"))]
    stress: Annotated[
        float,
        Fact(
            "greatest stress, or strain",
            "{unit}",
            column=TableColumn("found", lambda r: f"{r.stress:.2f} {r.unit}"),
        ),
    ]
    strength: Annotated[
        float,
        Fact(
            "stress, or strain, at which it breaks",
            "{unit}",
            column=TableColumn("bears", lambda r: f"{r.strength:.1f} {r.unit}"),
        ),
    ]
    unit: Annotated[str, Fact("unit of stress and strength")]
    safety: Annotated[
        float,
        Fact(
            "strength over stress",
            "1",
            attribute=Shown("safety_{name:_}"),
            column=TableColumn("safety", ".1f"),
        ),
    ]
    deflection_mm: Annotated[
        float | None, Fact("by how much it gives way; null where nobody asks", "mm")
    ]
    formula: Annotated[str, Fact("the formulas", column=TableColumn("formula"))]


class StrengthRecord(Frozen):
    """Will it hold: slats, neck and snap arms, and what the material bears."""

    strength: Annotated[list[MemberRecord], Fact("loaded members", rank=2)]
    slat_breaks_at_n: Annotated[
        float,
        Fact(
            "push on one slat at which it is expected to break",
            "N",
            attribute=Shown("slat_breaks_at_n", rank=-1),
        ),
    ]
    strength_source: Annotated[str, Fact("where the strengths come from")]
    uv: Annotated[str, Fact("how the material stands sunlight")]
    flammability: Annotated[str, Fact("flammability of the material")]
    heat_deflection_deg_c: Annotated[float, Fact("at 0.45 MPa", "degC")]


def strength_record(spec: VentSpec, report: StrengthReport) -> StrengthRecord:
    """Return what the record says of a part's strength."""
    profile = spec.material.print_profile
    return StrengthRecord(
        strength=[MemberRecord.model_validate(m, from_attributes=True) for m in report.members],
        slat_breaks_at_n=report.slat_breaks_at_n,
        strength_source=profile.strength_source,
        uv=profile.uv,
        flammability=profile.flammability,
        heat_deflection_deg_c=profile.heat_deflection_deg_c,
    )
