"""From the text of one cell to its value, or to the reason why not.

Nothing is guessed: a cell that a spreadsheet may have changed, or that can be read in two ways,
is a :class:`Fault` with a way out.
"""

from __future__ import annotations

import difflib
import re
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
from vent_family.catalog.parse.numbers import (
    NOTHING,
    NUMBER,
    Fault,
    NumberStyle,
    latin_digits,
    parse_tokens,
)
from vent_family.catalog.parse.scan import ERROR_VALUE, shorten
from vent_family.catalog.renamed import new_cell

TRUE_WORDS: Final = ("TRUE", "WAHR", "VRAI", "VERDADERO", "VERDADEIRO", "VERO", "WAAR")
_FALSE: Final = ("FALSE", "FALSCH", "FAUX", "FALSO", "ONWAAR")
"""Truth values as spreadsheets of several languages show them; from memory."""

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
                "table.cell.hashes",
                "the column was too narrow, so the spreadsheet saved hash marks, not the value",
                "widen the column in the spreadsheet and save the file again",
            )
        return Fault(
            "table.cell.error",
            "the cell holds the error value of a spreadsheet formula",
            "mend the formula, or type the value itself",
        )
    if text.startswith("="):
        return Fault(
            "table.cell.formula",
            "the cell holds a formula, not a value",
            "save the values, not the formulas",
        )
    if column.name == "description":
        return None
    if text.startswith(("'", "\u2019")):
        return Fault(
            "table.cell.apostrophe",
            "the cell begins with an apostrophe",
            f"write {text[1:].strip()}",
        )
    if text in (*TRUE_WORDS, *_FALSE):
        return Fault(
            "table.cell.truth", "the spreadsheet turned the cell into a truth value", _RETYPE
        )
    if _is_date(text, column):
        return Fault(
            "table.cell.date",
            "the cell reads as a date or a time, which spreadsheets make of some values",
            _RETYPE,
        )
    pattern = _SCIENTIFIC if column.kind in ("number", "integer") else _NAME_SCIENTIFIC
    if pattern.fullmatch(text):
        return Fault(
            "table.cell.scientific",
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


def choice_key(text: str) -> str:
    """Return a word with its case, spaces, hyphens and underscores left out."""
    return re.sub(r"[\s_-]+", "", text).casefold()


def parse_choice(text: str, column: Column) -> str | Fault:
    """Return the choice a cell names; case, spaces, hyphens and underscores do not matter.

    Examples
    --------
    >>> from vent_family.catalog.columns import COLUMNS
    >>> parse_choice("Light Grey", COLUMNS["colour"])
    'light_grey'
    >>> parse_choice("foldet", COLUMNS["slat_form"]).suggestion
    'write folded if that was meant'
    """
    keys = {choice_key(c): c for c in column.choices}
    key = choice_key(text)
    if key in keys:
        return keys[key]
    now = new_cell(column.name, key)
    if now:
        return Fault("catalog.cell.renamed", f"{key} is called {now} now", f"write {now}")
    if text.casefold() in NOTHING and not column.required:
        return Fault(
            "catalog.cell.choice",
            "this is not one of the choices",
            "leave the cell blank for the default",
        )
    parts = [k for k in keys if key and (key in k or k in key)]
    near = parts if len(parts) == 1 else difflib.get_close_matches(key, keys, 1, 0.7)
    return Fault(
        "catalog.cell.choice",
        "this is not one of the choices",
        f"write {keys[near[0]]} if that was meant" if near else "choose one of them",
    )


def parse_exposures(text: str) -> str | Fault:
    """Return kinds of water as rain/splashing; case, spaces, hyphens and order are no matter.

    Examples
    --------
    >>> parse_exposures("Hose-down + rain"), parse_exposures("rain/splashin").suggestion
    ('rain/hose_down', 'write rain/splashing if that was meant')
    """
    known = {choice_key(name): name for name in (DRY, *EXPOSURE_NAMES)}
    names: list[str] = []
    words = re.split(r"[/+|]", text)
    for word in words:
        key = choice_key(word)
        if key not in known:
            near = difflib.get_close_matches(key, known, 1, 0.6)
            # The whole cell as it should read, or following the advice would lose the other names.
            others = [known.get(choice_key(w), w.strip()) for w in words]
            meant = "/".join(known[near[0]] if w == word.strip() else w for w in others if near)
            return Fault(
                "water.exposure.unknown",
                f"unknown exposure {shorten(word.strip(), 24)!r}",
                f"write {meant} if that was meant" if near else "choose from the list",
            )
        if known[key] in names:
            return Fault(
                "water.exposure.repeated",
                f"the exposure {known[key]} is named twice",
                "name each only once",
            )
        names.append(known[key])
    if DRY in names and len(names) > 1:
        return Fault(
            "water.exposure.dry",
            f"{DRY} means no water at all",
            "leave it out, or name nothing else",
        )
    return "/".join(n for n in (DRY, *EXPOSURE_NAMES) if n in names)


_SIZE: Final = re.compile(rf"({NUMBER})\s*[xX×]\s*({NUMBER})")
_THREAD: Final = re.compile(rf"[mM]\s*([0-9]+)(?:\s*[xX×]\s*({NUMBER}))?")


def parse_size(text: str, family: str | None, style: NumberStyle) -> str | Fault:
    """Return a size as 80x60 or M32x1.5; ``family`` is ``None`` where it is not known.

    Examples
    --------
    >>> style = NumberStyle(".", certain=True, comma_separated=True)
    >>> parse_size("80.50 X 60", "rectangular", style), parse_size("m32 x 1.5", "round", style)
    ('80.5x60', 'M32x1.5')
    >>> parse_size("M33x1.5", "round", style).suggestion
    'the nearest is M32x1.5'
    """
    thread = _THREAD.fullmatch(text)
    kind = None if family is None else FAMILIES[family].size
    if thread:
        if kind == "opening":
            return Fault(
                "catalog.size.opening",
                f"a thread size does not fit the {family} family",
                "give width x height as 80x60, or set the family to"
                f" {' or '.join(families_sized('thread'))}",
            )
        return _thread_size(thread.group(1), thread.group(2))
    if kind == "thread":
        number = re.match(r"[^0-9]*([0-9]+)", text)
        known = number is not None and _is_thread(number.group(1))
        return Fault(
            "catalog.size.thread",
            f"a {family} vent needs a thread size",
            f"write M{number.group(1)}x1.5 if that was meant"
            if number and known
            else "give the thread of the hole, as M32x1.5 is one",
        )
    match = _SIZE.fullmatch(text)
    if match is None:
        numbers = re.findall(NUMBER, latin_digits(text))
        if len(numbers) == 2 and not text.startswith("-"):
            return Fault(
                "catalog.size.unread", "this is not a size", f"write it as {'x'.join(numbers)}"
            )
        return Fault(
            "catalog.size.unread", "this is not a size", "give width x height, as 80x60 is one"
        )
    sides = parse_tokens(text, match.groups(), style)
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
            "catalog.thread.unknown",
            "this is not a thread size of the family",
            f"the nearest is {by_distance[0]}x1.5",
        )
    if pitch is None:
        return Fault(
            "catalog.thread.pitch", "the pitch of the thread is missing", f"write M{digits}x1.5"
        )
    if float(pitch.replace(",", ".")) != 1.5:
        return Fault(
            "catalog.thread.pitch", "the pitch of the thread must be 1.5 mm", f"write M{digits}x1.5"
        )
    return f"M{digits}x1.5"


