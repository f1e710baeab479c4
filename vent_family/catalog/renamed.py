"""Columns and cells that once had other names: old ones are refused with the new one named.

The fingerprint of a row keeps to the first names (:mod:`vent_family.catalog.hashing`), so that a
part whose content has not changed keeps its hash.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

COMMAND: Final = "vent-family update"
"""The command that writes the new names into an old catalogue."""


@dataclass(frozen=True, slots=True)
class Renamed:
    """The column's name of today, and today's word for each cell that once was another."""

    column: str
    cells: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


COLUMNS_RENAMED: Final[Mapping[str, Renamed]] = MappingProxyType(
    {
        "bank_shift": Renamed("bank_stagger"),
        "key": Renamed("locating_key"),
        "thread": Renamed(
            "step_thread", MappingProxyType({"true": "helical", "simplified": "plain"})
        ),
    }
)
"""Old column names with what they are now."""
COLUMNS_WITHDRAWN: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "fan_depression_pa": (
            "the fan's depression is computed now and not stated any more",
            "clear the cell: state fan or face_velocity_m_s, and in extra_depression_pa only what"
            " sucks besides",
        )
    }
)
"""Columns that are read no longer, with why and what to do; their cells are never reinterpreted."""
_FIRST: Final = {now.column: (old, now) for old, now in COLUMNS_RENAMED.items()}


def new_column(name: str) -> str:
    """Return today's name of a column that was renamed, ``""`` for any other.

    Examples
    --------
    >>> new_column("thread"), new_column("pitch_mm")
    ('step_thread', '')
    """
    return COLUMNS_RENAMED[name].column if name in COLUMNS_RENAMED else ""


def new_cell(column: str, text: str) -> str:
    """Return today's word for an old cell of a column of today, ``""`` where there is none.

    Examples
    --------
    >>> new_cell("step_thread", "simplified"), new_cell("step_thread", "plain")
    ('plain', '')
    """
    return _FIRST[column][1].cells.get(text, "") if column in _FIRST else ""


def first_named(content: Mapping[str, object]) -> dict[str, object]:
    """Return a row's content under the names that columns and cells had at first.

    Examples
    --------
    >>> first_named({"step_thread": "plain", "wall_mm": 3.0})
    {'thread': 'simplified', 'wall_mm': 3.0}
    """
    found: dict[str, object] = {}
    for column, value in content.items():
        if column in _FIRST:
            old, now = _FIRST[column]
            first = {new: word for word, new in now.cells.items()}
            found[old] = first.get(value, value) if isinstance(value, str) else value
        else:
            found[column] = value
    return found
