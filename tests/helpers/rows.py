"""Catalogue rows for tests, with the required cells filled in."""

from __future__ import annotations

from typing import Any

from vent_family.catalog.model import CatalogRow
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

SIZES = {"rectangular": "60x60", "round": "M32x1.5", "flanged": "92x92"}


def row(family: str = "rectangular", **cells: Any) -> CatalogRow:
    """Return a row of a family; a blank size means the family's usual test size."""
    required = {"part_number": "T1", "status": "draft", "size": SIZES[family]}
    return CatalogRow(**(required | {"family": family} | cells))


def spec(family: str = "rectangular", **cells: Any) -> VentSpec:
    """Return a resolved row."""
    return resolve(row(family, **cells))
