"""What is wrong with an input, told to a person: one sentence, one place, one way out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

Place = Literal["column", "entry", "section", "option", "variable"]
"""What a fault's ``column`` is: one of a table, of a file of settings, or of a command."""


def printable(text: str) -> str:
    """Return text with characters that cannot be seen written as escapes.

    Examples
    --------
    >>> printable("A\\tB")
    'A\\\\tB'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def _ended(text: str) -> str:
    """Return a sentence with one mark at its end: its own, or a full stop."""
    text = text.rstrip(".")
    return text if text.endswith(("?", "!")) else f"{text}."


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault of one input.

    ``code`` names the fault, whatever its sentence says: it is listed in
    :mod:`vent_family.base.codes` and stays as it is when sentences change.
    ``row`` is the row number as a spreadsheet shows it (the first line of the file is row 1);
    ``None`` where the fault concerns the whole file. ``allowed`` says which values are accepted,
    ``suggestion`` what to do about it. ``place`` says what the ``column`` is called; ``cell`` names
    the cell of a spreadsheet workbook.
    """

    code: str
    message: str
    file: str = ""
    row: int | None = None
    part_number: str = ""
    column: str = ""
    value: str = ""
    allowed: str = ""
    suggestion: str = ""
    place: Place = "column"
    cell: str = ""

    def sentence(self) -> str:
        """Return the fault as one line: place, what is wrong, what is allowed, what to do.

        Examples
        --------
        >>> code = "catalog.cell.small"
        >>> fault = Problem(code, "1 mm is too small", "vents.csv", 7, "HV-1", "pitch_mm", "1")
        >>> fault.sentence()
        "vents.csv, row 7, part HV-1, column pitch_mm: 1 mm is too small (value '1')."
        """
        place = [self.file] if self.file else []
        if self.cell:
            place.append(f"cell {self.cell}")
        if self.row is not None:
            place.append(f"row {self.row}")
        if self.part_number:
            place.append(f"part {self.part_number}")
        if self.column:
            place.append(f"{self.place} {self.column}")
        text = ", ".join(place) + ": " if place else ""
        text += self.message
        if self.value:
            text += f" (value {self.value!r})"
        text = _ended(text)
        if self.allowed:
            text += _ended(f" Allowed: {self.allowed}")
        if self.suggestion:
            text += _ended(f" {self.suggestion[0].upper()}{self.suggestion[1:]}")
        return printable(text)

    def as_dict(self) -> dict[str, str | int | None]:
        """Return the fields as plain data, for ``--json``."""
        return asdict(self)


def told_problem(data: Mapping[str, Any]) -> Problem:
    """Return the problem that :meth:`Problem.as_dict` made plain data of.

    Raises
    ------
    TypeError
        if the data are not those of a problem
    """
    code, message = str(data["code"]), str(data["message"])
    return Problem(code, message, **{k: v for k, v in data.items() if k not in ("code", "message")})


class InputError(ValueError):
    """Raised when an input cannot be used; carries every :class:`Problem` found."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(p.sentence() for p in self.problems))

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)


def located(problems: Sequence[Problem], file_name: str, row: int) -> list[Problem]:
    """Return problems with file and row number filled in."""
    return [replace(p, file=file_name, row=row) for p in problems]
