"""The answer to a question about a cabinet: what is predicted, clean and clogged, what would do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from vent_family.base.limits import COOLING_RESERVE
from vent_family.evidence.air.cabinet import required_flow_m3_s
from vent_family.evidence.air.clogged import Clogged, clogged
from vent_family.evidence.air.point import HOUR_S
from vent_family.evidence.air.predicted import Ends, Predicted, predict
from vent_family.evidence.air.question import Question
from vent_family.evidence.air.sizing import Sizing, sizing
from vent_family.evidence.air.summary import AirSummary, summary_of

CAUTION: Final = "Predicted values. Measure the temperature in the finished cabinet."


@dataclass(frozen=True)
class Answer:
    """What is predicted, and what would do.

    ``required_m3_s`` is the flow (outside air) that keeps the limit, ``reserved_m3_s`` the flow
    that does so with a quarter in hand; ``clogged`` is what half of the inlet clogged leaves.
    """

    question: Question
    summary: AirSummary
    predicted: Predicted
    clogged: Clogged | None
    required_m3_s: float
    reserved_m3_s: float
    sizing: Sizing

    @property
    def holds(self) -> bool:
        """Whether the cabinet is predicted to hold its limit."""
        return self.predicted.holds

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as plain data for machines; units in the names."""
        asked, cabinet = self.question, self.question.cabinet
        sunlit = cabinet.sunlit
        data: dict[str, Any] = {
            "part_number": asked.inlet.part_number,
            "outlet_part_number": asked.leaving.part_number,
            "inlets": asked.inlets,
            "outlets": asked.outlet_count,
            "driven_by": asked.mode,
            "heat_w": cabinet.heat_w,
            "ambient_c": cabinet.ambient_c,
            "limit_c": cabinet.limit_c,
            "altitude_m": cabinet.altitude_m,
            "walls_w_k": cabinet.wall_w_k,
            "sunlit_m2": None if sunlit is None else sunlit.area_m2,
            "air_density_kg_m3": cabinet.outside.density_kg_m3,
            "k_in": self.summary.k_in,
            "k_in_low": self.summary.k_in_low,
            "k_in_high": self.summary.k_in_high,
            "k_out": self.summary.k_out,
            "k_out_low": self.summary.k_out_low,
            "k_out_high": self.summary.k_out_high,
            "smallest_open_area_mm2": self.summary.smallest.area_mm2,
            "required_flow_m3_h": self.required_m3_s * HOUR_S,
            "required_flow_with_reserve_m3_h": self.reserved_m3_s * HOUR_S,
            "reserve_needed": COOLING_RESERVE.value,
            **predicted_dict(self.predicted),
            "half_clogged": None
            if self.clogged is None
            else {
                "what": self.clogged.what,
                "share": self.clogged.share,
                **predicted_dict(self.clogged.predicted),
            },
            "fewest_inlets": self.sizing.inlets,
            "smallest_vent": self.sizing.smallest,
            "greatest_heat_w": self.sizing.heat_w,
            "caution": CAUTION,
        }
        return data


def predicted_dict(found: Predicted) -> dict[str, Any]:
    """Return a prediction as plain data."""
    data: dict[str, Any] = {
        "outcome": found.outcome,
        "holds": found.holds,
        "reasons": list(found.reasons),
        "failure": found.failure or None,
    }
    cooling = found.cooling
    if cooling is None:
        return data
    data |= {
        "flow_m3_h": cooling.flow_m3_s * HOUR_S,
        "flow_low_m3_h": _end(found.flow_m3_s, "low", HOUR_S),
        "flow_high_m3_h": _end(found.flow_m3_s, "high", HOUR_S),
        "rise_k": cooling.rise_k,
        "inside_c": cooling.inside_c,
        "inside_low_c": _end(found.inside_c, "low"),
        "inside_high_c": _end(found.inside_c, "high"),
        "margin_k": cooling.margin_k,
        "reserve": cooling.reserve,
        "heat_by_air_w": cooling.heat_air_w,
        "heat_by_walls_w": cooling.heat_wall_w,
        "heat_of_sun_w": cooling.sun_w,
        "balance_w": {term.name: term.heat_w for term in cooling.terms()},
        "drops_pa": list(cooling.drops_pa),
        "drops_low_pa": [
            drop * r.low for drop, r in zip(cooling.drops_pa, found.drops, strict=False)
        ],
        "drops_high_pa": [
            drop * r.high for drop, r in zip(cooling.drops_pa, found.drops, strict=False)
        ],
        "draught_pa": cooling.draught_pa,
        "warnings": list(cooling.warnings),
    }
    if cooling.point is not None:
        data |= {
            "fan_flow_m3_h": cooling.point.flow_m3_s * HOUR_S,
            "fan_pressure_pa": cooling.point.pressure_pa,
            "stalled": cooling.point.stalled,
        }
    return data


def _end(found: Ends | None, end: str, factor: float = 1.0) -> float | None:
    return None if found is None else factor * float(getattr(found, end))


def answer(question: Question) -> Answer:
    """Return what is predicted of a cabinet, clean and half clogged, and what would do.

    Raises
    ------
    InputError
        where the draught's height is out of range
    UncalibratedError
        if the air model's table lacks runs of a vent's slat form

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.evidence.air.cabinet import Cabinet
    >>> from vent_family.evidence.air.question import question_of
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> text = "part_number,family,size,status\\nV-60,rectangular,60x60,released\\n"
    >>> (vent,) = ResolvedRows(parse_catalog(text)).specs()
    >>> cabinet = Cabinet(heat_w=20.0, ambient_c=25.0, limit_c=45.0)
    >>> found = answer(question_of(vent, cabinet, draught_height_m=1.2))
    >>> found.predicted.outcome, round(found.predicted.cooling.rise_k, 1), found.sizing.inlets
    ('fails', 29.2, 3)
    """
    return Answer(
        question=question,
        summary=summary_of(question.inlet),
        predicted=predict(question),
        clogged=clogged(question),
        required_m3_s=required_flow_m3_s(question.cabinet),
        reserved_m3_s=required_flow_m3_s(question.cabinet, COOLING_RESERVE.value),
        sizing=sizing(question),
    )
