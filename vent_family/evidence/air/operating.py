"""Where fan and cabinet meet: vents in series, fans, and the root that fits both."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal, Protocol

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.air.airway import Direction
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.state import AirState

Place = Literal["intake", "outlet"]
SCAN: Final = 400
"""Flows at which fan and system are compared to find every crossing."""
ROUNDS: Final = 2
WITHIN: Final = 64
"""Rounds, and parts of the bracket in each, in which a crossing is narrowed down."""


class Passage(Protocol):
    """What passes air into the cabinet or out of it: a vent, or several side by side.

    Mass flows in kg/s are those of ``count`` of them together; what is drawn in has the state of
    the air ``outside``, what is blown out that of the air ``inside``.
    """

    def drops_pa(
        self,
        mass_kg_s: FloatArray | float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> FloatArray:
        """Return the pressure drops, Pa."""

    def ends_at(
        self,
        mass_kg_s: float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> tuple[Passage, Passage]:
        """Return it with the least and the greatest loss of its slats."""

    def warnings_at(
        self,
        mass_kg_s: float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> list[str]:
        """Return a warning for every vent that works outside the loss model's range."""


@dataclass(frozen=True, slots=True)
class VentGroup:
    """``count`` equal vents side by side, through which air enters or leaves the cabinet."""

    vent: Passage
    direction: Direction
    count: int = 1

    def drops_pa(
        self, mass_kg_s: FloatArray | float, outside: AirState, inside: AirState
    ) -> FloatArray:
        """Return their pressure drops (Pa) at mass flows (kg/s) of all of them."""
        return self.vent.drops_pa(mass_kg_s, outside, inside, self.direction, self.count)

    def ends_at(
        self, mass_kg_s: float, outside: AirState, inside: AirState
    ) -> tuple[Passage, Passage]:
        """Return the vent with the least and the greatest loss of its slats at a flow (kg/s)."""
        return self.vent.ends_at(mass_kg_s, outside, inside, self.direction, self.count)


@dataclass(frozen=True, slots=True)
class System:
    """What the fan works against: groups of vents in series and a constant counter-pressure.

    ``counter_pa`` stands for wind on the outlet or another fan working against this one.
    """

    groups: tuple[VentGroup, ...]
    counter_pa: float = 0.0

    def drops_pa(
        self, mass_kg_s: FloatArray, outside: AirState, inside: AirState
    ) -> list[FloatArray]:
        """Return the pressure drop of each opening; intakes pass outside air, outlets inside."""
        return [group.drops_pa(mass_kg_s, outside, inside) for group in self.groups]

    def pressure_pa(self, mass_kg_s: FloatArray, outside: AirState, inside: AirState) -> FloatArray:
        """Return the pressure the fan must give.

        Examples
        --------
        No vents, only 12 Pa of wind against the fan; then a vent, whose own drop comes on top:

        >>> from vent_family.catalog.model import CatalogRow
        >>> from vent_family.evidence.air.resistance import vent_air
        >>> from vent_family.evidence.air.state import air_at
        >>> from vent_family.spec.resolve import resolve
        >>> row = CatalogRow(part_number="V", status="draft", family="rectangular", size="80x60")
        >>> air, vent = air_at(20.0), vent_air(resolve(row))
        >>> flow = np.array([0.01])
        >>> System((), 12.0).pressure_pa(flow, air, air).tolist()
        12.0
        >>> with_vent = System((VentGroup(vent, "in"),), 12.0).pressure_pa(flow * 1.2041, air, air)
        >>> own = vent.loss(flow * 1.2041 / air.density_kg_m3, air, "in").drop_pa
        >>> bool(np.allclose(with_vent, 12.0 + own))
        True
        """
        return np.asarray(sum(self.drops_pa(mass_kg_s, outside, inside)) + self.counter_pa)


@dataclass(frozen=True)
class FanPoint:
    """Where the fan settles.

    ``flow_m3_s`` is the flow through the fan, ``mass_kg_s`` the mass flow, ``crossings_m3_s``
    every flow at which fan and system agree, ``stalled`` whether the fan may stall there,
    ``in_range`` whether every vent works within the loss model's range.
    """

    flow_m3_s: float
    pressure_pa: float
    mass_kg_s: float
    drops_pa: tuple[float, ...]
    crossings_m3_s: tuple[float, ...]
    stalled: bool
    in_range: bool
    warnings: tuple[str, ...]


class NoOperatingPointError(ValueError):
    """Fan and system do not meet; the message says why and what to do."""


def operating_point(
    fan: FanCurve,
    system: System,
    outside: AirState,
    inside: AirState,
    place: Place = "intake",
) -> FanPoint:
    """Return where a fan settles on a system.

    Parameters
    ----------
    place:
        whether the fan moves outside air in (``intake``) or inside air out (``outlet``)

    Raises
    ------
    NoOperatingPointError
        when the fan cannot overcome the counter-pressure at any flow

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.evidence.air.resistance import vent_air
    >>> from vent_family.evidence.air.state import air_at
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> text = "part_number,family,size,status\\nV-60,rectangular,60x60,released\\n"
    >>> (spec,) = ResolvedRows(parse_catalog(text)).specs()
    >>> fan = FanCurve("hall", (0.0, 0.01, 0.02), (50.0, 30.0, 0.0))
    >>> air = air_at(20.0)
    >>> point = operating_point(fan, System((VentGroup(vent_air(spec), "in"),)), air, air)
    >>> round(3600 * point.flow_m3_s, 1), round(point.pressure_pa, 1)
    (17.7, 41.5)
    """
    return point_of(
        fan, system, outside, inside, place, crossings_m3_s(fan, system, outside, inside, place)
    )


