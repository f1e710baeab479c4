"""The template, rendered and measured in pixels."""

from __future__ import annotations

import io
import re

import numpy as np
import pypdf
import pypdfium2
import pytest
from numpy.typing import NDArray

from vent_family.geometry.outline import Bend, Disc
from vent_family.release.record import CAUTION
from vent_family.release.sheets.drill import page_of, template_pdf
from vent_family.release.sheets.opening import Drilled, OpeningSheet

PX_PER_POINT = 4.0
PX_PER_MM = PX_PER_POINT * 72.0 / 25.4


def sheet(
    width: float, height: float, lip: float = 12.0, *, round_hole: bool = False
) -> OpeningSheet:
    """Return the sheet of an opening with holes in three corners of its lip."""
    w, h, out = width / 2, height / 2, lip / 2
    ring = ((-w - lip, -h - lip), (w + lip, -h - lip), (w + lip, h + lip), (-w - lip, h + lip))
    corners = ((-w, -h), (w, -h), (w, h), (-w, h))
    return OpeningSheet(
        part_number="HV-T1",
        revision="Q",
        row_hash="0" * 16,
        words="rectangle as told",
        size_mm=(width, height),
        oversize_max_mm=0.35,
        corner_max_mm=None if round_hole else 2.2,
        panel_mm=2.0,
        cut=Disc(0.0, 0.0, width) if round_hole else tuple(Bend(x, y) for x, y in corners),
        holes=tuple(
            Drilled(sx * (w + out), sy * (h + out), 4.5, "M4")
            for sx, sy in ((-1, -1), (1, -1), (1, 1))
        ),
        outside=ring,
        inside=corners,
        reach_mm=(2.0, 23.4),
        gasket=None,
        has_nut=round_hole,
        has_fan=False,
    )


def ink(data: bytes) -> NDArray[np.bool_]:
    """Return which pixels of the page are dark, rows from the top."""
    page = pypdfium2.PdfDocument(data)[0]
    return np.asarray(page.render(scale=PX_PER_POINT, grayscale=True).to_numpy()).squeeze() < 160


def runs(dark: NDArray[np.bool_]) -> list[tuple[int, int, int]]:
    """Return every stretch of dark pixels in a row longer than 20 mm: row, start and end."""
    found = []
    for row in range(len(dark)):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], dark[row].view(np.int8), [0]])))
        for start, end in edges.reshape(-1, 2):
            if end - start > 20.0 * PX_PER_MM:
                found.append((row, int(start), int(end)))
    return found


def test_bars_and_opening_are_as_long_as_they_say_and_holes_lie_where_told() -> None:
    described = sheet(60.0, 45.0)
    dark = ink(template_pdf(described))
    for pixels, side in ((dark, 60.0), (dark.T, 45.0)):
        found = runs(pixels)
        lengths = [(end - start) / PX_PER_MM for _, start, end in found]
        assert max(lengths) == pytest.approx(100.0, abs=0.3)
        sides = [
            run for run, length in zip(found, lengths, strict=True) if abs(length - side) < 0.5
        ]
        rows = [row for row, _, _ in sides]
        other = 45.0 if side == 60.0 else 60.0
        # From the middle of one line to the middle of the other.
        middles = [np.mean([r for r in rows if abs(r - end) < 9]) for end in (rows[0], rows[-1])]
        assert (middles[1] - middles[0]) / PX_PER_MM == pytest.approx(other, abs=0.15)
    found = [run for run in runs(dark) if abs((run[2] - run[1]) / PX_PER_MM - 60.0) < 0.5]
    across = 0.5 * (found[0][1] + found[0][2])
    down = 0.5 * (found[0][0] + found[-1][0])
    for hole in described.holes:
        column, row = across + hole.x_mm * PX_PER_MM, down - hole.y_mm * PX_PER_MM
        assert dark[round(row) - 1 : round(row) + 2, round(column) - 1 : round(column) + 2].any()
        # The circle is met on slanting ways out of the middle, where no cross lies.
        at = 0.5 * hole.diameter_mm * np.sqrt(0.5) * PX_PER_MM
        for sx, sy in ((-1, -1), (1, 1), (-1, 1), (1, -1)):
            r, c = round(row + sy * at), round(column + sx * at)
            assert dark[r - 2 : r + 3, c - 2 : c + 3].any()
        inner = round(0.5 * at)
        assert not dark[round(row) + inner, round(column) + inner]


