"""The lock file of a project: which releases of which parts it was drawn with.

TOML, because of the line: every part has one of its own that stands for itself, so that a change of
one part is a change of one line, and two people who each add a part do not meet at a comma, as they
would in JSON. Lines are sorted by part number.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import PART_NUMBER, REVISION
from vent_family.release.pinned.pin import Pin

VERSION: Final = "1.0"
_HEAD: Final = (
    "# Releases of vents that this project is drawn with, a line each: written by vent-family, to"
    " be kept\n# under version control. Take a line out to let a part go; do not edit one.\n"
)
_VERSION: Final = "schema_version"
_PARTS: Final = "parts"
_FIELDS: Final = ("revision", "issue", "sha256")
_HASH: Final = re.compile(r"[0-9a-f]{64}")
_CONFLICT: Final = re.compile(r"^(?:<{7}|={7}|>{7}|\|{7})(?:\s|$)", re.MULTILINE)
_BACK: Final = "take the file back from version control, or lock the parts again"


def pins_text(pins: Iterable[Pin]) -> str:
    """Return the text of a lock file.

    Examples
    --------
    >>> print(pins_text([Pin("V-40", "B", 2, 64 * "0")]).splitlines()[-1][:52])
    "V-40" = { revision = "B", issue = 2, sha256 = "0000
    """
    lines = [
        f'"{pin.part_number}" = {{ revision = "{pin.revision}", issue = {pin.issue},'
        f' sha256 = "{pin.sha256}" }}\n'
        for pin in sorted(pins, key=lambda p: (p.part_number.casefold(), p.part_number))
    ]
    return f'{_HEAD}{_VERSION} = "{VERSION}"\n\n[{_PARTS}]\n{"".join(lines)}'


def write_pins(path: Path, pins: Iterable[Pin]) -> None:
    """Write a lock file, whole or not at all.

    Raises
    ------
    OSError
        if it cannot be written
    """
    write_bytes(path, pins_text(pins).encode("utf-8"))


def read_pins(path: Path) -> dict[str, Pin]:
    """Return the pins of a lock file by part number, in the file's order.

    Raises
    ------
    InputError
        with every fault of the file
    """
    try:
        text = path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        problem = Problem(
            "file.missing",
            "there is no lock file of this name",
            file=str(path),
            suggestion="write one with Library.lock",
        )
        raise InputError([problem]) from None
    except OSError as error:
        message = f"the lock file cannot be read: {error.strerror or error}"
        raise InputError([Problem("file.unopened", message, file=str(path))]) from None
    except UnicodeDecodeError:
        raise InputError([_unread(path, "it is no UTF-8 text")]) from None
    return parse_pins(text, path)


def pinned_folders(paths: Iterable[Path]) -> tuple[str, ...]:
    """Return the folders of all releases that lock files name, by their paths within the library.

    Raises
    ------
    InputError
        with every fault of the files
    """
    folders: list[str] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            folders += [pin.folder for pin in read_pins(path).values()]
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return tuple(folders)


def parse_pins(text: str, path: Path = Path("vents.lock")) -> dict[str, Pin]:
    """Return the pins that a text holds; ``path`` stands in messages.

    Raises
    ------
    InputError
        with every fault of the text
    """
    merging = _CONFLICT.search(text)
    if merging:
        raise InputError(
            [
                Problem(
                    "pins.file.merge",
                    "two versions of the lock file were merged and the merge was not finished",
                    file=str(path),
                    row=text.count("\n", 0, merging.start()) + 1,
                    suggestion="keep one line of each part and remove the marks between them",
                )
            ]
        )
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError([_unread(path, str(error))]) from None
    version = found.get(_VERSION)
    if version != VERSION:
        why = f"it states {_VERSION} {version!r}, and only {VERSION!r} is known"
        raise InputError([_unread(path, why)])
    parts = found.get(_PARTS)
    if not isinstance(parts, dict) or set(found) != {_VERSION, _PARTS}:
        raise InputError([_unread(path, f"it must hold {_VERSION} and [{_PARTS}], nothing else")])
    problems: list[Problem] = []
    pins = {}
    for number, stated in parts.items():
        why = _fault(number, stated)
        if why:
            problems.append(_line(path, number, why))
        else:
            pins[number] = Pin(number, **stated)
    if problems:
        raise InputError(problems)
    return pins


def _fault(number: str, stated: Any) -> str:
    """Return what is wrong with a pin's line; empty if nothing is."""
    if not re.fullmatch(PART_NUMBER, number):
        return "this is no part number"
    if not isinstance(stated, Mapping) or set(stated) != set(_FIELDS):
        return f"the line must state {', '.join(_FIELDS)}, nothing else"
    revision, issue, digits = (stated[name] for name in _FIELDS)
    if not (isinstance(revision, str) and re.fullmatch(REVISION, revision)):
        return f"{revision!r} is no revision"
    if isinstance(issue, bool) or not isinstance(issue, int) or issue < 1:
        return f"{issue!r} is no issue: a whole number from 1 on is wanted"
    if not (isinstance(digits, str) and _HASH.fullmatch(digits)):
        return "sha256 must have 64 hexadecimal digits"
    return ""


def _line(path: Path, number: str, why: str) -> Problem:
    return Problem("pins.line.unread", why, file=str(path), part_number=number, suggestion=_BACK)


def _unread(path: Path, why: str) -> Problem:
    return Problem(
        "pins.file.unread", f"this is no lock file: {why}", file=str(path), suggestion=_BACK
    )
