"""What a mould and a moulded piece cost: steel, hours, cooling, clamp. Rates from ``shop.toml``."""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.mould import Mould, PressRates, Resin, ToolRates
from vent_family.evidence.cost.mould.shape import PieceShape

STEEL_G_MM3: Final = 7.85e-3
"""Density of tool steel, g/mm3."""
FACES_PER_POINT: Final = 10.0
"""Faces that make one point of complexity in :func:`cavity_hours`."""


def cooling_s(wall_mm: float, resin: Resin) -> float:
    """Return how long a wall cools between two halves of a mould until it may be ejected, s.

    t = s^2 / (pi^2 a) ln(8 / pi^2 (T_melt - T_mould) / (T_eject - T_mould)), the first term of
    the series for a plate whose faces are held at the mould's temperature, T_eject being its mean;
    with 4 / pi for 8 / pi^2 it is the middle's temperature, as in A. Routsis, Calculating Cooling
    Time, 2010 (read). Ballman and Shusman 1959 gave the formula for moulding (from memory).

    Parameters
    ----------
    wall_mm
        wall thickness, mm
    resin
        temperatures and diffusivity

    Examples
    --------
    2.5 mm: 6.25 / (9.87 x 0.085) x ln(0.811 x 195 / 30) = 7.45 x 1.662 s; half the wall takes a
    quarter:

    >>> from vent_family.base.shop import demo_shop
    >>> resin = demo_shop().mould.resin.of("ASA")
    >>> round(cooling_s(2.5, resin), 2), round(cooling_s(1.25, resin), 2)
    (12.38, 3.1)
    """
    fall = (resin.melt_deg_c - resin.mould_deg_c) / (resin.eject_deg_c - resin.mould_deg_c)
    series = math.log(max(8.0 / math.pi**2 * fall, 1.0))
    return wall_mm**2 / (math.pi**2 * resin.diffusivity_mm2_s) * series


def cycle_s(piece: PieceShape, resin: Resin, press: PressRates) -> float:
    """Return the time of one shot of a piece, s."""
    turning = press.unscrewing_s if piece.draw.unscrewed else 0.0
    moving = press.slide_s * (len(piece.draw.slides) + len(piece.draw.left_in))
    return cooling_s(piece.wall_mm, resin) + press.handling_s + moving + turning


def clamp_kn(shadow_mm2: float, press: PressRates) -> float:
    """Return the clamp of the machine that holds a mould shut over an area (mm2), kN.

    Examples
    --------
    10,000 mm2 at 45 MPa; a small piece takes the smallest machine:

    >>> from vent_family.base.shop import demo_shop
    >>> press = demo_shop().mould.press
    >>> clamp_kn(10_000.0, press), clamp_kn(1_000.0, press)
    (450.0, 250.0)
    """
    return max(press.clamp_min_kn, shadow_mm2 * press.cavity_mpa * 1e-3)


def shot_cost(seconds: float, shadow_mm2: float, press: PressRates) -> float:
    """Return what one shot costs in machine time, money.

    Parameters
    ----------
    seconds
        time of the shot, s
    shadow_mm2
        area of all that is moulded in it, seen along the opening, mm2
    press
        rates
    """
    hour = press.hour_fixed + press.hour_per_kn * clamp_kn(shadow_mm2, press)
    return seconds / 3600.0 * hour


def resin_cost(piece: PieceShape, density_g_cm3: float, resin: Resin, mould: Mould) -> float:
    """Return the resin of one piece with its runner, money; density in g/cm3."""
    kg = piece.volume_mm3 * density_g_cm3 * 1e-6
    return kg * (1.0 + mould.runner_waste) * resin.per_kg


def cavity_hours(piece: PieceShape, tool: ToolRates) -> float:
    """Return the hours it takes to make one cavity with its core, slides and lifters.

    With A the area of the box across the opening in cm2 and X a tenth of the faces:

    - size: 5 + 0.085 A^1.2
    - ejectors: 2.5 A^0.5
    - form: 5.83 X^1.27
    - a stepped parting face, where the piece lies leaned: 2 A^0.5
    - side slides, lifters and a core that unscrews as the rates say

    after Boothroyd, Dewhurst and Knight, Product Design for Manufacture and Assembly (from
    memory).

    Examples
    --------
    A plate 100 x 100 mm of twenty faces: 5 + 0.085 x 251.2 + 25 + 5.83 x 2.412; a slide adds 65:

    >>> from dataclasses import replace
    >>> from vent_family.base.shop import demo_shop
    >>> from vent_family.evidence.cost.mould.draw import Draw
    >>> plate = PieceShape("plate", 1, Draw("z"), (100.0, 100.0, 3.0), 1e4, 3e4, 2.5, 20.0)
    >>> tool = demo_shop().mould.tool
    >>> round(cavity_hours(plate, tool), 1)
    65.4
    >>> round(cavity_hours(replace(plate, draw=Draw("z", ("+x",))), tool), 1)
    130.4
    """
    area = piece.size_mm[0] * piece.size_mm[1] * 1e-2
    hours = 5.0 + 0.085 * math.pow(area, 1.2) + 2.5 * math.sqrt(area)
    hours += 5.83 * math.pow(piece.faces / FACES_PER_POINT, 1.27)
    if piece.draw.lean_deg != 0.0:
        hours += 2.0 * math.sqrt(area)
    hours += tool.slide_h * len(piece.draw.slides) + tool.lifter_h * len(piece.draw.left_in)
    return hours + (tool.unscrewing_h if piece.draw.unscrewed else 0.0)


def base_cost(width_mm: float, height_mm: float, depth_mm: float, tool: ToolRates) -> float:
    """Return what the mould's plates and bought parts cost: fixed + steel by mass, money.

    The form is that of Kazmer, Injection Mold Design Engineering, chapter 3 (an extract read), who
    has US$830 + 5.25 a kg.

    Parameters
    ----------
    width_mm, height_mm, depth_mm
        box of what is moulded, mm
    tool
        rates

    Examples
    --------
    A plate 100 x 100 x 3 mm: 220 x 220 x 153 mm of steel, 58 kg:

    >>> from vent_family.base.shop import demo_shop
    >>> round(base_cost(100.0, 100.0, 3.0, demo_shop().mould.tool))
    1105
    """
    wide, high = width_mm + 2.0 * tool.border_mm, height_mm + 2.0 * tool.border_mm
    kg = wide * high * (depth_mm + tool.plates_mm) * STEEL_G_MM3 * 1e-3
    return tool.fixed + tool.steel_per_kg * kg
