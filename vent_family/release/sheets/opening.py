"""What a sheet-metal shop needs of a part: what to cut and drill, and what to keep free. mm.

Seen from outside, origin in the opening's centre, y upwards, as the part's datum has it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Final

import numpy as np

from vent_family.base.limits import OPENING_OVERSIZE
from vent_family.base.said import said
from vent_family.evidence.context import PartContext
from vent_family.evidence.installed.kind import INSTALLED
from vent_family.evidence.installed.taken import Ring
from vent_family.files.dxf import Circle, Corner, Drawing, Item, Layer, Line, Loop, Text, dxf_bytes
from vent_family.geometry.outline import Bend, Disc
from vent_family.release.cautions import CAUTION
from vent_family.release.sheets.words import oversize_words
from vent_family.spec.body import GasketSpec

OPENING: Final = Layer("OPENING", 7, description="cut: the opening with its notch, one outline")
HOLES: Final = Layer("HOLES", 7, description="cut or drill: holes for screws")
OUTSIDE: Final = Layer(
    "KEEP_OUT_OUTSIDE", 1, "DASHED", "do not cut: what the vent covers on the outside"
)
INSIDE: Final = Layer(
    "KEEP_OUT_INSIDE", 5, "DASHED", "do not cut: what the vent takes up behind the panel"
)
TOLERANCE: Final = Layer(
    "TOLERANCE", 8, description="do not cut: by how much the opening may be larger"
)
GASKET: Final = Layer("GASKET", 3, "DASHED", "do not cut: flat and clean between these lines")
CENTRE: Final = Layer("CENTRE", 8, "CENTER", "do not cut: middle of opening and holes")
TEXT: Final = Layer("TEXT", 8, description="do not cut: what is what")
LAYERS: Final = (OPENING, HOLES, TOLERANCE, OUTSIDE, INSIDE, GASKET, CENTRE, TEXT)
SIDE_SEEN: Final = "Seen from outside. Origin: middle of the opening. Y is up; TOP is up."
NUT_ROOM: Final = "Leave room for a spanner on the locknut inside and on the head's flats outside."

_TEXT_MM: Final = 3.0
_LINE_MM: Final = 5.0
_LETTERS: Final = 96
"""Height of letters, distance of lines, mm, and letters in a line."""
_BEYOND_MM: Final = 5.0
"""How far centre lines reach beyond what they are the middle of."""


@dataclass(frozen=True, slots=True)
class Drilled:
    """A hole for a screw: centre (x, y) and diameter, mm; the screw's name."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    screw: str


