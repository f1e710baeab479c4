"""Columns of one's own, ``x_…``: text that is carried along and decides nothing.

A name that only lacks the ``x_`` to be a column of the catalogue is refused: whoever writes
``x_pitch_mm`` would wait for a pitch in vain.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from typing import Final

from vent_family.catalog.columns import COLUMNS, loose
from vent_family.catalog.model import TEXT_MOST
from vent_family.catalog.parse.cells import damage
from vent_family.catalog.parse.numbers import Fault
from vent_family.catalog.parse.text import is_double_encoded
from vent_family.catalog.renamed import COLUMNS_WITHDRAWN, new_column

PREFIX: Final = "x_"
LONGEST_NAME: Final = 40
ALLOWED_NAME: Final = (
    f"{PREFIX} and then small letters, digits and underscores, {LONGEST_NAME} characters at most"
)
ALLOWED_TEXT: Final = f"one line of up to {TEXT_MOST} characters"
_NAME: Final = re.compile(rf"{PREFIX}[a-z0-9](?:[a-z0-9_]{{0,{LONGEST_NAME - 4}}}[a-z0-9])?")
_NEAR: Final = 0.85
"""From this likeness on a name is taken for a misspelt column of the catalogue."""
_TEXT: Final = COLUMNS["description"]
"""The column that holds plain text: cells of one's own are judged as its are."""


def is_own(name: str) -> bool:
    """Return whether a column, named as in a file, is meant to be one's own.

    Examples
    --------
    >>> is_own("x_bin"), is_own("X Bin"), is_own("bin")
    (True, True, False)
    """
    return loose(name).startswith(PREFIX)


def name_refusal(name: str) -> Fault | None:
    """Return why a column of one's own cannot have a name, ``None`` where it can.

    Examples
    --------
    >>> name_refusal("x_bin_location") is None
    True
    >>> name_refusal("x_pitch_mm").message, name_refusal("x_Lüfter").suggestion
    ('x_pitch_mm decides nothing; pitch_mm does', 'write x_lufter')
    """
    plain = loose(name)
    rest = plain.removeprefix(PREFIX)
    real = new_column(rest) or rest
    if real not in COLUMNS and rest not in COLUMNS_WITHDRAWN:
        near = difflib.get_close_matches(rest, COLUMNS, 1, _NEAR)
        real = near[0] if near else ""
    if real:
        message = f"{plain} decides nothing"
        if rest in COLUMNS_WITHDRAWN:
            return Fault(
                "catalog.column.near",
                f"{message}, and {rest} is read no longer",
                COLUMNS_WITHDRAWN[rest][1],
            )
        return Fault(
            "catalog.column.near",
            f"{message}; {real} does",
            f"rename it to {real}, or give it a name that is not so like it",
        )
    if _NAME.fullmatch(plain):
        return None
    offered = own_name(rest)
    return Fault(
        "catalog.column.own",
        "a column of one's own cannot have this name",
        f"write {offered}" if offered else "choose another name",
    )


def own_name(name: str) -> str:
    """Return a name for a column of one's own that is made of another, ``""`` if none is.

    Examples
    --------
    >>> own_name("Bin / shelf"), own_name("#"), own_name("pitch mm")
    ('x_bin_shelf', '', '')
    """
    plain = unicodedata.normalize("NFKD", loose(name)).encode("ascii", "ignore").decode()
    rest = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[: LONGEST_NAME - len(PREFIX)].rstrip("_")
    offered = PREFIX + rest
    if not rest or not _NAME.fullmatch(offered):
        return ""
    return offered if not difflib.get_close_matches(rest, COLUMNS, 1, _NEAR) else ""


def own_text(plain: str) -> str | Fault:
    """Return the text of a cell of one's own; what cannot be seen is refused before.

    Examples
    --------
    >>> own_text("Shelf 4"), own_text("=B2*2").message
    ('Shelf 4', 'the cell holds a formula, not a value')
    """
    fault = damage(plain, _TEXT)
    if fault is not None:
        return fault
    if is_double_encoded(plain):
        return Fault(
            "catalog.cell.encoding",
            "letters with accents were saved in a wrong encoding",
            "type the cell again and save the sheet as CSV in the encoding UTF-8",
        )
    if len(plain) > TEXT_MOST:
        return Fault(
            "catalog.cell.long", f"the text is too long: {len(plain)} characters", "shorten it"
        )
    return plain
