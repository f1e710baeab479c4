"""From the text of one cell to its value, or to the reason why not.

Nothing is guessed: a cell that a spreadsheet may have changed, or that can be read in two ways,
is a :class:`Fault` with a way out.
"""

from __future__ import annotations

import difflib
import math
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import BANK_GAP_MAX, GAP_MIN, OPENING_MAX, OPENING_MIN, Limit
from vent_family.catalog.columns import Column, decimal
from vent_family.catalog.model import (
    DRY,
    EXPOSURE_NAMES,
    FAMILIES,
    ROUND_THREADS,
    SLOPES,
    families_sized,
)
from vent_family.catalog.parse.scan import ERROR_VALUE, shorten


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a cell has no value, and what to do; neither ends with a full stop."""

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


_TRUE: Final = ("TRUE", "WAHR", "VRAI", "VERDADERO", "VERDADEIRO", "VERO", "WAAR")
_FALSE: Final = ("FALSE", "FALSCH", "FAUX", "FALSO", "ONWAAR")
"""Truth values as spreadsheets of several languages show them; from memory."""

_NOTHING: Final = ("n/a", "na", "nan", "none", "null", "nil", "-", "--", "?", "tbd", "default")

_MONTH: Final = (
    r"(?:jan|feb|f[eé]v|mar|m[aä]r|mrz|apr|avr|abr|may|mai|mei|mag|jun|jui|giu|jul|lug|aug|ago|ao[uû]"
    r"|sep|set|oct|okt|ott|nov|dec|dez|d[eé]c|dic|ene|gen)"
)
_MONTH_NAME: Final = rf"{_MONTH}[a-zûé]*\.?"
_DATE: Final = re.compile(
    rf"[0-9]{{1,2}}[ .\-/]{{1,2}}{_MONTH_NAME}(?:[ .\-/]{{1,2}}[0-9]{{2,4}})?"
    rf"|{_MONTH_NAME}[ .\-/]{{1,2}}[0-9]{{1,4}}"
    r"|[0-9]{4}[-/][0-9]{1,2}[-/][0-9]{1,2}(?:[ T][0-9:]+)?"
    r"|[0-9]{1,2}\.[0-9]{1,2}\.(?:[0-9]{2}|[0-9]{4})?(?: [0-9:]+)?"
    r"|[0-9]{1,2}([/-])[0-9]{1,2}\1[0-9]{4}(?: [0-9:]+)?"
    r"|[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?: ?[AP]M)?",
    re.IGNORECASE,
)
_SLASH_DATE: Final = re.compile(r"[0-3]?[0-9][/-][0-3]?[0-9](?:[/-][0-9]{2})?")
_NAME_DATE: Final = re.compile(
    rf"[0-9]{{1,2}}-(?i:{_MONTH})(?:-[0-9]{{2,4}})?|(?i:{_MONTH})-[0-9]{{2}}"
    r"|[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{1,2}\.[0-9]{1,2}\.[0-9]{4}"
)
_SCIENTIFIC: Final = re.compile(r"[+-]?[0-9](?:[.,][0-9]+)?E[+-]?[0-9]+", re.IGNORECASE)
_NAME_SCIENTIFIC: Final = re.compile(r"[0-9](?:[.,][0-9]+)?E[+-][0-9]{2,3}")

_RETYPE: Final = "set the column's format to text and type the value again"


def damage(text: str, column: Column) -> Fault | None:
    """Return how a spreadsheet has changed a cell, ``None`` where there is no sign of it."""
    if ERROR_VALUE.fullmatch(text):
        if set(text) == {"#"}:
            return Fault(
                "the column was too narrow, so the spreadsheet saved hash marks, not the value",
                "widen the column in the spreadsheet and save the file again",
            )
        return Fault(
            "the cell holds the error value of a spreadsheet formula",
            "mend the formula, or type the value itself",
        )
    if text.startswith("="):
        return Fault("the cell holds a formula, not a value", "save the values, not the formulas")
    if column.name == "description":
        return None
    if text.startswith(("'", "\u2019")):
        return Fault("the cell begins with an apostrophe", f"write {text[1:].strip()}")
    if text in (*_TRUE, *_FALSE) and not (column.name == "thread" and text in _TRUE):
        return Fault("the spreadsheet turned the cell into a truth value", _RETYPE)
    if _is_date(text, column):
        return Fault(
            "the cell reads as a date or a time, which spreadsheets make of some values", _RETYPE
        )
    pattern = _SCIENTIFIC if column.kind in ("number", "integer") else _NAME_SCIENTIFIC
    if pattern.fullmatch(text):
        return Fault(
            "the spreadsheet shortened the cell to scientific notation, so digits may be lost",
            _RETYPE,
        )
    return None


def _is_date(text: str, column: Column) -> bool:
    if column.name in ("part_number", "revision"):
        # Capitals throughout are a name somebody chose (MAR-12); spreadsheets write Mar-12.
        return bool(_NAME_DATE.fullmatch(text)) and not any(
            w.isupper() for w in re.findall("[^-0-9.]+", text)
        )
    if column.name == "size":
        return bool(_DATE.fullmatch(text))
    if column.name == "bank_gaps_mm":
        # 7/3 is two gaps; with leading zeros it is what a date made of it looks like.
        return bool(_DATE.fullmatch(text) or re.search(r"(?:^|/)\s*0[0-9]", text))
    return bool(_DATE.fullmatch(text) or _SLASH_DATE.fullmatch(text))


def number_style(cells: Iterable[str], separator: str) -> NumberStyle:
    """Return how a file writes numbers, judged by all cells of its number columns.

    Only numbers that cannot hold thousands separators count: 7,5 and 0,125 show a decimal comma,
    1,500 shows nothing.
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


