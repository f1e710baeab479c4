"""A template of an opening for a panel, to print 1:1, lay on and punch, drill or saw by. mm.

One sheet, as large as it takes: A4, else A3, A2 or A1, upright or across. Sheets glued together
from tiles are off by what they are glued askew, and whoever has no large printer has the DXF file.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from vent_family.base.limits import FIT_CLEARANCE
from vent_family.base.shop import CATALOGUE_NAME
from vent_family.base.version import VERSION
from vent_family.files.pdf import BOLD, FONT, PAPER_MM, pdf_bytes, wrapped
from vent_family.geometry.outline import Bend, Disc
from vent_family.release.cautions import CAUTION
from vent_family.release.sheets.opening import Drilled, OpeningSheet

BAR_MM: Final = 100.0
"""Length of the two bars by which the print's scale is told."""
_EDGE_MM: Final = 7.0
"""What printers leave white, and a little more."""
_LEFT_MM: Final = 16.0
"""Room for the upright bar."""
_ARROW_MM: Final = 12.0
"""Room for the arrow, above the drawing where the opening has none."""
_ROOMY_MM: Final = 40.0
"""From this height on an opening has room for the arrow."""
_AIR_MM: Final = 3.0
_TITLE_MM: Final = 4.6
_TEXT_MM: Final = 2.8
"""Size of letters."""
_LINE_MM: Final = 3.8
_COLUMN_MM: Final = 62.0
"""Width of a column of the table of holes."""
_CUT_LINE_MM: Final = 0.18
_THIN_MM: Final = 0.1
_STEP_RAD: Final = math.radians(1.0)
"""Arcs are drawn in chords that turn by so much."""
_GREY: Final = 0.45


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet of paper, its size in mm, and where on it the opening's centre lies."""

    name: str
    size_mm: tuple[float, float]
    origin_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Bands:
    """Lines of text above and below the drawing, and the heights that they take, mm."""

    above: tuple[str, ...]
    below: tuple[str, ...]
    holes: tuple[tuple[str, ...], ...]

    @property
    def top_mm(self) -> float:
        return 8.0 + _LINE_MM * len(self.above)

    @property
    def bottom_mm(self) -> float:
        return _LINE_MM * (len(self.below) + len(self.holes)) + 10.0


def template_pdf(sheet: OpeningSheet) -> bytes:
    """Return the template as a PDF file of one page."""
    page = page_of(sheet)

    def draw(canvas: Canvas) -> None:
        _texts(canvas, sheet, page)
        _bars(canvas, page, _bands(sheet, page.name, page.size_mm[0]).bottom_mm)
        canvas.translate(page.origin_mm[0] * mm, page.origin_mm[1] * mm)
        _opening(canvas, sheet)
        canvas.showPage()

    return pdf_bytes(
        draw,
        size_mm=page.size_mm,
        title=f"{sheet.part_number} revision {sheet.revision}: template for the panel, 1:1",
        subject=sheet.words,
        author=CATALOGUE_NAME,
        creator=f"vent-family {VERSION}",
    )


def page_of(sheet: OpeningSheet) -> Page:
    """Return the smallest sheet that holds the drawing, 1:1, and where it lies.

    What no sheet holds gets one as large as it takes.
    """
    x0, y0, x1, y1 = _reach_mm(sheet)
    width, height = x1 - x0, y1 - y0

    def room(bands: _Bands) -> tuple[float, float]:
        wide = _EDGE_MM + _LEFT_MM + width + _AIR_MM + _EDGE_MM
        tall = _EDGE_MM + bands.bottom_mm + max(height + _above_mm(sheet), BAR_MM) + 2 * _AIR_MM
        return wide, tall + bands.top_mm + _EDGE_MM

    for name, (w, h) in PAPER_MM.items():
        for size, lies in (((w, h), "upright"), ((h, w), "across")):
            wide, tall = room(_bands(sheet, f"{name} {lies}", size[0]))
            if wide <= size[0] and tall <= size[1]:
                return _placed(sheet, f"{name} {lies}", size)
    wide, _ = room(_bands(sheet, "", PAPER_MM["A1"][0]))
    wide = max(wide, PAPER_MM["A1"][0])
    return _placed(sheet, "roll", (wide, room(_bands(sheet, "roll", wide))[1]))


def _placed(sheet: OpeningSheet, name: str, size_mm: tuple[float, float]) -> Page:
    """Return a sheet with the drawing in the middle of the room it has."""
    x0, y0, x1, y1 = _reach_mm(sheet)
    bands = _bands(sheet, name, size_mm[0])
    left, right = _EDGE_MM + _LEFT_MM, size_mm[0] - _EDGE_MM - _AIR_MM
    low = _EDGE_MM + bands.bottom_mm + _AIR_MM
    high = size_mm[1] - _EDGE_MM - bands.top_mm - _AIR_MM - _above_mm(sheet)
    return Page(name, size_mm, (0.5 * (left + right - x0 - x1), 0.5 * (low + high - y0 - y1)))


