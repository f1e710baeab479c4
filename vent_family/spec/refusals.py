"""What is refused about one row while it is being resolved."""

from __future__ import annotations

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import CatalogRow


class Refusals:
    """The problems found so far in one row."""

    def __init__(self, row: CatalogRow) -> None:
        self._row = row
        self._problems: list[Problem] = []

    def __len__(self) -> int:
        return len(self._problems)

    def refuse(self, column: str, message: str, suggestion: str, allowed: str = "") -> None:
        """Note a problem of the row; file and row number are filled in by the caller's caller."""
        self._problems.append(
            Problem(
                message,
                part_number=self._row.part_number,
                column=column,
                value=_text(getattr(self._row, column, None)),
                allowed=allowed,
                suggestion=suggestion,
            )
        )

    def stop_if_any(self) -> None:
        """Raise if anything has been refused.

        Raises
        ------
        InputError
            with all problems noted so far
        """
        if self._problems:
            raise InputError(self._problems)


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)
