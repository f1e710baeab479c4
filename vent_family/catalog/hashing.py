"""The fingerprint of a row: the same content gives the same hash, however the file wrote it."""

from __future__ import annotations

import hashlib
import json

from vent_family.catalog.model import CatalogRow
from vent_family.catalog.renamed import first_named

HASH_DIGITS = 16


def row_hash(row: CatalogRow) -> str:
    """Return the first 16 hex digits of the SHA-256 of a row's canonical content.

    Canonical are the columns that are not blank, sorted by name, with their values after
    normalising, as JSON without spaces. So separators, decimal commas, trailing zeros, column
    order and new blank columns leave the hash alone; so do new names of columns and words.

    Examples
    --------
    >>> cells = {"part_number": "A", "family": "round", "size": "M20x1.5", "status": "draft"}
    >>> row_hash(CatalogRow(**cells, wall_mm=3)), row_hash(CatalogRow(**cells, wall_mm=3.1))
    ('5821d771613a7041', 'fbef57c3737a3885')
    """
    content = first_named(row.model_dump(mode="json", exclude_none=True))
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:HASH_DIGITS]
