"""A cabinet: what is lost inside, what the sun adds, how hot it may get, and where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vent_family.base.constants import AIR_CP_J_KGK
from vent_family.base.limits import (
    AMBIENT_MIN,
    CABINET_HEAT_MAX,
    CABINET_LIMIT_MAX,
    SUN,
    SUN_MAX,
    SUNLIT_MAX,
    SURFACE_MOVING,
    SURFACE_STILL,
    WALL_CONDUCTANCE_MAX,
)
from vent_family.base.problems import InputError, Problem
from vent_family.base.sun import ABSORPTANCE, Absorptance, share_inwards, solar_gain_w
from vent_family.evidence.air.ranges import off_range
from vent_family.evidence.air.state import AirState, air_at

COLOUR_DEFAULT: Final = "light_grey"
"""The colour of most cabinets (common practice, no source)."""
SHARE: Final = share_inwards(SURFACE_STILL.value, SURFACE_STILL.value)
"""Share of the sun's heat that a thin wall passes inwards, still air on both sides."""
SHARE_LOW: Final = share_inwards(SURFACE_STILL.value, SURFACE_MOVING.value)
"""The same in a breeze."""
SHARE_HIGH: Final = share_inwards(SURFACE_MOVING.value, SURFACE_STILL.value)
"""The same with a fan that blows along the wall inside."""


@dataclass(frozen=True, slots=True)
class Sunlit:
    """The part of a cabinet that the sun shines on.

    Parameters
    ----------
    area_m2
        area as the sun sees it, m2
    absorptance
        share of the sun's heat that the surface takes up
    colour
        what the surface is, in words
    irradiance_w_m2
        sun on a surface that faces it, W/m2

    Raises
    ------
    InputError
        listing every value that makes no sense

    Examples
    --------
    >>> sunlit = sunlit_of(0.6, colour="dark_grey")
    >>> sunlit.taken_up_w, sunlit.inwards_w, [round(w) for w in sunlit.inwards_range_w]
    (510.0, 255.0, [160, 356])
    """

    area_m2: float
    absorptance: Absorptance
    colour: str
    irradiance_w_m2: float = SUN.value

    def __post_init__(self) -> None:
        area, taken, sun = self.area_m2, self.absorptance.value, self.irradiance_w_m2
        problems = [
            *off_range("sunlit_m2", area, "the sunlit area", "m2", SUNLIT_MAX.value, positive=True),
            *off_range("absorptance", taken, "the absorptance", "", 1.0, positive=True),
            *off_range("irradiance_w_m2", sun, "the sun", "W/m2", SUN_MAX.value, positive=True),
        ]
        if problems:
            raise InputError(problems)

    @property
    def taken_up_w(self) -> float:
        """Heat that the outer skin takes up."""
        return solar_gain_w(self.area_m2, self.absorptance.value, self.irradiance_w_m2)

    @property
    def inwards_w(self) -> float:
        """Heat of it that passes the wall; the rest goes back to the air outside at once."""
        return self.taken_up_w * SHARE

    @property
    def inwards_range_w(self) -> tuple[float, float]:
        """Least and most heat that passes inwards, by the range of the colour and by the air."""
        low, high = (
            solar_gain_w(self.area_m2, a, self.irradiance_w_m2)
            for a in (self.absorptance.low, self.absorptance.high)
        )
        return low * SHARE_LOW, high * SHARE_HIGH


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
    sunlit:
        what the sun shines on; ``None`` for a cabinet in the shade

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
    sunlit: Sunlit | None = None

    def __post_init__(self) -> None:
        shaded = self.sunlit is None
        problems = off_range(
            "heat_w", self.heat_w, "the heat", "W", CABINET_HEAT_MAX.value, positive=shaded
        )
        problems += _limit_problems(self.limit_c, self.ambient_c)
        most = WALL_CONDUCTANCE_MAX.value
        problems += off_range("wall_w_k", self.wall_w_k, "the wall conductance", "W/K", most)
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

    @property
    def sun_w(self) -> float:
        """Heat of the sun that passes the walls inwards."""
        return 0.0 if self.sunlit is None else self.sunlit.inwards_w

    @property
    def sun_range_w(self) -> tuple[float, float]:
        """Least and most of it."""
        return (0.0, 0.0) if self.sunlit is None else self.sunlit.inwards_range_w


