"""Dimensions beside a view, and notes above it, placed so that no text meets another or a line.

Dimension lines stand in lanes outside the view's box, short ones next to it. A lane and a place of
its text is looked for every dimension so that no two in a lane overlap and no extension line runs
through a text: the fewest lanes win. Text stands on its line and is read from below or from the
right (ISO 129-1).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from vent_family.files.drawing.model import (
    THIN_MM,
    Box,
    Lettering,
    Marks,
    Patch,
    Point,
    Stroke,
    overlapping,
    text_width_mm,
    together,
)

Side = Literal["below", "above", "left", "right"]

TEXT_MM: Final = 3.0
"""Size of the letters: figures 2.2 mm high."""
_FIRST_MM: Final = 8.0
_LANE_MM: Final = 6.5
"""Distance of the first lane from the view, and of lane from lane."""
_ARROW_MM: Final = 2.2
_TAIL_MM: Final = 4.0
"""Length of an arrow, and of the line behind one that points inwards."""
_OVER_MM: Final = 1.2
_OFF_MM: Final = 0.8
"""How far extension lines run on behind the dimension line, and begin off the view."""
_LIFT_MM: Final = 0.9
"""Height of the text over its line."""
_CLEAR_MM: Final = 0.8
"""Least distance of a text from an extension line, and of texts along a lane."""
_LANES_MAX: Final = 8
_TRIES_MAX: Final = 4000
"""Most lanes, and most places that are looked at before so many lanes count as too few."""
_SHELF_MM: Final = 5.0
_ROW_MM: Final = 5.0
_BESIDE_MM: Final = 3.0
"""Height of the lowest row of notes over a view, of row over row, least distance in a row."""


class DimensionError(RuntimeError):
    """Dimensions could not be placed without a collision."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A distance along one side of a view, mm of paper.

    ``ends_mm`` are the two places along the side, lesser first; ``feet_mm`` is where, across, their
    extension lines begin. ``text`` is what is written.
    """

    side: Side
    ends_mm: tuple[float, float]
    feet_mm: tuple[float, float]
    text: str


@dataclass(frozen=True, slots=True)
class Note:
    """A few words above a view with a line to the place they are about; without one a heading."""

    text: str
    at_mm: Point | None = None
    bold: bool = False


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to draw a dimension: where its text begins along the side, and its arrows point."""

    text_mm: float
    inwards: bool
    reach: tuple[float, float]


def dimensioned(box: Box, dimensions: Iterable[Dimension], size_mm: float = TEXT_MM) -> Marks:
    """Return dimensions placed around a view's ``box``, mm; ``size_mm`` is that of their text, mm.

    Raises
    ------
    DimensionError
        if no arrangement is free of collisions
    """
    sides: dict[Side, list[Dimension]] = {}
    for dimension in dimensions:
        sides.setdefault(dimension.side, []).append(dimension)
    placed = Marks()
    for side, found in sides.items():
        placed = together([placed, _side(box, side, found, placed, size_mm)])
    return placed


def _side(
    box: Box, side: Side, dimensions: list[Dimension], others: Marks, size_mm: float
) -> Marks:
    """Return the dimensions of one side, clear of those of ``others`` round the corner."""
    order = sorted(dimensions, key=lambda d: (d.ends_mm[1] - d.ends_mm[0], d.ends_mm))

    def drawn(placed: Sequence[tuple[int, _Way]]) -> Marks:
        return together(
            _drawn(box, dimension, lane, way, size_mm)
            for dimension, (lane, way) in zip(order, placed, strict=True)
        )

    for lanes in range(1, _LANES_MAX + 1):
        placed = _arranged(order, lanes, lambda p: _apart(drawn(p), others), size_mm)
        if placed is not None:
            return drawn(placed)
    raise DimensionError(f"no room for the dimensions {[d.text for d in order]} {side} the view")


def _apart(one: Marks, other: Marks) -> bool:
    """Tell whether no text of either meets a text or a line of the other; all lines run square."""
    for a, b in ((one, other), (other, one)):
        texts = [text.box_mm for text in a.letterings]
        lines = [Marks(strokes=(stroke,)).bounds_mm for stroke in b.strokes]
        taken = [*lines, *(text.box_mm for text in b.letterings)]
        if any(overlapping([text, there], _CLEAR_MM) for text in texts for there in taken):
            return False
    return True


def _arranged(
    order: Sequence[Dimension],
    lanes: int,
    accepted: Callable[[Sequence[tuple[int, _Way]]], bool],
    size_mm: float,
) -> list[tuple[int, _Way]] | None:
    """Return lane and way of each dimension, ``None`` if so many lanes are too few."""
    placed: list[tuple[int, _Way]] = []
    tries = iter(range(_TRIES_MAX))

    def goes_on() -> bool:
        index = len(placed)
        if index == len(order):
            return accepted(placed)
        for lane in range(lanes):
            if next(tries, None) is None:
                return False
            for way in _ways(order[index], size_mm):
                if all(
                    _free(order[index], lane, way, other, *where, size_mm)
                    for other, where in zip(order[:index], placed, strict=True)
                ):
                    placed.append((lane, way))
                    if goes_on():
                        return True
                    placed.pop()
        return False

    return placed if goes_on() else None


def _ways(dimension: Dimension, size_mm: float) -> list[_Way]:
    """Return the ways to draw a dimension, the best first."""
    (low, high), width = dimension.ends_mm, text_width_mm(dimension.text, size_mm)
    span, middle = high - low, 0.5 * (low + high)
    inwards = span < width + 2.0 * _ARROW_MM + 1.0
    tail = _ARROW_MM + _TAIL_MM if inwards else 0.0
    line = (low - tail, high + tail)
    found = []
    if span >= width + 2.0 * _CLEAR_MM:
        found.append(_Way(middle - 0.5 * width, inwards, line))
    after, before = high + _ARROW_MM + 0.8, low - _ARROW_MM - 0.8 - width
    found.append(_Way(after, inwards, (line[0], max(line[1], after + width))))
    found.append(_Way(before, inwards, (min(line[0], before), line[1])))
    return found