def test_a_round_hole_has_its_centre_and_its_diameter() -> None:
    dark = ink(template_pdf(sheet(32.6, 32.6, round_hole=True)))
    text = pypdfium2.PdfDocument(template_pdf(sheet(32.6, 32.6, round_hole=True)))[0]
    assert "Ø 32.6" in text.get_textpage().get_text_bounded()
    page = page_of(sheet(32.6, 32.6, round_hole=True))
    column = page.origin_mm[0] * PX_PER_MM
    row = dark.shape[0] - page.origin_mm[1] * PX_PER_MM
    turns = np.radians(np.arange(5.0, 360.0, 10.0))
    for turn in turns:
        r, c = row + 16.3 * PX_PER_MM * np.sin(turn), column + 16.3 * PX_PER_MM * np.cos(turn)
        assert dark[round(r) - 2 : round(r) + 3, round(c) - 2 : round(c) + 3].any()
    assert dark[round(row) - 1 : round(row) + 2, round(column) - 1 : round(column) + 2].any()


@pytest.mark.parametrize(
    ("size", "paper"),
    [
        ((20.0, 20.0), "A4 upright"),
        ((150.0, 150.0), "A4 upright"),
        ((200.0, 90.0), "A4 across"),
        ((250.0, 180.0), "A3 across"),
        ((380.0, 250.0), "A2 across"),
        ((400.0, 400.0), "A1 upright"),
        ((600.0, 900.0), "roll"),
    ],
)
def test_the_sheet_is_large_enough_and_no_larger(size: tuple[float, float], paper: str) -> None:
    described = sheet(*size)
    page = page_of(described)
    assert page.name == paper
    data = template_pdf(described)
    (only,) = pypdf.PdfReader(io.BytesIO(data)).pages
    assert [float(side) * 25.4 / 72.0 for side in only.mediabox[2:]] == pytest.approx(page.size_mm)
    x0, y0, x1, y1 = (
        c + o
        for c, o in zip(
            (*described.outside[0], *described.outside[2]), page.origin_mm * 2, strict=True
        )
    )
    assert x0 > 7.0
    assert y0 > 7.0
    assert x1 < page.size_mm[0] - 7.0
    assert y1 < page.size_mm[1] - 7.0
    # Nothing is drawn where printers leave white.
    if page.size_mm[0] < 430.0:
        dark, edge = ink(data), round(5.0 * PX_PER_MM)
        for white in (dark[:edge], dark[-edge:], dark[:, :edge], dark[:, -edge:]):
            assert not white.any()


def test_it_says_what_it_is_and_what_to_measure() -> None:
    reader = pypdf.PdfReader(io.BytesIO(template_pdf(sheet(60.0, 45.0))))
    text = re.sub(r"\s+", " ", reader.pages[0].extract_text())
    for words in (
        "HV-T1 revision Q",
        "TOP",
        "Print on A4 upright at 100 %",
        "measure both bars, each 100 mm, and the opening's outline of 60 x 45 mm",
        "radius of 2.2 mm",
        "The opening as drawn: up to 0.35 mm larger is allowed, smaller is not.",
        "1: x -36, y -28.5, Ø 4.5 mm, M4",
        CAUTION,
    ):
        assert words in text, words
    assert reader.metadata is not None
    assert "HV-T1 revision Q" in str(reader.metadata.title)


def test_fonts_are_embedded_and_bytes_the_same() -> None:
    data = template_pdf(sheet(60.0, 45.0))
    assert template_pdf(sheet(60.0, 45.0)) == data
    fonts = pypdf.PdfReader(io.BytesIO(data)).pages[0]["/Resources"]["/Font"]
    assert len(fonts) >= 2
    for font in fonts.values():
        found = font.get_object()
        assert "DejaVuSans" in found["/BaseFont"]
        assert "/FontFile2" in found["/FontDescriptor"]
