"""Wind on a cabinet: the pressure difference between a vent that faces it and the other openings.

External pressure coefficients are those of EN 1991-1-4 for the walls of a building about as deep
as it is high (h/d = 1), zone D windward and zone E leeward, both from memory; no text of the
standard was read. The wind of an exposure is taken as steady, as the rain test of EN 13030 blows
it; gusts above that mean are not added, so a site's gusts belong into the exposure that is chosen.

The pressure inside is not taken from the standard's table but follows from the openings: what
enters by one leaves by the others, and each takes its share of the difference by its own loss
(:mod:`vent_family.evidence.air.point`).
"""

from __future__ import annotations

from typing import Final

from vent_family.base.limits import CP_LEE, CP_SHELTERED, CP_WINDWARD
from vent_family.catalog.model import OtherOpenings
from vent_family.evidence.air.state import AirState

OPENINGS_DEFAULT: Final[OtherOpenings] = "lee_side"
"""Where a row does not say how the cabinet's other openings lie.

A vent for air to pass from wall to wall has its counterpart on another wall as a rule, and of the
places a row can name the lee side drives most air and water in. A blank that was read as sheltered
or same side would take pressure off the pool that nobody has promised.
"""
_OTHER: Final[dict[OtherOpenings, float]] = {
    "sheltered": CP_SHELTERED.value,
    "same_side": CP_WINDWARD.value,
    "lee_side": CP_LEE.value,
}


def velocity_pressure_pa(wind_m_s: float, air: AirState) -> float:
    """Return rho v^2 / 2 of a wind, m/s, in Pa.

    Examples
    --------
    13 m/s in air of 1.2041 kg/m3:

    >>> from vent_family.evidence.air.state import air_at
    >>> round(velocity_pressure_pa(13.0, air_at()), 1)
    101.7
    """
    return 0.5 * air.density_kg_m3 * wind_m_s**2


def coefficient(openings: OtherOpenings) -> float:
    """Return the pressure coefficient (1) of a vent in the wind over that of the other openings.

    Examples
    --------
    >>> round(coefficient("lee_side"), 2), coefficient("same_side")
    (1.3, 0.0)
    """
    return CP_WINDWARD.value - _OTHER[openings]


def wind_head_pa(wind_m_s: float, openings: OtherOpenings, air: AirState) -> float:
    """Return the pressure on a vent that faces the wind (m/s) over that on the other openings, Pa.

    Examples
    --------
    (0.8 + 0.5) x 101.7 Pa with the other openings on the lee side, none with all on one side:

    >>> from vent_family.evidence.air.state import air_at
    >>> [round(wind_head_pa(13.0, o, air_at()), 1) for o in ("lee_side", "sheltered", "same_side")]
    [132.3, 81.4, 0.0]
    """
    return coefficient(openings) * velocity_pressure_pa(wind_m_s, air)
