"""Cabinet heat balance: fan-forced, by natural draught, and the other way round for sizing.

The cabinet's air is taken as well mixed at the temperature at which it leaves, the walls pass
``U A`` times the rise over ambient. Lowest and highest temperatures inside differ in truth; that
is why a margin is reported and not a verdict to the tenth of a degree.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import brentq

from vent_family.base.constants import AIR_CP_J_KGK, GRAVITY_M_S2
from vent_family.base.limits import AMBIENT_MAX, AMBIENT_MIN, DRAUGHT_HEIGHT_MAX
from vent_family.base.problems import InputError, Problem
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import (
    FanPoint,
    NoOperatingPointError,
    Place,
    System,
    VentGroup,
    beyond_range,
    operating_point,
)
from vent_family.evidence.air.resistance import VentAir
from vent_family.evidence.air.state import AirState, air_at

RISE_MAX_K: Final = 500.0
"""Above this the balance stops making sense (radiation, fire)."""
COUNT_MAX: Final = 24
"""Most vents of one kind tried when sizing."""


@dataclass(frozen=True, slots=True)
class Cabinet:
    """Heat load and surroundings.

    Parameters
    ----------
    heat_w:
        heat lost inside, W
    ambient_c:
        temperature outside, degC
    limit_c:
        highest air temperature allowed inside, degC
    altitude_m:
        height above sea level, m
    wall_w_k:
        heat the walls pass per kelvin (U times area), W/K; 0 for none

    Raises
    ------
    InputError
        listing every value that makes no sense

    Examples
    --------
    >>> cabinet = Cabinet(heat_w=150.0, ambient_c=25.0, limit_c=45.0)
    >>> cabinet.allowed_rise_k, round(cabinet.outside.density_kg_m3, 3)
    (20.0, 1.184)
    """

    heat_w: float
    ambient_c: float
    limit_c: float
    altitude_m: float = 0.0
    wall_w_k: float = 0.0

    def __post_init__(self) -> None:
        problems: list[Problem] = []

        def refuse(column: str, value: float, text: str, allowed: str, fix: str) -> None:
            problems.append(Problem(text, "", None, "", column, f"{value:g}", allowed, fix))

        if not 0 < self.heat_w < math.inf:
            refuse(
                "heat_w",
                self.heat_w,
                "the heat is not a finite number"
                if self.heat_w == math.inf
                else "there is no heat to carry away",
                "more than 0 W",
                "give the power lost inside the cabinet in W",
            )
        lowest, highest = AMBIENT_MIN.value, AMBIENT_MAX.value + 60
        if not lowest <= self.limit_c <= highest:
            refuse(
                "limit_c",
                self.limit_c,
                "the temperature limit is out of range",
                f"{lowest:g} to {highest:g} degC",
                "give the limit in degC",
            )
        elif self.limit_c <= self.ambient_c:
            refuse(
                "limit_c",
                self.limit_c,
                f"the limit is not above the ambient temperature of {self.ambient_c:g} degC:"
                " outside air cannot cool below itself",
                f"more than {self.ambient_c:g} degC",
                "raise the limit, or cool actively",
            )
        if not 0 <= self.wall_w_k < math.inf:
            refuse(
                "wall_w_k",
                self.wall_w_k,
                "wall conductance is not negative"
                if self.wall_w_k < 0
                else "the wall conductance is not a finite number",
                "0 W/K or more",
                "give area times heat transfer coefficient",
            )
        try:
            air_at(self.ambient_c, self.altitude_m)
        except InputError as error:
            problems += error.problems
        if problems:
            raise InputError(problems)

    @property
    def outside(self) -> AirState:
        """The air outside."""
        return air_at(self.ambient_c, self.altitude_m)

    @property
    def allowed_rise_k(self) -> float:
        """Rise at which the limit is reached."""
        return self.limit_c - self.ambient_c


@dataclass(frozen=True)
class Cooling:
    """The cabinet's balance.

    ``rise_k`` over ambient, ``flow_m3_s`` at outside density, heat by air and by walls in W,
    ``draught_pa`` the buoyancy pressure (0 when fan-forced), ``point`` the fan's operating point.
    """

    rise_k: float
    inside_c: float
    margin_k: float
    mass_kg_s: float
    flow_m3_s: float
    heat_air_w: float
    heat_wall_w: float
    draught_pa: float
    point: FanPoint | None
    warnings: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether the inside stays at or below the limit."""
        return self.margin_k >= 0


