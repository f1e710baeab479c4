"""Drawings on a page of a PDF, as lines and text."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from vent_family.files.drawing.model import PaperDrawing
from vent_family.files.pdf import BOLD, FONT

_INK = 0.11


def draw_on(canvas: Canvas, drawing: PaperDrawing) -> None:
    """Draw a drawing at the canvas's origin, from its lower left corner."""
    canvas.saveState()
    canvas.setLineJoin(1)
    for area in drawing.marks.fills:
        canvas.setFillGray(area.grey or _INK)
        path = canvas.beginPath()
        for ring in area.rings:
            path.moveTo(ring[0][0] * mm, ring[0][1] * mm)
            for x, y in ring[1:]:
                path.lineTo(x * mm, y * mm)
            path.close()
        canvas.drawPath(path, stroke=0, fill=1, fillMode=0)
    canvas.setStrokeGray(_INK)
    for stroke in drawing.marks.strokes:
        canvas.setLineWidth(stroke.width_mm * mm)
        canvas.setLineCap(0 if stroke.dash_mm else 1)
        canvas.setDash([length * mm for length in stroke.dash_mm])
        path = canvas.beginPath()
        path.moveTo(stroke.points[0][0] * mm, stroke.points[0][1] * mm)
        for x, y in stroke.points[1:]:
            path.lineTo(x * mm, y * mm)
        if len(stroke.points) > 2 and stroke.points[0] == stroke.points[-1]:
            path.close()
        canvas.drawPath(path, stroke=1, fill=0)
    canvas.setFillGray(_INK)
    for text in drawing.marks.letterings:
        canvas.saveState()
        canvas.translate(text.x_mm * mm, text.y_mm * mm)
        if text.upright:
            canvas.rotate(90)
        canvas.setFont(BOLD if text.bold else FONT, text.size_mm * mm)
        write = {
            "start": canvas.drawString,
            "middle": canvas.drawCentredString,
            "end": canvas.drawRightString,
        }[text.anchor]
        write(0, 0, text.text)
        canvas.restoreState()
    canvas.restoreState()
