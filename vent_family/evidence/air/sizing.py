"""One question about a cabinet and its answer: does it stay cool, and which vents would do.

A :class:`Question` names the vents, the cabinet and what moves the air; :func:`answer` works out
the balance with these vents, how many of them would be needed, and the smallest vent of a list that
would do.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from vent_family.base.problems import InputError, Problem
from vent_family.evidence.air.cabinet import (
    Cabinet,
    Cooling,
    Sizing,
    both_sides,
    fan_forced,
    fewest_vents,
    natural_draught,
    required_flow_m3_s,
    smallest_vent,
    walls_only,
)
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import NoOperatingPointError, Place, System, VentGroup
from vent_family.evidence.air.resistance import ExtraLoss, VentAir, vent_air
from vent_family.evidence.air.summary import AirSummary, summary_of
from vent_family.spec.vent import VentSpec

HOUR_S: Final = 3600.0
CAUTION: Final = "Predicted values. Measure the temperature in the finished cabinet."


@dataclass(frozen=True)
class Question:
    """What is asked, with everything read and resolved.

    Parameters
    ----------
    inlet, outlet:
        the vents the air enters and leaves by
    cabinet:
        heat load, surroundings and limit
    candidates:
        vents among which the smallest that would do is looked for
    fan:
        what moves the air; ``None`` for natural draught or a closed cabinet
    place:
        whether the fan moves outside air in or inside air out
    inlets, outlets:
        how many vents stand side by side on each side
    counter_pa:
        pressure against the fan, such as wind, Pa
    draught_height_m:
        height between the middles of low inlet and high outlet, m; ``None`` for no draught

    Raises
    ------
    InputError
        for a fan and a draught at once, for no vents on a side, for a counter-pressure that is no
        number
    """

    inlet: VentAir
    outlet: VentAir
    cabinet: Cabinet
    candidates: tuple[VentAir, ...] = ()
    fan: FanCurve | None = None
    place: Place = "intake"
    inlets: int = 1
    outlets: int = 1
    counter_pa: float = 0.0
    draught_height_m: float | None = None

    def __post_init__(self) -> None:
        problems = [
            Problem(
                "there must be at least one vent on each side",
                column=column,
                value=str(count),
                allowed="1 or more",
                suggestion="give the number of vents",
            )
            for column, count in (("inlets", self.inlets), ("outlets", self.outlets))
            if count < 1
        ]
        if self.fan is not None and self.draught_height_m is not None:
            problems.append(
                Problem(
                    "a fan and natural draught are asked for at once",
                    column="draught",
                    suggestion="give either --fan or --draught",
                )
            )
        if not math.isfinite(self.counter_pa):
            problems.append(
                Problem(
                    "the pressure against the fan is not a number",
                    column="counter_pa",
                    value=f"{self.counter_pa:g}",
                    suggestion="give it in Pa, 0 for none",
                )
            )
        if problems:
            raise InputError(problems)


@dataclass(frozen=True)
class Answer:
    """The balance and what would do.

    ``cooling`` is ``None`` where no air moves, and ``failure`` says why; ``required_m3_s`` is the
    flow (outside air) that keeps the limit; ``fewest`` is the number of inlet vents per side that
    would, ``smallest`` the smallest candidate.
    """

    question: Question
    summary: AirSummary
    system: System
    cooling: Cooling | None
    failure: str
    required_m3_s: float
    fewest: Sizing
    smallest: Sizing

    @property
    def holds(self) -> bool:
        """Whether the inside is predicted to stay at or below the limit."""
        return self.cooling is not None and self.cooling.holds

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as plain data for machines; units in the names."""
        cooling, cabinet = self.cooling, self.question.cabinet
        data: dict[str, Any] = {
            "part_number": self.question.inlet.part_number,
            "outlet_part_number": self.question.outlet.part_number,
            "inlets": self.question.inlets,
            "outlets": self.question.outlets,
            "heat_w": cabinet.heat_w,
            "ambient_c": cabinet.ambient_c,
            "limit_c": cabinet.limit_c,
            "altitude_m": cabinet.altitude_m,
            "air_density_kg_m3": cabinet.outside.density_kg_m3,
            "k_in": self.summary.k_in,
            "k_out": self.summary.k_out,
            "smallest_open_area_mm2": self.summary.smallest.area_mm2,
            "required_flow_m3_h": self.required_m3_s * HOUR_S,
            "failure": self.failure or None,
            "holds": self.holds,
            "fewest_vents_per_side": self.fewest.count or None,
            "smallest_vent": self.smallest.vent.part_number if self.smallest.vent else None,
            "caution": CAUTION,
        }
        if cooling is not None:
            data |= {
                "flow_m3_h": cooling.flow_m3_s * HOUR_S,
                "rise_k": cooling.rise_k,
                "inside_c": cooling.inside_c,
                "margin_k": cooling.margin_k,
                "heat_by_air_w": cooling.heat_air_w,
                "heat_by_walls_w": cooling.heat_wall_w,
                "draught_pa": cooling.draught_pa,
                "warnings": list(cooling.warnings),
            }
            if cooling.point is not None:
                data |= {
                    "fan_flow_m3_h": cooling.point.flow_m3_s * HOUR_S,
                    "fan_pressure_pa": cooling.point.pressure_pa,
                    "drops_pa": list(cooling.point.drops_pa),
                    "stalled": cooling.point.stalled,
                }
        return data


