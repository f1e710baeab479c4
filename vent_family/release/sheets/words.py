"""What sheets say of a record, in words that several of them use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from vent_family.base.said import said

Told = Mapping[str, Any]
"""A part's record as it is written: plain data."""


def oversize_words(oversize_max_mm: float) -> str:
    """Return by how much an opening may be off, in mm, as a clause.

    Examples
    --------
    >>> oversize_words(0.25)
    'up to 0.25 mm larger is allowed, smaller is not'
    """
    return f"up to {said(oversize_max_mm)} mm larger is allowed, smaller is not"


def who(record: Told) -> str:
    """Return part number and revision, and the issue where the record has one."""
    identity = record["identity"]
    issue = identity.get("issue")
    return f"{identity['part_number']} {identity['revision']}" + (f".{issue}" if issue else "")


def box_mm(record: Told) -> tuple[tuple[float, float], ...]:
    """Return from where to where the solid reaches along x, y and z, mm."""
    low, high = record["geometry"]["box_min_mm"], record["geometry"]["box_max_mm"]
    return tuple((float(a), float(b)) for a, b in zip(low, high, strict=True))


def printed_fit(record: Told, name: str) -> Told:
    """Return a fit as printed whose name begins so.

    Raises
    ------
    KeyError
        if there is none
    """
    fits: Sequence[Told] = record["printing"]["as_printed"]
    for fit in fits:
        if fit["name"].startswith(name):
            return fit
    raise KeyError(name)
