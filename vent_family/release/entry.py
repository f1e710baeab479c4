"""One release as a line of the register: its cells, and what may be wrong with them."""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import Final, Literal, get_args

from vent_family.base.problems import Problem
from vent_family.catalog.model import PART_NUMBER, REVISION, REVISION_WORDS
from vent_family.catalog.parse.scan import shorten
from vent_family.geometry.fingerprint import Fingerprint, FingerprintError, from_text
from vent_family.release.revisions import RevisionOrder, revision_order
from vent_family.spec.fit import NO_SIZES, Sizes, SizesError, design_of, fit_of
from vent_family.spec.vent import VentSpec

Change = Literal["new", "revision", "evidence", "bytes", "returned", "withdrawn"]
"""What a release changed: the part is new; its revision was raised; other figures of the same
geometry; other bytes only; published again after it was withdrawn; withdrawn."""

COLUMNS: Final = (
    "part_number",
    "revision",
    "issue",
    "released",
    "change",
    "material",
    "fit",
    "design",
    "designed_volume",
    "row",
    "geometry",
    "evidence",
    "water",
    "content",
    "line",
)
RESTORE: Final = "take the file back from version control"
RESTORE_LINE: Final = f"{RESTORE}; a release once made is never edited"
_HASH: Final = re.compile(r"sha256:([0-9a-f]{12,64})")
_VOLUME: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?) mm3")
FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")
"""What a cell must not begin with: spreadsheets take it for a formula and run it."""
_LAST: Final = MappingProxyType({"bytes": 1, "withdrawn": 2})
"""Place of a change among the lines of one issue; the others come first."""


@dataclass(frozen=True, slots=True)
class ReleaseEntry:
    """One release of one part.

    ``released`` is the day, UTC, as 2026-03-04. ``geometry`` names each body, the vent first, with
    its fingerprint; ``row`` is the hash of the catalogue row, ``evidence`` that of the figures,
    ``content`` that of the files, each in hexadecimal digits. ``water`` is the worst predicted
    outcome; ``designed_volume_mm3`` is reckoned from the row. A part that is withdrawn has part
    number, revision, issue and day only.
    """

    part_number: str
    revision: str
    issue: int
    released: str
    change: Change
    material: str = ""
    fit: Sizes = NO_SIZES
    design: Sizes = NO_SIZES
    designed_volume_mm3: float | None = None
    row: str = ""
    geometry: tuple[tuple[str, Fingerprint], ...] = ()
    evidence: str = ""
    water: str = ""
    content: str = ""

    @property
    def name(self) -> str:
        """Part number, revision and issue, as people say it: ``HV-R040 D.2``."""
        return f"{self.part_number} {self.revision}.{self.issue}"

    @property
    def order(self) -> tuple[str, str, RevisionOrder, int, int, str, str]:
        """Place in the register: by part, revision and issue."""
        return (
            self.part_number.casefold(),
            self.part_number,
            revision_order(self.revision),
            self.issue,
            _LAST.get(self.change, 0),
            self.released,
            self.content,
        )

    def cells(self) -> list[str]:
        """Return the cells of the line, in the order of :data:`COLUMNS`.

        Raises
        ------
        ValueError
            if a cell would be run as a formula or break its line
        """
        volume = self.designed_volume_mm3
        cells = [
            self.part_number,
            self.revision,
            str(self.issue),
            self.released,
            self.change,
            self.material,
            self.fit.text(),
            self.design.text(),
            "" if volume is None else f"{volume:.4f} mm3",
            _hash_cell(self.row),
            geometry_text(self.geometry),
            _hash_cell(self.evidence),
            self.water,
            _hash_cell(self.content),
        ]
        for name, cell in zip(COLUMNS, cells, strict=False):
            if cell.startswith(FORMULA_STARTS) or not cell.isprintable():
                raise ValueError(f"{self.name}: {name} cannot stand in the register: {cell!r}")
        return [*cells, _line_sum(cells)]


def _hash_cell(digits: str) -> str:
    """Return a hash as it stands in a cell: no spreadsheet takes it for a number."""
    return f"sha256:{digits}" if digits else ""


def _line_sum(cells: list[str]) -> str:
    """Return what tells whether a line's other cells are as they were written."""
    return "sum:" + hashlib.sha256("\x1f".join(cells).encode()).hexdigest()[:8]


def geometry_text(geometry: Iterable[tuple[str, Fingerprint]]) -> str:
    """Return the fingerprints of a part's bodies in one line."""
    return " | ".join(f"{body}: {found.text()}" for body, found in geometry)


def geometry_from_text(text: str) -> tuple[tuple[str, Fingerprint], ...]:
    """Return the fingerprints that a text states, body by body.

    Raises
    ------
    FingerprintError
        if a body's is none
    """
    found = []
    for part in text.split(" | "):
        body, _, numbers = part.partition(": ")
        try:
            found.append((body, from_text(numbers)))
        except FingerprintError as error:
            raise FingerprintError(f"{body}: {error}") from None
    return tuple(found)


