"""Strength as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.evidence.facts import table
from vent_family.evidence.kind import Kind
from vent_family.evidence.result import CheckResult
from vent_family.evidence.strength.members import StrengthReport, strength_report
from vent_family.evidence.strength.record import MemberRecord, StrengthRecord, strength_record

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Strength(Kind[StrengthReport]):
    """Will slats, neck and snap arms hold. What is weak is told, not refused."""

    name = "strength"
    section = "printing"
    record_type = StrengthRecord
    binding = False
    heading = "Strength"

    def compute(self, context: PartContext) -> StrengthReport:
        """Load every member of the vent."""
        return strength_report(context.spec)

    def record(self, context: PartContext) -> StrengthRecord:
        """Return members and material."""
        return strength_record(context.spec, context.of(self))

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Return the verdict on each member."""
        least = context.spec.material.print_profile.safety_min
        return tuple(member.check(least) for member in context.of(self).members)

    def sentences(self, context: PartContext) -> list[str]:
        """Return how the material stands sun, fire and heat."""
        profile = context.spec.material.print_profile
        return [
            f"UV: {profile.uv}. Flammability: {profile.flammability}. Heat deflection"
            f" {profile.heat_deflection_deg_c:.0f} degC at 0.45 MPa."
        ]

    def chapter(self, context: PartContext) -> list[str]:
        """Return the table of members."""
        record = strength_record(context.spec, context.of(self))
        return [
            f"Strengths of printed {context.spec.material.name}: {record.strength_source}. A slat"
            f" is expected to break at about {record.slat_breaks_at_n:.0f} N.",
            "",
            *table(record.strength, MemberRecord),
        ]


STRENGTH = Strength()
