"""Rectangular and flanged vents: a block pushed through a square-cut opening."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from vent_family.catalog.model import CatalogRow, Fixing, Key, Screw, ScrewFit
from vent_family.spec.row import FilledRow, fill


class BlockRow(FilledRow):
    """What both kinds of block have."""

    key: Key
    screw: Screw
    screw_fit: ScrewFit


class RectangularRow(BlockRow):
    """A row of a block with a lip."""

    fixing: Fixing
    lip_width_mm: float
    lip_thickness_mm: float


class FlangedRow(BlockRow):
    """A row of a block with a screwed flange."""

    flange_width_mm: float | None
    """Blank: the least that holds gasket and screws."""
    flange_thickness_mm: float


_BLOCK: Final = {"wall_mm": 2.0, "key": "none", "screw": "M4", "screw_fit": "medium"}
_RECTANGULAR: Final = MappingProxyType(
    {**_BLOCK, "lip_width_mm": 6.0, "lip_thickness_mm": 3.0, "fixing": "screw"}
)
_FLANGED: Final = MappingProxyType({**_BLOCK, "flange_thickness_mm": 4.0})


def filled_rectangular(row: CatalogRow) -> RectangularRow:
    """Return a rectangular vent's row; one with snap arms prints standing."""
    standing = {"print_orientation": "upright"} if row.fixing == "snap" else {}
    return fill(row, RectangularRow, {**_RECTANGULAR, **standing})


def filled_flanged(row: CatalogRow) -> FlangedRow:
    """Return a flanged vent's row."""
    return fill(row, FlangedRow, _FLANGED)
