"""The part families: what is particular to each."""

from __future__ import annotations

from vent_family.catalog.model import CatalogRow
from vent_family.spec.families.block import filled_flanged, filled_rectangular
from vent_family.spec.families.round import filled_round
from vent_family.spec.row import FilledRow

_FILLED = {
    "rectangular": filled_rectangular,
    "round": filled_round,
    "flanged": filled_flanged,
}


def filled_row(row: CatalogRow) -> FilledRow:
    """Return a row with every default of its family, its form and of all vents filled in."""
    return _FILLED[row.family](row)
