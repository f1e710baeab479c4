"""Which dimensions a part's views carry: their numbers from its record, their places from its spec.

A view's paper has the part's origin at 0, 0; lengths in mm.
"""

from __future__ import annotations

import math

from vent_family.base.said import said
from vent_family.files.drawing.dimensions import Dimension, Note, Side
from vent_family.release.sheets.words import Told, box_mm, printed_fit
from vent_family.spec.vent import VentSpec


def front_dimensions(record: Told, scale: float) -> list[Dimension]:
    """Return widths and heights over all, and distances of the outermost screw holes.

    ``scale`` (1) is that of the view.
    """
    (x0, x1), (y0, y1), _ = box_mm(record)
    found = [
        _measured("below", (x0, x1), ((y0 + y1) / 2.0,) * 2, said(x1 - x0), scale),
        _measured("left", (y0, y1), ((x0 + x1) / 2.0,) * 2, said(y1 - y0), scale),
    ]
    return found + hole_dimensions(record, scale)


def hole_dimensions(record: Told, scale: float, more: str = "") -> list[Dimension]:
    """Return the distances of the outermost screw holes; ``more`` follows each number.

    ``scale`` (1) is that of the view.
    """
    holes: list[tuple[float, float, float]] = record["opening"]["holes_mm"]
    found: list[Dimension] = []
    sides: tuple[Side, Side] = ("below", "left")
    for axis, side in enumerate(sides):
        # Of several as far out the one nearest to the side.
        order = sorted((h[axis], h[1 - axis], h[2]) for h in holes)
        if not order or order[0][0] == order[-1][0]:
            continue
        low = order[0]
        high = next(h for h in order if h[0] == order[-1][0])
        text = said(high[0] - low[0]) + more
        feet = (low[1] - low[2] / 2.0, high[1] - high[2] / 2.0)
        found.append(_measured(side, (low[0], high[0]), feet, text, scale))
    return found


def hole_note(record: Told, spec: VentSpec, scale: float) -> list[Note]:
    """Return how many holes of what diameter for which screw; nothing without holes.

    ``scale`` (1) is that of the view.
    """
    holes = record["opening"]["holes_mm"]
    if not holes:
        return []
    x, y, diameter = max(holes, key=lambda h: (h[1], h[0]))
    screw = spec.opening.holes[0].screw
    up = (x + 0.354 * diameter, y + 0.354 * diameter)
    text = f"{len(holes)} × Ø{said(diameter)} for {screw}"
    return [Note(text, (up[0] * scale, up[1] * scale))]


def front_notes(record: Told, spec: VentSpec, scale: float) -> list[Note]:
    """Return notes over the front view: corners, a round head's diameter, screw holes.

    ``scale`` (1) is that of the view.
    """
    found = []
    left, _, _, top = spec.body.cover.reach_mm
    radius = spec.body.facts.get("cover corner radius mm")
    if radius is not None:
        off = radius * (1.0 - math.sqrt(0.5))
        found.append(Note(f"R{said(radius)}", ((off - left) * scale, (top - off) * scale)))
    head = spec.body.facts.get("head diameter mm")
    if head is not None:
        at = head * math.sqrt(0.5) / 2.0 * scale
        found.append(Note(f"Ø{said(head)}", (-at, at)))
    return found + hole_note(record, spec, scale)


def section_dimensions(record: Told, spec: VentSpec, scale: float) -> list[Dimension]:
    """Return depths before and behind the panel, what goes into the opening, sill and drain.

    ``scale`` (1) is that of the view.
    """
    section, (_, (low, _), (inner, _)) = spec.section, box_mm(record)
    front, (drain0, drain1) = section.front_z_mm, section.drain_mm
    sill = record["geometry"]["sill_height_mm"]
    (sill_z, sill_y), (foot_z, foot_y) = section.sill, section.foot
    found = [
        _measured("below", (inner, 0.0), (low, low), said(-inner), scale),
        _measured("below", (0.0, front), (low, low), said(front), scale),
        _measured("left", (foot_y, sill_y), (foot_z, sill_z), f"sill {said(sill)}", scale),
        _measured(
            "right", (drain0, drain1), (front, front), f"drain {said(drain1 - drain0)}", scale
        ),
    ]
    neck = spec.body.neck
    if neck is None:
        top = min(y for z, y in spec.body.side_outline_mm(front) if z <= 0.0)
        height = entering_mm(record)[1]
        found.append(_measured("left", (top - height, top), (inner, inner), said(height), scale))
        return found
    thread, bore = record["thread"], neck.bore_radius_mm
    half = neck.thread.nominal_mm / 2.0
    found.append(_measured("left", (-half, half), (inner, inner), thread["designation"], scale))
    found.append(_measured("left", (-bore, bore), (inner, inner), f"Ø{said(2.0 * bore)}", scale))
    return found


def entering_mm(record: Told) -> tuple[float, float]:
    """Return width and height of what goes into the opening: that less the drawn gap all round."""
    opening = record["opening"]
    width, height = printed_fit(record, "fit in the opening")["drawn"], None
    if record["thread"] is None:
        height = printed_fit(record, "fit in the opening, height")["drawn"]
    return (
        opening["width_mm"] - 2.0 * width,
        opening["height_mm"] - 2.0 * (width if height is None else height),
    )


def _measured(
    side: Side,
    ends: tuple[float, float],
    feet: tuple[float, float],
    text: str,
    scale: float,
) -> Dimension:
    return Dimension(
        side,
        (ends[0] * scale, ends[1] * scale),
        (feet[0] * scale, feet[1] * scale),
        text,
    )
