"""The drawing of the opening to cut, with its tolerance: for people, the DXF is for machines."""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.said import said
from vent_family.files.drawing.dimensions import Dimension, Note, dimensioned, noted
from vent_family.files.drawing.model import (
    CHAIN,
    DASHED,
    OUTLINE_MM,
    THICK_MM,
    THIN_MM,
    Lettering,
    Marks,
    PaperDrawing,
    Point,
    Stroke,
    together,
)
from vent_family.geometry.outline import Bend, Disc
from vent_family.release.sheets.dimensions import hole_dimensions, hole_note
from vent_family.release.sheets.drawing import fitting
from vent_family.release.sheets.drill import flattened
from vent_family.release.sheets.opening import OpeningSheet
from vent_family.release.sheets.words import Told, who
from vent_family.spec.vent import VentSpec

CUTOUT_MM: Final = (112.0, 92.0)
_CROSS_MM: Final = 3.0


def cutout_drawing(record: Told, spec: VentSpec, sheet: OpeningSheet) -> PaperDrawing:
    """Return the opening, its holes and what the vent covers, seen from outside."""
    left, low, right, high = sheet.bounds_mm

    def composed(scale: float) -> Marks:
        view = Marks(strokes=tuple(_lines(sheet, scale)))
        around = (left * scale, low * scale, right * scale, high * scale)
        return together(
            [
                view,
                dimensioned(around, _dimensions(record, sheet, scale)),
                noted(around, _notes(record, spec, scale)),
            ]
        )

    width, height = CUTOUT_MM
    name, marks = fitting(composed, (right - left, high - low), width, height - 5.0)
    caption = f"Scale {name}, mm; seen from outside; dashed: what the vent takes up"
    below = Lettering(caption, width / 2.0, 1.0, 2.4, "middle")
    drawn = together([marks.moved(0.0, 5.0), Marks(letterings=(below,))])
    return PaperDrawing(
        width,
        float(math.ceil(drawn.bounds_mm[3] + 1.0)),
        f"{who(record)}: opening to cut",
        f"{record['opening']['text']}, seen from outside.",
        drawn,
    )


def _lines(sheet: OpeningSheet, scale: float) -> list[Stroke]:
    def ring(points: list[Point], width_mm: float, dash: tuple[float, ...] = ()) -> Stroke:
        scaled = tuple((x * scale, y * scale) for x, y in [*points, points[0]])
        return Stroke(scaled, width_mm, dash)

    found = [ring(list(sheet.outside), THIN_MM, DASHED), ring(_outline(sheet.cut), THICK_MM)]
    for hole in sheet.holes:
        disc = Disc(hole.x_mm, hole.y_mm, hole.diameter_mm)
        found.append(ring(_outline(disc), OUTLINE_MM))
    for x, y in [(0.0, 0.0), *((hole.x_mm, hole.y_mm) for hole in sheet.holes)]:
        x, y = x * scale, y * scale
        found.append(Stroke(((x - _CROSS_MM, y), (x + _CROSS_MM, y)), THIN_MM, CHAIN))
        found.append(Stroke(((x, y - _CROSS_MM), (x, y + _CROSS_MM)), THIN_MM, CHAIN))
    return found


def _outline(cut: tuple[Bend, ...] | Disc) -> list[Point]:
    if isinstance(cut, Disc):
        half = cut.diameter_mm / 2.0
        # Two halves of a circle, as bends.
        cut = (Bend(cut.x_mm - half, cut.y_mm, 1.0), Bend(cut.x_mm + half, cut.y_mm, 1.0))
    return flattened(cut)


def limits_words(record: Told) -> str:
    """Return by how much the opening may be off, as it stands behind its size."""
    return f" +{said(record['opening']['oversize_max_mm'])} / 0"


def _dimensions(record: Told, sheet: OpeningSheet, scale: float) -> list[Dimension]:
    opening, more = record["opening"], limits_words(record)
    width, height = opening["width_mm"], opening["height_mm"]
    across = "Ø" if opening["corner_radius_max_mm"] is None and width == height else ""
    half = width / 2.0 * scale, height / 2.0 * scale
    found = [Dimension("below", (-half[0], half[0]), (0.0, 0.0), f"{across}{said(width)}{more}")]
    if not across:
        found.append(Dimension("left", (-half[1], half[1]), (0.0, 0.0), f"{said(height)}{more}"))
    if opening["notch_width_mm"] is not None:
        notch = opening["notch_width_mm"] / 2.0 * scale
        foot = min(y for _, y in _outline(sheet.cut)) * scale
        size = f"notch {said(opening['notch_width_mm'])} × {said(opening['notch_depth_mm'])}"
        # Beside the opening, where no other dimension stands.
        found.append(Dimension("right", (foot, -half[1]), (notch, notch), size))
    return found + hole_dimensions(record, scale)


def _notes(record: Told, spec: VentSpec, scale: float) -> list[Note]:
    opening = record["opening"]
    found = hole_note(record, spec, scale)
    radius = opening["corner_radius_max_mm"]
    if radius is not None:
        corner = (-opening["width_mm"] / 2.0 * scale, opening["height_mm"] / 2.0 * scale)
        found.append(Note(f"corners R ≤ {said(radius)}", corner))
    return [*found, Note("TOP ↑", bold=True)]
