"""What a cheaper row must keep of the one it is to replace, as constraints of the ladder."""

from __future__ import annotations

import difflib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, get_args

from vent_family.base.limits import SAME_SIZE, WATER_HOLDS_ML
from vent_family.base.problems import InputError, Problem
from vent_family.base.rates import Rates
from vent_family.base.said import said
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at
from vent_family.evidence.air.summary import RATED_PA, TEMPERATURE_C
from vent_family.evidence.outcomes import RANK
from vent_family.evidence.strength.screened import strength_holds
from vent_family.evidence.strength.shells import shell_of
from vent_family.evidence.water.access import access_report
from vent_family.evidence.water.frontage import frontage
from vent_family.proposing.enquiry import Keep
from vent_family.proposing.ladder import BEHIND, FRONT, RUNGS, Candidate, Margin, Rung
from vent_family.proposing.titles import FLOW
from vent_family.proposing.wetness import WaterMet
from vent_family.spec.fit import Sizes, fit_of
from vent_family.spec.vent import VentSpec

Kept = Literal["flow", "water", "depth", "strength", "fit"]
KEPT_WORDS: Final[dict[Kept, str]] = {
    "flow": f"no less air drawn in at {RATED_PA:g} Pa; flow=0.95 for a share of it",
    "water": "no exposure predicted worse, and no more water passes",
    "depth": "no deeper in front of the wall or behind it",
    "strength": "no less reserve in the check of strength that has least of it",
    "fit": "all that other parts must fit stays, and the vent is no larger on any side",
}
"""What can be kept, and what that means."""
USUALLY_KEPT: Final[tuple[Kept, ...]] = ("flow", "water", "fit")


@dataclass(frozen=True, slots=True)
class WantedKept:
    """What is to be kept; ``flow_share`` is the least share of today's flow, from 0 to 1."""

    names: tuple[Kept, ...] = USUALLY_KEPT
    flow_share: float = 1.0

    def __str__(self) -> str:
        """Return it as it is written."""
        share = "" if self.flow_share == 1.0 else f"={self.flow_share:g}"
        return ",".join(f"{n}{share}" if n == "flow" else n for n in self.names)


def wanted_of(texts: Sequence[str]) -> WantedKept:
    """Return what is to be kept, as it is written: names with commas between them.

    Raises
    ------
    InputError
        for each word that names nothing, or a share that is none

    Examples
    --------
    >>> str(wanted_of(["water,flow=0.95"])), str(wanted_of([]))
    ('flow=0.95,water', 'flow,water,fit')
    """
    words = [w.strip() for text in texts for w in text.split(",")]
    if not words:
        return WantedKept()
    names: set[str] = set()
    share = 1.0
    problems = []
    for word in words:
        name, equals, number = word.partition("=")
        if name not in KEPT_WORDS:
            near = difflib.get_close_matches(name, KEPT_WORDS, 1)
            advice = f"did you mean {near[0]}?" if near else "choose from these"
            problems.append(
                _problem("improve.keep.unknown", "nothing of this name can be kept", word, advice)
            )
        elif equals:
            share = _share(number)
            if name != "flow" or math.isnan(share):
                problems.append(
                    _problem(
                        "improve.keep.share",
                        "only of the flow a share can be kept, above 0 and no more than 1",
                        word,
                        "write flow=0.95 for 95 % of it",
                    )
                )
        names.add(name)
    if problems:
        raise InputError(problems)
    return WantedKept(tuple(n for n in get_args(Kept) if n in names), share)


def _problem(code: str, message: str, word: str, advice: str) -> Problem:
    allowed = ", ".join(KEPT_WORDS)
    return Problem(
        code,
        message,
        column="keep",
        value=word,
        allowed=allowed,
        suggestion=advice,
        place="option",
    )


def _share(text: str) -> float:
    """Return a share above 0 and no more than 1; no number for anything else."""
    try:
        share = float(text)
    except ValueError:
        return math.nan
    return share if 0.0 < share <= 1.0 else math.nan


