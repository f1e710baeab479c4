"""From the text of a cell to a number, or to the reason why not.

Nothing is guessed: a number that can be read in two ways, as 1.500, is a :class:`Fault` with a way
out.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from vent_family.catalog.columns import Column, decimal
from vent_family.catalog.parse.scan import shorten


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a cell has no value, and what to do; neither ends with a full stop.

    ``code`` is listed in :mod:`vent_family.base.codes`.
    """

    code: str
    message: str
    suggestion: str = ""


@dataclass(frozen=True, slots=True)
class NumberStyle:
    """How a file writes numbers.

    ``mark`` is its decimal mark. ``certain`` says that a number such as 1.500 (or 1,500) with that
    mark cannot mean 1500. ``comma_separated`` files have no decimal commas at all.
    """

    mark: str
    certain: bool
    comma_separated: bool

    @property
    def other(self) -> str:
        """The mark that is not the file's."""
        return "." if self.mark == "," else ","


NOTHING: Final = ("n/a", "na", "nan", "none", "null", "nil", "-", "--", "?", "tbd", "default")
"""What people write for no value."""
NUMBER: Final = r"[0-9]+(?:[.,][0-9]+)?"
"""One number inside a cell of several."""


def number_style(cells: Iterable[str], separator: str) -> NumberStyle:
    """Return how a file writes numbers, judged by all cells of its number columns.

    Only numbers that cannot hold thousands separators count: 7,5 and 0,125 show a decimal comma,
    1,500 shows nothing.

    Examples
    --------
    >>> number_style(["7,5", "12", "1,500"], ";")
    NumberStyle(mark=',', certain=True, comma_separated=False)
    >>> number_style(["1,500"], ";").certain
    False
    """
    found = {".": 0, ",": 0}
    for cell in cells:
        text = re.sub(r"[^0-9.,]+$", "", cell.strip()).lstrip("+-\u2212")
        both = re.fullmatch(r"[0-9]{1,3}(?:([.,])[0-9]{3})+([.,])[0-9]+", text)
        one = re.fullmatch(r"[0-9]*([.,])[0-9]+", text)
        if both and both.group(1) != both.group(2):
            found[both.group(2)] += 1
        elif one and not _grouped(text):
            found[one.group(1)] += 1
    if separator == ",":
        return NumberStyle(".", found[","] == 0, True)
    if found["."] > found[","]:
        return NumberStyle(".", found[","] == 0, False)
    return NumberStyle(",", found["."] == 0 and found[","] > 0, False)


def written_number(plain: str, style: NumberStyle, mark: str = "") -> str:
    """Return a number with a decimal point as a file writes it, so that it is read in one way only.

    ``mark`` is the decimal mark of cells that hold several numbers, where it is not the style's.

    Examples
    --------
    >>> german = NumberStyle(",", certain=False, comma_separated=False)
    >>> written_number("7.5", german), written_number("1.125", german)
    ('7,5', '1,1250')
    >>> written_number("7.5", german, "."), written_number("0.125", german)
    ('7.5', '0,125')
    """
    mark = mark or style.mark
    written = plain.replace(".", mark)
    settled = style.certain and mark == style.mark
    return written if settled or not _grouped(written.lstrip("+-")) else written + "0"