def candidates(
    specs: Iterable[VentSpec], family: str, extras: tuple[ExtraLoss, ...] = ()
) -> tuple[VentAir, ...]:
    """Return the air side of the released vents of a family, for sizing.

    ``extras`` are added to every one of them.

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> rows = parse_catalog(
    ...     "part_number,family,size,status\\n"
    ...     "V-40,rectangular,40x40,released\\nV-60,rectangular,60x60,draft\\n"
    ... )
    >>> [vent.part_number for vent in candidates(ResolvedRows(rows).specs(), "rectangular")]
    ['V-40']
    """
    return tuple(
        vent_air(spec, extras)
        for spec in specs
        if spec.family == family and spec.row.status == "released"
    )


def extras_of(guard_k: float, filter_pa_s_m: float) -> tuple[ExtraLoss, ...]:
    """Return guard and filter as extra losses; 0 for none.

    Parameters
    ----------
    guard_k:
        loss coefficient on the velocity in the panel opening
    filter_pa_s_m:
        pressure drop per velocity in the panel opening, Pa per m/s

    Raises
    ------
    InputError
        for a loss that is negative or no number

    Examples
    --------
    >>> [(extra.name, extra.k) for extra in extras_of(0.8, 0.0)]
    [('guard', 0.8)]
    """
    problems = [
        Problem(
            "a loss is not negative" if value < 0 else "a loss is a finite number",
            column=column,
            value=f"{value:g}",
            allowed="0 or more",
            suggestion="leave the option out for none",
        )
        for column, value in (("guard_k", guard_k), ("filter_pa_s_m", filter_pa_s_m))
        if not 0 <= value < math.inf
    ]
    if problems:
        raise InputError(problems)
    guard = (ExtraLoss("guard", k=guard_k),) if guard_k else ()
    fibre = (ExtraLoss("filter", linear_pa_s_m=filter_pa_s_m),) if filter_pa_s_m else ()
    return guard + fibre


def place_of(word: str) -> Place:
    """Return where the fan stands.

    Raises
    ------
    InputError
        for an unknown word

    Examples
    --------
    >>> place_of("roof")
    Traceback (most recent call last):
    ...
    vent_family.base.problems.InputError: column place: the fan's place is unknown (value 'roof').
    Allowed: intake, outlet. Say intake for a fan that moves outside air in.
    """
    if word == "intake":
        return "intake"
    if word == "outlet":
        return "outlet"
    raise InputError(
        [
            Problem(
                "the fan's place is unknown",
                column="place",
                value=word,
                allowed="intake, outlet",
                suggestion="say intake for a fan that moves outside air in",
            )
        ]
    )


