"""What rows bring besides their columns: a fan's file, another row, and columns of one's own.

Only read here, not understood: a curve is made of the text on the air side. All stand in the
fingerprint of the row, since another fan or another vent on the other side is another part record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Final

from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.parse.numbers import Fault
from vent_family.catalog.parse.text import decode, read_text

_SUFFIX: Final = ".csv"


@dataclass(frozen=True, slots=True)
class Attached:
    """What a row names: the text of its fan's file, and the row of the vents opposite.

    ``own`` are the filled cells of the writer's own columns, sorted by name: they decide nothing.
    """

    fan_text: str = ""
    opposite: CatalogRow | None = None
    own: tuple[tuple[str, str], ...] = ()


NOTHING_ATTACHED: Final = Attached()


@lru_cache(maxsize=1)
def packaged_fans() -> Mapping[str, str]:
    """Return the texts of the fan curves that come with the package, by name.

    Examples
    --------
    >>> sorted(packaged_fans())
    ['ozone-room-blower', 'pump-hall-120', 'tank-hall-92']
    """
    folder = files("vent_family") / "fans"
    return {
        entry.name.removesuffix(_SUFFIX): decode(entry.read_bytes(), entry.name)
        for entry in sorted(folder.iterdir(), key=lambda e: e.name)
        if entry.name.endswith(_SUFFIX)
    }


def attached(
    row: CatalogRow, rows: Sequence[CatalogRow], folder: Path | None
) -> tuple[Attached, dict[str, Fault]]:
    """Return what a row names, or by column why it cannot be had.

    Parameters
    ----------
    row
        the row
    rows
        the good rows of the catalogue
    folder
        where the catalogue lies; ``None`` for one that is no file

    Examples
    --------
    >>> row = CatalogRow(part_number="A", family="round", size="M20x1.5", status="draft", fan="x")
    >>> attached(row, [row], None)[1]["fan"].message
    'no fan curve of this name comes with the package'
    """
    faults: dict[str, Fault] = {}
    text = ""
    if row.fan is not None:
        found = fan_text(row.fan, folder)
        if isinstance(found, Fault):
            faults["fan"] = found
        else:
            text = found
    opposite = None
    if row.opposite_vent is not None:
        opposite = next((r for r in rows if r.part_number == row.opposite_vent), None)
        if opposite is None:
            faults["opposite_vent"] = Fault(
                "catalog.opposite.unknown",
                "no good row of the catalogue has this part number",
                "name a vent of this file, or leave the cell blank for the same kind of vent",
            )
    return Attached(text, opposite), faults


def fan_text(name: str, folder: Path | None) -> str | Fault:
    """Return the text of a fan curve: one of the package, or a file beside the catalogue.

    ``folder`` is where the catalogue lies; ``None`` for one that is no file.
    """
    packaged = packaged_fans()
    if name in packaged:
        return packaged[name]
    known = f"use {', '.join(packaged)}, or the name of a CSV file beside the catalogue"
    if folder is None or not name.lower().endswith(_SUFFIX):
        return Fault(
            "catalog.fan.unknown", "no fan curve of this name comes with the package", known
        )
    if PurePosixPath(name).is_absolute() or PureWindowsPath(name).drive or "\\" in name:
        return Fault(
            "catalog.fan.path",
            "the path does not start at the catalogue",
            "write it from the catalogue's folder, with /, as fans/hall.csv",
        )
    try:
        return read_text(folder / name)
    except InputError as error:
        (problem,) = error.problems
        return Fault(
            "catalog.fan.unread",
            f"the fan's file cannot be read: {problem.message}",
            problem.suggestion or known,
        )