@dataclass(frozen=True)
class OpeningSheet:
    """What to cut for a part, and what it takes up.

    Attributes
    ----------
    part_number, revision, row_hash : str
        Which part, and the row it was made from.
    words : str
        The opening in words.
    size_mm : tuple of float
        Its width and height, mm.
    oversize_max_mm : float
        By how much it may be larger, mm; smaller it must not be.
    corner_max_mm : float or None
        Largest radius that its corners may have, mm; they are drawn sharp.
    panel_mm : float
        Thickness of the panel, mm.
    cut : tuple of Bend or Disc
        The opening with its notch.
    holes : tuple of Drilled
        The screw holes.
    outside, inside : Ring
        What the fitted vent covers in front of the panel and takes up behind it.
    reach_mm : tuple of float
        How far it stands out from the panel's outer face, and how deep it reaches behind it, mm.
    gasket : GasketSpec or None
        What the panel has to be flat and clean for.
    has_nut, has_fan : bool
        Whether a locknut holds it, and whether it holds a fan, whose depth is not counted.
    """

    part_number: str
    revision: str
    row_hash: str
    words: str
    size_mm: tuple[float, float]
    oversize_max_mm: float
    corner_max_mm: float | None
    panel_mm: float
    cut: tuple[Bend, ...] | Disc
    holes: tuple[Drilled, ...]
    outside: Ring
    inside: Ring
    reach_mm: tuple[float, float]
    gasket: GasketSpec | None
    has_nut: bool
    has_fan: bool

    @cached_property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of all that is drawn but texts, mm."""
        corners = np.array(self.outside + self.inside)
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def tolerance(self) -> str:
        """Return by how much the opening may be off, in words."""
        return f"The opening as drawn: {oversize_words(self.oversize_max_mm)}."

    def told(self) -> Iterator[str]:
        """Yield what else is said about cutting, in lines."""
        yield f"{self.part_number} revision {self.revision}: {self.words}"
        if self.corner_max_mm is not None:
            radius = said(self.corner_max_mm)
            yield f"Corners sharp as drawn, or round up to a radius of {radius} mm."
        yield f"Panel {said(self.panel_mm)} mm thick. {SIDE_SEEN}"
        out, deep = self.reach_mm
        fan = ", the fan's own depth not counted" if self.has_fan else ""
        reach = f"reaches {said(deep)} mm behind the panel's outer face{fan}"
        yield f"Stands out {said(out)} mm; {reach}."
        if self.has_nut:
            yield NUT_ROOM
        if self.gasket is not None:
            yield "Where the gasket lies the panel must be flat and clean."


def opening_sheet(context: PartContext, row_hash: str) -> OpeningSheet:
    """Return what to cut for a part, from the very tool that cuts its opening.

    Raises
    ------
    GeometryError
        if the opening is not bounded by straight lines and arcs
    """
    spec = context.spec
    panel = spec.panel_thickness_mm
    room = context.of(INSTALLED)
    return OpeningSheet(
        part_number=spec.part_number,
        revision=spec.revision,
        row_hash=row_hash,
        words=spec.opening.text(),
        size_mm=spec.opening.size_mm,
        oversize_max_mm=OPENING_OVERSIZE.value,
        corner_max_mm=spec.opening.corner_max_mm,
        panel_mm=panel,
        cut=room.cut,
        holes=tuple(Drilled(h.x_mm, h.y_mm, h.diameter_mm, h.screw) for h in spec.opening.holes),
        outside=room.taken.outside,
        inside=room.taken.inside,
        reach_mm=(room.taken.front_mm, room.taken.behind_mm),
        gasket=spec.body.gasket,
        has_nut=spec.body.neck is not None,
        has_fan=spec.fan_duct is not None,
    )


def opening_dxf(sheet: OpeningSheet, time_stamp: datetime) -> bytes:
    """Return the sheet as a DXF file, 1:1 in mm, made at a time with its offset from UTC."""
    name = f"{sheet.part_number} revision {sheet.revision}"
    properties = (
        ("Part number", sheet.part_number),
        ("Revision", sheet.revision),
        ("Row hash", sheet.row_hash),
        ("Opening", sheet.words),
    )
    return dxf_bytes(Drawing(name, LAYERS, tuple(_items(sheet)), properties), time_stamp)


def _items(sheet: OpeningSheet) -> Iterator[Item]:
    if isinstance(sheet.cut, Disc):
        yield Circle(OPENING.name, sheet.cut.x_mm, sheet.cut.y_mm, sheet.cut.diameter_mm)
    else:
        yield Loop(OPENING.name, tuple(Corner(s.x_mm, s.y_mm, s.bulge) for s in sheet.cut))
    for hole in sheet.holes:
        yield Circle(HOLES.name, hole.x_mm, hole.y_mm, hole.diameter_mm)
        yield from _cross(hole.x_mm, hole.y_mm, 0.5 * hole.diameter_mm)
    for layer, ring in ((OUTSIDE, sheet.outside), (INSIDE, sheet.inside)):
        yield Loop(layer.name, tuple(Corner(x, y) for x, y in ring))
    if sheet.gasket is not None:
        for size in (sheet.gasket.inner_mm, sheet.gasket.outer_mm):
            yield _gasket_line(sheet.gasket, size)
    x0, y0, x1, y1 = sheet.bounds_mm
    yield Line(CENTRE.name, (x0 - _BEYOND_MM, 0.0), (x1 + _BEYOND_MM, 0.0))
    yield Line(CENTRE.name, (0.0, y0 - _BEYOND_MM), (0.0, y1 + _BEYOND_MM))
    arrow = y1 + 2.0 * _BEYOND_MM
    yield Loop(
        TEXT.name, (Corner(-2.0, arrow), Corner(2.0, arrow), Corner(0.0, arrow + 2.0 * _TEXT_MM))
    )
    yield Text(TEXT.name, 4.0, arrow, _TEXT_MM, "TOP")
    y = y0 - 2.0 * _BEYOND_MM
    name, *others = sheet.told()
    texts = [(TEXT, name), (TOLERANCE, sheet.tolerance()), *((TEXT, text) for text in others)]
    for layer, text in [*texts, (TEXT, _layers_told()), (TEXT, CAUTION)]:
        for line in textwrap.wrap(text, _LETTERS):
            y -= _LINE_MM
            yield Text(layer.name, x0, y, _TEXT_MM, line)


def _layers_told() -> str:
    return (
        f"Millimetres, 1:1. Cut what is on {OPENING.name} and {HOLES.name}; all other layers only"
        " show what must stay free."
    )


def _cross(x_mm: float, y_mm: float, radius_mm: float) -> Iterator[Line]:
    reach = radius_mm + 1.0
    yield Line(CENTRE.name, (x_mm - reach, y_mm), (x_mm + reach, y_mm))
    yield Line(CENTRE.name, (x_mm, y_mm - reach), (x_mm, y_mm + reach))


def _gasket_line(gasket: GasketSpec, size_mm: tuple[float, float]) -> Item:
    if gasket.is_ring:
        return Circle(GASKET.name, 0.0, 0.0, size_mm[0])
    w, h = 0.5 * size_mm[0], 0.5 * size_mm[1]
    return Loop(GASKET.name, tuple(Corner(x, y) for x, y in ((-w, -h), (w, -h), (w, h), (-w, h))))
