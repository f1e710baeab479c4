"""Heat balance of a cabinet: fan-forced, by natural draught, closed.

The cabinet's air is taken as well mixed at the temperature at which it leaves, the walls pass
``U A`` times the rise over ambient, and of the sun that their skin takes up a share comes in.
Lowest and highest temperatures inside differ in truth; that is why a cabinet needs a reserve.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import brentq

from vent_family.base.constants import AIR_CP_J_KGK, GRAVITY_M_S2
from vent_family.base.limits import CABINET_RISE_MAX, DRAUGHT_HEIGHT_MAX
from vent_family.base.problems import InputError
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import (
    FanPoint,
    Place,
    System,
    VentGroup,
    beyond_range,
    crossings_m3_s,
    point_of,
)
from vent_family.evidence.air.ranges import off_range
from vent_family.evidence.air.state import AirState

ROUNDS: Final = 40
CLOSE_K: Final = 1e-8
"""How near two rounds come to one another."""
LEAST_KG_S: Final = 1e-12
"""Mass flow from which the draught's flow is looked for."""


class NoBalanceError(ValueError):
    """So little carries the heat that no temperature is predicted; the message says what."""


@dataclass(frozen=True, slots=True)
class HeatTerm:
    """One way heat takes: ``heat_w`` into the cabinet positive, out of it negative."""

    name: str
    heat_w: float


@dataclass(frozen=True)
class Cooling:
    """The cabinet's balance.

    ``rise_k`` over ambient, ``mass_kg_s`` of air, ``sun_w`` what comes in of the sun,
    ``draught_pa`` the buoyancy pressure (0 when fan-forced), ``drops_pa`` the pressure drop of each
    side, ``point`` the fan's operating point.
    """

    cabinet: Cabinet
    rise_k: float
    mass_kg_s: float
    sun_w: float
    draught_pa: float = 0.0
    drops_pa: tuple[float, ...] = ()
    point: FanPoint | None = None
    warnings: tuple[str, ...] = ()

    @property
    def inside_c(self) -> float:
        """Temperature of the air inside."""
        return self.cabinet.ambient_c + self.rise_k

    @property
    def margin_k(self) -> float:
        """How far it stays below the limit; negative above."""
        return self.cabinet.limit_c - self.inside_c

    @property
    def reserve(self) -> float:
        """Share by which the allowed rise exceeds the rise, at most a thousand."""
        return min(self.cabinet.allowed_rise_k / max(self.rise_k, 1e-9) - 1.0, 1000.0)

    @property
    def flow_m3_s(self) -> float:
        """Flow of outside air."""
        return self.mass_kg_s / self.cabinet.outside.density_kg_m3

    @property
    def heat_air_w(self) -> float:
        """Heat that the air carries away."""
        return self.mass_kg_s * AIR_CP_J_KGK * self.rise_k

    @property
    def heat_wall_w(self) -> float:
        """Heat that the walls pass outwards."""
        return self.cabinet.wall_w_k * self.rise_k

    def terms(self) -> tuple[HeatTerm, ...]:
        """Return every way heat takes; they sum to zero.

        Examples
        --------
        >>> from vent_family.evidence.air.cabinet import sunlit_of
        >>> sunlit = sunlit_of(0.4, absorptance=0.5)
        >>> closed = walls_only(Cabinet(40.0, 25.0, 65.0, wall_w_k=5.0, sunlit=sunlit))
        >>> for term in closed.terms():
        ...     print(f"{term.name}: {term.heat_w:+.0f} W")
        lost inside: +40 W
        sun taken up: +200 W
        sun given back outside at once: -100 W
        through the walls: -140 W
        """
        found = [HeatTerm("lost inside", self.cabinet.heat_w)]
        sunlit = self.cabinet.sunlit
        if sunlit is not None:
            found.append(HeatTerm("sun taken up", sunlit.taken_up_w))
            back = self.sun_w - sunlit.taken_up_w
            found.append(HeatTerm("sun given back outside at once", back))
        if self.cabinet.wall_w_k:
            found.append(HeatTerm("through the walls", -self.heat_wall_w))
        if self.mass_kg_s:
            found.append(HeatTerm("with the air", -self.heat_air_w))
        return tuple(found)

    def balance_words(self) -> str:
        """Return in words which terms matter: shares of what comes in and of what goes out."""
        brought = {"what is lost inside brings": self.cabinet.heat_w, "the sun brings": self.sun_w}
        taken = {"the air takes": self.heat_air_w, "the walls take": self.heat_wall_w}
        return f"{_shares(brought)}; {_shares(taken)}"


