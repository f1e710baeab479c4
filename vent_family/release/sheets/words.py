"""Numbers of a record as the sheets say them: each is rounded once, and its text handed on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

Told = Mapping[str, Any]
"""A part's record as it is written: plain data."""


def said(value: float, decimals: int = 2) -> str:
    """Return a ``value``, in any unit, with so many decimals at most, without idle zeros.

    Examples
    --------
    >>> said(23.4088), said(62.0), said(-0.001), said(1200.0, 0)
    ('23.41', '62', '0', '1200')
    """
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def three(value: float) -> str:
    """Return a predicted ``value``, in any unit, with three figures or all before the point.

    Examples
    --------
    >>> three(5.74134), three(658.9), three(1234.56), three(0.0602345), three(0.0)
    ('5.74', '659', '1235', '0.0602', '0')
    """
    return said(value, 0) if abs(value) >= 1000.0 else said(float(f"{value:.3g}"), 6)


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
