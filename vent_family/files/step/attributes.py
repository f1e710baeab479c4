"""User-defined attributes, and how STEP says them.

Text becomes a DESCRIPTIVE_REPRESENTATION_ITEM, a whole number without unit an
INTEGER_REPRESENTATION_ITEM, a quantity a MEASURE_REPRESENTATION_ITEM with its unit, as cited from
the CAx-IF recommended practice for user defined attributes (its text was read in extracts only).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.files.step.part21 import (
    InstanceList,
    check_character,
    encode_real,
    encode_text,
)
from vent_family.files.step.units import UNITS, add_unit

INTEGER_LIMIT: Final = 2**31 - 1
"""Largest whole number: common readers keep them in 32 bits (common practice, no source)."""

USER_DEFINED: Final = "user defined attribute"


@dataclass(frozen=True, slots=True)
class Attribute:
    """A named value of a part.

    ``value`` is in its unit. ``unit`` is a key of :data:`UNITS`, or "" for text and for whole
    numbers that count something. A number with decimals always has a unit; "1" is the unit of a
    pure number.

    Raises
    ------
    ValueError
        if it has an unknown unit, a unit on text, a number with decimals without one, NaN, an
        infinity, a whole number beyond 32 bits, a blank name, or a character that cannot be
        written
    TypeError
        if the value is neither text nor a number; True and False are neither
    """

    name: str
    value: str | int | float
    unit: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be written, before a file is begun."""
        what = f"attribute {self.name!r}"
        if not self.name.strip():
            raise ValueError("an attribute needs a name")
        for text in (self.name, self.value):
            if isinstance(text, str):
                for char in text:
                    check_character(char)
        if self.unit and self.unit not in UNITS:
            raise ValueError(f"{what} has the unit {self.unit!r}; allowed: {', '.join(UNITS)}")
        if isinstance(self.value, bool) or not isinstance(self.value, str | int | float):
            raise TypeError(f"{what} is of type {type(self.value).__name__}")
        if isinstance(self.value, str):
            if self.unit:
                raise ValueError(f"{what} is text and cannot have the unit {self.unit!r}")
        elif not math.isfinite(self.value):
            raise ValueError(f"{what} is {self.value}")
        elif isinstance(self.value, float):
            if not self.unit:
                raise ValueError(f'{what} needs a unit; "1" is the unit of a pure number')
        elif abs(self.value) > INTEGER_LIMIT and not self.unit:
            raise ValueError(f"{what} is {self.value}; whole numbers end at {INTEGER_LIMIT}")


def add_item(instances: InstanceList, attribute: Attribute) -> str:
    """Add the representation item that carries an attribute's value; return the reference.

    Examples
    --------
    >>> instances = InstanceList(1)
    >>> add_item(instances, Attribute("rib_count", 3))
    '#1'
    >>> print(instances.text().strip())
    #1=INTEGER_REPRESENTATION_ITEM('rib_count',3);
    """
    name = encode_text(attribute.name)
    if isinstance(attribute.value, str):
        value = encode_text(attribute.value)
        return instances.add(f"DESCRIPTIVE_REPRESENTATION_ITEM({name},{value})")
    if not attribute.unit:
        return instances.add(f"INTEGER_REPRESENTATION_ITEM({name},{attribute.value:d})")
    unit = add_unit(instances, attribute.unit)
    measure = f"{UNITS[attribute.unit].measure}_MEASURE({encode_real(attribute.value)})"
    return instances.add(f"MEASURE_REPRESENTATION_ITEM({name},{measure},{unit})")


def add_attribute(
    instances: InstanceList, attribute: Attribute, definition: str, context: str
) -> None:
    """Add a user-defined attribute of ``definition``: a product definition, or a use of one.

    A GENERAL_PROPERTY and a PROPERTY_DEFINITION of the same name, tied by a
    GENERAL_PROPERTY_ASSOCIATION, and the value in a representation in ``context``: as cited from
    the CAx-IF recommended practice for user defined attributes.
    """
    name = encode_text(attribute.name)
    general = instances.add(f"GENERAL_PROPERTY('',{name},$)")
    held = instances.add(f"PROPERTY_DEFINITION({name},'{USER_DEFINED}',{definition})")
    instances.add(f"GENERAL_PROPERTY_ASSOCIATION('{USER_DEFINED}','',{general},{held})")
    add_representation(instances, held, "", add_item(instances, attribute), context)


def add_representation(
    instances: InstanceList, property_definition: str, name: str, item: str, context: str
) -> None:
    """Tie one representation item to a property definition."""
    used = instances.add(f"REPRESENTATION({encode_text(name)},({item}),{context})")
    instances.add(f"PROPERTY_DEFINITION_REPRESENTATION({property_definition},{used})")
