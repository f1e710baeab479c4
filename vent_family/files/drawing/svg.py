"""Drawings as SVG: one path for each kind of line, text as text, a title for who cannot see."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Final

from vent_family.files.drawing.model import Lettering, PaperDrawing, Point, text_width_mm

INK: Final = "#1c1c1c"
_FONTS: Final = "DejaVu Sans, Verdana, sans-serif"


def svg_bytes(drawing: PaperDrawing) -> bytes:
    """Return a drawing as an SVG file of its size in mm.

    Text keeps its width in whatever font it is shown.
    """
    height = drawing.height_mm
    marks = drawing.marks
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(drawing.width_mm)}mm"'
        f' height="{_n(height)}mm" viewBox="0 0 {_n(drawing.width_mm)} {_n(height)}" role="img">',
        f"<title>{escape(drawing.title)}</title>",
        f"<desc>{escape(drawing.description)}</desc>",
    ]
    greys: dict[float, list[str]] = {}
    for area in marks.fills:
        data = "".join(
            f"{_path(ring[:-1] if ring[0] == ring[-1] else ring, height)}Z" for ring in area.rings
        )
        greys.setdefault(area.grey, []).append(data)
    for grey, paths in greys.items():
        fill = INK if grey == 0.0 else "#" + f"{round(255 * grey):02x}" * 3
        lines.append(f'<path fill="{fill}" fill-rule="evenodd" d="{"".join(paths)}"/>')
    kinds: dict[tuple[float, tuple[float, ...]], list[str]] = {}
    for stroke in marks.strokes:
        points = stroke.points
        closed = len(points) > 2 and points[0] == points[-1]
        data = _path(points[:-1] if closed else points, height) + ("Z" if closed else "")
        kinds.setdefault((stroke.width_mm, stroke.dash_mm), []).append(data)
    for (width, dash), paths in kinds.items():
        ends = ' stroke-linecap="round"'
        if dash:
            ends = f' stroke-dasharray="{" ".join(map(_n, dash))}"'
        lines.append(
            f'<path fill="none" stroke="{INK}" stroke-width="{_n(width)}" stroke-linejoin="round"'
            f'{ends} d="{"".join(paths)}"/>'
        )
    if marks.letterings:
        lines.append(f'<g fill="{INK}" font-family="{_FONTS}">')
        lines += [_text(lettering, height) for lettering in marks.letterings]
        lines.append("</g>")
    lines.append("</svg>")
    return ("\n".join(lines) + "\n").encode("utf-8")


def _path(points: Iterable[Point], height_mm: float) -> str:
    return "M" + " ".join(f"{_n(x)},{_n(height_mm - y)}" for x, y in points)


def _text(lettering: Lettering, height_mm: float) -> str:
    x, y = _n(lettering.x_mm), _n(height_mm - lettering.y_mm)
    size, width = (
        lettering.size_mm,
        text_width_mm(lettering.text, lettering.size_mm, bold=lettering.bold),
    )
    turned = f' transform="rotate(-90 {x} {y})"' if lettering.upright else ""
    bold = ' font-weight="bold"' if lettering.bold else ""
    return (
        f'<text x="{x}" y="{y}" font-size="{_n(size)}" text-anchor="{lettering.anchor}"'
        f' textLength="{_n(width)}" lengthAdjust="spacingAndGlyphs"{bold}{turned}>'
        f"{escape(lettering.text)}</text>"
    )


def _n(value: float) -> str:
    """Return a length in hundredths of a mm, without idle zeros."""
    return f"{round(value, 2) + 0.0:g}"
