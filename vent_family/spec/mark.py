"""The arrow and the word TOP, as plain polygons: no font, so the same on every machine.

Where letters would be too small to print, a bolder arrow stands alone.
"""

from __future__ import annotations

from typing import Final

from vent_family.spec.body import Mark

Point = tuple[float, float]

# Glyphs on a grid one unit high; stroke 0.22 units.
_S: Final = 0.22
_GLYPHS: Final[tuple[tuple[float, tuple[tuple[Point, ...], ...]], ...]] = (
    # arrow: width, outlines
    (
        0.80,
        (
            (
                (0.29, 0.0),
                (0.51, 0.0),
                (0.51, 0.50),
                (0.80, 0.50),
                (0.40, 1.0),
                (0.0, 0.50),
                (0.29, 0.50),
            ),
        ),
    ),
    # T
    (
        0.70,
        (
            (
                (0.24, 0.0),
                (0.46, 0.0),
                (0.46, 1.0 - _S),
                (0.70, 1.0 - _S),
                (0.70, 1.0),
                (0.0, 1.0),
                (0.0, 1.0 - _S),
                (0.24, 1.0 - _S),
            ),
        ),
    ),
    # O: an octagon and its counter
    (
        0.76,
        (
            (
                (0.22, 0.0),
                (0.54, 0.0),
                (0.76, 0.22),
                (0.76, 0.78),
                (0.54, 1.0),
                (0.22, 1.0),
                (0.0, 0.78),
                (0.0, 0.22),
            ),
            (
                (0.31, _S),
                (0.45, _S),
                (0.54, 0.31),
                (0.54, 0.69),
                (0.45, 1.0 - _S),
                (0.31, 1.0 - _S),
                (0.22, 0.69),
                (0.22, 0.31),
            ),
        ),
    ),
    # P and its counter
    (
        0.66,
        (
            (
                (0.0, 0.0),
                (_S, 0.0),
                (_S, 0.38),
                (0.48, 0.38),
                (0.66, 0.54),
                (0.66, 0.84),
                (0.48, 1.0),
                (0.0, 1.0),
            ),
            (
                (_S, 0.38 + _S),
                (0.40, 0.38 + _S),
                (0.44, 0.64),
                (0.44, 0.74),
                (0.40, 1.0 - _S),
                (_S, 1.0 - _S),
            ),
        ),
    ),
)
_SPACE: Final = 0.24
_ARROW: Final[tuple[float, tuple[tuple[Point, ...], ...]]] = (
    1.20,
    (
        (
            *((0.40, 0.0), (0.80, 0.0), (0.80, 0.40), (1.20, 0.40)),
            *((0.60, 1.0), (0.0, 0.40), (0.40, 0.40)),
        ),
    ),
)
"""An arrow that stands alone: width, outlines; its shaft is 0.4 units wide."""


def _glyphs(mark: Mark) -> tuple[tuple[float, tuple[tuple[Point, ...], ...]], ...]:
    return _GLYPHS if mark.has_word else (_ARROW,)


def mark_width_mm(mark: Mark) -> float:
    """Return the width of a whole mark, mm.

    Examples
    --------
    >>> from dataclasses import replace
    >>> mark = Mark(0.0, 0.0, 4.0, 0.6, raised=False)
    >>> round(mark_width_mm(mark), 2), mark_width_mm(replace(mark, height_mm=2.0))
    (14.56, 2.4)
    """
    glyphs = _glyphs(mark)
    return mark.height_mm * (sum(w for w, _ in glyphs) + _SPACE * (len(glyphs) - 1))


def mark_outlines(mark: Mark) -> list[tuple[list[Point], list[Point] | None]]:
    """Return outline (x, y) and counter (or None) of every glyph, in place, mm."""
    h = mark.height_mm
    x = mark.x_mm - mark_width_mm(mark) / 2
    result: list[tuple[list[Point], list[Point] | None]] = []
    for width, rings in _glyphs(mark):
        placed = [[(x + h * u, mark.y_mm + h * v) for u, v in ring] for ring in rings]
        result.append((placed[0], placed[1] if len(placed) > 1 else None))
        x += h * (width + _SPACE)
    return result
