"""The datasheet of a part: drawing, key figures, water predicted, opening, fitting, cautions."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from typing import Any, Final

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Spacer

from vent_family.base.said import grams, said, three, within
from vent_family.files.drawing.model import PaperDrawing
from vent_family.release.sheets.cutout import CUTOUT_MM, cutout_drawing
from vent_family.release.sheets.drawing import DRAWING_MM, part_drawing
from vent_family.release.sheets.fitting import fitting_steps
from vent_family.release.sheets.opening import OpeningSheet
from vent_family.release.sheets.pages import WIDTH_MM, Cell, Drawn, Hand, sheet_pdf, whole
from vent_family.release.sheets.views import PartViews
from vent_family.release.sheets.words import Told, box_mm, who
from vent_family.spec.vent import VentSpec

_QR_MM: Final = 24.0


def datasheet_pdf(
    record: Told,
    spec: VentSpec,
    views: PartViews,
    opening: OpeningSheet,
    time_stamp: datetime,
) -> bytes:
    """Return the datasheet as a PDF of two pages, made at a time with its offset from UTC."""
    drawing = part_drawing(record, spec, views, *DRAWING_MM)
    cutout = cutout_drawing(record, spec, opening)

    def story(hand: Hand) -> list[Flowable]:
        return [
            *_head(hand, record),
            Drawn(drawing),
            *hand.heading("Key figures, predicted where not measured on the solid"),
            hand.table(_pairs(key_figures(record)), [32.0, 58.0, 32.0, 58.0], head=False),
            *hand.heading("Water that the catalogue row names: predicted, not tested"),
            _water(hand, record),
            *_opening(hand, record, spec, cutout),
            whole([[_last(hand, record)]], [WIDTH_MM]),
        ]

    return sheet_pdf(story, record, "datasheet", time_stamp, pages_most=2)


def _head(hand: Hand, record: Told) -> list[Flowable]:
    identity = record["identity"]
    issue = f", issue {identity['issue']}" if identity.get("issue") else ""
    standing = record["standing"]
    found = [
        hand.text(identity["part_number"], 17.0, bold=True),
        Spacer(1, 2.4 * mm),
        hand.text(f"Revision {identity['revision']}{issue}. {identity['description']}", 9.6),
        Spacer(1, 1.0 * mm),
        hand.text(
            f"{identity['family']} vent, size {identity['size']};"
            f" {record['material']['name']}, {identity['colour'].replace('_', ' ')}",
            8.2,
            grey=True,
        ),
        Spacer(1, 2.0 * mm),
    ]
    if standing != "current":
        found.insert(3, hand.text(standing, 9.6, bold=True))
    return found


def key_figures(record: Told) -> list[tuple[str, str]]:
    """Return names and values of what people look for first."""
    (x0, x1), (y0, y1), (z0, z1) = box_mm(record)
    air, louvre, printing = record["air"], record["louvre"], record["printing"]
    flows = {flow["pressure_pa"]: flow for flow in air["flows"]}
    rated = flows[air["rated_pressure_pa"]]
    at = f"{said(air['rated_pressure_pa'])} Pa"
    others = [flow for pressure, flow in flows.items() if flow is not rated]
    found = [
        ("opening to cut", record["opening"]["text"]),
        ("size over all", f"{said(x1 - x0)} × {said(y1 - y0)} × {said(z1 - z0)} mm"),
        (
            "free area",
            f"{three(louvre['free_area_mm2'])} mm², {three(louvre['free_area_percent'])} % of the"
            f" core area; narrowest at: {record['smallest_area']}",
        ),
        ("drain", f"{three(record['drain_area_mm2'])} mm² in all"),
        (
            f"air drawn in at {at}",
            within(*(rated[f"flow_in{end}_m3_h"] for end in ("", "_low", "_high"))) + " m³/h",
        ),
        (f"blown out at {at}", f"{three(rated['flow_out_m3_h'])} m³/h"),
        (
            "drawn in at other pressures",
            ", ".join(
                f"{three(flow['flow_in_m3_h'])} m³/h at {said(flow['pressure_pa'])} Pa"
                for flow in others
            ),
        ),
        ("half clogged", f"{three(rated['flow_in_half_clogged_m3_h'])} m³/h drawn in at {at}"),
        ("as a louvre", f"{louvre['classes_predicted']}, predicted classes as of EN 13030"),
        (
            "sight",
            "every straight line misses by"
            f" {said(record['geometry']['sight_margin_mm'])} mm or more"
            if record["geometry"]["sight_margin_mm"] >= 0.0
            else "a straight line passes",
        ),
        (
            "mass as printed",
            f"{grams(printing['printed_mass_g'])} g; density"
            f" {said(record['material']['density_g_cm3'], 3)} g/cm³",
        ),
        ("material", f"{record['material']['name']}, {record['material']['description']}"),
        ("printed", f"{record['print_orientation'].replace('_', ' ')}, without supports"),
        (
            "heat",
            f"{printing['heat_verdict']} at {said(printing['part_deg_c'], 0)} °C; deflects from"
            f" {said(printing['heat_deflection_deg_c'], 0)} °C",
        ),
        ("burning", printing["flammability"]),
        ("sunlight (UV)", printing["uv"]),
        ("as printed", printing["as_printed_words"]),
        (
            "impact on the front",
            f"{printing['impact_code']} to {printing['impact_tough_code']}, predicted, no rating",
        ),
    ]
    thread = record["thread"]
    if thread is not None:
        found.insert(2, ("thread", f"{thread['designation']}, {thread['tolerance']}"))
    return found


def _pairs(figures: list[tuple[str, str]]) -> list[list[Cell]]:
    """Return figures in two columns, read down the left one first."""
    half = (len(figures) + 1) // 2
    right = [*figures[half:], ("", "")][:half]
    return [[*a, *b] for a, b in zip(figures[:half], right, strict=True)]


def _water(hand: Hand, record: Told) -> Flowable:
    exposures = record["water"]["exposures"]
    if not exposures:
        return hand.text("None is named, so nothing is predicted: dry places only.")
    rows: list[list[Cell]] = [["water", "predicted", "why", "what decides"]]
    for exposure in exposures:
        verdict = exposure["verdict"]
        rows.append(
            [
                exposure["name"].replace("_", " "),
                hand.text(verdict["outcome"], 7.2, bold=True),
                hand.text(verdict["reason"], 6.8),
                hand.text(verdict["deciding_test"], 6.8),
            ]
        )
    return hand.table(rows, [26.0, 19.0, 92.0, 43.0])


def _opening(hand: Hand, record: Told, spec: VentSpec, cutout: PaperDrawing) -> list[Flowable]:
    """Return the opening and, beside it, how the part is fitted."""
    steps = _numbered(hand, fitting_steps(record, spec))
    beside = whole([[Drawn(cutout), steps]], [CUTOUT_MM[0], WIDTH_MM - CUTOUT_MM[0]])
    return [whole([[[*hand.heading("Opening to cut, and fitting"), beside]]], [WIDTH_MM])]


def _numbered(hand: Hand, steps: Iterable[str]) -> list[Flowable]:
    found: list[Flowable] = []
    for number, step in enumerate(steps, 1):
        found += [hand.text(f"{number}. {step}", 7.6), Spacer(1, 1.2 * mm)]
    return found


def _last(hand: Hand, record: Told) -> list[Flowable]:
    """Return cautions, with the record's name as text and for a camera beside them."""
    name = f"{record['identity']['part_number']}.json"
    told = [record["caution"], record["water"]["caution"], record["air"]["basis"] + "."]
    words: list[Flowable] = []
    for caution in told:
        words += [hand.text(caution[0].upper() + caution[1:], 7.6), Spacer(1, 1.2 * mm)]
    words.append(hand.text(f"All figures with units and sources: {name}", 7.6, bold=True))
    camera = Code(f"{name} {who(record)} {record['identity']['row_hash']}")
    beside = whole([[words, "", camera]], [WIDTH_MM - _QR_MM - 8.0, 8.0, _QR_MM])
    return [*hand.heading("Cautions"), beside]


class Code(Flowable):
    """A square code for cameras that holds a text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self._text = text
        self.width = self.height = _QR_MM * mm

    def draw(self) -> None:
        """Draw it at the canvas's origin."""
        code: Any = QRCode(None, QRErrorCorrectLevel.M)
        code.addData(self._text)
        code.make()
        count = code.getModuleCount()
        side = _QR_MM * mm / count
        self.canv.setFillGray(0)
        for row in range(count):
            dark = [code.isDark(row, column) for column in range(count)]
            start = 0
            for is_dark, run in groupby(dark):
                length = len(list(run))
                if is_dark:
                    y = (count - 1 - row) * side
                    self.canv.rect(start * side, y, length * side, side, stroke=0, fill=1)
                start += length
