"""What may vary in a row, in which steps: the space that candidates are taken from.

A candidate is a tuple of whole numbers, one for each knob: the place of its value among those that
the knob can have. Blank cells are values, too: the family's default, or what is computed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

from vent_family.base.limits import BANKS_OUTSIDE_MAX, GAP_MIN, HEAD_MIN
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.enquiry import TRIAL_NUMBER
from vent_family.proposing.requirement import Requirement
from vent_family.proposing.sizes import is_thread, sides_mm, up_to
from vent_family.spec.changes import gaps_text, in_range, on_step
from vent_family.spec.forms import FORMS

Genes = tuple[int, ...]
"""Places of a candidate's values, one for each knob."""
HEAD: Final = "head_diameter_mm"
HEADS: Final = tuple(1.15 + 0.05 * i for i in range(26))
"""Diameters of round heads tried, as multiples of the thread's."""
_OPENING: Final = "opening"


def _steps(first: float, last: float, step: float) -> tuple[float, ...]:
    count = round((last - first) / step)
    return tuple(round(first + step * i, 4) for i in range(count + 1))


LADDERS: Final[Mapping[str, tuple[Any, ...]]] = {
    "slat_form": tuple(form.name for form in FORMS),
    "bank_count": (1, 2, 3, 4),
    "pitch_mm": (None, *_steps(5.0, 14.0, 0.2)),
    "overlap_mm": (None, *_steps(0.0, 5.0, 0.2)),
    "slat_thickness_mm": _steps(0.8, 2.0, 0.1),
    "bank_gaps_mm": (None, *_steps(GAP_MIN.value, 9.0, 0.3)),
    "bank_stagger": (None, 0.3, 0.35, 0.4, 0.45),
    "slat_foot_mm": (None, 0.0),
    "banks_outside": (None, *range(1, int(BANKS_OUTSIDE_MAX.value) + 1)),
    "drain_height_mm": (None, 2.7, 3.0, 3.5, 4.0, 5.0, 6.0, 8.0, 10.0),
    "sill_height_mm": (None, *_steps(6.0, 40.0, 2.0)),
    "floor_slope_deg": (None, 3.0, 4.0, 8.0),
    "rib_thickness_mm": (None, 1.2, 1.6, 2.0),
    "wall_mm": (None, 1.2, 1.5, 2.0, 2.4),
    "plate_mm": (None, 1.2, 1.5, 2.0),
    "lip_thickness_mm": (None, 2.0, 2.4, 3.0, 3.8),
    "lip_width_mm": (None, 4.0, 5.0, 6.0, 8.0),
    "flange_thickness_mm": (None, 3.0, 3.4, 3.8, 4.5),
    "back_plate_mm": (None, 1.6, 2.0, 2.4),
    "fixing": (None, "screw"),
    "seal": (None, "gasket"),
}
"""Values that are tried in a column, ``None`` for a blank cell; in the column's unit."""


@dataclass(frozen=True, slots=True)
class Knob:
    """A column, or the opening as family and size, and the values it can have."""

    name: str
    values: tuple[Any, ...]

    @property
    def ordered(self) -> bool:
        """Whether its values are numbers, blank aside, and not words."""
        return all(_number(v) for v in self.values if v is not None)


