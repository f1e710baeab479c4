"""What a record states outside of itself: named values with units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stated:
    """A named value; ``unit`` is "" for text and counts, "1" for a pure number."""

    name: str
    value: str | int | float
    unit: str = ""
