"""Flanged vents: a block behind a flange, with a gasket under it and screws all round."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from vent_family.catalog.model import CatalogRow
from vent_family.spec.families.block import (
    BLOCK_DEFAULTS,
    SEALED_COVER_MM,
    BlockRow,
    Blocks,
)
from vent_family.spec.families.block_cover import BlockCover
from vent_family.spec.families.common import own_row, refuse_upright
from vent_family.spec.families.sheltered import check_banks_outside
from vent_family.spec.fan_rules import fan_ways
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow, fill


class FlangedRow(BlockRow):
    """A row of a block with a screwed flange."""

    flange_width_mm: float | None
    """Blank: the least that holds gasket and screws."""
    flange_thickness_mm: float


_DEFAULTS: Final = MappingProxyType({**BLOCK_DEFAULTS, "flange_thickness_mm": SEALED_COVER_MM})


class Flanged(Blocks[FlangedRow]):
    """Blocks with a flange, a gasket under it and screws all round."""

    name = "flanged"
    _kind = FlangedRow
    _cover_column = "flange_width_mm"
    _corner_mm = 6.0

    def filled(self, row: CatalogRow) -> FlangedRow:
        """Return a row with its defaults."""
        return fill(row, FlangedRow, _DEFAULTS)

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        """Refuse to print the flange hanging over the bed."""
        check_banks_outside(own_row(row, FlangedRow), refusals)
        refuse_upright(row, refusals, "flange")
        fan_ways(row, own_row(row, FlangedRow).fan_mount, refusals)

    def _cover_thickness_mm(self, row: FlangedRow) -> float:
        return row.flange_thickness_mm

    def _snap(self, row: FlangedRow, refusals: Refusals, inner_z: float) -> None:
        """Screws hold a flange."""

    def _cover(self, row: FlangedRow, refusals: Refusals, size: tuple[float, float]) -> BlockCover:
        """Return the flange with its screw holes and gasket."""
        return self.sealed(row, refusals, size, row.flange_width_mm)
