"""Air that is drawn in through the drain, against the water that runs out.

While the drain is not full, air and water pass it against each other. Beyond a limit the air holds
the water back (flooding): the pool rises until it fills the drain and shuts the air off, then it
drains again. The limit is Wallis' correlation

    sqrt(jg*) + m sqrt(jl*) = C,   j* = j sqrt(rho / (g D (rho_water - rho_air)))

with the flows over the whole slot and its height as D. It was found for upright tubes and is
stretched to a slot here; of the published C, 0.7 to 1, the lowest is taken.

In a dry drain the air blows over the floor. It drives a film up the floor that is thinner than the
one whose weight, down the slope, its drag just balances in the mean: of the speeds that drag and
weight give a laminar film, t d / 2 mu and rho g sin(slope) d^2 / 3 mu, the first is the greater up
to d = 3 t / (2 rho g sin(slope)) (textbook).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final

from vent_family.base.constants import (
    AIR_DENSITY_KG_M3,
    AIR_VISCOSITY_PA_S,
    GRAVITY_M_S2,
    SURFACE_TENSION_N_M,
    WATER_DENSITY_KG_M3,
)
from vent_family.evidence.air.resistance import DRAIN_K
from vent_family.evidence.facts import Fact
from vent_family.evidence.water.house import WALLIS_C

WALLIS_M: Final = 1.0
"""Weight of the water's flow, about 1 in turbulent flow (Wallis 1969, from memory)."""
KUTATELADZE: Final = 3.2
"""Speed that carries any drop, in (sigma g (rho_water - rho_air) / rho_air^2)^(1/4) (Pushkina and
Sorokin 1969, from memory)."""
BUOYANT_KG_M3: Final = WATER_DENSITY_KG_M3 - AIR_DENSITY_KG_M3


@dataclass(frozen=True, slots=True)
class DrainAir:
    """Air drawn in through the drain; ``None`` for the flow where no air comes against it."""

    speed_m_s: Annotated[float, Fact("air in the dry drain", "m/s")]
    counter_flow_l_min: Annotated[
        float | None, Fact("largest outflow against that air; null: no air", "L/min")
    ]
    flooded: Annotated[bool, Fact("more runs in: the drain runs full and passes no air")]
    blown_film_mm: Annotated[float, Fact("thickest film the air drives up the dry floor", "mm")]
    lifts_drops: Annotated[bool, Fact("the air in the dry drain carries drops of any size")]


def drain_air(
    depression_pa: float,
    slot_mm: float,
    width_mm: float,
    slope_deg: float,
    outflow_l_min: float,
) -> DrainAir:
    """Return what the air does in drains of a total width.

    Parameters
    ----------
    depression_pa
        over the pool; what is not above zero draws no air in
    slot_mm, width_mm
        height of the drain, and width of all of it together
    slope_deg
        slope of the floor, falling outwards
    outflow_l_min
        water that has to run out
    """
    speed = slot_air_m_s(depression_pa)
    limit = counter_flow_l_min(speed, slot_mm, width_mm) if speed > 0.0 else None
    return DrainAir(
        speed_m_s=speed,
        counter_flow_l_min=limit,
        flooded=limit is not None and outflow_l_min > limit,
        blown_film_mm=blown_film_mm(speed, slot_mm, slope_deg),
        lifts_drops=speed > lifting_m_s(),
    )


def slot_air_m_s(depression_pa: float) -> float:
    """Return the mean speed of the air in a dry drain, sqrt(2 p / (rho k)).

    Examples
    --------
    20 Pa through a loss of 2.78 heads: sqrt(40 / (1.2041 x 2.78)):

    >>> round(slot_air_m_s(20.0), 2), slot_air_m_s(-5.0)
    (3.46, 0.0)
    """
    return math.sqrt(2.0 * max(depression_pa, 0.0) / (AIR_DENSITY_KG_M3 * DRAIN_K))


def counter_flow_l_min(air_m_s: float, slot_mm: float, width_mm: float) -> float:
    """Return the largest flow of water out of a slot that takes in air at a mean speed.

    Examples
    --------
    1.5 m/s in a slot of 4 mm: jg* = 1.5 x sqrt(1.2041 / (9.80665 x 0.004 x 997)) = 0.2632, so
    sqrt(jl*) = 0.7 - 0.5131; at 3.5 m/s nothing runs out:

    >>> round(counter_flow_l_min(1.5, 4.0, 100.0), 3), counter_flow_l_min(3.5, 4.0, 100.0)
    (0.166, 0.0)
    """
    scale = GRAVITY_M_S2 * slot_mm * 1e-3 * BUOYANT_KG_M3
    gas = air_m_s * math.sqrt(AIR_DENSITY_KG_M3 / scale)
    root = max(WALLIS_C.now - math.sqrt(gas), 0.0) / WALLIS_M
    speed = root**2 * math.sqrt(scale / WATER_DENSITY_KG_M3)
    return speed * slot_mm * width_mm * 1e-6 * 60_000.0


def blown_film_mm(air_m_s: float, slot_mm: float, slope_deg: float) -> float:
    """Return the thickness up to which air in a slot drives a film up the floor.

    Its drag is that on the wall of a channel as high as the slot: 24 / Re or Blasius' 0.079 Re^-1/4
    of the head, the greater, with twice the height as diameter (textbook).

    Examples
    --------
    3.5 m/s in 4 mm: Re 1859, 7.375 Pa x 24 / 1859 = 0.0952 Pa; on a slope of 5 degrees:

    >>> round(blown_film_mm(3.5, 4.0, 5.0), 3), blown_film_mm(0.0, 4.0, 5.0)
    (0.167, 0.0)
    """
    if air_m_s <= 0.0:
        return 0.0
    re = AIR_DENSITY_KG_M3 * air_m_s * 2e-3 * slot_mm / AIR_VISCOSITY_PA_S
    drag = max(24.0 / re, 0.079 / math.sqrt(math.sqrt(re))) * AIR_DENSITY_KG_M3 * air_m_s**2 / 2.0
    weight = WATER_DENSITY_KG_M3 * GRAVITY_M_S2 * math.sin(math.radians(slope_deg))
    return 1000.0 * 1.5 * drag / weight


def lifting_m_s() -> float:
    """Return the speed of air that carries drops of any size.

    Examples
    --------
    3.2 x (0.0728 x 9.80665 x 997 / 1.2041^2)^(1/4):

    >>> round(lifting_m_s(), 1)
    15.1
    """
    unit = SURFACE_TENSION_N_M * GRAVITY_M_S2 * BUOYANT_KG_M3 / AIR_DENSITY_KG_M3**2
    return KUTATELADZE * math.sqrt(math.sqrt(unit))
