"""Strength as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.evidence.facts import table
from vent_family.evidence.kind import Kind
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.result import CheckResult
from vent_family.evidence.strength.members import StrengthReport, strength_report
from vent_family.evidence.strength.necks import hand_torque_nmm, spanner_torque_nmm
from vent_family.evidence.strength.record import MemberRecord, StrengthRecord, strength_record
from vent_family.evidence.strength.shells import Shell, shell_of

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Strength(Kind[StrengthReport]):
    """Will slats, neck, snap arms and flange hold. What is weak is told, not refused."""

    name = "strength"
    section = "printing"
    record_type = StrengthRecord
    binding = False
    heading = "Strength"

    def compute(self, context: PartContext) -> StrengthReport:
        """Load every member of the vent."""
        return strength_report(context.spec, _shell(context))

    def record(self, context: PartContext) -> StrengthRecord:
        """Return members and material."""
        return strength_record(context.spec, context.of(self), _shell(context))

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Return the verdict on each member, on heat, and on fire where a class is asked for."""
        return context.of(self).checks

    def sentences(self, context: PartContext) -> list[str]:
        """Return what does not hold, what front and neck bear, how the material stands the sun."""
        profile, report = context.spec.material.print_profile, context.of(self)
        struck = report.impact
        short = [m for m in report.members if m.judged and m.verdict != "holds"]
        found = [f"{m.name[:1].upper()}{m.name[1:]}: {m.check().message}." for m in short]
        found += [
            f"Impact: the front takes at least {1000.0 * struck.energy_j:.1f} mJ (one slat,"
            f" elastic), by its impact strength about {1000.0 * struck.tough_energy_j:.0f} mJ (all"
            f" slats struck, broken out): {struck.codes} of IEC 62262, predicted, never a rating;"
            " told, not judged."
        ]
        if report.neck_breaks_at_nmm is not None and context.spec.body.neck is not None:
            hand = hand_torque_nmm(context.spec.body.neck)
            found.append(
                f"Tighten the locknut by hand, to {hand / 1000.0:.1f} N m;"
                f" {report.neck_breaks_at_nmm / 1000.0:.0f} N m breaks the neck, and a hand on a"
                f" spanner gives {spanner_torque_nmm() / 1000.0:.0f}."
            )
        warm = report.heat
        place = "" if warm.outdoors else f"; in the sun it {_would(warm.in_sun)}"
        found.append(f"Heat: {warm.check().message}{place}.")
        burning = report.flame
        asked = f" {burning.checks()[0].message}." if burning.asked else ""
        found.append(f"UV: {profile.uv}. Flammability: {profile.flammability}.{asked}")
        return found

    def chapter(self, context: PartContext) -> list[str]:
        """Return the table of members."""
        record = strength_record(context.spec, context.of(self), _shell(context))
        solid = "Cores count as solid: they are filled."
        if record.solid_depth_mm is not None:
            solid = (
                f"Of walls, necks and slats only what lies within {record.solid_depth_mm:.2f} mm"
                " of a side face counts, of flanges the skins: cores are sparse."
            )
        return [
            f"Strengths of printed {context.spec.material.name}: {record.strength_source}. Notched"
            f" impact strength {record.impact_kj_m2:g} kJ/m2: {record.impact_source}. A slat"
            f" is expected to break at about {record.slat_breaks_at_n:.0f} N; its safety would be"
            f" {record.slat_safety_clamped:.2f} between clamps and {record.slat_safety_hinged:.2f}"
            f" between hinges. {solid}",
            "",
            *table(record.strength, MemberRecord),
        ]


def _shell(context: PartContext) -> Shell:
    """Return what of the part is solid as the shop slices it."""
    return shell_of(context.rates.shop.printing)


def _would(verdict: Outcome) -> str:
    """Return a verdict on heat as what would happen."""
    return {"holds": "would hold, too", "marginal": "would be marginal", "fails": "would sag"}[
        verdict
    ]


STRENGTH = Strength()
