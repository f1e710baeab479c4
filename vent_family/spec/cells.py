"""One row while it is being resolved: its cells with defaults filled in, and what is refused."""

from __future__ import annotations

from typing import Any

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import CatalogRow
from vent_family.spec import defaults


class Cells:
    """The cells of one row, blanks read as the family's defaults, and the problems found so far."""

    def __init__(self, row: CatalogRow) -> None:
        self.row = row
        self.problems: list[Problem] = []
        self._form = row.slat_form or str(defaults.COMMON["slat_form"])

    def get(self, column: str) -> Any:
        """Return a cell's value, its default if blank; ``None`` where it is to be computed."""
        value = getattr(self.row, column, None)
        if value is not None:
            return value
        return defaults.blank_value(column, self.row.family, self._form)

    def refuse(self, column: str, message: str, suggestion: str, allowed: str = "") -> None:
        """Note a problem of the row; file and row number are filled in by the caller's caller."""
        self.problems.append(
            Problem(
                message,
                part_number=self.row.part_number,
                column=column,
                value=_text(getattr(self.row, column, None)),
                allowed=allowed,
                suggestion=suggestion,
            )
        )

    def stop_if_refused(self) -> None:
        """Raise :class:`InputError` with all problems noted so far, if there are any."""
        if self.problems:
            raise InputError(self.problems)


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)
