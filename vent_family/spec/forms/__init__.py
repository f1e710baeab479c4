"""Slat forms, one object each; outside this package nothing is decided by a form's name.

A new form is one object that follows :class:`SlatForm`, registered once::

    FORMS.register(Wavy())
"""

from __future__ import annotations

from typing import Final

from vent_family.catalog.model import SLAT_FORMS
from vent_family.spec.forms.channel import CHANNEL
from vent_family.spec.forms.flat import FLAT
from vent_family.spec.forms.folded import FOLDED
from vent_family.spec.forms.form import (
    IN,
    OUT,
    AirTable,
    FormDefaults,
    Number,
    Outline,
    SlatBox,
    SlatForm,
)
from vent_family.spec.forms.inclined import INCLINED
from vent_family.spec.registry import Registry

__all__ = [
    "DEFAULT_FORM",
    "FORMS",
    "IN",
    "OUT",
    "AirTable",
    "FormDefaults",
    "Number",
    "Outline",
    "SlatBox",
    "SlatForm",
]

FORMS: Final = Registry[SlatForm, None](SlatForm, SLAT_FORMS, lambda form: None)
"""Every slat form by name."""
for _form in (FLAT, INCLINED, FOLDED, CHANNEL):
    FORMS.register(_form)

DEFAULT_FORM: Final = INCLINED.name
"""What a blank ``slat_form`` means."""
