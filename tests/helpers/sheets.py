"""What the sheets of a part are drawn from, made of its specification alone: no solid, no evidence.

Views are the outlines that cover and body are known by; the record has only what drawings ask for.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from shapely import STRtree
from shapely.geometry import LineString, Polygon, box

from vent_family.base.limits import FIT_CLEARANCE, OPENING_OVERSIZE
from vent_family.evidence.solid.record import thread_section
from vent_family.files.drawing.model import PaperDrawing
from vent_family.geometry.outline import Bend, Disc
from vent_family.release.sheets.opening import Drilled, OpeningSheet
from vent_family.release.sheets.views import PartViews
from vent_family.spec.vent import VentSpec


def plain_views(spec: VentSpec) -> PartViews:
    """Return the cover's box from the front, and the body's outline as its section."""
    left, right, bottom, top = spec.body.cover.reach_mm
    (_, _), (y0, y1), (z0, z1) = reach(spec)
    front = ((-left, -bottom), (right, -bottom), (right, top), (-left, top), (-left, -bottom))
    room = spec.section.room
    whole = box(z0, y0, z1, y1)
    panel = tuple(
        box(-spec.panel_thickness_mm, a, 0.0, b)
        for a, b in ((-bottom - 15.0, y0), (y1, top + 15.0))
    )
    outline = tuple(whole.exterior.coords)
    cut = whole.difference(room)
    areas = tuple(part for part in getattr(cut, "geoms", [cut]) if isinstance(part, Polygon))
    middle = spec.bays[len(spec.bays) // 2]
    return PartViews(sum(middle) / 2.0, (front,), (outline,), areas, {"panel": panel})


def reach(spec: VentSpec) -> tuple[tuple[float, float], ...]:
    """Return about how far a part reaches along x, y and z, mm."""
    left, right, bottom, top = spec.body.cover.reach_mm
    behind = min(z for z, _ in spec.body.side_outline_mm(spec.section.front_z_mm))
    return (
        (-left, right),
        (-bottom, top),
        (min(behind, spec.section.inner_z_mm), spec.section.front_z_mm),
    )


def gaps(spec: VentSpec) -> list[tuple[str, float]]:
    """Return the drawn gaps between body and opening, mm, by the names of their fits."""
    neck = spec.body.neck
    if neck is not None:
        drawn = (spec.opening.size_mm[0] - neck.thread.external.major_mm) / 2.0
        return [("fit in the opening", drawn)]
    return [(f"fit in the opening, {name}", FIT_CLEARANCE.value) for name in ("width", "height")]


def told(spec: VentSpec) -> dict[str, Any]:
    """Return what a part's drawing asks its record for."""
    opening = spec.opening
    spans = reach(spec)
    thread = thread_section(spec).thread
    return {
        "identity": {
            "part_number": spec.part_number,
            "revision": spec.revision,
            "description": spec.description,
        },
        "geometry": {
            "box_min_mm": [low for low, _ in spans],
            "box_max_mm": [high for _, high in spans],
            "sill_height_mm": spec.section.sill_top_mm - spec.section.floor_inner_mm,
        },
        "opening": {
            "kind": opening.kind,
            "width_mm": opening.size_mm[0],
            "height_mm": opening.size_mm[1],
            "oversize_max_mm": OPENING_OVERSIZE.value,
            "notch_width_mm": opening.notch_mm[0] if opening.notch_mm else None,
            "notch_depth_mm": opening.notch_mm[1] if opening.notch_mm else None,
            "holes_mm": [[h.x_mm, h.y_mm, h.diameter_mm] for h in opening.holes],
            "corner_radius_max_mm": opening.corner_max_mm,
            "panel_thickness_mm": spec.panel_thickness_mm,
            "text": opening.text(),
        },
        "printing": {"as_printed": [{"name": name, "drawn": gap} for name, gap in gaps(spec)]},
        "thread": None if thread is None else thread.model_dump(mode="json"),
    }


def outline_sheet(spec: VentSpec) -> OpeningSheet:
    """Return what to cut for a part, and its cover's box as what it takes up outside."""
    left, right, bottom, top = spec.body.cover.reach_mm
    cover = ((-left, -bottom), (right, -bottom), (right, top), (-left, top))
    width, height = (size / 2.0 for size in spec.opening.size_mm)
    corners = ((-width, -height), (width, -height), (width, height), (-width, height))
    cut = tuple(Bend(x, y) for x, y in corners)
    return OpeningSheet(
        part_number=spec.part_number,
        revision=spec.revision,
        row_hash="0" * 16,
        words=spec.opening.text(),
        size_mm=spec.opening.size_mm,
        oversize_max_mm=OPENING_OVERSIZE.value,
        corner_max_mm=spec.opening.corner_max_mm,
        panel_mm=spec.panel_thickness_mm,
        cut=Disc(0.0, 0.0, 2.0 * width) if spec.opening.kind == "circle" else cut,
        holes=tuple(Drilled(h.x_mm, h.y_mm, h.diameter_mm, h.screw) for h in spec.opening.holes),
        outside=cover,
        inside=cover,
        reach_mm=(spec.section.front_z_mm, -spec.section.inner_z_mm),
        gasket=spec.body.gasket,
        has_nut=spec.body.neck is not None,
        has_fan=False,
    )


def collisions(drawing: PaperDrawing) -> list[str]:
    """Return, in words, every text that meets another, a line, or the edge of the paper."""
    texts = drawing.marks.letterings
    boxes = [box(*text.box_mm) for text in texts]
    paper = box(0.0, 0.0, drawing.width_mm, drawing.height_mm)
    found = [
        f"{t.text!r} leaves the paper"
        for t, b in zip(texts, boxes, strict=True)
        if not paper.covers(b)
    ]
    for i, one in enumerate(boxes):
        found += [
            f"{texts[i].text!r} meets {texts[j].text!r}"
            for j in range(i)
            if one.intersects(boxes[j])
        ]
    lines = [
        LineString(pair) for stroke in drawing.marks.strokes for pair in pairwise(stroke.points)
    ]
    tree = STRtree(lines)
    for text, one in zip(texts, boxes, strict=True):
        found += [
            f"{text.text!r} is crossed by {lines[k].wkt}" for k in tree.query(one, "intersects")
        ]
    left, low, right, high = drawing.marks.bounds_mm
    if left < 0.0 or low < 0.0 or right > drawing.width_mm or high > drawing.height_mm:
        found.append(f"lines leave the paper: {drawing.marks.bounds_mm}")
    return found
