"""Units of quantities, and how STEP says them.

Which measure type goes with which unit follows the select type measure_value of the AP242 EXPRESS
long form (read in the public copy of the STEPcode project), with one departure: forces, pressures,
Celsius temperatures and speeds are written as NUMERIC_MEASURE. The schema has FORCE_MEASURE,
PRESSURE_MEASURE, CELSIUS_TEMPERATURE_MEASURE and VELOCITY_MEASURE, but the reader of Open CASCADE
7.9, which several CAD systems are built on, knows none of them and reads zero (tried).
NUMERIC_MEASURE is in every edition, fits any unit, and is read as it stands.

L/min and L/h are written as cubic decimetres per minute and hour, which is the same thing without
a litre to be defined; per cent, degree, minute and hour are units defined by conversion.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.files.step.part21 import InstanceList, encode_real


@dataclass(frozen=True, slots=True)
class SiUnit:
    """A named SI unit: prefix and name as in si_prefix and si_unit_name, and its kind of unit."""

    prefix: str
    name: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class ConvertedUnit:
    """A unit defined as ``factor`` (1) times another one; ``dimension`` is 'time' or none."""

    name: str
    factor: float
    measure: str
    base: SiUnit | None
    kind: str
    exponents: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class UnitDefinition:
    """How a unit is written: measure type, and named units with their exponents."""

    measure: str
    factors: tuple[tuple[SiUnit | ConvertedUnit | None, int], ...]


_NO_DIMENSION: Final = (0, 0, 0, 0, 0, 0, 0)
_TIME_DIMENSION: Final = (0, 0, 1, 0, 0, 0, 0)
# None stands for the dimensionless ratio, written as RATIO_UNIT.
_RATIO: Final = None
_MM: Final = SiUnit("MILLI", "METRE", "LENGTH_UNIT")
_CM: Final = SiUnit("CENTI", "METRE", "LENGTH_UNIT")
_DM: Final = SiUnit("DECI", "METRE", "LENGTH_UNIT")
_M: Final = SiUnit("", "METRE", "LENGTH_UNIT")
_G: Final = SiUnit("", "GRAM", "MASS_UNIT")
_KG: Final = SiUnit("KILO", "GRAM", "MASS_UNIT")
_S: Final = SiUnit("", "SECOND", "TIME_UNIT")
_RAD: Final = SiUnit("", "RADIAN", "PLANE_ANGLE_UNIT")
_DEG_C: Final = SiUnit("", "DEGREE_CELSIUS", "THERMODYNAMIC_TEMPERATURE_UNIT")
_NEWTON: Final = SiUnit("", "NEWTON")
_MIN: Final = ConvertedUnit("MINUTE", 60.0, "TIME", _S, "TIME_UNIT", _TIME_DIMENSION)
_H: Final = ConvertedUnit("HOUR", 3600.0, "TIME", _S, "TIME_UNIT", _TIME_DIMENSION)
_DEG: Final = ConvertedUnit(
    "DEGREE", math.pi / 180.0, "PLANE_ANGLE", _RAD, "PLANE_ANGLE_UNIT", _NO_DIMENSION
)
_PERCENT: Final = ConvertedUnit("PERCENT", 0.01, "RATIO", _RATIO, "RATIO_UNIT", _NO_DIMENSION)

UNITS: Final[dict[str, UnitDefinition]] = {
    "1": UnitDefinition("RATIO", ((_RATIO, 1),)),
    "%": UnitDefinition("RATIO", ((_PERCENT, 1),)),
    "mm": UnitDefinition("LENGTH", ((_MM, 1),)),
    "m": UnitDefinition("LENGTH", ((_M, 1),)),
    "mm2": UnitDefinition("AREA", ((_MM, 2),)),
    "cm2": UnitDefinition("AREA", ((_CM, 2),)),
    "m2": UnitDefinition("AREA", ((_M, 2),)),
    "mm3": UnitDefinition("VOLUME", ((_MM, 3),)),
    "cm3": UnitDefinition("VOLUME", ((_CM, 3),)),
    "g": UnitDefinition("MASS", ((_G, 1),)),
    "kg": UnitDefinition("MASS", ((_KG, 1),)),
    "deg": UnitDefinition("PLANE_ANGLE", ((_DEG, 1),)),
    "s": UnitDefinition("TIME", ((_S, 1),)),
    "min": UnitDefinition("TIME", ((_MIN, 1),)),
    "h": UnitDefinition("TIME", ((_H, 1),)),
    "N": UnitDefinition("NUMERIC", ((_NEWTON, 1),)),
    "Pa": UnitDefinition("NUMERIC", ((SiUnit("", "PASCAL"), 1),)),
    "kPa": UnitDefinition("NUMERIC", ((SiUnit("KILO", "PASCAL"), 1),)),
    "MPa": UnitDefinition("NUMERIC", ((SiUnit("MEGA", "PASCAL"), 1),)),
    "N m": UnitDefinition("NUMERIC", ((_NEWTON, 1), (_M, 1))),
    "J": UnitDefinition("NUMERIC", ((SiUnit("", "JOULE"), 1),)),
    "W": UnitDefinition("NUMERIC", ((SiUnit("", "WATT"), 1),)),
    "degC": UnitDefinition("NUMERIC", ((_DEG_C, 1),)),
    "m/s": UnitDefinition("NUMERIC", ((_M, 1), (_S, -1))),
    "mm/min": UnitDefinition("NUMERIC", ((_MM, 1), (_MIN, -1))),
    "m3/h": UnitDefinition("NUMERIC", ((_M, 3), (_H, -1))),
    "L/min": UnitDefinition("NUMERIC", ((_DM, 3), (_MIN, -1))),
    "L/h": UnitDefinition("NUMERIC", ((_DM, 3), (_H, -1))),
    "g/cm3": UnitDefinition("NUMERIC", ((_G, 1), (_CM, -3))),
    "kg/m3": UnitDefinition("NUMERIC", ((_KG, 1), (_M, -3))),
}
"""Every unit an attribute can have, besides none ("")."""


def add_unit(instances: InstanceList, unit: str) -> str:
    """Add the instances of a unit, once, and return the reference to it.

    Examples
    --------
    >>> instances = InstanceList(1)
    >>> add_unit(instances, "mm2"), add_unit(instances, "mm2")
    ('#3', '#3')
    >>> print(instances.text().strip())
    #1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));
    #2=DERIVED_UNIT_ELEMENT(#1,2.);
    #3=DERIVED_UNIT((#2));
    """
    return _add_factors(instances, UNITS[unit].factors)


def _add_factors(
    instances: InstanceList, factors: tuple[tuple[SiUnit | ConvertedUnit | None, int], ...]
) -> str:
    if len(factors) == 1 and factors[0][1] == 1:
        return _add_named(instances, factors[0][0])
    elements = [
        instances.shared(f"DERIVED_UNIT_ELEMENT({_add_named(instances, named)},{exponent}.)")
        for named, exponent in factors
    ]
    return instances.shared(f"DERIVED_UNIT(({','.join(elements)}))")


def _add_named(instances: InstanceList, named: SiUnit | ConvertedUnit | None) -> str:
    if named is None:
        return instances.shared(f"RATIO_UNIT({_add_exponents(instances, _NO_DIMENSION)})")
    if isinstance(named, ConvertedUnit):
        base = _add_named(instances, named.base)
        factor = instances.shared(
            f"{named.measure}_MEASURE_WITH_UNIT"
            f"({named.measure}_MEASURE({encode_real(named.factor)}),{base})"
        )
        dimension = _add_exponents(instances, named.exponents)
        # The parts of a complex instance stand in alphabetical order.
        return instances.shared(
            f"(CONVERSION_BASED_UNIT('{named.name}',{factor})NAMED_UNIT({dimension}){named.kind}())"
        )
    prefix = f".{named.prefix}." if named.prefix else "$"
    if not named.kind:
        return instances.shared(f"SI_UNIT(*,{prefix},.{named.name}.)")
    parts = sorted((f"{named.kind}()", "NAMED_UNIT(*)", f"SI_UNIT({prefix},.{named.name}.)"))
    return instances.shared(f"({''.join(parts)})")


def _add_exponents(instances: InstanceList, exponents: tuple[int, ...]) -> str:
    return instances.shared(f"DIMENSIONAL_EXPONENTS({','.join(f'{e}.' for e in exponents)})")
