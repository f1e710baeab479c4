"""From bytes on disk to text: encodings a spreadsheet may have used, and nothing guessed.

Read: UTF-8 with or without byte order mark, UTF-16 with one, and Windows-1252 where no letter
could be another one. Everything else is refused with the way to save the file again.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path
from typing import Final

from vent_family.base.problems import InputError, Problem

MAX_BYTES: Final = 8_000_000
"""Larger files are not catalogues; a hundred thousand rows fit well below this."""

SAVE_AGAIN: Final = "save the sheet again as CSV in the encoding UTF-8"

_SIGNATURES: Final = (
    (b"PK\x03\x04", "a spreadsheet workbook or zip archive that was only renamed"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook that was only renamed"),
    (b"%PDF", "a PDF document"),
    (b"\x1f\x8b", "a compressed file"),
    (b"{\\rtf", "a word processor document"),
)
_MARKUP: Final = ("<!doctype", "<html", "<?xml", "<table")

_QUOTES: Final = "‘’“”„‚–—…•€™"
"""Typographic signs of Windows-1252 below 0xA0 that other code pages have in the same place."""
_AFTER_LETTER: Final = "’”“»«®™©…–—"
"""Signs that may follow a letter directly; others there are letters of another code page."""


def read_text(path: Path) -> str:
    """Return the text of a catalogue file, without byte order mark.

    Raises
    ------
    InputError
        where the file cannot be read as text without guessing
    """
    return catalog_text(read_bytes(path), path.name)


def catalog_text(data: bytes, file: str) -> str:
    """Return the text of a catalogue file's bytes, without byte order mark.

    Raises
    ------
    InputError
        where they cannot be read as the text of a table without guessing
    """
    text = decode(data, file)
    if not text.strip("\ufeff \t\r\n\x0b\x0c\xa0,;"):
        raise _refusal(
            "file.empty", file, "the file is empty", "start it with a line of column names"
        )
    start = text.lstrip()[:200].lower()
    if start.startswith(_MARKUP):
        raise _refusal(
            "file.markup",
            file,
            "the file is a web page or XML, not a table",
            "save the sheet as CSV",
        )
    if start.startswith(("{", "[{")):
        raise _refusal(
            "file.markup", file, "the file is JSON, not a table", "save the sheet as CSV"
        )
    return text


def decode(data: bytes, file: str) -> str:
    """Return bytes as text.

    Raises
    ------
    InputError
        for binary or ambiguous content
    """
    for signature, what in _SIGNATURES:
        if data.startswith(signature):
            raise _refusal(
                "file.binary",
                file,
                f"the file is {what}, not a text file",
                "open it and save the sheet as CSV",
            )
    if data.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        raise _refusal("file.encoding", file, "the file is encoded in UTF-32", SAVE_AGAIN)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            text = data.decode("utf-16")
        except UnicodeDecodeError:
            raise _refusal(
                "file.encoding", file, "the file says UTF-16 but is damaged", SAVE_AGAIN
            ) from None
    elif b"\x00" in data:
        code, message = _zeros(data)
        raise _refusal(code, file, message, SAVE_AGAIN)
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = _windows_1252(data, file)
    if "\x00" in text:
        raise _refusal(
            "file.binary",
            file,
            "the file holds NUL characters, so it is not plain text",
            SAVE_AGAIN,
        )
    return text


def is_double_encoded(text: str) -> bool:
    """Tell whether UTF-8 bytes were once read as Windows-1252.

    Examples
    --------
    >>> is_double_encoded("LÃ¼fter"), is_double_encoded("Lüfter")
    (True, False)
    """
    if text.isascii():
        return False
    try:
        text.encode("cp1252").decode("utf-8")
    except UnicodeError:
        return False
    return True


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a catalogue file.

    Raises
    ------
    InputError
        where there is no such file, it cannot be opened, is empty or is too large
    """
    try:
        if path.is_dir():
            raise _refusal(
                "file.folder",
                path.name or str(path),
                "this is a folder, not a file",
                "name the file",
            )
        if not path.exists():
            raise _refusal(
                "file.missing",
                path.name,
                "the file does not exist",
                "check the name and the folder",
            )
        if not path.is_file():
            raise _refusal(
                "file.special", path.name, "this is a device or pipe, not a file", "name a CSV file"
            )
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except InputError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not a valid file name"
        raise _refusal(
            "file.unopened",
            path.name.replace("\x00", ""),
            f"the file cannot be opened ({reason})",
            "check the name and the access rights",
        ) from None
    if len(data) > MAX_BYTES:
        raise _refusal(
            "file.large",
            path.name,
            f"the file is larger than {MAX_BYTES // 1_000_000} MB, too large for a catalogue",
            "check whether it is the right file",
        )
    if not data:
        raise _refusal(
            "file.empty", path.name, "the file is empty", "start it with a line of column names"
        )
    return data