def rated_flow_m3_h(spec: VentSpec) -> float:
    """Return the air that a vent draws in at the rated pressure, m3/h.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="60x60", status="draft")
    >>> round(rated_flow_m3_h(resolve(row)), 1)
    13.6
    """
    drawn = vent_air(spec).flow(RATED_PA, air_at(TEMPERATURE_C), "in")
    return 3600.0 * float(drawn.flow_m3_s[0])


@dataclass(frozen=True)
class KeepFlow:
    """No less air than so much, m3/h, drawn in at the rated pressure."""

    least_m3_h: float
    rungs: tuple[Rung, ...] = ("air",)

    def margins(self, spec: VentSpec, candidate: Candidate) -> tuple[Margin, ...]:
        """Return how a vent stands to it."""
        flow = rated_flow_m3_h(spec)
        return (Margin(FLOW, flow, self.least_m3_h, "m3/h", flow / self.least_m3_h - 1.0),)


DROP_ML: Final = 0.05
"""Water of a drop, mL: less is told as none (drops of 4.6 mm; 20 to the mL, common practice)."""


@dataclass(frozen=True)
class KeepWater:
    """No exposure predicted worse, and no more water passes than today by as much as a drop.

    Drops are sent by chance. With all of them the means are compared, those that are told; with the
    first drops alone the lower end of the interval in which a vent's mean lies, so that chance
    drops none that would do.
    """

    today: tuple[WaterMet, ...]
    rungs: tuple[Rung, ...] = ("water", "full")

    def margins(self, spec: VentSpec, candidate: Candidate) -> tuple[Margin, ...]:
        """Return how a vent stands to it, exposure by exposure."""
        met = {water.name: water for water in candidate.waters}
        first = candidate.rung != RUNGS[-1]
        return tuple(_against(then, met[then.name], first=first) for then in self.today)


def _against(then: WaterMet, now: WaterMet, *, first: bool) -> Margin:
    """Return how the water of a vent stands to that of another one."""
    value = now.low_ml if first else now.passed_ml
    limit = max(then.passed_ml, DROP_ML)
    over = RANK[now.outcome] - RANK[then.outcome]
    if over > 0:
        share = -float(over)
    elif value <= limit:
        share = 1.0 - value / limit
    else:
        share = -(value - limit) / max(limit, WATER_HOLDS_ML.value)
    return Margin(f"water in {then.name}", value, limit, "mL", share)


@dataclass(frozen=True)
class KeepDepth:
    """No deeper in front of the wall's outer face and behind it than so much, mm."""

    in_front_mm: float
    behind_mm: float
    rungs: tuple[Rung, ...] = ("room",)

    def margins(self, spec: VentSpec, candidate: Candidate) -> tuple[Margin, ...]:
        """Return how a vent stands to it."""
        return (
            _no_more(FRONT, spec.in_front_mm, self.in_front_mm),
            _no_more(BEHIND, spec.behind_mm, self.behind_mm),
        )


@dataclass(frozen=True)
class KeepFit:
    """All that other parts must fit stays, and the vent is no larger on any side.

    ``sides_mm`` are left, right, bottom, top, in front and behind. The margin counts what does not
    stay, and adds by how many mm the sides have grown.
    """

    sizes: Sizes
    sides_mm: tuple[float, ...]
    rungs: tuple[Rung, ...] = ("room",)

    @classmethod
    def of(cls, spec: VentSpec) -> KeepFit:
        """Return what fits where a vent does."""
        return cls(_mates(spec), _sides_mm(spec))

    def margins(self, spec: VentSpec, candidate: Candidate) -> tuple[Margin, ...]:
        """Return how a vent stands to it."""
        others = self.sizes.changes(_mates(spec))
        grown = [
            now - then
            for now, then in zip(_sides_mm(spec), self.sides_mm, strict=True)
            if now - then > SAME_SIZE.value
        ]
        short = len(others) + sum(grown)
        return (Margin("fit", short, 0.0, "1", -short if short else 1.0),)