def _grouped(text: str) -> bool:
    """Tell whether 1.500 or 1,500 could be a whole number with a thousands separator."""
    return bool(re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", text))


def _ambiguous(text: str, style: NumberStyle) -> Fault:
    whole, part = re.split("[.,]", text)
    small = decimal(float(f"{whole}.{part}"), style.mark)
    return Fault(
        "table.number.ambiguous",
        f"the number can be read as {small} or as {whole}{part}",
        f"write {small} with as few decimals as it needs, or {whole}{part} without a separator",
    )


def _wrong_mark(text: str, style: NumberStyle) -> Fault:
    right = text.replace(style.other, style.mark)
    if style.comma_separated:
        return Fault(
            "table.number.mark",
            "the number has a decimal comma, but commas separate the cells of this file",
            f"write {right}, or save the file with semicolons as separators",
        )
    names = {".": "point", ",": "comma"}
    return Fault(
        "table.number.mark",
        f"the number has a decimal {names[style.other]}, but the file writes numbers with a "
        f"decimal {names[style.mark]}",
        f"write {right}",
    )


def parse_number(text: str, column: Column, style: NumberStyle) -> float | Fault:
    """Return a cell of a number column as a finite float in the column's unit, whatever its range.

    Examples
    --------
    >>> from vent_family.catalog.columns import COLUMNS
    >>> german = NumberStyle(",", certain=True, comma_separated=False)
    >>> parse_number("7,5", COLUMNS["pitch_mm"], german)
    7.5
    >>> parse_number("7.5", COLUMNS["pitch_mm"], german).suggestion
    'write 7,5'
    >>> parse_number("7,5 mm", COLUMNS["pitch_mm"], german).message
    'a unit is typed behind the number'
    """
    value = _plain_number(text, style)
    if isinstance(value, float):
        if math.isfinite(value):
            return value
        return Fault("table.number.huge", "the number is too large", "check the value")
    return value or _not_a_number(text, column, style)


def _plain_number(text: str, style: NumberStyle) -> float | Fault | None:
    """Return the number, a fault of its decimal mark, or ``None`` where it is no plain number."""
    text = text.replace("\u2212", "-", 1) if text.startswith("\u2212") else text
    match = re.fullmatch(r"([+-]?)([0-9]*)(?:([.,])([0-9]+))?", text)
    if match is None or not (match.group(2) or match.group(4)):
        return None
    digits = text.lstrip("+-")
    if match.group(3) and _grouped(digits):
        if match.group(3) != style.mark or not style.certain:
            return _ambiguous(digits, style)
    elif match.group(3) == style.other:
        return _wrong_mark(text, style)
    # Adding zero turns -0.0 into 0.0, which are one value and must give one hash.
    return float(text.replace(",", ".")) + 0.0


def _not_a_number(text: str, column: Column, style: NumberStyle) -> Fault:
    if text.casefold() in NOTHING:
        return Fault(
            "table.cell.number", "this is not a number", "leave the cell blank for the default"
        )
    latin = latin_digits(text)
    if latin != text and isinstance(_plain_number(latin, style), float):
        return Fault(
            "table.number.script",
            "the number is typed with digits of another script or width",
            f"type {latin}",
        )
    if re.fullmatch(r"[+-]?[0-9]{1,3}(?:[ .,'’\xa0\u202f][0-9]{3})+(?:[.,][0-9]+)?", text):
        return Fault(
            "table.number.thousands",
            "the number seems to hold thousands separators, which are not read",
            "write it without them",
        )
    dashed = re.fullmatch(r"[‐‑‒–—](.+)|\((.+)\)|(.+)[-\u2212]", text)
    if dashed:
        rest = (dashed.group(1) or dashed.group(2) or dashed.group(3)).strip()
        if isinstance(_plain_number(rest, style), float):
            return Fault(
                "table.number.minus",
                "the number does not have a plain minus sign in front",
                f"type -{rest}",
            )
    unit = re.fullmatch(r"([+-]?[0-9.,]*[0-9])\s*([^\s0-9.,].*)", text)
    if unit:
        number = _plain_number(unit.group(1), style)
        if isinstance(number, float):
            return _unit_typed(unit.group(1), number, unit.group(2).strip(), column, style)
    number = _plain_number(text.rstrip(".,"), style)
    if isinstance(number, float):
        return Fault(
            "table.number.unfinished",
            "the number ends with a decimal mark",
            f"write {decimal(number, style.mark)}",
        )
    return Fault(
        "table.cell.number", "this is not a number", "write one number, without unit or text"
    )


def _unit_typed(
    written: str, number: float, unit: str, column: Column, style: NumberStyle
) -> Fault:
    if unit == "%":
        if column.unit == "1":
            return Fault(
                "table.number.percent",
                "the cell holds a percentage",
                f"write {decimal(number / 100, style.mark)}",
            )
        return Fault(
            "table.number.percent",
            "the cell holds a percentage",
            "write the value itself, without the sign",
        )
    own = {
        "mm": ("mm", "millimeter", "millimetre", "millimeters", "millimetres"),
        "deg": ("°", "deg", "degree", "degrees", "grad"),
    }.get(column.unit, ())
    if unit.casefold().rstrip(".") in own or not own:
        what = "a unit is" if own else "text is"
        return Fault("table.number.unit", f"{what} typed behind the number", f"write {written}")
    return Fault(
        "table.number.unit",
        f"{shorten(unit, 12)!r} is typed behind the number",
        f"give the value in {column.unit}, as a number only",
    )


def latin_digits(text: str) -> str:
    """Return text with the decimal digits of all scripts, and full-width signs, made plain."""
    return "".join(
        str(unicodedata.decimal(c))
        if c.isdecimal()
        else unicodedata.normalize("NFKC", c)
        if "\uff00" <= c <= "\uffef"
        else c
        for c in text
    )


def parse_integer(text: str, column: Column, style: NumberStyle) -> int | Fault:
    """Return a cell of a whole-number column; 3.0 is 3, because spreadsheets format it so.

    Examples
    --------
    >>> from vent_family.catalog.columns import COLUMNS
    >>> plain = NumberStyle(".", certain=True, comma_separated=True)
    >>> parse_integer("3.0", COLUMNS["bank_count"], plain)
    3
    >>> parse_integer("3.5", COLUMNS["bank_count"], plain).suggestion
    'write 3 or 4'
    """
    value = parse_number(text, column, style)
    if isinstance(value, Fault):
        return value
    if not value.is_integer():
        below = math.floor(value)
        return Fault(
            "table.number.whole", "this is not a whole number", f"write {below} or {below + 1}"
        )
    return int(value)


def parse_tokens(
    text: str, written: Iterable[str], style: NumberStyle
) -> tuple[float, ...] | Fault:
    """Return the numbers of a cell that holds several, such as a size.

    Such cells are text to a spreadsheet, which leaves their decimal points alone even where it
    writes commas in numbers. So both marks are read in files that commas do not separate, as
    long as the cell keeps to one and no number could hold a thousands separator.
    """
    tokens = list(written)
    marks = {c for t in tokens for c in t if c in ".,"}
    if len(marks) > 1:
        return Fault(
            "table.number.mixed",
            "the cell holds decimal points and decimal commas",
            "use one of them",
        )
    for token in tokens:
        if _grouped(token) and not (style.mark in token and style.certain):
            return _ambiguous(token, style)
        if "," in token and style.comma_separated:
            return _wrong_mark(text, style)
    return tuple(float(t.replace(",", ".")) for t in tokens)
