"""The dimensioned drawing of a part: front view and section beside it, at a standard scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from vent_family.base.said import said
from vent_family.files.drawing.dimensions import TEXT_MM, Note, arrow_head, dimensioned, noted
from vent_family.files.drawing.model import (
    THICK_MM,
    THIN_MM,
    Box,
    Lettering,
    Marks,
    PaperDrawing,
    Stroke,
    together,
)
from vent_family.geometry.projection import Line
from vent_family.release.sheets.dimensions import (
    front_dimensions,
    front_notes,
    section_dimensions,
)
from vent_family.release.sheets.views import PartViews, front_marks, section_marks
from vent_family.release.sheets.words import Told, who
from vent_family.spec.vent import VentSpec

SCALES: Final = (
    ("2:1", 2.0),
    ("1:1", 1.0),
    ("1:2", 0.5),
    ("1:2.5", 0.4),
    ("1:5", 0.2),
    ("1:10", 0.1),
    ("1:20", 0.05),
)
"""Those of ISO 5455, and 1:2.5 between two of them."""
DRAWING_MM: Final = (180.0, 130.0)
"""Width and height of the drawing: a page between its margins, and part of its height."""
SECTION_MM: Final = (110.0, 110.0)
"""Width and height of the section alone."""
_BESIDE_MM: Final = 9.0
_CAPTION_MM: Final = 6.0
_MARK_MM: Final = 4.0
"""Length of the strokes that say where the section is cut."""


def fitting(
    composed: Callable[[float], Marks],
    bare_mm: tuple[float, float],
    width_mm: float,
    height_mm: float,
) -> tuple[str, Marks]:
    """Return the largest standard scale at which marks fit a frame, and the marks, at its foot.

    Parameters
    ----------
    composed
        what makes them for a scale
    bare_mm
        width and height (mm) of what is drawn, at full scale: too large a scale is not tried
    width_mm, height_mm
        the frame, mm

    Raises
    ------
    ValueError
        if they do not fit at the smallest scale
    """
    for name, scale in SCALES:
        if bare_mm[0] * scale > width_mm or bare_mm[1] * scale > height_mm:
            continue
        marks = composed(scale)
        left, low, right, high = marks.bounds_mm
        if right - left <= width_mm and high - low <= height_mm:
            return name, marks.moved((width_mm - left - right) / 2.0, -low)
    raise ValueError(f"no scale fits {width_mm:g} x {height_mm:g} mm")


def part_drawing(
    record: Told, spec: VentSpec, views: PartViews, width_mm: float, height_mm: float
) -> PaperDrawing:
    """Return front view and section of a part with their dimensions.

    ``width_mm`` is that of the paper, ``height_mm`` the most that it may be high.
    """

    def composed(scale: float) -> Marks:
        front = _front(record, spec, views, scale)
        section = _section(record, spec, views, scale)
        apart = front.bounds_mm[2] - section.bounds_mm[0] + _BESIDE_MM
        return together([front, section.moved(apart, 0.0)])

    sizes = [view_size_mm(views.front), view_size_mm(views.section)]
    bare = sizes[0][0] + sizes[1][0], max(sizes[0][1], sizes[1][1])
    scale, marks = fitting(composed, bare, width_mm, height_mm - _CAPTION_MM)
    return _captioned(
        marks, scale, width_mm, f"{who(record)}: front view and section A-A", _told(record, spec)
    )


def section_drawing(
    record: Told, spec: VentSpec, views: PartViews, width_mm: float, height_mm: float
) -> PaperDrawing:
    """Return the section of a part alone with its dimensions.

    ``width_mm`` is that of the paper, ``height_mm`` the most that it may be high.
    """
    scale, marks = fitting(
        lambda scale: _section(record, spec, views, scale),
        view_size_mm(views.section),
        width_mm,
        height_mm - _CAPTION_MM,
    )
    return _captioned(
        marks,
        scale,
        width_mm,
        f"{who(record)}: section, outside on the right",
        _told(record, spec),
    )


def _captioned(
    marks: Marks, scale: str, width_mm: float, title: str, description: str
) -> PaperDrawing:
    """Return marks over their caption, on paper no higher than it takes."""
    text = f"Scale {scale}, lengths in mm; section seen from the left, outside on its right"
    caption = Lettering(text, width_mm, 1.2, 2.6, "end")
    drawn = together([marks.moved(0.0, _CAPTION_MM), Marks(letterings=(caption,))])
    height = math.ceil(drawn.bounds_mm[3] + 1.0)
    return PaperDrawing(width_mm, float(height), title, description, drawn)


def view_size_mm(lines: Sequence[Line]) -> tuple[float, float]:
    """Return width and height of a view, mm."""
    xs, ys = zip(*(point for line in lines for point in line), strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def _told(record: Told, spec: VentSpec) -> str:
    """Return in words what the drawing shows."""
    banks = spec.section.stack.bank_count
    return (
        f"{record['identity']['description']}. Opening to cut: {record['opening']['text']}."
        f" {banks} bank{'s' if banks > 1 else ''} of slats between the open front and the cabinet;"
        " below them a floor that slopes to the drain outside, and a sill of"
        f" {said(record['geometry']['sill_height_mm'])} mm towards the cabinet."
    )


def _front(record: Told, spec: VentSpec, views: PartViews, scale: float) -> Marks:
    view = front_marks(views, scale)
    box = view.bounds_mm
    cut = _cut_marks(views.cut_x_mm * scale, box)
    around = (box[0], box[1] - 2.0, box[2], box[3] + _MARK_MM - 2.0)
    return together(
        [
            view,
            cut,
            dimensioned(around, front_dimensions(record, scale)),
            noted(around, front_notes(record, spec, scale)),
        ]
    )


def _cut_marks(x_mm: float, box: Box) -> Marks:
    """Return strokes below and above a view where the section is cut, and the way it is seen."""
    found = []
    for edge, sign in ((box[1], -1.0), (box[3], 1.0)):
        near, far = edge + sign, edge + sign * _MARK_MM
        strokes = (
            Stroke(((x_mm, near), (x_mm, far)), THICK_MM),
            Stroke(((x_mm, far), (x_mm + 3.0, far)), THIN_MM),
        )
        head = arrow_head((x_mm + 3.0, far), (x_mm, far))
        base = far - 1.1 if sign > 0.0 else far - 0.2
        letter = Lettering("A", x_mm - 0.8, base, TEXT_MM, "end", bold=True)
        found.append(Marks((head,), strokes, (letter,)))
    return together(found)


def _section(record: Told, spec: VentSpec, views: PartViews, scale: float) -> Marks:
    view = section_marks(views, scale)
    box = view.bounds_mm
    thickness = record["opening"]["panel_thickness_mm"]
    panel = Note(f"panel {said(thickness)}", (-thickness / 2.0 * scale, box[3] - 1.0))
    return together(
        [
            view,
            dimensioned(box, section_dimensions(record, spec, scale)),
            noted(box, [panel, Note("A–A", bold=True)]),
        ]
    )
