"""Letters of one stroke width as polygons: no font of a machine's, so everywhere the same.

Lengths are in units (1) of the grid on which the centre lines are drawn: capitals are 5 high
between the outermost centre lines and the stroke 1.2 wide. Small letters are written as capitals.
"""

from __future__ import annotations

from functools import cache
from types import MappingProxyType
from typing import Final

from shapely import BufferCapStyle, set_precision
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

Points = tuple[tuple[float, float], ...]
STROKE: Final = 1.2
"""Width of a stroke, units."""
HEIGHT: Final = 5.0 + STROKE
"""Height of a capital over its strokes, units."""
_GAP: Final = 1.2
"""Clear distance between two letters, units."""
_BLANK: Final = 2.6
"""Width of a blank, units."""
_GRID: Final = 1e-6

_O: Final[Points] = ((1, 0), (2.4, 0), (3.4, 1), (3.4, 4), (2.4, 5), (1, 5), (0, 4), (0, 1), (1, 0))
_ZERO: Final[Points] = (
    *((0.8, 0), (1.8, 0), (2.6, 0.8), (2.6, 4.2), (1.8, 5)),
    *((0.8, 5), (0, 4.2), (0, 0.8), (0.8, 0)),
)
_Q: Final[Points] = (
    *((1.3, 0), (2.1, 0), (3.4, 1.3), (3.4, 3.7), (2.1, 5)),
    *((1.3, 5), (0, 3.7), (0, 1.3), (1.3, 0)),
)
_P: Final[Points] = ((0, 0), (0, 5), (2.2, 5), (3, 4.2), (3, 3), (2.2, 2.2), (0, 2.2))
_SIX: Final[Points] = (
    *((2.8, 5), (0.8, 5), (0, 4.2), (0, 0.8), (0.8, 0)),
    *((2.2, 0), (3, 0.8), (3, 2), (2.2, 2.8), (0, 2.8)),
)
_STROKES: Final = MappingProxyType(
    {
        "A": (((0, 0), (0, 4), (1, 5), (2, 5), (3, 4), (3, 0)), ((0, 2), (3, 2))),
        "B": (
            ((0, 0), (2.2, 0), (3, 0.8), (3, 1.7), (2.2, 2.5), (0, 2.5)),
            ((0, 0), (0, 5), (2.2, 5), (3, 4.2), (3, 3.3), (2.2, 2.5)),
        ),
        "C": (((3, 5), (0.8, 5), (0, 4.2), (0, 0.8), (0.8, 0), (3, 0)),),
        "D": (((0, 0), (2, 0), (3, 1), (3, 4), (2, 5), (0, 5), (0, 0)),),
        "E": (((3, 0), (0, 0), (0, 5), (3, 5)), ((0, 2.5), (2.4, 2.5))),
        "F": (((0, 0), (0, 5), (3, 5)), ((0, 2.5), (2.4, 2.5))),
        "G": (((3, 5), (0.8, 5), (0, 4.2), (0, 0.8), (0.8, 0), (3, 0), (3, 2.4), (1.9, 2.4)),),
        "H": (((0, 0), (0, 5)), ((3, 0), (3, 5)), ((0, 2.5), (3, 2.5))),
        "I": (((0, 0), (2, 0)), ((0, 5), (2, 5)), ((1, 0), (1, 5))),
        "J": (((3, 5), (3, 0.8), (2.2, 0), (0, 0)),),
        "K": (
            ((0, 0), (0, 5)),
            ((0, 2.5), (0.6, 2.5)),
            ((3, 5), (3, 4.2), (0.6, 2.5), (3, 0.8), (3, 0)),
        ),
        "L": (((0, 5), (0, 0), (3, 0)),),
        "M": (((0, 0), (0, 5), (4.4, 5), (4.4, 0)), ((2.2, 5), (2.2, 1.5))),
        "N": (((0, 0), (0, 5)), ((3, 0), (3, 5))),
        "O": (_O,),
        "P": (_P,),
        "Q": (_Q, ((2.1, 0), (4, 0))),
        "R": (_P, ((1.2, 2.2), (3, 0.4), (3, 0))),
        "S": (
            (
                *((3, 5), (0.8, 5), (0, 4.2), (0, 3.3), (0.8, 2.5)),
                *((2.2, 2.5), (3, 1.7), (3, 0.8), (2.2, 0), (0, 0)),
            ),
        ),
        "T": (((0, 5), (3.2, 5)), ((1.6, 0), (1.6, 5))),
        "U": (((0, 5), (0, 0.8), (0.8, 0), (2.2, 0), (3, 0.8), (3, 5)),),
        "V": (((0, 5), (0, 2), (1.5, 0.4), (3, 2), (3, 5)),),
        "W": (((0, 5), (0, 0), (4.4, 0), (4.4, 5)), ((2.2, 0), (2.2, 3.5))),
        "X": (
            ((0, 5), (0, 4.4), (3, 0.6), (3, 0)),
            ((0, 0), (0, 0.6), (3, 4.4), (3, 5)),
        ),
        "Y": (((0, 5), (0, 3.9), (1.5, 2.4), (3, 3.9), (3, 5)), ((1.5, 0), (1.5, 2.4))),
        "Z": (((0, 5), (3.2, 5)), ((0, 0), (3.2, 0))),
        "0": (_ZERO,),
        "1": (((0, 5), (1.2, 5), (1.2, 0)), ((0, 0), (2.4, 0))),
        "2": (
            (
                *((0, 5), (2.2, 5), (3, 4.2), (3, 3.3), (2.2, 2.5)),
                *((0.8, 2.5), (0, 1.7), (0, 0), (3, 0)),
            ),
        ),
        "3": (
            ((0, 5), (2.2, 5), (3, 4.2), (3, 3.3), (2.2, 2.5), (0.6, 2.5)),
            ((0, 0), (2.2, 0), (3, 0.8), (3, 1.7), (2.2, 2.5)),
        ),
        "4": (((0, 5), (0, 2.2), (3, 2.2)), ((3, 5), (3, 0))),
        "5": (((3, 5), (0, 5), (0, 2.8), (2.2, 2.8), (3, 2), (3, 0.8), (2.2, 0), (0, 0)),),
        "6": (_SIX,),
        "7": (((0, 5), (3, 5), (3, 3.6), (1.2, 1.6), (1.2, 0)),),
        "8": (
            (
                *((0.8, 0), (2.2, 0), (3, 0.8), (3, 1.7), (2.2, 2.5)),
                *((0.8, 2.5), (0, 1.7), (0, 0.8), (0.8, 0)),
            ),
            (
                *((0.8, 2.5), (2.2, 2.5), (3, 3.3), (3, 4.2), (2.2, 5)),
                *((0.8, 5), (0, 4.2), (0, 3.3), (0.8, 2.5)),
            ),
        ),
        "9": (tuple((3 - x, 5 - y) for x, y in _SIX),),
        "-": (((0, 2.5), (2, 2.5)),),
        ".": (((0, 0), (0, 0.2)),),
        "_": (((0, 0), (3, 0)),),
    }
)
_INNER: Final = MappingProxyType({"N": ((0, 4.6), (3, 0.4)), "Z": ((3.2, 5), (0, 0))})
"""Slanted strokes whose ends lie within others."""