def fan_forced(
    cabinet: Cabinet,
    fan: FanCurve,
    system: System,
    place: Place = "intake",
    sun_w: float | None = None,
    near_k: float = 0.0,
) -> Cooling:
    """Return the balance of a cabinet with a fan.

    ``sun_w`` is the heat of the sun that comes in, W; the cabinet's own if not given. ``near_k`` is
    a rise near which the answer is looked for first, K: it saves rounds and changes nothing.

    Raises
    ------
    NoOperatingPointError
        when the fan moves no air
    NoBalanceError
        when it moves so little that no temperature is predicted
    """
    outside = cabinet.outside
    sun = cabinet.sun_w if sun_w is None else sun_w
    hottest = 2.0 * CABINET_RISE_MAX.value
    rise, before, found_before = near_k, 0.0, 0.0
    # The rise changes the density of the outgoing air and so the flow by a few per cent: from the
    # second round on the line through two rounds is followed to where it meets itself.
    for turn in range(ROUNDS):
        inside = outside.at(cabinet.ambient_c + rise)
        roots = crossings_m3_s(fan, system, outside, inside, place)
        mass = roots[-1] * (outside if place == "intake" else inside).density_kg_m3
        carried = mass * AIR_CP_J_KGK + cabinet.wall_w_k
        found = min((cabinet.heat_w + sun) / carried, hottest)
        if abs(found - rise) < CLOSE_K:
            break
        slope = (found - found_before) / (rise - before) if turn else 0.0
        before, found_before = rise, found
        slope = slope if abs(slope) < 0.5 else 0.0
        rise = min((found - slope * rise) / (1.0 - slope), hottest)
    rise = found
    _refuse_heat(cabinet, rise, f"the fan moves {roots[-1] * 3600.0:.2g} m3/h")
    point = point_of(fan, system, outside, inside, place, roots)
    return Cooling(cabinet, rise, point.mass_kg_s, sun, 0.0, point.drops_pa, point, point.warnings)


def natural_draught(
    cabinet: Cabinet, low: VentGroup, high: VentGroup, height_m: float, sun_w: float | None = None
) -> Cooling:
    """Return the balance of a cabinet that breathes through a low and a high vent.

    The stack pressure is ``g H (rho_outside - rho_inside)`` with the height between the middles
    of the two vents. ``sun_w`` is the heat of the sun that comes in, W; the cabinet's own if not
    given.

    Raises
    ------
    InputError
        when the height is not above zero, or beyond what the model is offered for
    NoBalanceError
        when the draught carries so little that no temperature is predicted
    """
    what = "natural draught needs a height between the low and the high vent: it"
    most = DRAUGHT_HEIGHT_MAX.value
    problems = off_range("draught_height_m", height_m, what, "m", most, positive=True)
    if problems:
        raise InputError(problems)
    outside = cabinet.outside
    sun = cabinet.sun_w if sun_w is None else sun_w
    system = System((low, high))
    hottest = 2.0 * CABINET_RISE_MAX.value

    def rise_of(mass: float) -> float:
        return min((cabinet.heat_w + sun) / (mass * AIR_CP_J_KGK + cabinet.wall_w_k), hottest)

    def inside_of(mass: float) -> AirState:
        return outside.at(cabinet.ambient_c + rise_of(mass))

    def head_pa(mass: float) -> float:
        lighter = outside.density_kg_m3 - inside_of(mass).density_kg_m3
        return GRAVITY_M_S2 * height_m * lighter

    def lack(mass: float) -> float:
        need = system.pressure_pa(np.array([mass]), outside, inside_of(mass))
        return float(need[0]) - head_pa(mass)

    # More air means more loss and a lighter draught: there is one flow at which they agree.
    mass = top = LEAST_KG_S
    while lack(top) < 0.0:
        mass, top = top, 8.0 * top
    if top > LEAST_KG_S:
        mass = float(brentq(lack, mass, top, xtol=1e-15, rtol=1e-12))
    rise = rise_of(mass)
    _refuse_heat(cabinet, rise, "the draught moves next to no air")
    drops = system.drops_pa(np.array([mass]), outside, inside_of(mass))
    return Cooling(
        cabinet,
        rise,
        mass,
        sun,
        head_pa(mass),
        tuple(float(d[0]) for d in drops),
        None,
        tuple(beyond_range(system, mass, outside, inside_of(mass))),
    )


def walls_only(cabinet: Cabinet, sun_w: float | None = None) -> Cooling:
    """Return the balance of a closed cabinet.

    ``sun_w`` is the heat of the sun that comes in, W; the cabinet's own if not given.

    Raises
    ------
    NoBalanceError
        when the walls pass so little that no temperature is predicted

    Examples
    --------
    >>> found = walls_only(Cabinet(heat_w=40.0, ambient_c=25.0, limit_c=45.0, wall_w_k=4.0))
    >>> found.rise_k, found.margin_k
    (10.0, 10.0)
    """
    sun = cabinet.sun_w if sun_w is None else sun_w
    hottest = 2.0 * CABINET_RISE_MAX.value
    heat = cabinet.heat_w + sun
    rise = hottest if heat > cabinet.wall_w_k * hottest else heat / cabinet.wall_w_k
    _refuse_heat(cabinet, rise, f"the walls pass {cabinet.wall_w_k:g} W/K and no air moves")
    return Cooling(cabinet, rise, 0.0, sun)


def _refuse_heat(cabinet: Cabinet, rise_k: float, why: str) -> None:
    """Refuse a rise beyond what the balance is offered for.

    Raises
    ------
    NoBalanceError
        naming what carries the heat
    """
    if rise_k > CABINET_RISE_MAX.value:
        hot = cabinet.ambient_c + CABINET_RISE_MAX.value
        raise NoBalanceError(
            f"{why}: the inside would be hotter than {hot:.0f} degC, beyond which nothing is"
            " predicted"
        )


def _shares(parts_w: dict[str, float]) -> str:
    """Return each part with its share of all of them, the largest first."""
    whole = sum(parts_w.values())
    told = [
        f"{name} {100.0 * heat / whole:.0f} %"
        for name, heat in sorted(parts_w.items(), key=lambda part: -part[1])
        if heat
    ]
    return ", ".join(told)
