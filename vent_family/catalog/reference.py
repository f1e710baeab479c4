"""The column reference for people, generated from the row model."""

from __future__ import annotations

from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import FAMILIES


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
