"""The sun on a painted or coloured surface: what its colour takes up, and what that heats.

Absorptances belong to the colours parts are made in and cabinets are painted in. They are those of
clean surfaces; dust darkens light ones, for which the upper end stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Absorptance:
    """Share of the sun's heat that a colour takes up, with its range and its source.

    Parameters
    ----------
    value
        share of a clean surface, typically
    low, high
        ends of the range of shares
    source
        where they come from

    Examples
    --------
    >>> colour = ABSORPTANCE["white"]
    >>> colour.low <= colour.value <= colour.high
    True
    """

    value: float
    low: float
    high: float
    source: str


_MEMORY: Final = "range from memory"

ABSORPTANCE: Final[dict[str, Absorptance]] = {
    "white": Absorptance(
        0.30,
        0.20,
        0.40,
        "white coatings 0.23 to 0.39, Henninger 1984, NASA RP 1121 (as a public library quotes"
        " it); " + _MEMORY,
    ),
    "light_grey": Absorptance(
        0.50,
        0.40,
        0.60,
        "0.45 for light colours: ASHRAE Fundamentals, sol-air temperature, 0.15 h ft2 degF/Btu at"
        " 3.0 Btu/(h ft2 degF) (as an encyclopedia quotes it); " + _MEMORY,
    ),
    "dark_grey": Absorptance(
        0.85,
        0.75,
        0.92,
        "0.90 for dark colours: ASHRAE Fundamentals, sol-air temperature, 0.30 h ft2 degF/Btu at"
        " 3.0 Btu/(h ft2 degF) (as an encyclopedia quotes it); " + _MEMORY,
    ),
    "blue": Absorptance(
        0.75,
        0.50,
        0.88,
        "0.82 for a blue sheet measured outdoors (abstract read: coated surfaces in Egypt, J. Solar"
        " Energy Research), 0.5 for medium blue and 0.9 for dark blue paint from memory",
    ),
    "black": Absorptance(
        0.95,
        0.90,
        0.97,
        "black paints and plastics 0.95 and 0.96, Henninger 1984, NASA RP 1121 (as a public library"
        " quotes it); 0.89 to 0.92 measured outdoors (abstract read: coated surfaces in Egypt, J."
        " Solar Energy Research)",
    ),
}
"""By the names of :data:`vent_family.base.materials.COLOURS`."""


def solar_gain_w(area_m2: float, absorptance: float, irradiance_w_m2: float) -> float:
    """Return the heat that a surface takes up from the sun, W.

    Parameters
    ----------
    area_m2
        area as the sun sees it, m2
    absorptance
        share of the sun's heat that is taken up, 1
    irradiance_w_m2
        sun on a surface that faces it, W/m2

    Examples
    --------
    >>> solar_gain_w(0.5, 0.9, 1000.0)
    450.0
    """
    return area_m2 * absorptance * irradiance_w_m2


def sol_air_rise_k(absorptance: float, irradiance_w_m2: float, coefficient_w_m2k: float) -> float:
    """Return by how much the sun seems to warm the air outside a surface, K.

    The sol-air temperature less that of the air (ASHRAE Fundamentals), without what the sky draws
    off. A thin surface that passes no heat on is warmer than the air by this much; one that gives
    off heat on both sides by half of it.

    Parameters
    ----------
    absorptance
        share of the sun's heat that is taken up, 1
    irradiance_w_m2
        sun on the surface, W/m2
    coefficient_w_m2k
        heat given off to air and surroundings, W/m2K

    Examples
    --------
    >>> round(sol_air_rise_k(0.9, 1000.0, 17.0), 1)
    52.9
    """
    return absorptance * irradiance_w_m2 / coefficient_w_m2k


def share_inwards(inner_w_m2k: float, outer_w_m2k: float) -> float:
    """Return the share of the sun's heat that a thin wall passes inwards (1); the rest blows away.

    The heat taken up on the outer skin leaves by two ways side by side, from a skin that is as warm
    within as without. What the inside, once warm, gives back through the wall is the wall's own
    loss and counts there.

    Parameters
    ----------
    inner_w_m2k, outer_w_m2k
        heat given off to the air inside and outside, W/m2K

    Examples
    --------
    >>> share_inwards(11.0, 11.0)
    0.5
    """
    return inner_w_m2k / (inner_w_m2k + outer_w_m2k)
