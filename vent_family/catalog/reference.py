"""The column reference for people and machines, generated from the row model."""

from __future__ import annotations

from typing import Final

from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import FAMILIES
from vent_family.catalog.own import ALLOWED_NAME, ALLOWED_TEXT, PREFIX

OWN_MEANING: Final = (
    "They decide nothing; the part's record and the library's index carry them as text."
)
OWN_COLUMNS: Final = f"Columns of your own: {ALLOWED_NAME}. A cell is {ALLOWED_TEXT}. {OWN_MEANING}"
"""What is told of columns that no row model lists."""


def told_columns() -> list[dict[str, object]]:
    """Return every column as plain data: name, unit, families, allowed values, meaning."""
    return [
        {
            "name": column.name,
            "unit": column.unit,
            "families": list(column.families),
            "allowed": column.allowed(),
            "required": column.required,
            "meaning": column.meaning,
        }
        for column in COLUMNS.values()
    ]


def told_own_columns() -> dict[str, str]:
    """Return the rule of columns of one's own as plain data: how they are named, what they hold."""
    return {
        "prefix": PREFIX,
        "allowed_name": ALLOWED_NAME,
        "allowed": ALLOWED_TEXT,
        "meaning": OWN_MEANING,
    }


def column_reference() -> str:
    """Return a Markdown table of all columns: name, unit, families, allowed values, meaning.

    Required columns carry the word; ends with a line feed.

    Examples
    --------
    >>> column_reference().splitlines()[12]
    '| `stl_orientation` |  | all | print, use | orientation of the STL file |'
    """
    lines = [
        "| Column | Unit | Families | Allowed | Meaning |",
        "| --- | --- | --- | --- | --- |",
    ]
    for column in COLUMNS.values():
        families = "all" if column.families == tuple(FAMILIES) else ", ".join(column.families)
        meaning = f"{column.meaning} (required)" if column.required else column.meaning
        cells = (f"`{column.name}`", column.unit, families, column.allowed(), meaning)
        lines.append("| " + " | ".join(c.replace("|", "\\|") for c in cells) + " |")
    return "\n".join(lines) + "\n"