def _free(
    one: Dimension,
    lane: int,
    way: _Way,
    other: Dimension,
    other_lane: int,
    other_way: _Way,
    size_mm: float,
) -> bool:
    """Tell whether two dimensions keep clear of each other."""
    if lane == other_lane:
        # Two that only share an end make a chain.
        plain = way.reach == one.ends_mm and other_way.reach == other.ends_mm
        clear = -1e-6 if plain else _CLEAR_MM
        return (
            way.reach[0] >= other_way.reach[1] + clear or other_way.reach[0] >= way.reach[1] + clear
        )
    inner, inner_way, outer = (one, way, other) if lane < other_lane else (other, other_way, one)
    start = inner_way.text_mm - _CLEAR_MM
    end = inner_way.text_mm + text_width_mm(inner.text, size_mm) + _CLEAR_MM
    return not any(start < place < end for place in outer.ends_mm)


def _drawn(box: Box, dimension: Dimension, lane: int, way: _Way, size_mm: float) -> Marks:
    side, (low, high) = dimension.side, dimension.ends_mm
    sign = 1.0 if side in ("above", "right") else -1.0
    edge = {"below": box[1], "above": box[3], "left": box[0], "right": box[2]}[side]
    line = edge + sign * (_FIRST_MM + lane * _LANE_MM)
    level = side in ("below", "above")

    def at(along: float, across: float) -> Point:
        return (along, across) if level else (across, along)

    strokes = []
    for place, foot in zip((low, high), dimension.feet_mm, strict=True):
        begin, end = foot + sign * _OFF_MM, line + sign * _OVER_MM
        strokes.append(Stroke((at(place, begin), at(place, end)), THIN_MM))
    strokes.append(Stroke((at(way.reach[0], line), at(way.reach[1], line)), THIN_MM))
    turn = -1.0 if way.inwards else 1.0
    heads = [
        arrow_head(at(low, line), at(low + turn, line)),
        arrow_head(at(high, line), at(high - turn, line)),
    ]
    # Text stands on its line: above a level one, left of an upright one.
    lift = line + _LIFT_MM if level else line - _LIFT_MM
    x, y = at(way.text_mm, lift)
    text = Lettering(dimension.text, x, y, size_mm, upright=not level)
    return Marks(tuple(heads), tuple(strokes), (text,))


def arrow_head(tip: Point, behind: Point) -> Patch:
    """Return an arrow's head at ``tip``; ``behind`` is a place on its line."""
    dx, dy = behind[0] - tip[0], behind[1] - tip[1]
    length = (dx * dx + dy * dy) ** 0.5
    dx, dy = dx / length * _ARROW_MM, dy / length * _ARROW_MM
    x, y = tip[0] + dx, tip[1] + dy
    across = (-0.17 * dy, 0.17 * dx)
    return Patch(((tip, (x + across[0], y + across[1]), (x - across[0], y - across[1])),))


def noted(box: Box, notes: Iterable[Note], size_mm: float = TEXT_MM) -> Marks:
    """Return notes in rows above a view's ``box``, mm, in the order of the places they point at.

    Lines to places do not cross, since the lowest row holds all notes that point; headings stand
    above them. ``size_mm`` is the size of the text, mm.
    """
    found = list(notes)
    pointing = sorted((n for n in found if n.at_mm), key=lambda n: n.at_mm or (0.0, 0.0))
    marks: list[Marks] = []
    base = box[3] + _SHELF_MM
    if pointing:
        for note, start in zip(pointing, _spread(pointing, box, size_mm), strict=True):
            assert note.at_mm is not None
            width, shelf = text_width_mm(note.text, size_mm), base - 0.9
            near = min(max(note.at_mm[0], start), start + width)
            strokes = (
                Stroke(((start, shelf), (start + width, shelf)), THIN_MM),
                Stroke(((near, shelf), note.at_mm), THIN_MM),
            )
            text = Lettering(note.text, start, base, size_mm)
            marks.append(Marks((arrow_head(note.at_mm, (near, shelf)),), strokes, (text,)))
        base += _ROW_MM
    for note in found:
        if note.at_mm is None:
            x = 0.5 * (box[0] + box[2])
            text = Lettering(note.text, x, base, size_mm, "middle", bold=note.bold)
            marks.append(Marks(letterings=(text,)))
            base += _ROW_MM
    return together(marks)


def _row_mm(widths: Sequence[float]) -> float:
    """Return how wide notes of some widths, mm, are side by side."""
    return sum(widths) + _BESIDE_MM * (len(widths) - 1)


def _spread(notes: Sequence[Note], box: Box, size_mm: float) -> list[float]:
    """Return where each note begins: over its place if it can, else pushed aside by others."""
    widths = [text_width_mm(note.text, size_mm) for note in notes]
    starts: list[float] = []
    # Not over the lanes beside the view, where arrows may reach up.
    free = box[0] - 2.0
    for note, width in zip(notes, widths, strict=True):
        assert note.at_mm is not None
        start = max(note.at_mm[0] - 0.5 * width, free)
        starts.append(start)
        free = start + width + _BESIDE_MM
    # What was pushed beyond the view's right edge goes back as far as the others let it.
    limit = max(box[2], box[0] - 2.0 + _row_mm(widths))
    for index in reversed(range(len(notes))):
        starts[index] = min(starts[index], limit - widths[index])
        limit = starts[index] - _BESIDE_MM
    return starts
