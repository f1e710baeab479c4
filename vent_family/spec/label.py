"""Part number and revision, sunk into a plain face inside the vent: what is marked, and where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from shapely.geometry import Polygon

from vent_family.base.limits import LABEL_DEPTH, LABEL_STROKE_MIN, MARK_CLEAR
from vent_family.spec import letters

_LEAST_MM: Final = LABEL_STROKE_MIN.value * letters.HEIGHT / letters.STROKE
"""Height of the smallest letters whose strokes print."""
_MOST_MM: Final = 5.0
"""Height of the letters where there is room."""


@dataclass(frozen=True, slots=True)
class LabelFace:
    """A plain rectangle that looks into the cabinet and may be marked; mm.

    It lies in the plane ``z_mm``, ``half_width_mm`` to either side of the middle, between the two
    heights ``y_mm``; ``words`` says what it is.
    """

    z_mm: float
    half_width_mm: float
    y_mm: tuple[float, float]
    words: str


@dataclass(frozen=True, slots=True)
class Label:
    """Part number and revision inside a vent; ``text`` is empty where nothing is marked.

    The letters stand on ``y_mm`` in the plane ``z_mm``, ``height_mm`` high and ``depth_mm`` deep,
    to be read from inside; ``words`` says where they are, or why there are none.
    """

    text: str
    words: str
    z_mm: float = 0.0
    y_mm: float = 0.0
    height_mm: float = 0.0
    depth_mm: float = 0.0

    def outlines(self) -> Iterator[Polygon]:
        """Yield the polygon (x, y) of every letter, mm; seen from inside x runs to the left."""
        unit = self.height_mm / letters.HEIGHT
        x = -letters.width(self.text) / 2.0
        for sign in self.text:
            if sign != " ":
                shape, _ = letters.letter(sign)
                rings = [
                    [(-unit * (x + u), self.y_mm + unit * v) for u, v in ring.coords]
                    for ring in (shape.exterior, *shape.interiors)
                ]
                yield Polygon(rings[0], rings[1:])
            x += letters.advance(sign)


def label_on(face: LabelFace | None, part_number: str, revision: str) -> Label:
    """Return the mark on a face, as large as it may be, or why there is none.

    Examples
    --------
    >>> label = label_on(LabelFace(-20.0, 30.0, (-29.0, -20.0), "sill"), "HV-1", "B")
    >>> label.text, label.height_mm, label.words
    ('HV-1 B', 5.0, '5 mm letters on the sill, towards the cabinet')
    >>> label_on(LabelFace(-20.0, 30.0, (-22.0, -20.0), "sill"), "HV-1", "B").words
    'none: the sill has room for letters of 0.2 mm, and 2.6 mm is the least that prints'
    """
    if face is None:
        return Label("", "none: no plain face towards the cabinet")
    text = f"{part_number} {revision}"
    low, high = face.y_mm
    room = high - low - 2.0 * MARK_CLEAR.value
    wide = 2.0 * (face.half_width_mm - MARK_CLEAR.value) * letters.HEIGHT / letters.width(text)
    height = min(_MOST_MM, int(10.0 * min(room, wide) + 1e-6) / 10.0)
    if height < _LEAST_MM:
        return Label(
            "",
            f"none: the {face.words} has room for letters of {max(height, 0.0):.1f} mm, and"
            f" {_LEAST_MM:.1f} mm is the least that prints",
        )
    return Label(
        text,
        f"{height:g} mm letters on the {face.words}, towards the cabinet",
        face.z_mm,
        (low + high - height) / 2.0,
        height,
        LABEL_DEPTH.value,
    )