def required_flow_m3_s(cabinet: Cabinet) -> float:
    """Return the volume flow (m3/s, outside density) that keeps the cabinet at its limit.

    0 where the walls alone do.

    Examples
    --------
    >>> round(3600 * required_flow_m3_s(Cabinet(heat_w=150.0, ambient_c=25.0, limit_c=45.0)), 1)
    22.7
    >>> required_flow_m3_s(Cabinet(heat_w=150.0, ambient_c=25.0, limit_c=45.0, wall_w_k=8.0))
    0.0
    """
    left = cabinet.heat_w - cabinet.wall_w_k * cabinet.allowed_rise_k
    mass = max(left, 0.0) / (AIR_CP_J_KGK * cabinet.allowed_rise_k)
    return mass / cabinet.outside.density_kg_m3


def fan_forced(cabinet: Cabinet, fan: FanCurve, system: System, place: Place = "intake") -> Cooling:
    """Return the balance of a cabinet with a fan.

    Raises
    ------
    NoOperatingPointError
        when the fan moves no air
    """
    outside = cabinet.outside
    rise = 0.0
    # The rise changes the density of the outgoing air and so the flow by a few per cent.
    for _ in range(40):
        point = operating_point(fan, system, outside, outside.at(cabinet.ambient_c + rise), place)
        new = cabinet.heat_w / (point.mass_kg_s * AIR_CP_J_KGK + cabinet.wall_w_k)
        if new > RISE_MAX_K:
            new = RISE_MAX_K
        if abs(new - rise) < 1e-8:
            break
        rise = new
    return _cooling(cabinet, rise, point.mass_kg_s, 0.0, point, point.warnings)


def natural_draught(cabinet: Cabinet, low: VentGroup, high: VentGroup, height_m: float) -> Cooling:
    """Return the balance of a cabinet that breathes through a low and a high vent.

    The stack pressure is ``g H (rho_outside - rho_inside)`` with the height between the middles
    of the two vents.

    Raises
    ------
    InputError
        when the height is not above zero, or beyond what the model is offered for
    """
    if not 0 < height_m <= DRAUGHT_HEIGHT_MAX.value:
        raise InputError(
            [
                Problem(
                    "natural draught needs a height between the low and the high vent",
                    column="height_m",
                    value=f"{height_m:g}",
                    allowed=f"more than 0 m, up to {DRAUGHT_HEIGHT_MAX.value:g} m",
                    suggestion="give the height between the middles of the vents",
                )
            ]
        )
    outside = cabinet.outside
    system = System((low, high))

    def draught(rise: float) -> float:
        inside = outside.at(cabinet.ambient_c + rise)
        return GRAVITY_M_S2 * height_m * (outside.density_kg_m3 - inside.density_kg_m3)

    def mass_flow(rise: float) -> float:
        inside = outside.at(cabinet.ambient_c + rise)
        head = draught(rise)

        def lack(mass: float) -> float:
            return float(system.pressure_pa(np.array([mass]), outside, inside)[0]) - head

        top = 1e-4
        while lack(top) < 0:
            top *= 8
        return float(brentq(lack, 1e-12, top, xtol=1e-13))

    def lack_of_heat(rise: float) -> float:
        return rise * (mass_flow(rise) * AIR_CP_J_KGK + cabinet.wall_w_k) - cabinet.heat_w

    warnings: tuple[str, ...] = ()
    if lack_of_heat(RISE_MAX_K) < 0:
        rise = RISE_MAX_K
        warnings = (f"the draught cannot carry the heat even at {RISE_MAX_K:g} K of rise",)
    else:
        rise = float(brentq(lack_of_heat, 1e-6, RISE_MAX_K, xtol=1e-9))
    mass = mass_flow(rise)
    inside = outside.at(cabinet.ambient_c + rise)
    warnings += tuple(beyond_range(system, mass, outside, inside))
    return _cooling(cabinet, rise, mass, draught(rise), None, warnings)


