"""A catalogue's text with the place of every cell, so that some change and every other byte stays.

Separators, quotation marks, comments, line ends, spaces, encoding and byte order mark are not
written anew: pieces of the text are exchanged where they stand.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.columns import loose
from vent_family.catalog.parse.scan import Record, clean
from vent_family.catalog.parse.table import frame
from vent_family.catalog.parse.text import decode

_ENCODINGS: Final = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"", "utf-8"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
    (b"", "cp1252"),
)
"""Byte order marks and encodings that :func:`decode` reads."""
_LINE_END: Final = re.compile(r"\r\n|\r|\n")

Span = tuple[int, int]
"""Where a piece of the plain text begins, and before which place it ends."""


@dataclass(frozen=True, slots=True)
class Edit:
    """Text that takes the place of a piece of the plain text, which may be an empty one."""

    span: Span
    new: str


@dataclass(frozen=True, slots=True)
class KeptText:
    """The text of a catalogue, and where its rows lie.

    ``text`` is as in the file, ``plain`` has plain line ends; ``origin`` holds for every place of
    the plain text, and its end, the place in ``text``. ``body`` are the rows below the line of
    column names, broken ones included; ``names`` the column names in file order, made uniform.
    """

    file: str
    text: str
    plain: str
    separator: str
    header: Record
    body: tuple[Record, ...]
    names: tuple[str, ...]
    origin: Sequence[int]
    mark: bytes
    encoding: str

    def spans(self, record: Record) -> list[Span]:
        """Return where each cell of a sound row lies, quotation marks included."""
        return _spans(record, self.separator)

    def cell(self, span: Span) -> str:
        """Return a cell without quotation marks and outer spaces; marks inside stay doubled."""
        return clean(bare(self.plain[slice(*span)]))

    def line_end(self, record: Record) -> str:
        """Return how a row's line ends, that of the line before where nothing follows the row."""
        end = record.at + len(record.text)
        if end < len(self.plain):
            return self.text[self.origin[end] : self.origin[end + 1]]
        before = _LINE_END.findall(self.text[: self.origin[record.at]])
        return str(before[-1]) if before else "\n"

    def edited(self, edits: Iterable[Edit]) -> bytes:
        """Return the bytes of the file with edits made; those of one place in their order.

        Raises
        ------
        InputError
            where the file's encoding has no place for a letter, or not one that is read for certain
        """
        pieces, at = [], 0
        for edit in sorted(edits, key=lambda e: e.span):
            start, end = (self.origin[place] for place in edit.span)
            pieces += [self.text[at:start], edit.new]
            at = end
        text = "".join([*pieces, self.text[at:]])
        try:
            data = self.mark + text.encode(self.encoding)
            if decode(data, self.file) == text:
                return data
        except (UnicodeEncodeError, InputError):
            pass
        raise InputError(
            [
                Problem(
                    "catalog.write.letters",
                    "the file is not UTF-8, and a letter of the new text cannot be written into it"
                    " so that it is read back for certain",
                    self.file,
                    suggestion="save the file as UTF-8 first, or write the text without that"
                    " letter",
                )
            ]
        )


def kept_text(data: bytes, file: str) -> KeptText:
    """Return the text of a catalogue's bytes with the places of its rows.

    Raises
    ------
    InputError
        where the file cannot be read as a table, or not be written back as it is
    """
    text = decode(data, file)
    mark, encoding = _encoding(data, text, file)
    plain, separator, records, origin = frame(text, file)
    header, *body = records
    names = tuple(loose(clean(bare(plain[slice(*span)]))) for span in _spans(header, separator))
    return KeptText(
        file, text, plain, separator, header, tuple(body), names, origin, mark, encoding
    )


def bare(cell: str) -> str:
    """Return a cell without the quotation marks around it.

    Examples
    --------
    >>> bare('"a, b"'), bare("a")
    ('a, b', 'a')
    """
    return cell[1:-1] if is_quoted(cell) else cell


def is_quoted(cell: str) -> bool:
    """Return whether a cell stands in quotation marks."""
    return len(cell) > 1 and cell.startswith('"') and cell.endswith('"')


def _spans(record: Record, separator: str) -> list[Span]:
    cell = re.compile(rf'(?:"(?:[^"]|"")*"|[^"{re.escape(separator)}]*)')
    spans, start = [], 0
    while True:
        match = cell.match(record.text, start)
        assert match is not None
        spans.append((record.at + start, record.at + match.end()))
        if match.end() >= len(record.text):
            return spans
        start = match.end() + 1


def _encoding(data: bytes, text: str, file: str) -> tuple[bytes, str]:
    """Return byte order mark and encoding under which a text is these very bytes."""
    for mark, encoding in _ENCODINGS:
        try:
            if mark + text.encode(encoding) == data:
                return mark, encoding
        except UnicodeEncodeError:
            continue
    raise InputError(
        [
            Problem(
                "file.unwritable",
                "the file cannot be written back as it is",
                file,
                suggestion="save it as UTF-8",
            )
        ]
    )
