"""What water does at edges, floors and under pressure; its constants stand in ``base``."""

from __future__ import annotations

import math

from vent_family.base.constants import (
    GRAVITY_M_S2,
    PASCAL_PER_MM_WATER,
    SURFACE_TENSION_N_M,
    WATER_DENSITY_KG_M3,
)


def head_mm(pressure_pa: float) -> float:
    """Return the height of water that a pressure holds up, p / (rho g).

    Examples
    --------
    97.89 Pa stand under 10 mm of water: 998.2 kg/m3 x 9.80665 m/s2 x 0.01 m.

    >>> round(head_mm(97.89), 3)
    10.0
    """
    return pressure_pa / PASCAL_PER_MM_WATER


def pendant_drop_mm(edge_mm: float) -> float:
    """Return the diameter of drops that fall from an edge of the given width.

    Tate's law, weight = pi * width * surface tension, for widths of 0.3 to 4 mm (Tate 1864, from
    memory). Real drops are up to 40 % lighter, because part of the liquid stays behind; the
    heavier one splashes more, so the law is used as it stands.

    Examples
    --------
    From an edge of 2 mm: pi x 0.002 m x 0.0728 N/m = 0.457 mN, 46.7 mm3 of water, a sphere of 4.47
    mm:

    >>> round(pendant_drop_mm(2.0), 2)
    4.47
    """
    edge = min(max(edge_mm, 0.3), 4.0) * 1e-3
    weight = math.pi * edge * SURFACE_TENSION_N_M
    volume = weight / (WATER_DENSITY_KG_M3 * GRAVITY_M_S2)
    return 1000.0 * float((6.0 * volume / math.pi) ** (1.0 / 3.0))


def jet_breakup_drop_mm(bore_mm: float) -> float:
    """Return the drop a laminar jet breaks into: 1.89 bores (Rayleigh 1878, from memory).

    Examples
    --------
    >>> round(jet_breakup_drop_mm(6.3), 3)
    11.907
    """
    return 1.89 * bore_mm