def crossings_m3_s(
    fan: FanCurve, system: System, outside: AirState, inside: AirState, place: Place = "intake"
) -> tuple[float, ...]:
    """Return every flow through a fan at which fan and system agree, m3/s, the least first.

    The fan settles at the last: there the surplus falls with flow. ``place`` as for
    :func:`operating_point`.

    Raises
    ------
    NoOperatingPointError
        when the fan cannot overcome the counter-pressure at any flow
    """
    air = outside if place == "intake" else inside
    curve = fan.at_density(air.density_kg_m3)

    def surplus(q: FloatArray) -> FloatArray:
        need = system.pressure_pa(q * air.density_kg_m3, outside, inside)
        return np.asarray(curve.pressure(q) - need)

    flows = curve.free_flow_m3_s * np.linspace(1e-4, 1.0, SCAN)
    if system.counter_pa < 0:
        # A helping pressure carries the flow beyond the fan's free flow.
        while surplus(flows[-1:])[0] > 0 and flows[-1] < 50 * curve.free_flow_m3_s:
            flows = np.append(flows, flows[-1] * 1.2)
    excess = surplus(flows)
    turns = np.nonzero((excess[:-1] > 0) != (excess[1:] > 0))[0]
    if not len(turns):
        raise NoOperatingPointError(_why_not(fan, curve, system))
    return tuple(_crossing(surplus, flows[i], flows[i + 1]) for i in turns)


def point_of(
    fan: FanCurve,
    system: System,
    outside: AirState,
    inside: AirState,
    place: Place,
    roots_m3_s: tuple[float, ...],
) -> FanPoint:
    """Return the operating point of a fan at the flows where it agrees with a system, m3/s.

    The other parameters are those of :func:`operating_point`.
    """
    air = outside if place == "intake" else inside
    curve = fan.at_density(air.density_kg_m3)
    flow = roots_m3_s[-1]
    mass = flow * air.density_kg_m3
    drops = system.drops_pa(np.array([mass]), outside, inside)
    stall = curve.stall_m3_s
    stalled = stall is not None and flow < stall
    warnings = []
    if stalled:
        assert stall is not None
        warnings.append(
            f"the fan works in its stall region, below {stall * 3600:.0f} m3/h: flow may hunt and"
            " noise rise"
        )
    if len(roots_m3_s) > 1:
        warnings.append(
            f"fan and system curves cross {len(roots_m3_s)} times, at "
            + ", ".join(f"{r * 3600:.0f}" for r in roots_m3_s)
            + " m3/h: the fan may settle at a lower flow after starting"
        )
    beyond = beyond_range(system, mass, outside, inside)
    warnings += beyond
    return FanPoint(
        flow_m3_s=flow,
        pressure_pa=float(curve.pressure(flow)),
        mass_kg_s=mass,
        drops_pa=tuple(float(d[0]) for d in drops),
        crossings_m3_s=roots_m3_s,
        stalled=stalled,
        in_range=not beyond,
        warnings=tuple(warnings),
    )


def _crossing(
    surplus: Callable[[FloatArray], FloatArray], low_m3_s: float, high_m3_s: float
) -> float:
    """Return the flow, m3/s, at which a surplus changes sign between two flows.

    Many flows in one call cost little more than one: each round narrows the bracket 64 times, and
    the line through its ends does the rest.
    """
    for _ in range(ROUNDS):
        flows = np.linspace(low_m3_s, high_m3_s, WITHIN + 1)
        excess = surplus(flows)
        i = int(np.nonzero((excess[:-1] > 0) != (excess[1:] > 0))[0][0])
        low_m3_s, high_m3_s = float(flows[i]), float(flows[i + 1])
    part = float(excess[i] / (excess[i] - excess[i + 1]))
    return low_m3_s + part * (high_m3_s - low_m3_s)


def _why_not(fan: FanCurve, curve: FanCurve, system: System) -> str:
    """Return why fan and system do not meet."""
    top = max(curve.pressure_pa)
    if system.counter_pa >= top:
        return (
            f"{fan.name} gives at most {top:.1f} Pa in this air but {system.counter_pa:.1f} Pa"
            " stand against it: no air moves"
        )
    if system.counter_pa < 0:
        return (
            f"{-system.counter_pa:.1f} Pa push air through {fan.name} beyond any flow its curve"
            " covers"
        )
    return f"the vents hold back even the smallest flow of {fan.name} (at most {top:.1f} Pa)"


def beyond_range(
    system: System, mass_kg_s: float, outside: AirState, inside: AirState
) -> list[str]:
    """Return a warning for every vent that works outside the loss model's range."""
    found = [
        text
        for group in system.groups
        for text in group.vent.warnings_at(mass_kg_s, outside, inside, group.direction, group.count)
    ]
    return list(dict.fromkeys(found))
