"""Does a part keep its shape in the sun: how warm its colour makes it, against its material."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from vent_family.base.limits import HEAT_MARGIN, SUN, SUN_AIR, SURFACE_STILL
from vent_family.base.materials import COLOURS, MATERIALS
from vent_family.base.sun import ABSORPTANCE, sol_air_rise_k
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.result import CheckResult
from vent_family.evidence.strength.flame import flame
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.spec.changes import Change, applied, change_words
from vent_family.spec.families import filled_row
from vent_family.spec.resolve import resolved_or_none
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class Heat:
    """How warm a part gets and what its material bears, degrees Celsius.

    ``part_deg_c`` is that of a clean part of its colour where the row puts it, ``hottest_deg_c``
    that of the darkest or dirtiest one; ``in_sun`` is the verdict were it in the sun, whatever the
    row says. ``advice`` is a change that was tried and holds, in words; "" where none is needed or
    found.
    """

    outdoors: bool
    part_deg_c: float
    hottest_deg_c: float
    deflects_deg_c: float
    verdict: Outcome
    in_sun: Outcome
    advice: str

    def check(self) -> CheckResult:
        """Return the verdict: only what holds passes."""
        place = f"out of the sun {self.part_deg_c:.0f} degC"
        if self.outdoors:
            place = (
                f"in the sun {self.part_deg_c:.0f} degC, {self.hottest_deg_c:.0f} degC if dirty or"
                " dark for its colour"
            )
        message = f"{self.verdict}: {place}; heat deflection {self.deflects_deg_c:.0f} degC"
        if self.advice:
            message += f"; {self.advice}"
        return CheckResult(
            "strength: heat",
            "pass" if self.verdict == "holds" else "fail",
            message,
            self.deflects_deg_c - self.hottest_deg_c,
            HEAT_MARGIN.value,
            HEAT_MARGIN.unit,
        )


def part_deg_c(absorptance: float) -> float:
    """Return how warm a thin part of a surface's absorptance (1) gets in the sun, degrees Celsius.

    The sun shines square on its face in hot air that hardly moves; it gives off heat on both sides,
    so it is warmer than the air by half the sol-air rise of one side.

    Examples
    --------
    40 degC and 0.5 x 1000 / (2 x 11):

    >>> round(part_deg_c(0.5), 1)
    62.7
    """
    return SUN_AIR.value + sol_air_rise_k(absorptance, SUN.value, 2.0 * SURFACE_STILL.value)


def warmth(part: float, hottest: float, deflects: float) -> Outcome:
    """Return whether a material keeps its shape.

    Parameters
    ----------
    part, hottest
        temperature of a clean part, and of the darkest of its colour, degC
    deflects
        heat deflection at 0.45 MPa, degC

    Examples
    --------
    A margin of 15 K is asked for:

    >>> warmth(70.0, 80.0, 95.0), warmth(70.0, 81.0, 95.0), warmth(70.0, 80.0, 69.0)
    ('holds', 'marginal', 'fails')
    """
    if part >= deflects:
        return "fails"
    return "holds" if hottest + HEAT_MARGIN.value <= deflects else "marginal"


def stands_outdoors(exposures: str) -> bool:
    """Return whether an exposure cell names rain, which falls outdoors alone.

    Examples
    --------
    >>> stands_outdoors("rain/splashing"), stands_outdoors("dripping"), stands_outdoors("dry")
    (True, False, False)
    """
    return any(e.kind == "rain" for name, e in EXPOSURES.items() if name in exposures.split("/"))


def judged(material: str, colour: str, *, outdoors: bool) -> Heat:
    """Return the verdict on a material and a colour, without advice.

    Examples
    --------
    >>> judged("ASA", "light_grey", outdoors=True).verdict
    'holds'
    >>> judged("PETG", "black", outdoors=True).verdict
    'fails'
    >>> found = judged("PETG", "black", outdoors=False)
    >>> found.verdict, found.in_sun
    ('holds', 'fails')
    """
    deflects = MATERIALS[material].print_profile.heat_deflection_deg_c
    sun = ABSORPTANCE[colour]
    typical, hottest = part_deg_c(sun.value), part_deg_c(sun.high)
    in_sun = warmth(typical, hottest, deflects)
    if outdoors:
        return Heat(True, typical, hottest, deflects, in_sun, in_sun, "")
    air = SUN_AIR.value
    return Heat(False, air, air, deflects, warmth(air, air, deflects), in_sun, "")


def heat(spec: VentSpec) -> Heat:
    """Return whether a vent keeps its shape, with advice that was tried where it does not."""
    exposures = filled_row(spec.row).exposure
    found = judged(spec.material.name, spec.colour, outdoors=stands_outdoors(exposures))
    if found.verdict == "holds":
        return found
    changes = _changes(spec, outdoors=found.outdoors)
    advice = next((_advised(c) for c in changes if _holds(spec, c)), "")
    return replace(found, advice=advice)


def _advised(change: Change) -> str:
    """Return a change in words, with what the sun does to a material that it names."""
    words = change_words(change)
    if "material" not in change:
        return words
    return f"{words} (UV: {MATERIALS[str(change['material'])].print_profile.uv})"


def _changes(spec: VentSpec, *, outdoors: bool) -> Iterator[Change]:
    """Yield lighter colours, the nearest first; then materials that bear more heat; then both.

    Outdoors all that keeps to materials made for it comes before any other material.
    """
    now = ABSORPTANCE[spec.colour].high
    lighter = sorted(
        (c for c in COLOURS if ABSORPTANCE[c].high < now), key=lambda c: -ABSORPTANCE[c].high
    )
    bears = spec.material.print_profile.heat_deflection_deg_c
    others = sorted(
        (m for m in MATERIALS if MATERIALS[m].print_profile.heat_deflection_deg_c > bears),
        key=lambda m: MATERIALS[m].print_profile.heat_deflection_deg_c,
    )
    yield from ({"colour": colour} for colour in lighter)
    made_for_it = [m for m in others if outdoors and MATERIALS[m].print_profile.bears_sun]
    rest = [m for m in others if m not in made_for_it]
    for materials in (made_for_it, rest):
        yield from ({"material": material} for material in materials)
        yield from ({"material": m, "colour": c} for m in materials for c in lighter)


def _holds(spec: VentSpec, change: Change) -> bool:
    """Return whether a changed row resolves, keeps its shape and burns no more easily."""
    material = str(change.get("material", spec.material.name))
    colour = str(change.get("colour", spec.colour))
    if judged(material, colour, outdoors=True).verdict != "holds":
        return False
    changed = resolved_or_none(applied(spec.row, change), spec.attached)
    if changed is None:
        return False
    return flame(changed).verdict != "fails" or flame(spec).verdict == "fails"