def _reach_mm(sheet: OpeningSheet) -> tuple[float, float, float, float]:
    """Return left, bottom, right and top of what is drawn, mm: the cover holds all of it."""
    xs = [x for x, _ in sheet.outside]
    ys = [y for _, y in sheet.outside]
    return min(xs), min(ys), max(xs), max(ys)


def _above_mm(sheet: OpeningSheet) -> float:
    """Return the height that the arrow takes above the drawing, mm."""
    return 0.0 if sheet.size_mm[1] >= _ROOMY_MM else _ARROW_MM


def _bands(sheet: OpeningSheet, paper: str, width_mm: float) -> _Bands:
    inner = width_mm - 2.0 * _EDGE_MM
    told = [
        "Template for the panel, 1:1: lay it on the panel's outer face, TOP up, and cut to the"
        " middle of the line. The dashed line is what the vent covers.",
        sheet.tolerance(),
        *list(sheet.told())[1:],
    ]
    below = [measure_words(sheet, paper), CAUTION]
    columns = max(1, int(inner // _COLUMN_MM))
    holes = [_hole_words(i, hole) for i, hole in enumerate(sheet.holes, start=1)]
    rows = [tuple(holes[i : i + columns]) for i in range(0, len(holes), columns)]
    above = [f"{sheet.words[0].upper()}{sheet.words[1:]}.", *told]
    return _Bands(
        tuple(_packed(above, inner)),
        tuple(line for text in below for line in wrapped(text, inner, _TEXT_MM)),
        tuple(rows),
    )


def _packed(texts: Sequence[str], width_mm: float) -> list[str]:
    """Return texts in lines of a width (mm), short ones side by side."""
    lines: list[str] = []
    for text in texts:
        both = f"{lines[-1]}  {text}" if lines else text
        if lines and len(wrapped(both, width_mm, _TEXT_MM)) == 1:
            lines[-1] = both
        else:
            lines += wrapped(text, width_mm, _TEXT_MM)
    return lines


def measure_words(sheet: OpeningSheet, paper: str) -> str:
    """Return what to measure on the print before it is used, on paper of that name."""
    w, h = sheet.size_mm
    round_hole = isinstance(sheet.cut, Disc)
    outline = f"diameter of {w:g} mm" if round_hole else f"outline of {w:g} x {h:g} mm"
    return (
        f"Print on {paper} at 100 %, not fitted to the page. Before use measure both bars, each"
        f" {BAR_MM:g} mm, and the opening's {outline}: if one is off by more than"
        f" {FIT_CLEARANCE.value:g} mm, do not use this print."
    )


def _hole_words(number: int, hole: Drilled) -> str:
    x, y = (f"{round(value, 2) + 0.0:g}" for value in (hole.x_mm, hole.y_mm))
    return f"{number}: x {x}, y {y}, Ø {hole.diameter_mm:g} mm, {hole.screw}"


def _texts(canvas: Canvas, sheet: OpeningSheet, page: Page) -> None:
    bands = _bands(sheet, page.name, page.size_mm[0])
    y = page.size_mm[1] - _EDGE_MM - 5.0
    canvas.setFont(BOLD, _TITLE_MM * mm)
    canvas.drawString(_EDGE_MM * mm, y * mm, f"{sheet.part_number} revision {sheet.revision}")
    canvas.setFont(FONT, _TEXT_MM * mm)
    for line in bands.above:
        y -= _LINE_MM + (1.0 if line is bands.above[0] else 0.0)
        canvas.drawString(_EDGE_MM * mm, y * mm, line)
    y = _EDGE_MM + _LINE_MM * (len(bands.below) + len(bands.holes)) - _LINE_MM + 0.8
    for row in bands.holes:
        for column, text in enumerate(row):
            canvas.drawString((_EDGE_MM + _COLUMN_MM * column) * mm, y * mm, text)
        y -= _LINE_MM
    for line in bands.below:
        canvas.drawString(_EDGE_MM * mm, y * mm, line)
        y -= _LINE_MM


def _bars(canvas: Canvas, page: Page, bottom_mm: float) -> None:
    """Draw a bar across and one upright, from a common corner, with a mark every 10 mm."""
    x, y = _EDGE_MM + 4.0, _EDGE_MM + bottom_mm - 1.0
    canvas.setLineWidth(_CUT_LINE_MM * mm)
    canvas.setFont(FONT, _TEXT_MM * mm)
    for across in (True, False):
        canvas.saveState()
        canvas.translate(x * mm, y * mm)
        if not across:
            canvas.rotate(90.0)
        # Ticks lie within the corner: beyond it they would lengthen the other bar.
        way = 1.0 if across else -1.0
        canvas.line(0.0, 0.0, BAR_MM * mm, 0.0)
        for step in range(11):
            long = 3.0 if step in (0, 10) else 1.5
            at = BAR_MM * step / 10.0
            canvas.line(at * mm, 0.0, at * mm, way * long * mm)
        below = -3.8 if across else 1.6
        canvas.drawCentredString(0.5 * BAR_MM * mm, below * mm, f"{BAR_MM:g} mm")
        canvas.restoreState()


def _opening(canvas: Canvas, sheet: OpeningSheet) -> None:
    """Draw the opening with all that belongs to it, around the origin."""
    x0, y0, x1, y1 = _reach_mm(sheet)
    canvas.setLineWidth(_THIN_MM * mm)
    canvas.setStrokeGray(_GREY)
    canvas.setDash([2.0 * mm, 1.2 * mm])
    _polygon(canvas, sheet.outside)
    canvas.setDash([4.0 * mm, 1.0 * mm, 0.6 * mm, 1.0 * mm])
    canvas.line(x0 * mm, 0.0, x1 * mm, 0.0)
    canvas.line(0.0, y0 * mm, 0.0, y1 * mm)
    canvas.setDash()
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(_CUT_LINE_MM * mm)
    if isinstance(sheet.cut, Disc):
        canvas.circle(
            sheet.cut.x_mm * mm, sheet.cut.y_mm * mm, 0.5 * sheet.cut.diameter_mm * mm, stroke=1
        )
        _cross(canvas, sheet.cut.x_mm, sheet.cut.y_mm, 5.0)
        canvas.setFont(FONT, _TEXT_MM * mm)
        # Below it at the right, where the cover goes on and no line runs.
        beside = 0.36 * sheet.cut.diameter_mm
        diameter = f"Ø {sheet.cut.diameter_mm:g}"
        canvas.drawString((beside + 0.5) * mm, -(beside + _TEXT_MM) * mm, diameter)
    else:
        _polygon(canvas, flattened(sheet.cut))
    canvas.setFont(FONT, _TEXT_MM * mm)
    for number, hole in enumerate(sheet.holes, start=1):
        radius = 0.5 * hole.diameter_mm
        canvas.circle(hole.x_mm * mm, hole.y_mm * mm, radius * mm, stroke=1)
        _cross(canvas, hole.x_mm, hole.y_mm, radius + 1.5)
        # Beside the cross; the diameters stand in the table, for there is no room for them here.
        at = 0.7 * radius + 0.5
        canvas.drawString((hole.x_mm + at) * mm, (hole.y_mm + at) * mm, f"{number}")
    roomy = _above_mm(sheet) == 0.0
    _arrow(canvas, 0.5 * sheet.size_mm[1] - _ARROW_MM if roomy else y1 + 2.0)


def _arrow(canvas: Canvas, y_mm: float) -> None:
    """Draw the arrow that points up, with the word TOP beside it."""
    path = canvas.beginPath()
    corners = (
        (-1.0, 0.0),
        (1.0, 0.0),
        (1.0, 4.0),
        (2.6, 4.0),
        (0.0, 9.0),
        (-2.6, 4.0),
        (-1.0, 4.0),
    )
    path.moveTo(corners[0][0] * mm, (y_mm + corners[0][1]) * mm)
    for x, y in corners[1:]:
        path.lineTo(x * mm, (y_mm + y) * mm)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFont(BOLD, _TITLE_MM * mm)
    canvas.drawString(4.0 * mm, (y_mm + 2.0) * mm, "TOP")


def _cross(canvas: Canvas, x_mm: float, y_mm: float, reach_mm: float) -> None:
    canvas.line((x_mm - reach_mm) * mm, y_mm * mm, (x_mm + reach_mm) * mm, y_mm * mm)
    canvas.line(x_mm * mm, (y_mm - reach_mm) * mm, x_mm * mm, (y_mm + reach_mm) * mm)


def _polygon(canvas: Canvas, corners: Sequence[tuple[float, float]]) -> None:
    path = canvas.beginPath()
    path.moveTo(corners[0][0] * mm, corners[0][1] * mm)
    for x, y in corners[1:]:
        path.lineTo(x * mm, y * mm)
    path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def flattened(sides: Sequence[Bend]) -> list[tuple[float, float]]:
    """Return an outline's corners (x, y), mm, its arcs in short chords.

    Examples
    --------
    Half a circle over the way from (0, 0) to (2, 0), and back:

    >>> ring = flattened([Bend(0.0, 0.0, 1.0), Bend(2.0, 0.0)])
    >>> len(ring), tuple(round(c, 6) for c in ring[90])
    (181, (1.0, -1.0))
    """
    found = []
    for side, following in zip(sides, (*sides[1:], sides[0]), strict=True):
        a, b = complex(side.x_mm, side.y_mm), complex(following.x_mm, following.y_mm)
        found.append((a.real, a.imag))
        if side.bulge == 0.0:
            continue
        turn = 4.0 * math.atan(side.bulge)
        # From the chord's middle the centre lies square to the chord.
        centre = 0.5 * (a + b) + 0.5j * (b - a) / math.tan(0.5 * turn)
        steps = max(1, round(abs(turn) / _STEP_RAD))
        for step in range(1, steps):
            angle = turn * step / steps
            at = centre + (a - centre) * complex(math.cos(angle), math.sin(angle))
            found.append((at.real, at.imag))
    return found
