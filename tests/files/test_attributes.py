"""Attributes and units, read by the independent parser of the text."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.helpers.part21 import Exchange, Quantity, Ref
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import column_unit
from vent_family.files.step.attributes import Attribute, add_item
from vent_family.files.step.part21 import InstanceList
from vent_family.files.step.units import UNITS, add_unit

# Unit, factor to the coherent SI unit, dimension: the SI brochure of the BIPM, from memory
# (litre 1 dm3, minute 60 s, hour 3600 s, degree pi/180 rad; degree Celsius as a difference).
MEANING: dict[str, tuple[float, dict[str, int]]] = {
    "1": (1.0, {}),
    "%": (0.01, {}),
    "mm": (1e-3, {"m": 1}),
    "m": (1.0, {"m": 1}),
    "mm2": (1e-6, {"m": 2}),
    "cm2": (1e-4, {"m": 2}),
    "m2": (1.0, {"m": 2}),
    "mm3": (1e-9, {"m": 3}),
    "cm3": (1e-6, {"m": 3}),
    "g": (1e-3, {"kg": 1}),
    "kg": (1.0, {"kg": 1}),
    "deg": (math.pi / 180.0, {}),
    "s": (1.0, {"s": 1}),
    "min": (60.0, {"s": 1}),
    "h": (3600.0, {"s": 1}),
    "N": (1.0, {"kg": 1, "m": 1, "s": -2}),
    "Pa": (1.0, {"kg": 1, "m": -1, "s": -2}),
    "kPa": (1e3, {"kg": 1, "m": -1, "s": -2}),
    "MPa": (1e6, {"kg": 1, "m": -1, "s": -2}),
    "N m": (1.0, {"kg": 1, "m": 2, "s": -2}),
    "J": (1.0, {"kg": 1, "m": 2, "s": -2}),
    "W": (1.0, {"kg": 1, "m": 2, "s": -3}),
    "degC": (1.0, {"K": 1}),
    "m/s": (1.0, {"m": 1, "s": -1}),
    "mm/min": (1e-3 / 60.0, {"m": 1, "s": -1}),
    "m3/h": (1.0 / 3600.0, {"m": 3, "s": -1}),
    "L/min": (1e-3 / 60.0, {"m": 3, "s": -1}),
    "L/h": (1e-3 / 3600.0, {"m": 3, "s": -1}),
    "g/cm3": (1000.0, {"kg": 1, "m": -3}),
    "kg/m3": (1.0, {"kg": 1, "m": -3}),
}

# Measure types that may go with a unit of this dimension: the function valid_units of the AP242
# EXPRESS long form (select measure_value read in the public copy of the STEPcode project; the
# function from memory). NUMERIC_MEASURE goes with any unit.
MEASURES: dict[str, dict[str, int]] = {
    "LENGTH_MEASURE": {"m": 1},
    "AREA_MEASURE": {"m": 2},
    "VOLUME_MEASURE": {"m": 3},
    "MASS_MEASURE": {"kg": 1},
    "TIME_MEASURE": {"s": 1},
    "PLANE_ANGLE_MEASURE": {},
    "RATIO_MEASURE": {},
}


def exchange(section: InstanceList) -> Exchange:
    return Exchange(f"ISO-10303-21;HEADER;ENDSEC;DATA;{section.text()}ENDSEC;END-ISO-10303-21;")


def written(attribute: Attribute) -> tuple[str, Any]:
    section = InstanceList(1)
    item = add_item(section, attribute)
    return exchange(section).item(Ref(int(item[1:])))


def test_every_unit_is_checked() -> None:
    assert set(MEANING) == set(UNITS)


def test_the_unit_of_every_column_can_be_written() -> None:
    """What a row fills in stands in its STEP file, so that no row is accepted and not built."""
    assert {unit for name in COLUMNS if (unit := column_unit(name))} <= set(UNITS)


@pytest.mark.parametrize("unit", sorted(MEANING))
def test_meaning_of_the_unit(unit: str) -> None:
    name, quantity = written(Attribute("x", 12.25, unit))
    factor, dimension = MEANING[unit]
    assert name == "x"
    assert isinstance(quantity, Quantity)
    assert quantity.value == 12.25
    assert quantity.factor == pytest.approx(factor, rel=1e-14)
    assert quantity.dimension == dimension
    assert quantity.measure in {*MEASURES, "NUMERIC_MEASURE"}
    assert MEASURES.get(quantity.measure, dimension) == dimension


def test_a_unit_is_written_once() -> None:
    section = InstanceList(1)
    assert add_unit(section, "m3/h") == add_unit(section, "m3/h")
    add_unit(section, "m/s")
    text = section.text()
    assert text.count(".METRE.") == 1
    assert text.count(".SECOND.") == 1


def test_text_and_whole_numbers() -> None:
    assert written(Attribute("t", "45 Grad")) == ("t", "45 Grad")
    assert written(Attribute("n", -7)) == ("n", -7)
    name, quantity = written(Attribute("q", 7, "mm"))
    assert (name, quantity.value, quantity.measure) == ("q", 7.0, "LENGTH_MEASURE")


@pytest.mark.parametrize(
    ("arguments", "error", "message"),
    [
        (("", "x", ""), ValueError, "name"),
        (("  ", "x", ""), ValueError, "name"),
        (("a", 1.0, "inch"), ValueError, "'inch'; allowed: 1, %, mm"),
        (("a", "x", "mm"), ValueError, "text"),
        (("a", 1.0, ""), ValueError, "needs a unit"),
        (("a", math.nan, "mm"), ValueError, "nan"),
        (("a", math.inf, "mm"), ValueError, "inf"),
        (("a", 2**31, ""), ValueError, "2147483647"),
        (("a", True, ""), TypeError, "bool"),
        (("a", None, ""), TypeError, "NoneType"),
        (("a", "\x00", ""), ValueError, r"U\+0000"),
        (("\ud800", "x", ""), ValueError, r"U\+D800"),
    ],
)
def test_refused(arguments: tuple[Any, Any, Any], error: type[Exception], message: str) -> None:
    with pytest.raises(error, match=message):
        Attribute(*arguments)