def question_of(
    inlet: VentSpec,
    cabinet: Cabinet,
    *,
    outlet: VentSpec | None = None,
    among: Iterable[VentSpec] = (),
    fan: FanCurve | None = None,
    place: str = "intake",
    inlets: int = 1,
    outlets: int | None = None,
    guard_k: float = 0.0,
    filter_pa_s_m: float = 0.0,
    counter_pa: float = 0.0,
    draught_height_m: float | None = None,
) -> Question:
    """Return a question about resolved vents.

    Parameters
    ----------
    inlet:
        the vent the air enters by
    cabinet:
        heat load, surroundings and limit
    outlet:
        the vent the air leaves by, the inlet's kind if not given
    among:
        where to look for the smallest vent that would do: released ones of the inlet's family
    fan:
        what moves the air; ``None`` for natural draught or a closed cabinet
    place:
        ``intake`` for a fan that moves outside air in, ``outlet`` for one that moves inside air out
    inlets, outlets:
        how many vents stand side by side on each side; as many outlets as inlets if not given
    guard_k:
        loss coefficient of a guard on the inlet
    filter_pa_s_m:
        filter on the inlet, Pa per m/s in the opening
    counter_pa:
        pressure against the fan, such as wind, Pa
    draught_height_m:
        height between the middles of low inlet and high outlet, m

    Raises
    ------
    InputError
        for values that make no sense, alone or together
    """
    extras = extras_of(guard_k, filter_pa_s_m)
    return Question(
        inlet=vent_air(inlet, extras),
        outlet=vent_air(outlet or inlet),
        cabinet=cabinet,
        candidates=candidates(among, inlet.family, extras),
        fan=fan,
        place=place_of(place),
        inlets=inlets,
        outlets=inlets if outlets is None else outlets,
        counter_pa=counter_pa,
        draught_height_m=draught_height_m,
    )


def answer(question: Question) -> Answer:
    """Return the balance, the number of vents and the smallest vent that keep the limit.

    Sizing takes as many vents of one kind on the inlet as on the outlet, guard and filter on the
    inlet only.

    Raises
    ------
    InputError
        where the draught's height is out of range

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> text = "part_number,family,size,status\\nV-60,rectangular,60x60,released\\n"
    >>> (vent,) = ResolvedRows(parse_catalog(text)).specs()
    >>> cabinet = Cabinet(heat_w=20.0, ambient_c=25.0, limit_c=45.0)
    >>> found = answer(question_of(vent, cabinet, draught_height_m=1.2))
    >>> found.holds, round(found.cooling.rise_k, 1), found.fewest.count
    (False, 29.0, 2)
    """
    system = System(
        (
            VentGroup(question.inlet, "in", question.inlets),
            VentGroup(question.outlet, "out", question.outlets),
        ),
        question.counter_pa,
    )
    cooling: Cooling | None = None
    failure = ""
    try:
        cooling = _cool(question, system)
    except NoOperatingPointError as error:
        failure = str(error)

    def equal(vent: VentAir, count: int) -> Cooling:
        return _cool(question, both_sides(vent, count, question.counter_pa))

    return Answer(
        question=question,
        summary=summary_of(question.inlet),
        system=system,
        cooling=cooling,
        failure=failure,
        required_m3_s=required_flow_m3_s(question.cabinet),
        fewest=fewest_vents(question.inlet, equal),
        smallest=smallest_vent(question.candidates, equal, question.inlets),
    )


def _cool(question: Question, system: System) -> Cooling:
    if question.fan is not None:
        return fan_forced(question.cabinet, question.fan, system, question.place)
    if question.draught_height_m is not None:
        low, high = system.groups
        return natural_draught(question.cabinet, low, high, question.draught_height_m)
    return walls_only(question.cabinet)
