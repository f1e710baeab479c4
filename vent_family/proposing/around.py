"""The rows around an existing one: a few of its cells turned, all others as they are."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from vent_family.base.limits import BANK_GAP_MAX, GAP_MIN
from vent_family.catalog.columns import COLUMNS, Column
from vent_family.catalog.model import CatalogRow, families_sized
from vent_family.proposing.requirement import Requirement
from vent_family.proposing.sizes import sides_mm
from vent_family.proposing.space import HEAD, HEADS, LADDERS, Genes, Knob, RowSpace
from vent_family.spec.advice import meant_today
from vent_family.spec.changes import (
    Change,
    applied,
    gaps_text,
    in_range,
    numbers_of,
    on_step,
    step_of,
)
from vent_family.spec.families import filled_row
from vent_family.spec.forms import DEFAULT_FORM, FORMS
from vent_family.spec.vent import VentSpec

_GAPS: Final = "bank_gaps_mm"
_HELD: Final = ("fixing", "seal")
"""Columns of a requirement's space that say what the vent is fitted with: these stay."""
FINE: Final = 2
"""Steps up and down from today's value that are tried besides the values of the ladders."""
TURNED: Final[Mapping[str, tuple[Any, ...]]] = {
    **{name: values for name, values in LADDERS.items() if name not in _HELD},
    "print_orientation": COLUMNS["print_orientation"].choices,
    "rib_count": (None, *range(9)),
    HEAD: HEADS,
}
"""Values that are tried in a column; diameters of heads as multiples of the thread's."""


@dataclass(frozen=True)
class Around(RowSpace):
    """The rows around one: ``home`` are the genes of ``own``, the row as it is, exactly.

    Where a cell is blank its knob has no value at the place of what the blank means today: the
    numbers beside it are the nearest ones.
    """

    own: CatalogRow
    home: Genes

    def row(self, genes: Sequence[int]) -> CatalogRow:
        """Return the row of a candidate: today's, with the cells of turned knobs changed.

        Cells that then say nothing, or could not stay as they are, are left blank.

        Raises
        ------
        IndexError
            for genes that the space does not have
        """
        turned = {
            k.name: k.values[g]
            for k, g, now in zip(self.knobs, genes, self.home, strict=True)
            if g != now
        }
        if turned.get(_GAPS) is not None:
            turned[_GAPS] = gaps_text((turned[_GAPS],))
        return applied(self.own, turned | _left_blank(self.own, turned))

    def change(self, row: CatalogRow) -> dict[str, Any]:
        """Return the cells in which a row of the space differs from today's."""
        names = (*(knob.name for knob in self.knobs), "slopes")
        return {n: getattr(row, n) for n in names if getattr(row, n) != getattr(self.own, n)}


def _left_blank(own: CatalogRow, turned: Change) -> dict[str, None]:
    """Return the cells that cannot stay as they are beside changed ones."""
    blank: list[str] = []
    row = applied(own, turned)
    form = FORMS[row.slat_form or DEFAULT_FORM]
    if form.foot_most_mm(1.0) is None:
        blank.append("slat_foot_mm")
    if not form.slopes_chosen:
        blank.append("slopes")
    if "bank_count" in turned:
        blank += ["slopes"] if own.slopes not in (None, "auto") else []
        blank += [_GAPS] if _GAPS not in turned and "/" in (own.bank_gaps_mm or "") else []
        blank += [_GAPS, "bank_stagger"] if turned["bank_count"] == 1 else []
    return {name: None for name in blank if getattr(row, name) is not None}


