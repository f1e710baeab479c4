"""The fingerprint of a row: the same content gives the same hash, however the file wrote it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from vent_family.catalog.attached import NOTHING_ATTACHED, Attached
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.renamed import first_named

Cells = Mapping[str, str | int | float]
"""Filled cells of a row, by column."""
HASH_DIGITS = 16
_NOT_OPPOSITE = {"status", "revision", "description", "exposure", "fan", "opposite_vent"}
"""Columns that make no other vent of the one on the other side."""


def filled_cells(row: CatalogRow) -> dict[str, str | int | float]:
    """Return the cells of a row that were filled in, by column name."""
    return {k: v for k, v in row.model_dump().items() if v is not None}


def told_cells(row: CatalogRow, named: Attached) -> dict[str, str | int | float]:
    """Return the cells of a row that were filled in, with those of the writer's own columns."""
    return filled_cells(row) | dict(named.own)


def recorded_cells(record: Mapping[str, Any]) -> dict[str, str | int | float]:
    """Return the cells of :func:`told_cells` as a part's record holds them."""
    return {**record.get("catalogue", {}), **record.get("own", {})}


def changed_cells(before: Cells, now: Cells) -> list[tuple[str, str, str]]:
    """Return the cells that differ: name, what it said and what it says; ``blank`` for nothing.

    Examples
    --------
    >>> changed_cells({"pitch_mm": 7.0, "colour": "blue"}, {"pitch_mm": 7.5})
    [('pitch_mm', '7.0', '7.5'), ('colour', 'blue', 'blank')]
    """

    def text(cells: Cells, name: str) -> str:
        return str(cells[name]) if name in cells else "blank"

    names = [*now, *(name for name in before if name not in now)]
    return [
        (name, text(before, name), text(now, name))
        for name in names
        if before.get(name) != now.get(name)
    ]


def row_hash(row: CatalogRow, named: Attached = NOTHING_ATTACHED) -> str:
    """Return the first 16 hex digits of the SHA-256 of a row's canonical content.

    Canonical are the columns that are not blank, sorted by name, with their values after
    normalising, as JSON without spaces. So separators, decimal commas, trailing zeros, column
    order and new blank columns leave the hash alone; so do new names of columns and words. What
    the row names outside itself, its fan's file and the vent opposite, is part of the content. So
    are columns of one's own: they decide nothing, but the part's record carries them. A row without
    any has the hash that it had before there were such columns.

    Examples
    --------
    >>> cells = {"part_number": "A", "family": "round", "size": "M20x1.5", "status": "draft"}
    >>> row_hash(CatalogRow(**cells, wall_mm=3)), row_hash(CatalogRow(**cells, wall_mm=3.1))
    ('5821d771613a7041', 'fbef57c3737a3885')
    """
    content = first_named(row.model_dump(mode="json", exclude_none=True))
    if named.fan_text:
        content["fan:text"] = named.fan_text.replace("\r\n", "\n").replace("\r", "\n")
    if named.opposite is not None:
        other = named.opposite.model_dump(mode="json", exclude_none=True, exclude=_NOT_OPPOSITE)
        content["opposite_vent:row"] = first_named(other)
    if named.own:
        content["own"] = dict(named.own)
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:HASH_DIGITS]
