"""What the row model says about each column: kind, choices, range, allowed values in words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, Literal, get_args, get_origin

import annotated_types

from vent_family.catalog.model import CatalogRow, column_families, column_unit, size_words
from vent_family.catalog.vocabulary import Vocabulary

Kind = Literal["choice", "number", "integer", "text"]


@dataclass(frozen=True, slots=True)
class Column:
    """One catalogue column as the model defines it.

    ``unit`` is ``""`` for text, ``"1"`` for a plain fraction. ``lowest`` and ``highest``, in that
    unit, bound a number (``highest`` itself is excluded where ``open_end``); ``names`` holds what a
    cell of kind ``choice`` may name; ``words`` says in words what a text must look like.
    """

    name: str
    kind: Kind
    unit: str
    meaning: str
    required: bool
    names: tuple[str, ...] | Vocabulary[Any] = ()
    lowest: float | None = None
    highest: float | None = None
    open_end: bool = False
    words: str = ""

    @property
    def families(self) -> tuple[str, ...]:
        """Families the column applies to."""
        return column_families(self.name)

    @property
    def choices(self) -> tuple[str, ...]:
        """What a cell may name; empty unless ``kind`` is ``choice``."""
        return tuple(self.names)

    def allowed(self, mark: str = ".") -> str:
        """Return the allowed values in words, numbers with their unit and the decimal mark.

        Examples
        --------
        >>> COLUMNS["pitch_mm"].allowed(), COLUMNS["drain_height_mm"].allowed(",")
        ('5 to 40 mm', '2,7 to 20 mm')
        >>> COLUMNS["bank_count"].allowed(), COLUMNS["bank_stagger"].allowed()
        ('a whole number from 1 to 6', '0 to less than 1')
        """
        if self.kind == "choice":
            return ", ".join(self.choices)
        if self.kind == "text":
            return self.words or (size_words() if self.name == "size" else "")
        text = f"{decimal(self.lowest, mark)} to "
        text += "less than " if self.open_end else ""
        text += decimal(self.highest, mark)
        if self.unit not in ("", "1"):
            text += f" {self.unit}"
        return text if self.kind == "number" else f"a whole number from {text}"


def decimal(value: float | None, mark: str = ".") -> str:
    """Return a number in its shortest form with the given decimal mark.

    Parameters
    ----------
    value
        a number of any unit; ``None`` for no limit
    mark
        the decimal mark

    Examples
    --------
    >>> decimal(7.50), decimal(12.0), decimal(7.5, ","), decimal(None)
    ('7.5', '12', '7,5', 'any')
    """
    if value is None:
        return "any"
    text = repr(float(value))
    return text.removesuffix(".0").replace(".", mark)


def loose(name: str) -> str:
    """Return a column name with its case, spaces and hyphens made uniform.

    Examples
    --------
    >>> loose(" Pitch - MM ")
    'pitch_mm'
    """
    return re.sub(r"[\s_-]+", "_", name.strip().lower())


def _column(name: str) -> Column:
    field = CatalogRow.model_fields[name]
    annotation: Any = field.annotation
    options = [a for a in get_args(annotation) if a is not type(None)]
    if get_origin(annotation) is not Literal and options:
        annotation = options[0]
    metadata = (*field.metadata, *getattr(annotation, "__metadata__", ()))
    names: Any = next((m for m in metadata if isinstance(m, Vocabulary)), ())
    if get_origin(annotation) is Literal:
        names = tuple(str(c) for c in get_args(annotation))
    if names:
        kind: Kind = "choice"
    else:
        kind = {float: "number", int: "integer", str: "text"}[annotation]  # type: ignore[assignment]
    lowest: Any = None
    highest: Any = None
    open_end = False
    for rule in field.metadata:
        if isinstance(rule, annotated_types.Ge):
            lowest = rule.ge
        elif isinstance(rule, annotated_types.Le):
            highest = rule.le
        elif isinstance(rule, annotated_types.Lt):
            highest, open_end = rule.lt, True
    extra = field.json_schema_extra
    assert isinstance(extra, dict)
    return Column(
        name=name,
        kind=kind,
        unit=column_unit(name),
        meaning=field.description or "",
        required=field.is_required(),
        names=names,
        lowest=lowest,
        highest=highest,
        open_end=open_end,
        words=str(extra.get("allowed", "")),
    )


COLUMNS: Final[Mapping[str, Column]] = MappingProxyType(
    {name: _column(name) for name in CatalogRow.model_fields}
)
"""Every column by name, in the order of the model."""
