"""Constants of nature and of measurement: one gravity, one water, one air, each with its source.

Names end in the unit. Water and air are those of the water check: 20 degC at sea level. The air
side of the product computes the same air at any site (:mod:`vent_family.evidence.air.state`) and
takes only the gas constant and the heat capacity from here.
"""

from __future__ import annotations

import math
from typing import Final

GRAVITY_M_S2: Final = 9.80665
"""Standard acceleration of free fall, exact (3rd CGPM 1901; ISO 80000-3, from memory)."""
ZERO_C_K: Final = 273.15
"""0 degC in kelvin, exact."""

WATER_DENSITY_KG_M3: Final = 998.2
"""Water at 20 degC; textbook value, from memory."""
WATER_VISCOSITY_PA_S: Final = 1.002e-3
"""Water at 20 degC; textbook value, from memory."""
SURFACE_TENSION_N_M: Final = 0.0728
"""Clean water against air at 20 degC; textbook value, from memory."""
CAPILLARY_LENGTH_MM: Final = 1000.0 * math.sqrt(
    SURFACE_TENSION_N_M / (WATER_DENSITY_KG_M3 * GRAVITY_M_S2)
)
"""sqrt(sigma / (rho g)), 2.73 mm: below this length surface tension outweighs gravity."""
PASCAL_PER_MM_WATER: Final = WATER_DENSITY_KG_M3 * GRAVITY_M_S2 / 1000.0
"""Pressure under one millimetre of water at 20 degC, Pa."""

AIR_DENSITY_KG_M3: Final = 1.2041
"""Dry air at 20 degC and 101325 Pa; textbook value, from memory."""
AIR_VISCOSITY_PA_S: Final = 1.458e-6 * (20.0 + ZERO_C_K) ** 1.5 / (20.0 + ZERO_C_K + 110.4)
"""Dry air at 20 degC, dynamic, 1.8134e-5: Sutherland's law of the US Standard Atmosphere 1976, as
the air side uses it at any temperature."""
R_AIR_J_KGK: Final = 287.05287
"""Specific gas constant of dry air, US Standard Atmosphere 1976 (through fluids)."""
AIR_CP_J_KGK: Final = 1006.0
"""Heat capacity of air at constant pressure near 20 degC (check-value table, computed)."""
FAN_TEST_DENSITY_KG_M3: Final = 1.2
"""Density that fan curves are stated for unless they say otherwise (common practice, no source);
a convention of fan makers, not the air at 20 degC."""

PASCAL_PER_MMH2O: Final = GRAVITY_M_S2
"""Conventional millimetre of water, 1000 kg/m3 times standard gravity, exact."""
PASCAL_PER_INH2O: Final = 249.08891
"""Conventional inch of water, 25.4 of these, exact."""
CFM_M3_S: Final = 0.028316846592 / 60
"""One cubic foot per minute: (0.3048 m)^3 / 60 s, exact."""