@dataclass(frozen=True)
class RowSpace:
    """All rows that a requirement leaves open.

    ``knobs`` are in the order of genes.
    """

    asked: Requirement
    knobs: tuple[Knob, ...]

    @property
    def size(self) -> float:
        """How many rows there are (1), many of them alike."""
        return math.prod(len(knob.values) for knob in self.knobs)

    @cached_property
    def places(self) -> Mapping[str, int]:
        """Place of each knob by its name."""
        return {knob.name: i for i, knob in enumerate(self.knobs)}

    def row(self, genes: Sequence[int]) -> CatalogRow:
        """Return the row of a candidate.

        Cells that say nothing in it, such as gaps of a single bank, are left blank.

        Raises
        ------
        IndexError
            for genes that the space does not have
        """
        values = {k.name: k.values[g] for k, g in zip(self.knobs, genes, strict=True)}
        family, size = values.pop(_OPENING)
        fan = values.pop("fan", None)
        cells = self.asked.row_cells(family, size, values.pop("material"), fan)
        free = {
            name: value
            for name, value in values.items()
            if value is not None and family in COLUMNS[name].families
        }
        if HEAD in free:
            raw = free[HEAD] * sides_mm(size)[0]
            free[HEAD] = on_step(COLUMNS[HEAD], max(raw, HEAD_MIN.value), upwards=True)
        form = FORMS[free["slat_form"]] if "slat_form" in free else None
        if form is not None and form.foot_most_mm(1.0) is None:
            free.pop("slat_foot_mm", None)
        if free.get("bank_count") == 1:
            free.pop("bank_gaps_mm", None)
            free.pop("bank_stagger", None)
        if "bank_gaps_mm" in free:
            free["bank_gaps_mm"] = gaps_text((free["bank_gaps_mm"],))
        return CatalogRow(part_number=TRIAL_NUMBER, **(free | cells))

    def genes_of(self, cells: Mapping[str, Any], family: str, size: str) -> Genes | None:
        """Return the candidate nearest to given cells, ``None`` if its opening is not asked for.

        Where a cell's value is none of a knob's the nearest number stands for it, or the first.
        """
        found = []
        for knob in self.knobs:
            wanted = (family, size) if knob.name == _OPENING else cells.get(knob.name)
            if knob.name == _OPENING and wanted not in knob.values:
                return None
            found.append(_place(knob, wanted, size))
        return tuple(found)


def _place(knob: Knob, wanted: Any, size: str) -> int:
    """Return the place of a value in a knob, or of the one that comes nearest."""
    if knob.name == "bank_gaps_mm" and isinstance(wanted, str):
        wanted = float(wanted.split("/")[0])
    if knob.name == HEAD and wanted is not None:
        wanted = wanted / sides_mm(size)[0]
    if wanted in knob.values:
        return knob.values.index(wanted)
    if isinstance(wanted, int | float):
        numbers = [(abs(v - wanted), i) for i, v in enumerate(knob.values) if _number(v)]
        if numbers:
            return min(numbers)[1]
    return 0


def _number(value: Any) -> bool:
    return isinstance(value, int | float)


def space_of(asked: Requirement, ladders: Mapping[str, tuple[Any, ...]] = LADDERS) -> RowSpace:
    """Return the rows that a requirement leaves open; ``ladders`` are the values by column.

    Examples
    --------
    >>> from vent_family.proposing.requirement import requirement_of
    >>> space = space_of(requirement_of({"opening": {"size": "M50x1.5"}, "cells": {"pitch_mm": 7}}))
    >>> space.row((0,) * len(space.knobs)).pitch_mm, space.size > 1e9
    (7.0, True)
    """
    given = asked.opening.at_most
    sizes = up_to(given) if given is not None else asked.sizes
    openings = [(f, size) for size in sizes for f in asked.opening.families_for(size)]
    families = {family for family, _ in openings}
    knobs = [Knob(_OPENING, tuple(openings)), Knob("material", asked.order.material)]
    if asked.air.fan:
        knobs.append(Knob("fan", asked.air.fan))
    ways: tuple[str, ...] = COLUMNS["print_orientation"].choices
    ways = asked.order.print_orientation or ways
    wanted: dict[str, tuple[Any, ...]] = {"print_orientation": ways, **ladders}
    if any(is_thread(size) for size in sizes):
        wanted[HEAD] = (None, *HEADS)
    for name, values in wanted.items():
        column = COLUMNS[name]
        usable = tuple(v for v in values if name in (HEAD, "bank_gaps_mm") or in_range(name, v))
        if name not in asked.cells and families & set(column.families):
            knobs.append(Knob(name, usable))
    return RowSpace(asked, tuple(knobs))
