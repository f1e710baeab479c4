"""The answer of the water check as frozen data, with plain dictionaries for files."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Annotated, Any, ClassVar, Final, Literal

from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.rounding import rounded
from vent_family.evidence.water.access import AccessReport
from vent_family.evidence.water.blocked import BlockedDrain
from vent_family.evidence.water.conditions import StatedConditions
from vent_family.evidence.water.drain_air import DrainAir
from vent_family.evidence.water.drainage import DrainageReport
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.joint_report import JOINT_FACT, JointWater
from vent_family.evidence.water.outflow import LEVEL_TOP_MM
from vent_family.evidence.water.posture.film import RibFilm
from vent_family.evidence.water.posture.mountings import MountingSweep
from vent_family.evidence.water.predicted import (
    AIR_FACT,
    STATES_FACT,
    VERDICT_FACT,
    StateVerdict,
    Verdict,
    with_states,
)
from vent_family.evidence.water.sight import SightReport

RANGE: Final = "unit of the range"
NOT_PREDICTED = (
    "Insects and their nests, leaves, dust, lime, snow and ice are not predicted: they block drain"
    " and slats, so keep both clean."
)
CAUTION = (
    "Predicted from geometry and published correlations, not measured and not a rating. The two"
    " numbers of each range are the mildest and the worst published splash, or for a jet the"
    " assumptions on its sheets. Only the accredited test named decides. " + NOT_PREDICTED
)


@dataclass(frozen=True, slots=True)
class Range:
    """The two answers of the splash bracket, lower and higher."""

    low: Annotated[float, Fact("mild splash assumption", RANGE)]
    high: Annotated[float, Fact("severe splash assumption", RANGE)]

    @staticmethod
    def of(values: list[float]) -> Range:
        """Return the range that holds all ``values``, in their unit: shares or litres."""
        return Range(min(values), max(values))


@dataclass(frozen=True, slots=True)
class Sampling:
    """How sure the shares that pass are, chance alone: 999 of 1000 samples agree.

    ``mild_share`` and ``severe_share`` are the intervals in which the two ends of the passed share
    lie, ``splash`` names the splash assumption that lets most through, ``flights`` counts drops.
    """

    mild_share: Annotated[Range, Fact("interval of the least share that passes", "1")]
    severe_share: Annotated[Range, Fact("interval of the largest share that passes", "1")]
    splash: Annotated[str, Fact("splash assumption that lets most through")]
    flights: Annotated[int, Fact("drops followed, secondary ones included")]


@dataclass(frozen=True, slots=True)
class Penetration:
    """Drop class: diameter (mm), share of the arriving mass, share of the class that passes."""

    diameter_mm: Annotated[float, Fact("diameter of the drops", "mm")]
    share: Annotated[float, Fact("share of the arriving mass", "1")]
    passes: Annotated[Range, Fact("share of the class that passes", "1")]


@dataclass(frozen=True, slots=True)
class Balance:
    """Water of one exposure under the severe splash assumption, in litres; in = all the rest."""

    DIGITS: ClassVar[int] = 10
    """Its terms must still add up when rounded."""

    in_l: Annotated[float, Fact("water that arrives", "L")]
    drained_l: Annotated[float, Fact("water that leaves by the drain", "L")]
    passed_l: Annotated[float, Fact("water that gets inside", "L")]
    returned_l: Annotated[float, Fact("water thrown back out", "L")]
    held_l: Annotated[float, Fact("water that stays on slats and in the trough", "L")]

    @property
    def error_l(self) -> float:
        """What is missing; round-off only."""
        return self.in_l - self.drained_l - self.passed_l - self.returned_l - self.held_l


def _sill_margin_mm(exposure: ExposureReport) -> float | None:
    """Return what the sill stands above the pool, mm; nothing where no level drains the water."""
    margin = exposure.drainage.margin_mm
    return None if margin <= -LEVEL_TOP_MM else margin


@dataclass(frozen=True, slots=True)
class ExposureReport:
    """One exposure to drops; a full jet has a report of its own.

    ``worst_elevation_deg`` is the direction of arrival that lets most through (above the horizon).
    ``time_s`` the time the water is on the vent, ``arriving_l`` the water through its open face in
    that time, ``passed_l`` what gets inside, overflow included. Shares are of the arriving water:
    ``passed_share``, split into ``direct_share`` (touched nothing), ``splash_share``,
    ``drip_share`` and ``overflow_share`` under the worst splash. ``caught_by_bank`` says
    where water first stays, outermost bank first; trough, ceiling and outer face are not in it.
    """

    name: Annotated[str, Fact("name of the exposure")]
    air: Annotated[OperatingPoint, AIR_FACT]
    worst_elevation_deg: Annotated[
        float, Fact("direction of arrival that lets most through, above the horizon", "deg")
    ]
    time_s: Annotated[
        float,
        Fact("time the water is on the vent; of a nozzle its share of the whole cabinet's", "s"),
    ]
    arriving_l: Annotated[float, Fact("water through the open face in that time", "L")]
    passed_l: Annotated[
        Range,
        Fact(
            "water that gets inside, overflow included",
            "L",
            attribute=(
                Shown("water_{name}_passes_low_cm3", "cm3", of=lambda e: 1000.0 * e.passed_l.low),
                Shown("water_{name}_passes_high_cm3", "cm3", of=lambda e: 1000.0 * e.passed_l.high),
            ),
        ),
    ]
    passed_share: Annotated[Range, Fact("that as share of the arriving water", "1")]
    sampling: Annotated[Sampling, Fact("how sure these shares are, chance alone")]
    direct_share: Annotated[float, Fact("share that passes and touched nothing", "1")]
    splash_share: Annotated[float, Fact("share that passes after splashing", "1")]
    drip_share: Annotated[float, Fact("share that passes dripping", "1")]
    overflow_share: Annotated[float, Fact("share that runs over the sill", "1")]
    rib_film: Annotated[
        RibFilm,
        Fact(
            "film on ribs and side walls as mounted",
            attribute=Shown("water_{name}_rib_film_end_mm", "mm", of=lambda e: e.rib_film.end_mm),
        ),
    ]
    rib_film_tilted: Annotated[RibFilm, Fact("the film leaning and rolled by more")]
    caught_by_bank: Annotated[
        tuple[float, ...], Fact("share that first stays on each bank, outermost first", "1")
    ]
    by_diameter: Annotated[tuple[Penetration, ...], Fact("by size of the drops")]
    drainage: Annotated[
        DrainageReport,
        Fact(
            "the trough as mounted",
            attribute=Shown("water_{name}_sill_margin_mm", "mm", of=_sill_margin_mm),
        ),
    ]
    drainage_tilted: Annotated[DrainageReport, Fact("the trough leaning and rolled by more")]
    drain_air: Annotated[DrainAir, Fact("air drawn in through the drain")]
    drain_blocked: Annotated[BlockedDrain, Fact("the trough with its drain blocked")]
    tilt_limit_deg: Annotated[float, Fact("lean at which the pool reaches the sill", "deg")]
    balance: Annotated[Balance, Fact("where the water goes, severe splash assumption")]
    joint: Annotated[JointWater, JOINT_FACT]
    verdict: Annotated[Verdict, VERDICT_FACT]
    states: Annotated[tuple[StateVerdict, ...], STATES_FACT] = ()

    def sentence(self) -> str:
        """Return the verdict as one line, each state of fan and wind named."""
        return with_states(self.verdict.sentence(self.name), self.states)


Reported = ExposureReport | JetReport
"""The report of one exposure: drops, or a full jet."""


def severity(report: Reported) -> tuple[int, float, float]:
    """Return a key by which the worst of several reports of one exposure comes last.

    Outcome, then for drops litres (two digits, since chance decides the next) and mm, for a jet
    its share and L/min.
    """
    rank = RANK[report.verdict.outcome]
    if isinstance(report, JetReport):
        return rank, report.inside_share.high, report.worst_inflow_l_min - report.capacity_l_min
    return (
        rank,
        float(f"{report.passed_l.high:.1e}"),
        -report.drainage_tilted.margin_mm,
    )


@dataclass(frozen=True, slots=True)
class CutSize:
    """Drop diameters (mm) of which half and 99 % are caught, at a face velocity."""

    face_velocity_m_s: Annotated[float, Fact("face velocity", "m/s")]
    d50_mm: Annotated[float | None, Fact("diameter of which half is caught", "mm")]
    d99_mm: Annotated[float | None, Fact("diameter of which 99 % is caught", "mm")]


@dataclass(frozen=True, slots=True)
class UpsideDown:
    """The vent mounted the wrong way up: always unsafe for a part with one right way up."""

    unsafe: Annotated[bool, Fact("always, for a part with one right way up")]
    basin_mm: Annotated[float, Fact("what the last edge inwards stands above that outwards", "mm")]
    margin_mm: Annotated[float, Fact("what it stands above the pool", "mm")]
    fill_s: Annotated[float | None, Fact("time until it is full; null where nothing runs in", "s")]
    reason: Annotated[str, Fact("why")]


@dataclass(frozen=True, slots=True)
class WaterReport:
    """Everything the water check has to say about one part."""

    part_number: str
    conditions: StatedConditions
    sight: SightReport
    access: AccessReport
    cut_sizes: tuple[CutSize, ...]
    exposures: tuple[Reported, ...]
    overflow_depression_pa: float
    upside_down: UpsideDown
    mountings: MountingSweep | None = None

    @property
    def outcome(self) -> Outcome | Literal["not checked"]:
        """The worst outcome of all exposures."""
        if not self.exposures:
            return "not checked"
        return max((e.verdict.outcome for e in self.exposures), key=lambda o: RANK[o])

    def sentences(self) -> list[str]:
        """Return the verdicts as lines for people."""
        return [e.sentence() for e in self.exposures]

    def joint_sentences(self) -> list[str]:
        """Return what is predicted of the joint with the panel, as lines for people."""
        return [e.joint.sentence(e.name) for e in self.exposures]

    @property
    def drops(self) -> tuple[ExposureReport, ...]:
        """Reports of the exposures that come as drops."""
        return tuple(e for e in self.exposures if isinstance(e, ExposureReport))

    @property
    def jets(self) -> tuple[JetReport, ...]:
        """Reports of the exposures to a full jet."""
        return tuple(e for e in self.exposures if isinstance(e, JetReport))

    def exposure(self, name: str) -> Reported:
        """Return one exposure's report.

        Raises
        ------
        KeyError
            for one that was not assessed
        """
        for report in self.exposures:
            if report.name == name:
                return report
        raise KeyError(name)

    def rounded(self) -> WaterReport:
        """Return the report with every number at what it is worth, four digits."""
        return rounded(self)

    def as_dict(self) -> dict[str, Any]:
        """Return plain data, rounded."""
        return {"outcome": self.outcome, "caution": CAUTION} | asdict(self.rounded())