def _grouped(text: str) -> bool:
    """Tell whether 1.500 or 1,500 could be a whole number with a thousands separator."""
    return bool(re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", text))


def _ambiguous(text: str, style: NumberStyle) -> Fault:
    whole, part = re.split("[.,]", text)
    small = decimal(float(f"{whole}.{part}"), style.mark)
    return Fault(
        f"the number can be read as {small} or as {whole}{part}",
        f"write {small} with as few decimals as it needs, or {whole}{part} without a separator",
    )


def _wrong_mark(text: str, style: NumberStyle) -> Fault:
    right = text.replace(style.other, style.mark)
    if style.comma_separated:
        return Fault(
            "the number has a decimal comma, but commas separate the cells of this file",
            f"write {right}, or save the file with semicolons as separators",
        )
    names = {".": "point", ",": "comma"}
    return Fault(
        f"the number has a decimal {names[style.other]}, but the file writes numbers with a "
        f"decimal {names[style.mark]}",
        f"write {right}",
    )


def parse_number(text: str, column: Column, style: NumberStyle) -> float | Fault:
    """Return a cell of a number column as a finite float, whatever its range."""
    value = _plain_number(text, style)
    if isinstance(value, float):
        if math.isfinite(value):
            return value
        return Fault("the number is too large", "check the value")
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
    if text.casefold() in _NOTHING:
        return Fault("this is not a number", "leave the cell blank for the default")
    latin = _latin_digits(text)
    if latin != text and isinstance(_plain_number(latin, style), float):
        return Fault("the number is typed with digits of another script or width", f"type {latin}")
    if re.fullmatch(r"[+-]?[0-9]{1,3}(?:[ .,'’\xa0\u202f][0-9]{3})+(?:[.,][0-9]+)?", text):
        return Fault(
            "the number seems to hold thousands separators, which are not read",
            "write it without them",
        )
    dashed = re.fullmatch(r"[‐‑‒–—](.+)|\((.+)\)|(.+)[-\u2212]", text)
    if dashed:
        rest = (dashed.group(1) or dashed.group(2) or dashed.group(3)).strip()
        if isinstance(_plain_number(rest, style), float):
            return Fault("the number does not have a plain minus sign in front", f"type -{rest}")
    unit = re.fullmatch(r"([+-]?[0-9.,]*[0-9])\s*([^\s0-9.,].*)", text)
    if unit:
        number = _plain_number(unit.group(1), style)
        if isinstance(number, float):
            return _unit_typed(unit.group(1), number, unit.group(2).strip(), column, style)
    number = _plain_number(text.rstrip(".,"), style)
    if isinstance(number, float):
        return Fault("the number ends with a decimal mark", f"write {decimal(number, style.mark)}")
    return Fault("this is not a number", "write one number, without unit or text")


def _unit_typed(
    written: str, number: float, unit: str, column: Column, style: NumberStyle
) -> Fault:
    if unit == "%":
        if column.unit == "1":
            return Fault(
                "the cell holds a percentage", f"write {decimal(number / 100, style.mark)}"
            )
        return Fault("the cell holds a percentage", "write the value itself, without the sign")
    own = {
        "mm": ("mm", "millimeter", "millimetre", "millimeters", "millimetres"),
        "deg": ("°", "deg", "degree", "degrees", "grad"),
    }.get(column.unit, ())
    if unit.casefold().rstrip(".") in own or not own:
        what = "a unit is" if own else "text is"
        return Fault(f"{what} typed behind the number", f"write {written}")
    return Fault(
        f"{shorten(unit, 12)!r} is typed behind the number",
        f"give the value in {column.unit}, as a number only",
    )


def _latin_digits(text: str) -> str:
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
    """Return a cell of a whole-number column; 3.0 is 3, because spreadsheets format it so."""
    value = parse_number(text, column, style)
    if isinstance(value, Fault):
        return value
    if not value.is_integer():
        below = math.floor(value)
        return Fault("this is not a whole number", f"write {below} or {below + 1}")
    return int(value)


def _key(text: str) -> str:
    return re.sub(r"[\s_-]+", "", text).casefold()


def parse_choice(text: str, column: Column) -> str | Fault:
    """Return the choice a cell names; case, spaces, hyphens and underscores do not matter."""
    keys = {_key(c): c for c in column.choices}
    if column.name == "thread" and text in _TRUE:
        return "true"
    key = _key(text)
    if key in keys:
        return keys[key]
    if text.casefold() in _NOTHING and not column.required:
        return Fault("this is not one of the choices", "leave the cell blank for the default")
    parts = [k for k in keys if key and (key in k or k in key)]
    near = parts if len(parts) == 1 else difflib.get_close_matches(key, keys, 1, 0.7)
    return Fault(
        "this is not one of the choices",
        f"write {keys[near[0]]} if that was meant" if near else "choose one of them",
    )


def parse_exposures(text: str) -> str | Fault:
    """Return kinds of water as rain/splashing; case, spaces, hyphens and order are no matter."""
    known = {_key(name): name for name in (DRY, *EXPOSURE_NAMES)}
    names: list[str] = []
    for word in re.split(r"[/+|]", text):
        key = _key(word)
        if key not in known:
            near = difflib.get_close_matches(key, known, 1, 0.6)
            return Fault(
                f"unknown exposure {shorten(word.strip(), 24)!r}",
                f"write {known[near[0]]} if that was meant" if near else "choose from the list",
            )
        if known[key] in names:
            return Fault(f"the exposure {known[key]} is named twice", "name each only once")
        names.append(known[key])
    if DRY in names and len(names) > 1:
        return Fault(f"{DRY} means no water at all", "leave it out, or name nothing else")
    return "/".join(n for n in (DRY, *EXPOSURE_NAMES) if n in names)


_TOKEN: Final = r"[0-9]+(?:[.,][0-9]+)?"
_SIZE: Final = re.compile(rf"({_TOKEN})\s*[xX×]\s*({_TOKEN})")
_THREAD: Final = re.compile(rf"[mM]\s*([0-9]+)(?:\s*[xX×]\s*({_TOKEN}))?")


def parse_size(text: str, family: str | None, style: NumberStyle) -> str | Fault:
    """Return a size as 80x60 or M32x1.5; ``family`` is ``None`` where it is not known."""
    thread = _THREAD.fullmatch(text)
    kind = None if family is None else FAMILIES[family].size
    if thread:
        if kind == "opening":
            return Fault(
                f"a thread size does not fit the {family} family",
                "give width x height as 80x60, or set the family to"
                f" {' or '.join(families_sized('thread'))}",
            )
        return _thread_size(thread.group(1), thread.group(2))
    if kind == "thread":
        number = re.match(r"[^0-9]*([0-9]+)", text)
        known = number is not None and _is_thread(number.group(1))
        return Fault(
            f"a {family} vent needs a thread size",
            f"write M{number.group(1)}x1.5" if number and known else "write it as M32x1.5",
        )
    match = _SIZE.fullmatch(text)
    if match is None:
        numbers = re.findall(_TOKEN, _latin_digits(text))
        two = "x".join(numbers) if len(numbers) == 2 and not text.startswith("-") else "80x60"
        return Fault("this is not a size", f"write it as {two}")
    sides = _tokens(text, match.groups(), style)
    if isinstance(sides, Fault):
        return sides
    for what, side in zip(("width", "height"), sides, strict=True):
        fault = _outside(f"the {what}", side, OPENING_MIN, OPENING_MAX)
        if fault:
            return fault
    return "x".join(decimal(s) for s in sides)


def _is_thread(digits: str) -> bool:
    return f"M{digits}" in ROUND_THREADS


def _thread_size(digits: str, pitch: str | None) -> str | Fault:
    """Return a thread size; its pitch can only be 1.5, so both decimal marks are certain."""
    if not _is_thread(digits):
        by_distance = sorted(ROUND_THREADS, key=lambda t: abs(int(t[1:]) - int(digits)))
        return Fault(
            "this is not a thread size of the family",
            f"the nearest is {by_distance[0]}x1.5",
        )
    if pitch is None:
        return Fault("the pitch of the thread is missing", f"write M{digits}x1.5")
    if float(pitch.replace(",", ".")) != 1.5:
        return Fault("the pitch of the thread must be 1.5 mm", f"write M{digits}x1.5")
    return f"M{digits}x1.5"


def _tokens(text: str, written: Iterable[str], style: NumberStyle) -> tuple[float, ...] | Fault:
    """Return the numbers of a cell that holds several, such as a size.

    Such cells are text to a spreadsheet, which leaves their decimal points alone even where it
    writes commas in numbers. So both marks are read in files that commas do not separate, as
    long as the cell keeps to one and no number could hold a thousands separator.
    """
    tokens = list(written)
    marks = {c for t in tokens for c in t if c in ".,"}
    if len(marks) > 1:
        return Fault("the cell holds decimal points and decimal commas", "use one of them")
    for token in tokens:
        if _grouped(token) and not (style.mark in token and style.certain):
            return _ambiguous(token, style)
        if "," in token and style.comma_separated:
            return _wrong_mark(text, style)
    return tuple(float(t.replace(",", ".")) for t in tokens)


def _outside(what: str, value: float, lowest: Limit, highest: Limit) -> Fault | None:
    if value < lowest.value:
        return Fault(
            f"{what} of {decimal(value)} mm is too small",
            f"use {decimal(lowest.value)} mm or more",
        )
    if value > highest.value:
        return Fault(
            f"{what} of {decimal(value)} mm is too large",
            f"use {decimal(highest.value)} mm or less",
        )
    return None


def parse_gaps(text: str, style: NumberStyle) -> str | Fault:
    """Return the distances between banks as 7.5/3/3."""
    parts = [p.strip() for p in text.split("/")]
    if not all(re.fullmatch(_TOKEN, p) for p in parts):
        numbers = re.findall(r"[0-9]+(?:\.[0-9]+)?", _latin_digits(text))
        if numbers and not text.startswith(("-", "\u2212")):
            return Fault("this is not a list of distances", f"write it as {'/'.join(numbers)}")
        return Fault("this is not a list of distances", "write it as 7.5 or 7.5/3/3")
    gaps = _tokens(text, parts, style)
    if isinstance(gaps, Fault):
        return gaps
    for gap in gaps:
        fault = _outside("a distance", gap, GAP_MIN, BANK_GAP_MAX)
        if fault:
            return fault
    return "/".join(decimal(g) for g in gaps)


def parse_slopes(text: str) -> str | Fault:
    """Return slopes as auto or out-in-out."""
    plain = re.sub(r"\s*-\s*", "-", text.lower())
    if re.fullmatch(SLOPES, plain):
        return plain
    words = re.findall(r"out|in", plain)
    if plain.replace(" ", "") and words and not re.sub(r"out|in|[^a-z]", "", plain):
        return Fault("this is not a list of slopes", f"write it as {'-'.join(words)}")
    return Fault("this is not a list of slopes", "write auto, or out-in-out")
