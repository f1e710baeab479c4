"""The inspection sheet of a part: what to gauge on what came off the printer, with limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from typing import Final

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Spacer

from vent_family.base.said import said
from vent_family.evidence.as_made.fits import Fit
from vent_family.evidence.as_made.made import Made
from vent_family.files.drawing.balloons import ballooned
from vent_family.files.drawing.model import Marks, PaperDrawing, together
from vent_family.release.sheets.drawing import fitting, view_size_mm
from vent_family.release.sheets.gauged import Gauged, gauged_of
from vent_family.release.sheets.pages import WIDTH_MM, Cell, Drawn, Hand, sheet_pdf
from vent_family.release.sheets.views import PartViews, front_marks, section_marks
from vent_family.release.sheets.words import Told, who
from vent_family.spec.vent import VentSpec

PICTURE_MM: Final = (WIDTH_MM, 88.0)
_BESIDE_MM: Final = 6.0
_COLUMNS: Final = (
    ("no.", 8.0),
    ("what", 47.0),
    ("drawn", 14.0),
    ("expected", 17.0),
    ("least", 14.0),
    ("most", 14.0),
    ("how", 44.0),
    ("measured", 22.0),
)


def inspection_pdf(
    record: Told,
    spec: VentSpec,
    views: PartViews,
    fits: Sequence[Fit],
    made: Made,
    time_stamp: datetime,
) -> bytes:
    """Return the inspection sheet as a PDF of one page, made at a time with its offset from UTC."""
    items = gauged_of(record, spec, fits, made)
    picture = balloon_drawing(record, views, items)

    def story(hand: Hand) -> list[Flowable]:
        return [
            hand.text(f"{who(record)}: inspection sheet", 14.0, bold=True),
            Spacer(1, 1.5 * mm),
            hand.text(record["identity"]["description"], 9.0),
            Spacer(1, 1.5 * mm),
            Drawn(picture),
            Spacer(1, 2.0 * mm),
            hand.table(
                [
                    [name for name, _ in _COLUMNS],
                    *(_row(hand, number, item) for number, item in enumerate(items, 1)),
                ],
                [width for _, width in _COLUMNS],
                lined=True,
            ),
            Spacer(1, 2.0 * mm),
            *(hand.text(words, 7.2) for words in _notes(record, items)),
            Spacer(1, 4.0 * mm),
            hand.table(
                [["batch:", "plate and place:", "date:", "gauged by:", "good / not good:"]],
                [36.0] * 5,
                head=False,
            ),
        ]

    return sheet_pdf(story, record, "inspection sheet", time_stamp, pages_most=1)


def balloon_drawing(record: Told, views: PartViews, items: Sequence[Gauged]) -> PaperDrawing:
    """Return front view and section with a numbered balloon for each item."""
    drawn = {"front": views.front, "section": views.section}
    sizes = [view_size_mm(lines) for lines in drawn.values()]

    def composed(scale: float) -> Marks:
        marks = {
            "front": front_marks(views, scale),
            "section": section_marks(views, scale, fitted=False),
        }
        found = {}
        for view, own in marks.items():
            places = [
                (str(number), (item.at_mm[0] * scale, item.at_mm[1] * scale))
                for number, item in enumerate(items, 1)
                if item.view == view
            ]
            found[view] = together([own, ballooned(own.bounds_mm, places)])
        front, section = found["front"], found["section"]
        apart = front.bounds_mm[2] - section.bounds_mm[0] + _BESIDE_MM
        return together([front, section.moved(apart, 0.0)])

    bare = sizes[0][0] + sizes[1][0], max(height for _, height in sizes)
    _, marks = fitting(composed, bare, *PICTURE_MM)
    return PaperDrawing(
        PICTURE_MM[0],
        float(math.ceil(marks.bounds_mm[3] + 1.0)),
        f"{who(record)}: where to gauge",
        "Front view and section with numbered balloons.",
        marks,
    )


def _row(hand: Hand, number: int, item: Gauged) -> list[Cell]:
    drawn, expected, least, most = item.cells
    what = [hand.text(item.what, 7.2), hand.text(item.source, 5.8, grey=True)]
    return [
        hand.text(str(number), 7.2, bold=True),
        what,
        drawn,
        expected if item.expected_good else hand.text(f"{expected} !", 7.2, bold=True),
        hand.text(least, 7.6, bold=True),
        hand.text(most, 7.6, bold=True),
        item.how,
        "",
    ]


def _notes(record: Told, items: Sequence[Gauged]) -> list[str]:
    printed = record["printing"]
    shrinkage = (
        f"Lengths in mm. Expected: as drawn less shrinkage of"
        f" {said(100.0 * printed['shrinkage_in_plane'])} % in the layers and"
        f" {said(100.0 * printed['shrinkage_in_height'])} % across them; scatter"
        f" {said(printed['scatter_mm'])} mm ({record['shop']['table']}); meshes"
        f" {'stretched against it' if printed['meshes_compensated'] else 'as drawn'}."
    )
    found = [
        shrinkage,
        "Gauge at room temperature, a day after printing, with strings and brim taken off.",
        "Last, hold the vent before a lamp and look through from all sides: no light comes straight"
        f" through (sight margin {said(record['geometry']['sight_margin_mm'])} mm as drawn). Pour"
        " water on the floor: it runs out at the drain and not over the sill.",
    ]
    outside = [str(n) for n, item in enumerate(items, 1) if not item.expected_good]
    if outside:
        found.append(
            f"! Expected outside its limits: {', '.join(outside)}. Set compensate_meshes in the"
            " shop's table, or drill the panel after the printed part."
        )
    return found
