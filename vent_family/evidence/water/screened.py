"""Does a vent come up to an outcome? Judged in order of cost, and no further than it takes.

First what stands in closed form for all exposures: straight paths, pools without inflow, what a jet
does at the very least; then the joint with the panel; then drops, exposure by exposure and splash
by splash; full jets last, sweep by sweep. The models are those of the whole check, asked by the
same code, so that what comes up to the outcome has the whole check's own verdict. A stage ends the
search only where nothing that the later ones may find can mend it: what is still to be computed is
taken at its best. Of drops that is the lower end of the interval in which what passes lies.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.jets.judge import Aiming, aiming
from vent_family.evidence.water.jets.rules import CLEAN, DRY_FLOOR, LOSSY, MID
from vent_family.evidence.water.jets.verdict import jet_outcome
from vent_family.evidence.water.joint import joint_water
from vent_family.evidence.water.joint_report import JointWater
from vent_family.evidence.water.judge import DROP_MECHANISMS, Wetting, outcome_over, wetting
from vent_family.evidence.water.margins import Part, drops_margin, jet_margin, joint_margin
from vent_family.evidence.water.passing import FLIGHTS_MAX
from vent_family.evidence.water.report import Range
from vent_family.evidence.water.sampling import Sampler
from vent_family.evidence.water.setup import Setup, setup_of
from vent_family.spec.vent import VentSpec

Stage = Literal["closed form", "joint", "drops", "jets", "all"]
Worse = Literal["worse than asked"]
WORSE: Final[Worse] = "worse than asked"
_SPLASHES: Final = (3, 4, 5, 0, 1, 2)
"""Corners of the splash bracket, the one that most often lets most through first."""
_SWEEPS: Final = (CLEAN, MID, DRY_FLOOR, LOSSY)
"""Assumptions on a jet's sheets, the one that most often lets most inside first."""


@dataclass(frozen=True, slots=True)
class WaterScreen:
    """How a vent comes up to an outcome.

    ``outcome`` is that of the whole check, or ``WORSE``. ``margin`` (1) says how far it is from
    what is asked, :mod:`vent_family.evidence.water.margins`: below zero it is worse. ``stage`` is
    the last that was computed, ``all`` if none was left out; ``exposure`` and ``mechanism`` are
    what the margin is about. ``passed_l`` is the most that passes as drops under any exposure, L,
    of those that were flown, and as far as they were; ``jet_share`` (1) the mean share of a full
    jet that gets inside at most. Either is ``None`` where nothing was followed. ``not_computed``
    names the exposures that were not judged to the end.
    """

    outcome: Outcome | Worse
    margin: float
    stage: Stage
    exposure: str
    mechanism: str
    passed_l: float | None
    jet_share: float | None
    not_computed: tuple[str, ...]

    @property
    def good(self) -> bool:
        """True if the vent comes up to what is asked."""
        return self.outcome != WORSE


def screened(
    vent: VentSpec,
    conditions: Conditions,
    at_least: Outcome = "holds",
    *,
    source: AirSource = potential_flow,
    flights: int = FLIGHTS_MAX,
) -> WaterScreen:
    """Return whether a vent comes up to an outcome under all its exposures.

    ``source`` gives the air field. No further drops are sent off after so many ``flights``.

    Examples
    --------
    300 Pa lift 30 mm of water, more than any sill of this size bears:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.evidence.water.conditions import conditions_of
    >>> from vent_family.spec.resolve import resolve
    >>> cells = {"part_number": "V", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> vent = resolve(CatalogRow(**cells, exposure="rain", extra_depression_pa=300.0))
    >>> found = screened(vent, conditions_of(vent))
    >>> found.outcome, found.stage, found.mechanism, found.margin < 0.0
    ('worse than asked', 'closed form', 'drain blow-in', True)
    """
    return _Screen(vent, conditions, at_least, source, flights).screened()


