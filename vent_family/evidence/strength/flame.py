"""Does the material burn as the row allows: its class as usually bought against the one asked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from vent_family.base.materials import FLAMMABILITY, MATERIALS
from vent_family.evidence.result import CheckResult
from vent_family.spec.changes import Change, applied, change_words
from vent_family.spec.resolve import resolved_or_none
from vent_family.spec.vent import VentSpec

Burning = Literal["not asked", "holds", "fails"]


@dataclass(frozen=True, slots=True)
class Flame:
    """The class asked for ("" for none), the material's own, and what to do where it is less."""

    asked: str
    given: str
    verdict: Burning
    advice: str

    def checks(self) -> tuple[CheckResult, ...]:
        """Return the verdict; none where no class is asked for."""
        if self.verdict == "not asked":
            return ()
        message = f"{self.verdict}: {self.asked} asked, {self.given} as usually bought"
        if self.advice:
            message += f"; {self.advice}"
        good = self.verdict == "holds"
        return (CheckResult("strength: flammability", "pass" if good else "fail", message),)


def reaches(given: str, asked: str) -> bool:
    """Return whether a flammability class is no lower than another one.

    Examples
    --------
    >>> reaches("V-0", "V-1"), reaches("HB", "V-2"), reaches("V-2", "V-2")
    (True, False, True)
    """
    return FLAMMABILITY.index(given) >= FLAMMABILITY.index(asked)


def flame(spec: VentSpec) -> Flame:
    """Return whether a vent's material burns as its row allows, without other materials tried."""
    asked, profile = spec.row.flammability_class, spec.material.print_profile
    given = profile.flammability_class
    if asked is None:
        return Flame("", given, "not asked", "")
    if reaches(given, asked):
        return Flame(asked, given, "holds", "")
    advice = ""
    if reaches(profile.retardant_class, asked):
        advice = (
            f"buy a flame-retardant grade of {spec.material.name}, certified {asked} at the part's"
            " thinnest wall or less"
        )
    return Flame(asked, given, "fails", advice)


def flame_with_advice(spec: VentSpec, *, outdoors: bool = False) -> Flame:
    """Return the same with another material the row resolves with, the first that will do.

    Outdoors a material made for it, of which a retardant grade is sold, comes before all others.
    """
    found = flame(spec)
    if found.verdict != "fails":
        return found
    if outdoors and not spec.material.print_profile.bears_sun:
        for name, material in MATERIALS.items():
            profile = material.print_profile
            change: Change = {"material": name}
            if (
                profile.bears_sun
                and reaches(profile.retardant_class, found.asked)
                and _resolves(spec, change)
            ):
                words = (
                    f"{change_words(change)} (UV: {profile.uv}) and buy a flame-retardant grade of"
                    f" it, certified {found.asked} at the part's thinnest wall or less"
                )
                return replace(found, advice=words)
    for name, material in MATERIALS.items():
        if name == spec.material.name or not reaches(
            material.print_profile.flammability_class, found.asked
        ):
            continue
        change = {"material": name}
        if not _resolves(spec, change):
            continue
        words = f"{change_words(change)} (UV: {material.print_profile.uv})"
        either = f"{found.advice}, or {words}" if found.advice else words
        return Flame(found.asked, found.given, "fails", either)
    return found


def _resolves(spec: VentSpec, change: Change) -> bool:
    """Return whether a changed row still makes a vent."""
    return resolved_or_none(applied(spec.row, change), spec.attached) is not None
