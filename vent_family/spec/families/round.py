"""Round vents: a head on a threaded neck, held by a locknut."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from vent_family.catalog.model import CatalogRow, ThreadDetail
from vent_family.spec.row import FilledRow, fill


class RoundRow(FilledRow):
    """A row of a round vent."""

    head_diameter_mm: float | None
    """Blank: the usual head, or the least that holds its sill."""
    neck_length_mm: float | None
    """Blank: the least that reaches through panel and locknut."""
    thread: ThreadDetail


_ROUND: Final = MappingProxyType({"wall_mm": 3.0, "thread": "true"})


def filled_round(row: CatalogRow) -> RoundRow:
    """Return a round vent's row."""
    return fill(row, RoundRow, _ROUND)