def _outside(what: str, value: float, lowest: Limit, highest: Limit) -> Fault | None:
    if value < lowest.value:
        return Fault(
            "catalog.cell.small",
            f"{what} of {decimal(value)} mm is too small",
            f"use {decimal(lowest.value)} mm or more",
        )
    if value > highest.value:
        return Fault(
            "catalog.cell.large",
            f"{what} of {decimal(value)} mm is too large",
            f"use {decimal(highest.value)} mm or less",
        )
    return None


def parse_gaps(text: str, style: NumberStyle) -> str | Fault:
    """Return the distances between banks (mm) as 7.5/3/3.

    Examples
    --------
    >>> style = NumberStyle(".", certain=True, comma_separated=True)
    >>> parse_gaps("7.50 / 3.0/3", style)
    '7.5/3/3'
    >>> parse_gaps("60", style).suggestion
    'use 40 mm or less'
    """
    parts = [p.strip() for p in text.split("/")]
    if not all(re.fullmatch(NUMBER, p) for p in parts):
        numbers = re.findall(r"[0-9]+(?:\.[0-9]+)?", latin_digits(text))
        if numbers and not text.startswith(("-", "\u2212")):
            return Fault(
                "catalog.cell.distances",
                "this is not a list of distances",
                f"write it as {'/'.join(numbers)}",
            )
        return Fault(
            "catalog.cell.distances",
            "this is not a list of distances",
            "write it as 7.5 or 7.5/3/3",
        )
    gaps = parse_tokens(text, parts, style)
    if isinstance(gaps, Fault):
        return gaps
    for gap in gaps:
        fault = _outside("a distance", gap, GAP_MIN, BANK_GAP_MAX)
        if fault:
            return fault
    return "/".join(decimal(g) for g in gaps)


def parse_slopes(text: str) -> str | Fault:
    """Return slopes as auto or out-in-out.

    Examples
    --------
    >>> parse_slopes("Out - In"), parse_slopes("out in out").suggestion
    ('out-in', 'write it as out-in-out')
    """
    plain = re.sub(r"\s*-\s*", "-", text.lower())
    if re.fullmatch(SLOPES, plain):
        return plain
    words = re.findall(r"out|in", plain)
    if plain.replace(" ", "") and words and not re.sub(r"out|in|[^a-z]", "", plain):
        return Fault(
            "catalog.cell.slopes", "this is not a list of slopes", f"write it as {'-'.join(words)}"
        )
    return Fault("catalog.cell.slopes", "this is not a list of slopes", "write auto, or out-in-out")
