"""The answer of the water check as frozen data, with plain dictionaries for files."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Literal

from vent_family.evidence.water.access import AccessReport
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.drainage import DrainageReport
from vent_family.evidence.water.sight import SightReport

Outcome = Literal["holds", "marginal", "fails"]

CAUTION = (
    "Predicted from geometry and published correlations, not measured and not a rating. The two"
    " numbers of each range are two assumptions on splash; sheets of water that a jet drives along"
    " the slats are not followed. Only the accredited test named decides."
)


@dataclass(frozen=True, slots=True)
class Range:
    """The two answers of the splash bracket, lower and higher."""

    low: float
    high: float

    @staticmethod
    def of(values: list[float]) -> Range:
        """Return the range that holds all values."""
        return Range(min(values), max(values))


@dataclass(frozen=True, slots=True)
class Penetration:
    """Drop class: diameter (mm), share of the arriving mass, share of the class that passes."""

    diameter_mm: float
    share: float
    passes: Range


@dataclass(frozen=True, slots=True)
class Balance:
    """Water of one exposure under the severe splash assumption, in litres; in = all the rest."""

    in_l: float
    drained_l: float
    passed_l: float
    returned_l: float
    held_l: float

    @property
    def error_l(self) -> float:
        """What is missing; round-off only."""
        return self.in_l - self.drained_l - self.passed_l - self.returned_l - self.held_l


@dataclass(frozen=True, slots=True)
class Verdict:
    """Predicted outcome of one exposure, what limits it, and what would mend it."""

    outcome: Outcome
    mechanism: str
    reason: str
    change: str
    deciding_test: str

    def sentence(self, exposure: str) -> str:
        """Return the verdict as one line."""
        text = f"{exposure}: predicted to {_VERB[self.outcome]}; {self.reason}"
        if self.change:
            text += f"; {self.change}"
        return f"{text}. Decided by: {self.deciding_test}."


_VERB = {"holds": "hold", "marginal": "be marginal", "fails": "fail"}


@dataclass(frozen=True, slots=True)
class ExposureReport:
    """One exposure.

    ``worst_elevation_deg`` is the direction of arrival that lets most through (above the horizon).
    ``time_s`` the time the water is on the vent, ``arriving_l`` the water through its open face in
    that time, ``passed_l`` what gets inside, overflow included. Shares are of the arriving water:
    ``passed_share``, split into ``direct_share`` (touched nothing), ``splash_share``,
    ``drip_share`` and ``overflow_share`` under the severe assumption. ``caught_by_bank`` says
    where water first stays, outermost bank first; trough, ceiling and outer face are not in it.
    """

    name: str
    worst_elevation_deg: float
    time_s: float
    arriving_l: float
    passed_l: Range
    passed_share: Range
    direct_share: float
    splash_share: float
    drip_share: float
    overflow_share: float
    caught_by_bank: tuple[float, ...]
    by_diameter: tuple[Penetration, ...]
    drainage: DrainageReport
    drainage_tilted: DrainageReport
    tilt_limit_deg: float
    balance: Balance
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class CutSize:
    """Drop diameters (mm) of which half and 99 % are caught, at a face velocity."""

    face_velocity_m_s: float
    d50_mm: float | None
    d99_mm: float | None


@dataclass(frozen=True, slots=True)
class UpsideDown:
    """The vent mounted the wrong way up: always unsafe for a part with one right way up."""

    unsafe: bool
    basin_mm: float
    fill_s: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class WaterReport:
    """Everything the water check has to say about one part."""

    part_number: str
    conditions: Conditions
    sight: SightReport
    access: AccessReport
    cut_sizes: tuple[CutSize, ...]
    exposures: tuple[ExposureReport, ...]
    blow_in_pa: float
    upside_down: UpsideDown

    @property
    def outcome(self) -> Outcome | Literal["not checked"]:
        """The worst outcome of all exposures."""
        order: list[Outcome] = ["fails", "marginal", "holds"]
        for outcome in order:
            if any(e.verdict.outcome == outcome for e in self.exposures):
                return outcome
        return "not checked"

    def sentences(self) -> list[str]:
        """Return the verdicts as lines for people."""
        return [e.verdict.sentence(e.name) for e in self.exposures]

    def exposure(self, name: str) -> ExposureReport:
        """Return one exposure's report; raises ``KeyError`` for one that was not assessed."""
        for report in self.exposures:
            if report.name == name:
                return report
        raise KeyError(name)

    def rounded(self) -> WaterReport:
        """Return the report with every number at what it is worth, four digits."""
        result: WaterReport = _rounded(self, 4)
        return result

    def as_dict(self) -> dict[str, Any]:
        """Return plain data, rounded."""
        return {"outcome": self.outcome, "caution": CAUTION} | asdict(self.rounded())


def _rounded(value: Any, digits: int) -> Any:
    """Return nested frozen data with every float at the given number of significant digits."""
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    if isinstance(value, float):
        return float(f"{value:.{digits}g}") + 0.0
    if isinstance(value, tuple):
        return tuple(_rounded(v, digits) for v in value)
    if isinstance(value, Balance):
        # Its terms must still add up.
        digits = 10
    return replace(
        value, **{f.name: _rounded(getattr(value, f.name), digits) for f in fields(value)}
    )
