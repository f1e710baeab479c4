"""Rows of every family, a throw-away fourth one included."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tests.helpers.octagon import Octagonal, OctagonBuilder
from vent_family.catalog.model import CatalogRow
from vent_family.geometry.families import registered_family
from vent_family.spec.families import FAMILIES
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

OWN = tuple(family.name for family in FAMILIES)
ALL = (*OWN, Octagonal.name)
SIZES = {"opening": "90x80", "thread": "M40x1.5"}


@contextmanager
def fourth_family() -> Iterator[None]:
    """Have the fourth family for the length of a ``with`` block."""
    with registered_family(Octagonal(), OctagonBuilder()):
        yield


def row_of(family: str, **cells: Any) -> CatalogRow:
    """Return a row of any registered family."""
    required = {"part_number": "T1", "status": "draft", "size": SIZES[FAMILIES[family].size]}
    return CatalogRow(**(required | {"family": family} | cells))


def vent_of(family: str, **cells: Any) -> VentSpec:
    """Return a resolved row of any registered family."""
    return resolve(row_of(family, **cells))