def _zeros(data: bytes) -> tuple[str, str]:
    """Return code and message of a file with zero bytes that names no encoding."""
    head = data[:400]
    zeros = max(head[0::2].count(0), head[1::2].count(0))
    if zeros > len(head) // 4:
        code, message = "file.encoding", "the file looks like UTF-16 without a byte order mark"
    else:
        code, message = "file.binary", "the file holds NUL bytes, so it is binary or damaged"
    return code, message


def _windows_1252(data: bytes, file: str) -> str:
    """Decode as Windows-1252 only where the neighbouring code pages would read the same.

    A byte counts as certain when the Western (1252) and the Central European (1250) code page
    agree on it, as they do for the German letters, and when it does not stand where only a letter
    of a DOS or Macintosh code page makes sense. Byte 0xE1 is left out: it is the sharp s of
    the DOS code pages, which spreadsheets still offer on saving.
    """
    western = data.decode("cp1252", errors="replace")
    for at, byte in enumerate(data):
        if byte < 0x80:
            continue
        sign = western[at]
        before = western[at - 1] if at else " "
        after = western[at + 1] if at + 1 < len(western) else " "
        if byte < 0xA0:
            certain = sign in _QUOTES and not (before.isalpha() and after.isalpha() and sign != "’")
        elif bytes([byte]).decode("cp1250", errors="replace") != sign or byte == 0xE1:
            certain = False
        elif sign.isalpha():
            certain = _mostly_ascii(western, at)
        else:
            certain = not before.isalpha() or sign in _AFTER_LETTER
            if sign == "\xa0":
                certain = not (before.isalpha() and after.isalpha())
        if not certain:
            line = data.count(b"\n", 0, at) + 1
            raise InputError(
                [
                    Problem(
                        "file.encoding",
                        "the file is not UTF-8, and a letter in it can be read in more than one "
                        f"way (byte 0x{byte:02X} in line {line})",
                        file=file,
                        value=_word(western, at),
                        suggestion=SAVE_AGAIN,
                    )
                ]
            )
    return western


def _word(text: str, at: int) -> str:
    start = end = at
    while start and text[start - 1].isalpha() and at - start < 30:
        start -= 1
    while end + 1 < len(text) and text[end + 1].isalpha() and end - at < 30:
        end += 1
    return text[start : end + 1]


def _mostly_ascii(text: str, at: int) -> bool:
    """Tell whether the word around a letter is a Latin one: not mainly accented letters."""
    word = _word(text, at)
    return 2 * sum(c.isascii() for c in word) >= len(word)


def invisible_name(text: str) -> str:
    """Return the name of the first character in a cell that nobody can see, ``""`` if none.

    Line feeds are left to the caller.
    """
    for sign in text:
        if sign == "\ufffd":
            return "damaged letter U+FFFD"
        if sign != "\n" and unicodedata.category(sign) in ("Cc", "Cf", "Co", "Cs", "Zl", "Zp"):
            name = unicodedata.name(sign, "control character").lower()
            return f"{name} U+{ord(sign):04X}"
    return ""


def _refusal(code: str, file: str, message: str, suggestion: str) -> InputError:
    return InputError([Problem(code, message, file=file, suggestion=suggestion)])