@cache
def letter(sign: str) -> tuple[Polygon, float]:
    """Return a letter's polygon, its lower left corner in the origin, and its width (1).

    Raises
    ------
    KeyError
        if the sign is none of the letters, digits, hyphen, dot and underscore

    Examples
    --------
    >>> letter("-")[0].bounds, letter("t") == letter("T")
    ((0.0, 2.5, 3.2, 3.7), True)
    """
    sign = sign.upper()
    half = STROKE / 2.0
    drawn = []
    for points in _STROKES[sign]:
        closed = points[0] == points[-1]
        line = LineString([*points, points[1]] if closed else points)
        cap = BufferCapStyle.flat if closed else BufferCapStyle.square
        drawn.append(line.buffer(half, cap_style=cap, join_style="mitre"))
    if sign in _INNER:
        drawn.append(LineString(_INNER[sign]).buffer(half, cap_style=BufferCapStyle.flat))
    whole = unary_union(drawn).simplify(_GRID)
    assert isinstance(whole, Polygon)
    width = whole.bounds[2] - whole.bounds[0]
    left = whole.bounds[0]
    moved = Polygon(
        [(x - left, y + half) for x, y in whole.exterior.coords],
        [[(x - left, y + half) for x, y in hole.coords] for hole in whole.interiors],
    )
    found = set_precision(moved, _GRID).normalize()
    assert isinstance(found, Polygon)
    return found, width


def advance(sign: str) -> float:
    """Return how far a sign, a blank too, is from the next one (1)."""
    return _GAP + (_BLANK if sign == " " else letter(sign)[1])


def width(text: str) -> float:
    """Return the width (1) of a line of text.

    Examples
    --------
    >>> round(width("T-1"), 6)
    13.6
    """
    return sum(advance(sign) for sign in text) - _GAP