def walls_only(cabinet: Cabinet) -> Cooling:
    """Return the balance of a closed cabinet.

    Examples
    --------
    >>> found = walls_only(Cabinet(heat_w=40.0, ambient_c=25.0, limit_c=45.0, wall_w_k=4.0))
    >>> found.rise_k, found.margin_k, found.holds
    (10.0, 10.0, True)
    """
    if not cabinet.wall_w_k:
        warning = "neither air nor walls carry the heat away: give a fan, a draught or walls"
        return _cooling(cabinet, RISE_MAX_K, 0.0, 0.0, None, (warning,))
    rise = min(cabinet.heat_w / cabinet.wall_w_k, RISE_MAX_K)
    return _cooling(cabinet, rise, 0.0, 0.0, None, ())


def _cooling(
    cabinet: Cabinet,
    rise: float,
    mass: float,
    draught: float,
    point: FanPoint | None,
    warnings: tuple[str, ...],
) -> Cooling:
    inside = cabinet.ambient_c + rise
    return Cooling(
        rise_k=rise,
        inside_c=inside,
        margin_k=cabinet.limit_c - inside,
        mass_kg_s=mass,
        flow_m3_s=mass / cabinet.outside.density_kg_m3,
        heat_air_w=mass * AIR_CP_J_KGK * rise,
        heat_wall_w=cabinet.wall_w_k * rise,
        draught_pa=draught,
        point=point,
        warnings=warnings,
    )


@dataclass(frozen=True)
class Sizing:
    """Answer of a search: which vent, how many, and the cooling with it; None if none will do."""

    vent: VentAir | None
    count: int
    cooling: Cooling | None
    reason: str


Solve = Callable[[VentAir, int], Cooling]


def fewest_vents(vent: VentAir, solve: Solve, count_max: int = COUNT_MAX) -> Sizing:
    """Return the smallest number of equal vents (per side) that keeps the limit.

    ``solve(vent, count)`` gives the cooling, for instance by :func:`fan_forced` with ``count``
    vents as intake and as outlet. More vents never move less air, so the number is halved down to.
    """
    best = _try(solve, vent, count_max)
    if best is None or not best.holds:
        return Sizing(None, 0, best, _short_of(best, f"{count_max} vents"))
    low, high, found = 1, count_max, best
    while low < high:
        middle = (low + high) // 2
        trial = _try(solve, vent, middle)
        if trial is not None and trial.holds:
            high, found = middle, trial
        else:
            low = middle + 1
    return Sizing(vent, high, found, "")


def smallest_vent(vents: Sequence[VentAir], solve: Solve, count: int = 1) -> Sizing:
    """Return the vent with the smallest panel opening that keeps the limit."""
    last: Cooling | None = None
    for vent in sorted(vents, key=lambda v: v.opening_mm2):
        last = _try(solve, vent, count)
        if last is not None and last.holds:
            return Sizing(vent, count, last, "")
    return Sizing(None, 0, last, _short_of(last, "the largest of them"))


def _try(solve: Solve, vent: VentAir, count: int) -> Cooling | None:
    try:
        return solve(vent, count)
    except NoOperatingPointError:
        return None


def _short_of(cooling: Cooling | None, what: str) -> str:
    if cooling is None:
        return f"with {what} the fan still moves no air"
    return (
        f"with {what} the inside still reaches {cooling.inside_c:.1f} degC, {-cooling.margin_k:.1f}"
        " K over the limit: use a stronger fan or more fans, or lower the heat load"
    )


def both_sides(vent: VentAir, count: int, counter_pa: float = 0.0) -> System:
    """Return ``count`` vents as intake and as many as outlet, the latter without guard or filter.

    ``counter_pa`` is the pressure against the fan, Pa.
    """
    return System((VentGroup(vent, "in", count), VentGroup(vent.bare(), "out", count)), counter_pa)
