"""A drawing on paper: strokes, filled areas and lettering, all in mm of paper, y up."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal

from reportlab.pdfbase import pdfmetrics

from vent_family.files.pdf import BOLD, FONT, register_fonts

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, lower, right and upper edge, mm."""
Anchor = Literal["start", "middle", "end"]

THICK_MM: Final = 0.5
OUTLINE_MM: Final = 0.25
THIN_MM: Final = 0.13
"""Widths of lines: cut edges, visible edges, everything else (ISO 128-2 has 0.5, 0.25, 0.13)."""
DASHED: Final = (2.0, 1.0)
CHAIN: Final = (5.0, 1.0, 0.6, 1.0)
"""Lengths of dashes and gaps, mm."""
_ASCENT: Final = 0.76
_DESCENT: Final = 0.24
"""How far letters reach above and below their base line, of their size."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """A polyline, ``width_mm`` wide; closed if its last point is its first.

    ``dash_mm`` are lengths of dashes and gaps, none for a full line.
    """

    points: tuple[Point, ...]
    width_mm: float = OUTLINE_MM
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Patch:
    """An area in one ``grey``, the share of white in it; rings within its first one are holes."""

    rings: tuple[tuple[Point, ...], ...]
    grey: float = 0.0


@dataclass(frozen=True, slots=True)
class Lettering:
    """One line of text; ``size_mm`` is the height of the font's em.

    ``x_mm``, ``y_mm`` is the point of its base line that ``anchor`` names; ``upright`` text is read
    from the right.
    """

    text: str
    x_mm: float
    y_mm: float
    size_mm: float
    anchor: Anchor = "start"
    upright: bool = False
    bold: bool = False

    @property
    def box_mm(self) -> Box:
        """The room it takes."""
        width = text_width_mm(self.text, self.size_mm, bold=self.bold)
        before = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        up, down = _ASCENT * self.size_mm, _DESCENT * self.size_mm
        x, y = self.x_mm, self.y_mm
        if self.upright:
            return (x - up, y - before, x + down, y - before + width)
        return (x - before, y - down, x - before + width, y + up)


@lru_cache(maxsize=4096)
def text_width_mm(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Return how wide a line of text runs, mm; ``size_mm`` is the height of its em, mm."""
    register_fonts()
    return float(pdfmetrics.stringWidth(text, BOLD if bold else FONT, size_mm))


@dataclass(frozen=True, slots=True)
class Marks:
    """What is drawn, in the order areas, strokes, lettering."""

    fills: tuple[Patch, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    letterings: tuple[Lettering, ...] = ()

    @property
    def bounds_mm(self) -> Box:
        """The box around all of it; an empty one at the origin where there is nothing."""
        boxes = [lettering.box_mm for lettering in self.letterings]
        points = [p for stroke in self.strokes for p in stroke.points]
        points += [p for area in self.fills for ring in area.rings for p in ring]
        points += [corner for b in boxes for corner in ((b[0], b[1]), (b[2], b[3]))]
        if not points:
            return (0.0, 0.0, 0.0, 0.0)
        xs, ys = zip(*points, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    def moved(self, dx_mm: float, dy_mm: float) -> Marks:
        """Return the same elsewhere, mm to the right and up."""

        def at(points: Sequence[Point]) -> tuple[Point, ...]:
            return tuple((x + dx_mm, y + dy_mm) for x, y in points)

        return Marks(
            tuple(replace(area, rings=tuple(map(at, area.rings))) for area in self.fills),
            tuple(replace(stroke, points=at(stroke.points)) for stroke in self.strokes),
            tuple(replace(t, x_mm=t.x_mm + dx_mm, y_mm=t.y_mm + dy_mm) for t in self.letterings),
        )


def together(marks: Iterable[Marks]) -> Marks:
    """Return marks as one."""
    found = list(marks)
    return Marks(
        tuple(area for m in found for area in m.fills),
        tuple(stroke for m in found for stroke in m.strokes),
        tuple(lettering for m in found for lettering in m.letterings),
    )


@dataclass(frozen=True, slots=True)
class PaperDrawing:
    """Marks on a sheet of paper, from its lower left corner.

    ``title`` and ``description`` say to people and machines that do not see it what it shows.
    """

    width_mm: float
    height_mm: float
    title: str
    description: str
    marks: Marks


def overlapping(boxes: Sequence[Box], clear_mm: float = 0.0) -> list[tuple[int, int]]:
    """Return the pairs of boxes that come nearer to each other than ``clear_mm``, mm, by index.

    Examples
    --------
    >>> overlapping([(0, 0, 4, 2), (3, 1, 5, 3), (6, 0, 7, 1)])
    [(0, 1)]
    """
    found = []
    for i, a in enumerate(boxes):
        for j, b in enumerate(boxes[:i]):
            beside = a[0] >= b[2] + clear_mm or b[0] >= a[2] + clear_mm
            if not (beside or a[1] >= b[3] + clear_mm or b[1] >= a[3] + clear_mm):
                found.append((j, i))
    return sorted(found)