def entry_of_line(name: str, row: int, line: str, problems: list[Problem]) -> ReleaseEntry | None:
    """Return the release of one line of the file ``name``; its faults go into ``problems``."""
    try:
        (cells,) = csv.reader([line], strict=True)
    except (csv.Error, ValueError):
        cells = []
    if len(cells) != len(COLUMNS):
        what = (
            f"{len(cells)} cells instead of {len(COLUMNS)}" if cells else "broken quotation marks"
        )
        message = f"this line has {what}"
        problems.append(
            Problem(
                "register.line.cells",
                message,
                file=name,
                row=row,
                value=shorten(line),
                suggestion=RESTORE_LINE,
            )
        )
        return None
    told = list(_cell_problems(dict(zip(COLUMNS, cells, strict=True))))
    if not told and cells[-1] != _line_sum(cells[:-1]):
        message = "a cell of this line was changed after the line had been written"
        code, value = "register.line.altered", cells[-1]
        told = [Problem(code, message, column="line", value=value, suggestion=RESTORE_LINE)]
    if told:
        problems += [replace(p, file=name, row=row, part_number=cells[0]) for p in told]
        return None
    return _read(dict(zip(COLUMNS, cells, strict=True)))


def _cell_problems(cells: Mapping[str, str]) -> Iterator[Problem]:
    """Yield what is wrong with each cell of a line."""

    def fault(column: str, message: str, allowed: str = "") -> Problem:
        return Problem(
            "register.cell.unread",
            message,
            column=column,
            value=shorten(cells[column]),
            allowed=allowed,
            suggestion=RESTORE_LINE,
        )

    for column, cell in cells.items():
        if cell.startswith(FORMULA_STARTS):
            run = fault(column, "a spreadsheet would run this cell as a formula")
            yield replace(run, code="register.cell.formula")
            return
    if not re.fullmatch(PART_NUMBER, cells["part_number"]):
        yield fault("part_number", "this is no part number")
    if not re.fullmatch(REVISION, cells["revision"]):
        yield fault("revision", "this is no revision", REVISION_WORDS)
    if not re.fullmatch("[1-9][0-9]{0,5}", cells["issue"]):
        yield fault("issue", "this is no issue", "whole numbers from 1")
    if not _is_day(cells["released"]):
        yield fault("released", "this is no day", "year-month-day, as 2026-03-04")
    if cells["change"] not in get_args(Change):
        yield fault("change", "this is no kind of change", ", ".join(get_args(Change)))
    if not re.fullmatch("sum:[0-9a-f]{8}", cells["line"]):
        yield fault("line", "this is no sum of a line", "sum: and 8 hexadecimal digits")
    if cells["change"] == "withdrawn":
        return
    for column in ("row", "evidence", "content"):
        if not _HASH.fullmatch(cells[column]):
            yield fault(column, "this is no hash", "sha256: and its hexadecimal digits")
    if not _VOLUME.fullmatch(cells["designed_volume"]):
        yield fault("designed_volume", "this is no volume", "a number with a point, and mm3")
    for column in ("fit", "design"):
        try:
            Sizes.from_text(cells[column])
        except SizesError as error:
            yield fault(column, f"this names no sizes: {error}")
    try:
        geometry_from_text(cells["geometry"])
    except FingerprintError as error:
        yield fault("geometry", f"this is no fingerprint: {error}")


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _read(cells: Mapping[str, str]) -> ReleaseEntry:
    """Return the release that sound cells state."""
    gone = cells["change"] == "withdrawn"
    return ReleaseEntry(
        part_number=cells["part_number"],
        revision=cells["revision"],
        issue=int(cells["issue"]),
        released=cells["released"],
        change=cells["change"],  # type: ignore[arg-type]
        material=cells["material"],
        fit=Sizes.from_text(cells["fit"]),
        design=Sizes.from_text(cells["design"]),
        designed_volume_mm3=None if gone else float(cells["designed_volume"].removesuffix(" mm3")),
        row=cells["row"].removeprefix("sha256:"),
        geometry=() if gone else geometry_from_text(cells["geometry"]),
        evidence=cells["evidence"].removeprefix("sha256:"),
        water=cells["water"],
        content=cells["content"].removeprefix("sha256:"),
    )


def entry_of(spec: VentSpec, row: str, released: str, *, volume: bool = True) -> ReleaseEntry:
    """Return what a row alone says of its release: no solid, no figures, issue 0.

    ``row`` is its hash and ``released`` the day; without ``volume`` the designed volume is left
    out, which for round heads takes as long as all the rest.
    """
    reckoned = spec.body.volume_mm3(spec.section, spec.bays) if volume else None
    return ReleaseEntry(
        part_number=spec.part_number,
        revision=spec.revision,
        issue=0,
        released=released,
        change="new",
        material=spec.material.name,
        fit=fit_of(spec),
        design=design_of(spec),
        designed_volume_mm3=reckoned,
        row=row,
    )