def sunlit_of(
    area_m2: float | None,
    colour: str | None = None,
    absorptance: float | None = None,
    irradiance_w_m2: float | None = None,
) -> Sunlit | None:
    """Return what the sun shines on; ``None`` without an area.

    Parameters
    ----------
    area_m2
        area as the sun sees it, m2; ``None`` for a cabinet in the shade
    colour
        one of the shop's colours, light grey if neither it nor the absorptance is given
    absorptance
        share of the sun's heat that is taken up, in place of a colour
    irradiance_w_m2
        sun on a surface that faces it, W/m2; the strongest if not given

    Raises
    ------
    InputError
        for an unknown colour, for colour and absorptance at once, for values that make no sense,
        and for any of them without an area

    Examples
    --------
    >>> sunlit_of(None) is None
    True
    >>> sunlit_of(0.5, absorptance=0.3).taken_up_w
    150.0
    """
    given = {
        "colour": colour,
        "absorptance": absorptance,
        "irradiance_w_m2": irradiance_w_m2,
    }
    if area_m2 is None:
        problems = [
            Problem(
                "air.option.idle",
                "it says nothing of a cabinet in the shade",
                column=name,
                value=str(value),
                suggestion="give the sunlit area too, or leave it out",
            )
            for name, value in given.items()
            if value is not None
        ]
        if problems:
            raise InputError(problems)
        return None
    if colour is not None and absorptance is not None:
        text = "colour and absorptance both say what the surface takes up"
        raise InputError(
            [Problem("air.colour.twice", text, column="colour", suggestion="give one of them")]
        )
    if colour is not None and colour not in ABSORPTANCE:
        raise InputError(
            [
                Problem(
                    "air.colour.unknown",
                    "no absorptance is known for this colour",
                    column="colour",
                    value=colour,
                    allowed=", ".join(ABSORPTANCE),
                    suggestion="name the nearest of them, or give the absorptance",
                )
            ]
        )
    sun = SUN.value if irradiance_w_m2 is None else irradiance_w_m2
    if absorptance is not None:
        known = Absorptance(absorptance, absorptance, absorptance, "as stated")
        return Sunlit(area_m2, known, f"absorptance {absorptance:g}", sun)
    name = colour or COLOUR_DEFAULT
    return Sunlit(area_m2, ABSORPTANCE[name], name.replace("_", " "), sun)


def required_flow_m3_s(cabinet: Cabinet, reserve: float = 0.0) -> float:
    """Return the volume flow (m3/s, outside density) that keeps the cabinet at its limit.

    0 where the walls alone do. ``reserve`` is the share by which the allowed rise is to exceed the
    rise (1).

    Examples
    --------
    >>> round(3600 * required_flow_m3_s(Cabinet(heat_w=150.0, ambient_c=25.0, limit_c=45.0)), 1)
    22.7
    >>> required_flow_m3_s(Cabinet(heat_w=150.0, ambient_c=25.0, limit_c=45.0, wall_w_k=8.0))
    0.0
    """
    rise = cabinet.allowed_rise_k / (1.0 + reserve)
    left = cabinet.heat_w + cabinet.sun_w - cabinet.wall_w_k * rise
    return max(left, 0.0) / (AIR_CP_J_KGK * rise) / cabinet.outside.density_kg_m3


def _limit_problems(limit_c: float, ambient_c: float) -> list[Problem]:
    lowest, highest = AMBIENT_MIN.value, CABINET_LIMIT_MAX.value
    if not lowest <= limit_c <= highest:
        code, text = "air.value.range", "the temperature limit is out of range"
        allowed = f"{lowest:g} to {highest:g} degC"
        fix = "give the limit in degC"
    elif limit_c <= ambient_c:
        code = "air.limit.below"
        text = (
            f"the limit is not above the ambient temperature of {ambient_c:g} degC: outside air"
            " cannot cool below itself"
        )
        allowed, fix = f"more than {ambient_c:g} degC", "raise the limit, or cool actively"
    else:
        return []
    value = f"{limit_c:g}"
    return [Problem(code, text, column="limit_c", value=value, allowed=allowed, suggestion=fix)]
