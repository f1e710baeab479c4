"""Find the rows of a delimited text: where each begins and ends, and what breaks its quoting.

Framing is done here because a CSV reader that drops comments and blank lines also loses the row
numbers a person sees in the spreadsheet, and because one that pads or cuts uneven rows shifts
values silently.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from vent_family.base.problems import printable

SEPARATORS: Final = {",": "commas", ";": "semicolons", "\t": "tabs"}

ERROR_VALUE: Final = re.compile(
    r"#{2,}|#(?:REF|NAME|VALUE|DIV/0|NULL|NUM|SPILL|CALC|BEZUG|WERT|ZAHL|VALEUR|NOM|NOMBRE|VALOR)"
    r"[!?]|#N/A|#NV|#N/D|Err:[0-9]{3}",
    re.IGNORECASE,
)
"""What spreadsheets write for a failed formula or a column too narrow, some languages."""

_QUOTED: Final = re.compile(r'"(?:[^"]++|"")*+"')
_SPACE: Final = " \t\xa0\u202f\u3000"


@dataclass(frozen=True, slots=True)
class Record:
    """One spreadsheet row as it stands in the file; ``fault`` is empty where it is sound.

    ``at`` is the place in the text where it begins.
    """

    row_number: int
    text: str
    cells: int
    fault: str = ""
    cut_off: bool = False
    at: int = 0


def scan(text: str, separator: str) -> Iterator[Record]:
    """Yield the rows of a text with LF line ends, without comments and blank lines.

    Both are counted, so numbers are those of the spreadsheet, where a quoted cell of several lines
    is one row. A row with broken quoting ends at its line's end, so the rows after it are read.
    """
    unquoted = re.compile(rf'[^"\n{re.escape(separator)}]*+')
    at, row_number = 0, 0
    while at < len(text):
        row_number += 1
        end = text.find("\n", at)
        line_end = len(text) if end < 0 else end
        line = text[at:line_end]
        after, cells, fault = line_end, line.count(separator) + 1, ""
        # An unquoted comment ends with its line whatever quotation marks it holds, so that one
        # never closed cannot swallow the rows below.
        if '"' in line and (line.lstrip().startswith('"') or not _is_comment(line, separator)):
            after, cells, fault = _frame(text, at, line_end, separator, unquoted)
        record, start = text[at:after], at
        at = after + 1
        if not fault and _is_blank(record, separator):
            continue
        if not fault and _is_comment(record, separator):
            below = record.split("\n")[1:]
            if all(x.rstrip(_SPACE + separator).count(separator) < 3 for x in below):
                continue
            fault = "a comment in quotation marks runs on over the rows below it"
        yield Record(row_number, record, cells, fault, after == len(text), start)


def _frame(
    text: str, at: int, line_end: int, separator: str, unquoted: re.Pattern[str]
) -> tuple[int, int, str]:
    """Return the end of a row with quoted cells, its number of cells, and its fault if any."""
    cells = 0
    while True:
        quoted = text.startswith('"', at)
        if quoted:
            match = _QUOTED.match(text, at)
            if match is None:
                return line_end, 0, "a quotation mark opens a cell and never closes"
            at = match.end()
        else:
            match = unquoted.match(text, at)
            assert match is not None
            at = match.end()
        cells += 1
        if at == len(text) or text[at] == "\n":
            return at, cells, ""
        if text[at] != separator:
            if quoted:
                return line_end, 0, "a quoted cell goes on after its closing quotation mark"
            return line_end, 0, "a quotation mark stands inside a cell that is not quoted"
        at += 1


def _is_blank(record: str, separator: str) -> bool:
    return not record.replace('""', "").strip(_SPACE + separator)


def _is_comment(record: str, separator: str) -> bool:
    start = record.lstrip(_SPACE.replace(separator, ""))
    if start.startswith('"'):
        match = _QUOTED.match(start)
        if match is None:
            return False
        first, rest = match.group()[1:-1].lstrip(_SPACE), start[match.end() :]
    else:
        first, _, rest = start.partition(separator)
    if not first.startswith("#"):
        return False
    # "#REF!" or "####" in the first cell of a filled row is damage, not a comment: a row must
    # not vanish because its part number did.
    filled = not _is_blank(rest, separator)
    return not (filled and ERROR_VALUE.fullmatch(first.strip(_SPACE)))


def cells_of(record: Record, separator: str) -> list[str]:
    """Return the cells of a sound row, quotation marks taken off, outer spaces removed."""
    text = record.text
    if '"' not in text:
        return [clean(c) for c in text.split(separator)]
    found, at = [], 0
    while True:
        match = _QUOTED.match(text, at)
        if match is not None:
            found.append(clean(match.group()[1:-1].replace('""', '"')))
            at = match.end()
        else:
            end = text.find(separator, at)
            end = len(text) if end < 0 else end
            found.append(clean(text[at:end]))
            at = end
        if at == len(text):
            return found
        at += 1


def split(text: str, separator: str) -> list[str]:
    """Return the cells of one row for messages and headers, outer spaces removed."""
    try:
        rows = list(csv.reader([text], delimiter=separator))
    except csv.Error:
        return [text]
    return [clean(c) for c in rows[0]] if rows else []


def clean(cell: str) -> str:
    """Return a cell without the spaces and line ends around it."""
    return cell.strip(_SPACE + "\n")


def row_list(rows: Sequence[int], without: int = 0) -> str:
    """Return row numbers in words, the first few of many; ``without`` leaves one out.

    Examples
    --------
    >>> row_list([4]), row_list([4, 5, 9], without=5), row_list(range(2, 12))
    ('row 4', 'rows 4, 9', 'rows 2, 3, 4, 5, 6 and 5 more')
    """
    some = [r for r in rows[:6] if r != without][:5]
    rest = len(rows) - bool(without) - len(some)
    text = ("row " if len(some) + rest == 1 else "rows ") + ", ".join(str(r) for r in some)
    return text + (f" and {rest} more" if rest else "")


def letters(index: int) -> str:
    """Return a column's letters in the spreadsheet.

    Examples
    --------
    >>> letters(0), letters(25), letters(26), letters(701), letters(702)
    ('A', 'Z', 'AA', 'ZZ', 'AAA')
    """
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(65 + rest) + text
    return text


def cut(text: str, length: int = 60) -> str:
    """Return text of limited length; for values, which messages show in quotation marks.

    Examples
    --------
    >>> cut("a long description", 10)
    'a long ...'
    """
    return text if len(text) <= length else text[: length - 3] + "..."


def shorten(text: str, length: int = 60) -> str:
    """Return text fit for a message: of limited length, unseen characters made visible.

    Examples
    --------
    >>> shorten("7.5" + chr(0x200B) + "mm", 20)
    '7.5\\\\u200bmm'
    """
    return printable(cut(text, length))
