"""Pages of a sheet: text shown as it is, tables, drawings, and what stands on every page."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, cast
from xml.sax.saxutils import escape

from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Frame, Paragraph, Spacer, Table, TableStyle

from vent_family.base.shop import CATALOGUE_NAME, ORGANISATION
from vent_family.base.version import VERSION
from vent_family.files.drawing.canvas import draw_on
from vent_family.files.drawing.model import PaperDrawing
from vent_family.files.pdf import BOLD, FONT, PAPER_MM, pdf_bytes, register_fonts
from vent_family.release.sheets.words import Told, who

WIDTH_MM: Final = 180.0
"""Width of what stands between the margins."""
_MARGIN_MM: Final = 15.0
_FOOT_MM: Final = 14.0
_LINE: Final = colors.Color(0.65, 0.65, 0.65)
_SHADE: Final = colors.Color(0.94, 0.94, 0.94)
_LEADING: Final = 1.27
_SMALLER: Final = (1.0, 0.93, 0.86, 0.8)
"""By what letters are made smaller where a sheet has more pages than it may have."""


Cell = str | Flowable | list[Flowable]
"""What stands in a cell of a table."""


@dataclass(frozen=True, slots=True)
class Hand:
    """Letters of a sheet, ``scale`` (1) times as large as usual."""

    scale: float = 1.0

    def text(
        self, words: str, size: float = 7.6, *, bold: bool = False, grey: bool = False
    ) -> Flowable:
        """Return words as they are, markup or not; ``size`` is in pixels of 1/72 inch."""
        points = size * self.scale
        style = ParagraphStyle(
            "own",
            fontName=BOLD if bold else FONT,
            bulletFontName=FONT,
            fontSize=points,
            leading=points * _LEADING,
            textColor=colors.Color(0.35, 0.35, 0.35) if grey else colors.Color(0.1, 0.1, 0.1),
            splitLongWords=1,
        )
        return Paragraph(escape(words), style)

    def heading(self, words: str) -> list[Flowable]:
        """Return a heading with room before it."""
        return [
            Spacer(1, 2.6 * mm * self.scale),
            self.text(words, 9.4, bold=True),
            Spacer(1, 1.0 * mm),
        ]

    def table(
        self,
        rows: Sequence[Sequence[Cell]],
        widths_mm: Sequence[float],
        *,
        head: bool = True,
        lined: bool = False,
    ) -> Flowable:
        """Return a table of words; ``widths_mm`` in mm.

        Its first row is a head if ``head``; lines part the columns if ``lined``.
        """
        cells = [
            [
                self.text(cell, 7.2, bold=head and row == 0) if isinstance(cell, str) else cell
                for cell in line
            ]
            for row, line in enumerate(rows)
        ]
        style: list[Any] = [
            ("FONT", (0, 0), (-1, -1), FONT, 7.2),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, -1), 0.3, _LINE),
            ("LEFTPADDING", (0, 0), (-1, -1), 1.2 * mm),
            ("RIGHTPADDING", (0, 0), (-1, -1), 1.2 * mm),
            ("TOPPADDING", (0, 0), (-1, -1), 0.7 * mm),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0.9 * mm),
        ]
        if head:
            style.append(("BACKGROUND", (0, 0), (-1, 0), _SHADE))
        if lined:
            style.append(("LINEBEFORE", (1, 0), (-1, -1), 0.3, _LINE))
        return Table(
            cells,
            colWidths=[width * mm for width in widths_mm],
            style=TableStyle(style),
            repeatRows=1 if head else 0,
        )


def whole(rows: Sequence[Sequence[Cell]], widths_mm: Sequence[float]) -> Flowable:
    """Return things side by side that no page's end parts; ``widths_mm`` in mm."""
    return Table(
        [list(row) for row in rows],
        colWidths=[width * mm for width in widths_mm],
        style=TableStyle(
            [
                ("FONT", (0, 0), (-1, -1), FONT, 7),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ]
        ),
        splitInRow=0,
    )


class Drawn(Flowable):
    """A drawing among the text, at its own size."""

    def __init__(self, drawing: PaperDrawing) -> None:
        super().__init__()
        self._drawing = drawing
        self.width, self.height = drawing.width_mm * mm, drawing.height_mm * mm

    def draw(self) -> None:
        """Draw it at the canvas's origin."""
        draw_on(self.canv, self._drawing)


Story = Callable[[Hand], list[Flowable]]


def sheet_pdf(
    story: Story, record: Told, kind: str, time_stamp: datetime, *, pages_most: int
) -> bytes:
    """Return a sheet as a PDF on A4 with who, when and where of it at the foot of every page.

    Letters are made smaller, a fifth at most, where there would be more than ``pages_most``.
    ``kind`` is what sort of sheet it is.

    Raises
    ------
    ValueError
        if a piece that no page's end may part is larger than a page
    """
    register_fonts()
    for scale in _SMALLER:
        hand = Hand(scale)
        count = _flow(_scratch(), story(hand), lambda _: None)
        if count <= pages_most:
            break

    def draw(canvas: Canvas) -> None:
        canvas.bookmarkPage("top")
        _flow(
            canvas, story(hand), lambda page: _foot(canvas, record, kind, time_stamp, page, count)
        )

    return pdf_bytes(
        draw,
        size_mm=PAPER_MM["A4"],
        title=f"{who(record)}: {kind}",
        subject=record["identity"]["description"],
        author=ORGANISATION,
        creator=f"{CATALOGUE_NAME}, vent-family {VERSION}",
    )


def _scratch() -> Canvas:
    """Return a canvas on which pages are only counted."""
    return Canvas(io.BytesIO(), initialFontName=cast("Any", FONT))


def _flow(canvas: Canvas, story: list[Flowable], foot: Callable[[int], None]) -> int:
    """Draw a story page by page and return how many pages it takes."""
    width, height = PAPER_MM["A4"]
    left, page = list(story), 0
    while left:
        page += 1
        frame = Frame(
            _MARGIN_MM * mm,
            _FOOT_MM * mm,
            (width - 2.0 * _MARGIN_MM) * mm,
            (height - _FOOT_MM - 11.0) * mm,
            leftPadding=0,
            rightPadding=0,
            topPadding=0,
            bottomPadding=0,
        )
        before = len(left)
        frame.addFromList(left, canvas)
        if left:
            pieces = frame.split(left[0], canvas)
            if pieces and frame.add(pieces[0], canvas):
                left[0:1] = pieces[1:]
            elif len(left) == before:
                raise ValueError("a piece of the sheet is larger than a page")
        foot(page)
        canvas.showPage()
    return page


def _foot(
    canvas: Canvas, record: Told, kind: str, time_stamp: datetime, page: int, count: int
) -> None:
    name = f"{record['identity']['part_number']}.json"
    canvas.setFont(FONT, 6.6)
    canvas.setFillGray(0.3)
    y = 7.5 * mm
    made = f"{who(record)}, {kind}; row {record['identity']['row_hash']};"
    made += f" made {time_stamp.date().isoformat()}; record: "
    canvas.drawString(_MARGIN_MM * mm, y, made)
    start = _MARGIN_MM * mm + canvas.stringWidth(made, FONT, 6.6)
    canvas.drawString(start, y, name)
    end = start + canvas.stringWidth(name, FONT, 6.6)
    canvas.linkURL(name, (start, y - 2.0, end, y + 6.0))
    canvas.drawRightString((PAPER_MM["A4"][0] - _MARGIN_MM) * mm, y, f"page {page} of {count}")
