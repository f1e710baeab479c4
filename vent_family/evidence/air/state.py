"""Air at a site: density, viscosity and heat capacity from altitude and temperature."""

from __future__ import annotations

from dataclasses import dataclass

from fluids.atmosphere import ATMOSPHERE_1976

from vent_family.base.constants import R_AIR_J_KGK, ZERO_C_K
from vent_family.base.limits import ALTITUDE_MAX, ALTITUDE_MIN, AMBIENT_MAX, AMBIENT_MIN
from vent_family.base.problems import InputError, Problem


@dataclass(frozen=True, slots=True)
class AirState:
    """Dry air: pressure, density, dynamic viscosity and heat capacity at one temperature."""

    temperature_c: float
    pressure_pa: float

    @property
    def density_kg_m3(self) -> float:
        """Density of the ideal gas.

        Examples
        --------
        The standard atmosphere at sea level, 15 degC (US Standard Atmosphere 1976):

        >>> round(AirState(15.0, 101325.0).density_kg_m3, 4)
        1.225
        """
        return self.pressure_pa / (R_AIR_J_KGK * (self.temperature_c + ZERO_C_K))

    @property
    def viscosity_pa_s(self) -> float:
        """Dynamic viscosity, Sutherland's law of the 1976 standard atmosphere.

        Examples
        --------
        US Standard Atmosphere 1976, 15 degC:

        >>> f"{AirState(15.0, 101325.0).viscosity_pa_s:.4e}"
        '1.7894e-05'
        """
        return float(ATMOSPHERE_1976.viscosity(self.temperature_c + ZERO_C_K))

    @property
    def kinematic_m2_s(self) -> float:
        """Kinematic viscosity.

        Examples
        --------
        US Standard Atmosphere 1976, sea level:

        >>> f"{AirState(15.0, 101325.0).kinematic_m2_s:.4e}"
        '1.4607e-05'
        """
        return self.viscosity_pa_s / self.density_kg_m3

    def at(self, temperature_c: float) -> AirState:
        """Return the same air heated or cooled at constant pressure.

        Examples
        --------
        Air of 20 degC at 50 degC is lighter by 293.15 / 323.15:

        >>> cold = AirState(20.0, 101325.0)
        >>> round(cold.at(50.0).density_kg_m3 / cold.density_kg_m3, 4), round(293.15 / 323.15, 4)
        (0.9072, 0.9072)
        """
        return AirState(temperature_c, self.pressure_pa)


def air_at(temperature_c: float = 20.0, altitude_m: float = 0.0) -> AirState:
    """Return the air at a temperature and an altitude, at the ISA pressure of that altitude.

    Raises
    ------
    InputError
        when temperature or altitude lies outside ``limits``

    Examples
    --------
    At 2,000 m the standard atmosphere stands at 795 hPa:

    >>> round(air_at(20.0, 2000.0).pressure_pa / 100.0)
    795
    """
    problems = []
    if not AMBIENT_MIN.value <= temperature_c <= AMBIENT_MAX.value:
        problems.append(
            Problem(
                "air.value.range",
                "the air temperature is out of range",
                column="ambient_c",
                value=f"{temperature_c:g}",
                allowed=f"{AMBIENT_MIN.value:g} to {AMBIENT_MAX.value:g} degC",
                suggestion="give the temperature in degC",
            )
        )
    if not ALTITUDE_MIN.value <= altitude_m <= ALTITUDE_MAX.value:
        problems.append(
            Problem(
                "air.value.range",
                "the altitude is out of range",
                column="altitude_m",
                value=f"{altitude_m:g}",
                allowed=f"{ALTITUDE_MIN.value:g} to {ALTITUDE_MAX.value:g} m",
                suggestion="give the height above sea level in m",
            )
        )
    if problems:
        raise InputError(problems)
    return AirState(float(temperature_c), float(ATMOSPHERE_1976(altitude_m).P))