class _Screen:
    """One vent on its way through the stages."""

    def __init__(
        self,
        vent: VentSpec,
        conditions: Conditions,
        at_least: Outcome,
        source: AirSource,
        flights: int,
    ) -> None:
        self._at_least, self._flights = at_least, flights
        self._known: list[tuple[Part, str]] = []
        self._outcomes: list[Outcome] = []
        self._passed_l: dict[int, float] = {}
        self._jet_share: float | None = None
        self._judged: dict[str, int] = {}
        self._asked: dict[str, int] = {}
        setups: dict[float, Setup] = {}
        self._wet: list[tuple[Exposure, Wetting]] = []
        self._aimed: list[tuple[Exposure, Aiming]] = []
        for state in (state for states in conditions.singles() for state in states):
            (exposure,) = state.table
            velocity = state.point(exposure.name).face_velocity_m_s
            if velocity not in setups:
                setups[velocity] = setup_of(vent, velocity, state.posture, source)
            self._asked[exposure.name] = self._asked.get(exposure.name, 0) + 1
            if exposure.coherent:
                self._aimed.append((exposure, aiming(setups[velocity], exposure, state)))
            else:
                self._wet.append((exposure, wetting(setups[velocity], exposure, state)))
        # Fewer directions are flown sooner, and less water is followed sooner.
        self._wet.sort(key=lambda wet: len(wet[1].came.elevation_deg))
        self._aimed.sort(key=lambda aimed: aimed[0].flow_l_min)

    def screened(self) -> WaterScreen:
        """Return the answer: stage after stage, until one finds the vent worse than asked."""
        stages: tuple[tuple[Stage, Iterator[bool]], ...] = (
            ("closed form", self._closed_form()),
            ("joint", self._joints()),
            ("drops", self._drops()),
            ("jets", self._jets()),
        )
        for stage, steps in stages:
            if not all(steps):
                return self._answer(stage)
        return self._answer("all")

    def _answer(self, stage: Stage) -> WaterScreen:
        known = self._known or [((1.0, "none"), "dry")]
        (margin, mechanism), exposure = min(known, key=lambda k: k[0][0])
        worst: Outcome = max(self._outcomes, key=lambda o: RANK[o], default="holds")
        outcome = worst if stage == "all" else WORSE
        return WaterScreen(
            outcome=outcome,
            margin=margin,
            stage=stage,
            exposure=exposure,
            mechanism="none" if outcome == "holds" else mechanism,
            passed_l=max(self._passed_l.values(), default=None),
            jet_share=self._jet_share,
            not_computed=tuple(
                name for name, count in self._asked.items() if self._judged.get(name, 0) < count
            ),
        )

    def _keep(self, part: Part, exposure: Exposure) -> bool:
        """Keep a margin, and return whether it is good."""
        self._known.append((part, exposure.name))
        return part[0] >= 0.0

    def _closed_form(self) -> Iterator[bool]:
        # All of them, so that the margin is that of the worst.
        good = [
            *(self._keep(drops_margin(w.dry(0.0), self._at_least), e) for e, w in self._wet),
            *(self._keep(jet_margin(a.evidence(), self._at_least), e) for e, a in self._aimed),
        ]
        yield all(good)

    def _joints(self) -> Iterator[bool]:
        good = []
        for exposure, joint in self._met():
            good.append(self._keep(joint_margin(joint, self._at_least), exposure))
            self._outcomes.append(joint.outcome)
        yield all(good)

    def _met(self) -> Iterator[tuple[Exposure, JointWater]]:
        for exposure, wet in self._wet:
            yield exposure, joint_water(wet.setup, exposure, wet.point, wet.came)
        for exposure, aimed in self._aimed:
            yield exposure, joint_water(aimed.setup, exposure, aimed.point, aimed.pool.came)

    def _drops(self) -> Iterator[bool]:
        for place, (exposure, wet) in enumerate(self._wet):
            if wet.came.key not in wet.setup.kept:
                sampler = Sampler(wet.setup, wet.came)
                for corner in _SPLASHES:
                    sampler.begin(corner)
                    flown = _Flown(wet, sampler, corner, self._at_least)
                    self._passed_l[place] = max(self._passed_l.get(place, 0.0), flown.passed_l)
                    yield self._keep(flown.part(), exposure)
            found = wet.found(wet.passing(self._flights))
            self._passed_l[place] = found["mean"]["mean"].passed_ml.high / 1000.0
            evidence = [e for at in found.values() for e in at.values()]
            yield self._keep(drops_margin(evidence, self._at_least), exposure)
            self._outcomes.append(outcome_over(found))
            self._judged[exposure.name] = self._judged.get(exposure.name, 0) + 1

    def _jets(self) -> Iterator[bool]:
        for exposure, aimed in self._aimed:
            for _ in aimed.swept(_SWEEPS):
                yield self._keep(jet_margin(aimed.evidence(), self._at_least), exposure)
                self._jet_share = max(self._jet_share or 0.0, aimed.evidence().mean.high)
            self._outcomes.append(jet_outcome(aimed.evidence()))
            self._judged[exposure.name] = self._judged.get(exposure.name, 0) + 1


@dataclass(frozen=True, eq=False)
class _Flown:
    """The first batches of an exposure's drops under one corner of the splash bracket."""

    wet: Wetting
    sampler: Sampler
    corner: int
    at_least: Outcome

    @property
    def passed_l(self) -> float:
        """What passes of the direction and band that let most through, L."""
        return float(self._rate(self.sampler.passed)[1].max()) * self.wet.came.time_s / 60.0

    def _rate(self, of: Callable[[int], FloatArray]) -> FloatArray:
        """Return low, mean and high (3, beams, bands) of shares as L/min."""
        return of(self.corner) * self.wet.came.total_l_min[None, :, None]

    def part(self) -> Part:
        """Return the margin if no other splash let more through.

        Where what certainly passes is too much, the margin is that of what passes in the mean.
        """
        margin, about = self._at(0)
        return (margin, about) if margin >= 0.0 else self._at(1)

    def _at(self, end: int) -> Part:
        """Return the margin at the lower end of the intervals (0) or in their middle (1)."""
        came = self.wet.came
        rate = float(self._rate(self.sampler.passed)[end].max())
        # Whichever direction comes out as the worst, no more arrives than from the most of them.
        share = min(rate / max(float(came.total_l_min.max()), 1e-300), 1.0)
        passed_ml = 1000.0 * rate * came.time_s / 60.0
        dry = self.wet.dry(float(self._rate(self.sampler.trough)[end].max()))
        evidence = [
            replace(e, passed_share=Range(0.0, share), passed_ml=Range(0.0, passed_ml)) for e in dry
        ]
        margin, about = drops_margin(evidence, self.at_least)
        return margin, self._way() if about in DROP_MECHANISMS else about

    def _way(self) -> str:
        """Return the way that most of what passes takes, where most passes."""
        rate, sampler = self._rate(self.sampler.passed)[1], self.sampler
        beam, band = (int(i) for i in np.unravel_index(int(rate.argmax()), rate.shape))
        share = self.wet.came.class_share[beam]
        air, direct, drip = (sampler.ways(self.corner, beam, band) * share[:, None]).sum(axis=0)[:3]
        ways = {"direct drops": direct, "splash": air - direct, "dripping film": drip}
        return max(ways, key=lambda name: float(ways[name]))