def around(
    spec: VentSpec,
    asked: Requirement,
    ladders: Mapping[str, tuple[Any, ...]] = TURNED,
    fine: int = FINE,
) -> Around:
    """Return the rows around that of a vent.

    Parameters
    ----------
    spec
        the vent
    asked
        the requirement that its row states
    ladders
        the values by column that are tried besides today's and the nearest to it
    fine
        steps up and down from today's value that are tried

    Examples
    --------
    >>> from vent_family.proposing.requirement import requirement_of
    >>> from vent_family.spec.resolve import resolve
    >>> cells = {"family": "rectangular", "size": "40x40", "status": "draft", "wall_mm": 2.5}
    >>> spec = resolve(CatalogRow(part_number="A", **cells))
    >>> asked = requirement_of({"opening": {"size": "40x40", "families": "rectangular"}})
    >>> space = around(spec, asked, {"wall_mm": (None, 2.0), "pitch_mm": (None, 6.0, 8.0)})
    >>> space.row(space.home) == spec.row
    True
    >>> for knob in space.knobs:
    ...     print(knob.name, knob.values)
    wall_mm (None, 2.0, 2.3, 2.4, 2.5, 2.6, 2.7)
    pitch_mm (6.0, 6.3, 6.4, None, 6.6, 6.7, 8.0)
    """
    row = spec.row
    knobs, home = [], []
    for name, values in ladders.items():
        column = COLUMNS[name]
        if row.family not in column.families or _decided(row, name):
            continue
        if name == HEAD:
            nominal = sides_mm(row.size)[0]
            values = tuple(on_step(column, nominal * v, upwards=True) for v in values)
        knob, place = _knob(column, values, getattr(row, name), _today(spec, name), fine)
        if len(knob.values) > 1:
            knobs.append(knob)
            home.append(place)
    return Around(asked, tuple(knobs), row, tuple(home))


def _decided(row: CatalogRow, name: str) -> bool:
    """Return whether a column says nothing in a row, whose other cells decide it."""
    if name == HEAD:
        return row.family not in families_sized("thread")
    return name == "overlap_mm" and row.slat_height_mm is not None


def _knob(
    column: Column, values: Sequence[Any], own: Any, today: Any, fine: int
) -> tuple[Knob, int]:
    """Return a column's knob and the place of the row's own value in it.

    ``own`` is what the cell holds, ``today`` what it means, ``None`` if that is not known; ``fine``
    steps from it are tried.
    """
    if column.kind == "choice":
        # A blank cell and what it means are the same: both would be tried in vain.
        left = [v for v in values if v is not None and v != today]
        return Knob(column.name, (own, *left)), 0
    if isinstance(own, str):
        gaps = numbers_of(own)
        own = gaps[0] if len(set(gaps)) == 1 else own
    numbers = {v for v in values if v is not None}
    if today is not None:
        step = step_of(column)
        near = (on_step(column, today + k * step, upwards=k > 0) for k in _around(fine))
        numbers |= set(near)
    usable = sorted(v for v in numbers if _usable(column, v) and v not in (own, today))
    if own is None and today is None:
        return Knob(column.name, (None, *usable)), 0
    place = bisect_left(usable, today)
    found = [*usable[:place], own, *usable[place:]]
    blank = own is not None and not column.required
    return Knob(column.name, (None, *found) if blank else tuple(found)), place + blank


def _around(reach: int) -> list[int]:
    return [k for k in range(-reach, reach + 1) if k != 0]


def _usable(column: Column, value: float) -> bool:
    if column.name == _GAPS:
        return GAP_MIN.value <= value <= BANK_GAP_MAX.value
    return in_range(column.name, value)


def _today(spec: VentSpec, name: str) -> Any:
    """Return what a column's cell means in a vent, blank or not; ``None`` if it is not told."""
    stack = spec.section.stack
    laid_out: dict[str, Any] = {
        "pitch_mm": stack.pitch_mm,
        "slat_foot_mm": stack.foot_mm,
        "rib_count": spec.rib_count,
        "rib_thickness_mm": spec.rib_thickness_mm,
        _GAPS: stack.gaps_mm[0] if stack.gaps_mm else None,
    }
    if name in laid_out:
        return laid_out[name]
    return meant_today(spec.row, filled_row(spec.row), name)
