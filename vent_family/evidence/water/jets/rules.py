"""What is assumed of sheets where nothing is measured: four sets of assumptions, one band."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import (
    SURFACE_TENSION_N_M,
    WATER_DENSITY_KG_M3,
    WATER_VISCOSITY_PA_S,
)
from vent_family.evidence.water.house import EJECTION
from vent_family.evidence.water.jets.split import WIDEST, deflections

FILM_WEBER: Final = 8.0
"""rho u2 h / sigma below which a sheet does not leave an edge but wets it (assumed; Duez et al.
2010, Phys. Rev. Lett. 104:084503, find a critical number of this kind)."""
FILM_M_S: Final = 0.7
"""Slower sheets run down like a film (assumed)."""


@dataclass(frozen=True, slots=True)
class Assumption:
    """One set of assumptions on sheets.

    ``loss`` is the share of speed lost at a square impact, ``spread`` what sideways spreading
    leaves of a sheet's thickness, ``spray`` the share of the water thrown off at each impact (all
    assumed; splatter as a share: Bhunia and Lienhard 1994, J. Fluids Eng. 116:721, abstract, up to
    0.75 from turbulent jets). ``dry`` lets the trough's floor turn a jet like any other wall, as it
    does before water stands in it.

    Examples
    --------
    >>> [a.name for a in ASSUMPTIONS], ASSUMPTIONS[-1].dry
    (['lossy', 'mid', 'clean', 'dry floor'], True)
    """

    name: str
    loss: float
    spread: float
    spray: float
    dry: bool = False


LOSSY: Final = Assumption("lossy", 0.35, 0.5, 0.20)
MID: Final = Assumption("mid", 0.15, 0.6, 0.05)
CLEAN: Final = Assumption("clean", 0.0, 1.0, 0.0)
DRY_FLOOR: Final = Assumption("dry floor", 0.0, 1.0, 0.0, dry=True)
ASSUMPTIONS: Final = (LOSSY, MID, CLEAN, DRY_FLOOR)


class Rules(NamedTuple):
    """What decides about a sheet.

    ``loss`` is the share of speed lost at a square impact, ``spread`` thins the sheet, ``spray`` is
    the share thrown off, with ``spray_speed`` of the speed. A film stays where ``film_weber``
    (rho u2 h / sigma) or ``film_m_s`` is not reached; ``weber`` is rho / sigma for mm and m/s,
    ``nu_m2_s`` the viscosity. ``turned`` is the deflection (rad) of faces 0 to ``widest``
    thicknesses long. A branch lighter than ``cut`` (share of the jet) is not split any more; one
    ray is cast for each ``grain`` of weight, ``rays`` at most.
    """

    loss: float
    spread: float
    spray: float
    spray_speed: float
    film_weber: float
    film_m_s: float
    weber: float
    nu_m2_s: float
    turned: FloatArray
    widest: float
    gz_m_s2: float
    gy_m_s2: float
    cut: float
    grain: float
    rays: int


def rules_of(
    assumption: Assumption,
    gravity_m_s2: tuple[float, float],
    *,
    cut: float,
    grain: float,
    rays: int,
) -> Rules:
    """Return the rules of an assumption; ``cut`` and ``grain`` are shares of the jet's water."""
    return Rules(
        loss=assumption.loss,
        spread=assumption.spread,
        spray=assumption.spray,
        spray_speed=EJECTION.now,
        film_weber=FILM_WEBER,
        film_m_s=FILM_M_S,
        weber=1e-3 * WATER_DENSITY_KG_M3 / SURFACE_TENSION_N_M,
        nu_m2_s=WATER_VISCOSITY_PA_S / WATER_DENSITY_KG_M3,
        turned=deflections(),
        widest=WIDEST,
        gz_m_s2=gravity_m_s2[0],
        gy_m_s2=gravity_m_s2[1],
        cut=cut,
        grain=grain,
        rays=rays,
    )