SIDES: Final = ("left", "right", "bottom", "top", "in front", "behind")
_ENVELOPE: Final = "envelope"


def _mates(spec: VentSpec) -> Sizes:
    """Return what other parts must fit, but for how large the vent is: it may be smaller."""
    return Sizes(tuple(size for size in fit_of(spec).named if size[0] != _ENVELOPE))


def _sides_mm(spec: VentSpec) -> tuple[float, ...]:
    return (*spec.body.cover.reach_mm, spec.in_front_mm, spec.behind_mm)


def changed_fit(before: VentSpec, now: VentSpec) -> tuple[str, ...]:
    """Return in words what of a vent differs that other parts must fit, and how far it reaches."""
    sides = zip(SIDES, _sides_mm(before), _sides_mm(now), strict=True)
    return (
        *_mates(before).changes(_mates(now)),
        *(
            f"{name} {said(new)} mm, before {said(old)} mm"
            for name, old, new in sides
            if abs(new - old) > SAME_SIZE.value
        ),
    )


def _no_more(name: str, value_mm: float, most_mm: float) -> Margin:
    """Return how a size stands to the largest it may have, what sizes are written to given in."""
    left = most_mm - value_mm
    left = max(left, 0.0) if left > -SAME_SIZE.value else left
    return Margin(name, value_mm, most_mm, "mm", left / most_mm)


@dataclass(frozen=True)
class KeepAccess:
    """No probe gets in that does not today; ``today`` are the numerals of those that do."""

    today: frozenset[int]
    rungs: tuple[Rung, ...] = ("price",)

    def margins(self, spec: VentSpec, candidate: Candidate) -> tuple[Margin, ...]:
        """Return how a vent stands to it: how many more probes get in."""
        more = float(len(probes_in(spec) - self.today))
        return (Margin("access", more, 0.0, "1", -more if more else 1.0),)


def probes_in(spec: VentSpec) -> frozenset[int]:
    """Return the numerals of the probes that get into a vent.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="60x60", status="draft")
    >>> sorted(probes_in(resolve(row)))
    []
    """
    screen = spec.body.screen
    mesh_mm = math.inf if screen is None else screen.mesh.opening_mm
    report = access_report(spec.section, frontage(spec).bay_mm, mesh_mm)
    return frozenset(probe.numeral for probe in report.probes if probe.passes)


def least_reserve(wanted: WantedKept, spec: VentSpec, rates: Rates) -> float:
    """Return the reserve of strength, a ratio, that a row in place of a vent's must have at least.

    What is weak in a vent must not get weaker; what holds must hold, or where strength is kept
    have as much in reserve as today.
    """
    today = strength_holds(spec, shell_of(rates.shop.printing))
    if not today.holds or "strength" in wanted.names:
        return today.reserve
    return 1.0


def weak_today(spec: VentSpec, rates: Rates) -> frozenset[str]:
    """Return the names of the checks of a vent's strength that fail: what holds must go on to."""
    found = strength_holds(spec, shell_of(rates.shop.printing))
    return frozenset(check.name for check in found.failing)


def keeps_of(wanted: WantedKept, spec: VentSpec, waters: tuple[WaterMet, ...]) -> tuple[Keep, ...]:
    """Return the constraints besides strength that keep what is wanted of a vent.

    What can be poked through it is kept in any case.

    ``waters`` is what is predicted of it today.
    """
    keeps: dict[Kept, Keep] = {
        "flow": KeepFlow(wanted.flow_share * rated_flow_m3_h(spec)),
        "water": KeepWater(waters),
        "depth": KeepDepth(spec.in_front_mm, spec.behind_mm),
        "fit": KeepFit.of(spec),
    }
    chosen = tuple(keep for name, keep in keeps.items() if name in wanted.names)
    return (*chosen, KeepAccess(probes_in(spec)))
