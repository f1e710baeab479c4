"""PDF pages whose bytes depend on nothing but what is drawn, fonts embedded. Lengths in mm."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, Final, cast

from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

FONT: Final = "DejaVuSans"
BOLD: Final = "DejaVuSans-Bold"
"""Fonts with the letters of most languages, that come with the plotting library."""
PAPER_MM: Final = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
}
"""Sheets by name, width and height upright, mm (ISO 216)."""


@cache
def register_fonts() -> None:
    """Make :data:`FONT` and :data:`BOLD` known to the PDF library, once in a process."""
    # Imported here: the plotting library takes a while to load.
    import matplotlib

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name in (FONT, BOLD):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    pdfmetrics.registerFontFamily(FONT, normal=FONT, bold=BOLD, italic=FONT, boldItalic=BOLD)


def wrapped(text: str, width_mm: float, letters_mm: float, font: str = FONT) -> list[str]:
    """Return a text in lines at most a width (mm) long, in letters of a size, ``letters_mm``."""
    register_fonts()
    return list(simpleSplit(text, font, letters_mm * mm, width_mm * mm))


def pdf_bytes(
    draw: Callable[[Canvas], None],
    *,
    size_mm: tuple[float, float],
    title: str,
    subject: str,
    author: str,
    creator: str,
) -> bytes:
    """Return a PDF drawn on a canvas; its date is left out, so that the same is the same bytes.

    Parameters
    ----------
    draw : callable
        What draws on the canvas, in points, and ends every page with ``showPage``.
    size_mm : tuple of float
        Width and height of a page, mm.
    title, subject, author, creator : str
        What the file says of itself.
    """
    register_fonts()
    stream = io.BytesIO()
    width, height = size_mm
    canvas = Canvas(
        stream,
        pagesize=(width * mm, height * mm),
        invariant=1,
        # The stubs take the font's name for a number.
        initialFontName=cast("Any", FONT),
        lang="en",
    )
    canvas.setTitle(title)
    canvas.setSubject(subject)
    canvas.setAuthor(author)
    canvas.setCreator(creator)
    draw(canvas)
    canvas.save()
    return stream.getvalue()
