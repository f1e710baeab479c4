"""The sun on a coloured surface, against the balance of a wall's skin and published figures."""

from __future__ import annotations

import numpy as np
import pytest

from vent_family.base import limits
from vent_family.base.materials import COLOURS
from vent_family.base.sun import ABSORPTANCE, share_inwards, sol_air_rise_k, solar_gain_w


def test_every_colour_has_an_absorptance_with_range_and_source() -> None:
    assert set(ABSORPTANCE) == set(COLOURS)
    for name, found in ABSORPTANCE.items():
        assert 0.0 < found.low < found.value < found.high < 1.0, name
        assert len(found.source) > 20


def test_darker_colours_take_up_more() -> None:
    """Order by luminance, the mean of the linear sRGB weighted as in IEC 61966-2-1."""

    def luminance(rgb: tuple[float, float, float]) -> float:
        linear = [((c + 0.055) / 1.055) ** 2.4 for c in rgb]
        return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))

    greys = sorted(
        ("white", "light_grey", "dark_grey", "black"), key=lambda n: luminance(COLOURS[n])
    )
    values = [ABSORPTANCE[name].value for name in greys]
    assert values == sorted(values, reverse=True)


@pytest.mark.parametrize(("colour", "btu"), [("light_grey", 0.15), ("dark_grey", 0.30)])
def test_sol_air_of_light_and_dark_colours(colour: str, btu: float) -> None:
    """ASHRAE Fundamentals, sol-air: 0.15 and 0.30 h ft2 degF/Btu for light and dark, h_o 3.0.

    As an encyclopedia quotes it. At 300 Btu/(h ft2) a light surface seems 45 degF warmer than the
    air, a dark one 90. The table's range must hold the figure, its value lie within an eighth.
    """
    btu_h_ft2 = 3.15459
    irradiance, outer = 300.0 * btu_h_ft2, 3.0 * 5.678263
    published_k = btu * 300.0 / 1.8
    found = ABSORPTANCE[colour]
    ends = [sol_air_rise_k(a, irradiance, outer) for a in (found.low, found.high)]
    assert ends[0] < published_k < ends[1]
    assert sol_air_rise_k(found.value, irradiance, outer) == pytest.approx(published_k, rel=0.125)


def test_share_inwards_closes_the_balance_of_the_skin() -> None:
    """Skin of one temperature, air of the same temperature on both sides: a linear system."""
    absorbed, inner, outer = 700.0, 17.0, 9.0
    skin_k = np.linalg.solve([[inner + outer]], [absorbed])[0]
    assert share_inwards(inner, outer) * absorbed == pytest.approx(inner * skin_k)
    assert (1.0 - share_inwards(inner, outer)) * absorbed == pytest.approx(outer * skin_k)
    # The same through the sol-air temperature: U times its rise, U of both sides in series.
    u = 1.0 / (1.0 / inner + 1.0 / outer)
    assert u * sol_air_rise_k(1.0, absorbed, outer) == pytest.approx(inner * skin_k)


def test_gain_is_area_times_what_is_taken_up() -> None:
    """By hand: 0.8 m2 at half of 900 W/m2."""
    assert solar_gain_w(0.8, 0.5, 900.0) == pytest.approx(360.0)


def test_coefficients_agree_with_the_wall() -> None:
    still = limits.SURFACE_STILL.value
    assert 1.0 / (2.0 / still) == pytest.approx(limits.WALL_U_DEFAULT.value)
    assert limits.SUN.value < 1120.0 < limits.SUN_MAX.value
