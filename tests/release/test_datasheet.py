"""Datasheet and inspection sheet: parsed back, they say what the record says, as text."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader

from tests.helpers.rows import spec
from tests.helpers.sheets import collisions, outline_sheet, plain_views, told
from tests.release.test_sheets import SMALL, any_specs, items_of
from vent_family.base.shop import demo_shop
from vent_family.evidence.as_made.fits import Fit, fits_of
from vent_family.evidence.as_made.made import Made, made_of, nut_of
from vent_family.evidence.context import PartContext
from vent_family.evidence.kinds import KINDS
from vent_family.release.contents import Contents
from vent_family.release.sheets.cutout import cutout_drawing
from vent_family.release.sheets.datasheet import datasheet_pdf
from vent_family.release.sheets.gauged import Gauged, gauged_of
from vent_family.release.sheets.inspection import balloon_drawing, inspection_pdf
from vent_family.release.site.figures import aligned, typeset

STAMP = datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC)
ODD = 'Pump <b>2</b> &amp; "north" <font size="99">'


@cache
def contents() -> Contents:
    """Return what the files of one small part are written from."""
    one = spec("rectangular", size="40x40", part_number="T-40", seal="gasket", revision="C")
    return Contents(PartContext(one), ("T-40.json",), "0123456789abcdef", STAMP)


def record(**identity: Any) -> dict[str, Any]:
    plain: dict[str, Any] = contents().told | {}
    plain["identity"] = plain["identity"] | identity
    return plain


def fits() -> tuple[tuple[Fit, ...], Made]:
    one, shop = contents().context.spec, demo_shop()
    made = made_of(one, shop)
    return fits_of(one, made, nut_of(one, shop), None), made


def datasheet(plain: dict[str, Any], stamp: datetime = STAMP) -> bytes:
    made = contents()
    return datasheet_pdf(plain, made.context.spec, made.views, made.opening, stamp)


def inspection(plain: dict[str, Any]) -> bytes:
    made = contents()
    return inspection_pdf(plain, made.context.spec, made.views, *fits(), STAMP)


def words(data: bytes) -> str:
    """Return all text of a PDF, line ends as spaces."""
    return " ".join(
        re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(data)).pages
    )


def fonts(data: bytes) -> dict[str, bool]:
    """Return the fonts that a PDF names, and whether each is embedded."""
    found = {}
    for page in PdfReader(io.BytesIO(data)).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            own = font.get_object()
            below = own.get("/DescendantFonts")
            inner = below[0].get_object() if below else own
            descriptor = inner.get("/FontDescriptor")
            found[own["/BaseFont"]] = descriptor is not None and "/FontFile2" in descriptor
    return found


def test_a_quantity_has_one_text_on_page_sheet_report_and_drawing() -> None:
    """Rounded once: 7.45 m3/h here and 7.5 there make people ask which of both holds."""
    plain = record()
    page = {figure.name: figure.text for figure in aligned(plain) if figure is not None}
    sheet = words(datasheet(plain))
    context = contents().context
    report = " ".join(typeset(text) for kind in KINDS for text in kind.sentences(context))
    for name in ("flow_in", "mass"):
        assert page[name] in sheet, name
        assert page[name] in report, name
    assert f"half clogged {page['flow_clogged']} drawn in" in sheet
    assert f"{page['flow_clogged'].split()[0]} with half of the slats clogged" in report
    assert f"size over all {page['overall']}" in sheet
    area, share = page["free_area"].split(" mm² (")
    assert f"{area} mm², {share.split()[0]} % of the core" in sheet
    assert f"Free area {area} mm², {share.split()[0]} % of the open face" in report
    least = page["torque"].split()[0]
    assert f"{least} N m" in sheet
    assert f"{least} N m" in report
    out, _, _, inwards, *_ = page["reach"].split()
    lines = " ".join(contents().opening.told())
    assert f"Stands out {out} mm; reaches {inwards} mm behind" in lines


@pytest.mark.parametrize(("made", "pages"), [(datasheet, 2), (inspection, 1)])
def test_pages_are_a4_and_carry_their_fonts(made: Any, pages: int) -> None:
    data = made(record())
    read = PdfReader(io.BytesIO(data))
    assert len(read.pages) == pages
    for page in read.pages:
        assert [float(v) for v in page.mediabox] == pytest.approx([0, 0, 595.28, 841.89], abs=0.01)
    assert fonts(data)
    assert all(fonts(data).values()), fonts(data)
    assert all("DejaVu" in name for name in fonts(data))
    assert data == made(record())


def test_the_datasheet_says_what_the_record_says() -> None:
    plain = record(issue=7)
    text = words(datasheet(plain))
    rated = next(f for f in plain["air"]["flows"] if f["pressure_pa"] == 25.0)
    joint = plain["joint"]["gasket"]
    low, high = plain["geometry"]["box_min_mm"], plain["geometry"]["box_max_mm"]
    spans = [f"{b - a:.2f}".rstrip("0").rstrip(".") for a, b in zip(low, high, strict=True)]
    for said in (
        "T-40",
        "Revision C, issue 7",
        "T-40 C.7, datasheet",
        plain["opening"]["text"],
        f"{' × '.join(spans)} mm",
        f"{plain['louvre']['free_area_mm2']:.3g} mm²",
        f"{plain['louvre']['free_area_percent']:.3g} % of the core area",
        f"{rated['flow_in_m3_h']:.3g} ({rated['flow_in_low_m3_h']:.3g} to",
        f"{rated['flow_out_m3_h']:.3g} m³/h",
        f"{plain['printing']['printed_mass_g']:.1f} g",
        plain["material"]["description"],
        f"{joint['torque_n_m']:.3g} N m",
        "40 +0.5 / 0",
        "up to 0.5 mm larger is allowed, smaller is not",
        "screws M4",
        "row 0123456789abcdef",
        "made 2026-03-04",
        "record: T-40.json",
        plain["caution"],
        plain["water"]["caution"],
        *(e["verdict"]["reason"] for e in plain["water"]["exposures"]),
        *(e["verdict"]["outcome"] for e in plain["water"]["exposures"]),
    ):
        assert said in text, said
    dry = plain | {"water": plain["water"] | {"exposures": []}}
    assert "dry places only" in words(datasheet(dry))


def test_the_record_can_be_reached() -> None:
    read = PdfReader(io.BytesIO(datasheet(record())))
    assert read.metadata is not None
    assert read.metadata.title == "T-40 C: datasheet"
    links = {
        note.get_object()["/A"]["/URI"]
        for page in read.pages
        for note in page["/Annots"]  # type: ignore[attr-defined]
    }
    assert links == {"T-40.json"}


@pytest.mark.parametrize("made", [datasheet, inspection])
def test_a_description_is_text_whatever_stands_in_it(made: Any) -> None:
    data = made(record(description=ODD))
    assert ODD in words(data)
    assert all(fonts(data).values())


def test_another_day_is_another_sheet() -> None:
    later = STAMP.replace(day=5)
    assert datasheet(record()) != datasheet(record(), later)
    assert "made 2026-03-05" in words(datasheet(record(), later))


def test_many_exposures_stay_on_two_pages() -> None:
    """Nine waters with reasons as long as they come: smaller letters, two pages, nothing lost."""
    plain = record(description="W" * 120)
    reason = "no drop passes; the pool stays 3.8 mm below the sill; air drawn in " * 6
    plain["water"] = plain["water"] | {
        "exposures": [
            {
                "name": f"water_{i}",
                "verdict": {
                    "outcome": ("holds", "marginal", "fails")[i % 3],
                    "reason": f"{i}: {reason}",
                    "deciding_test": "accredited laboratory test to IEC 60529, second numeral 4",
                },
            }
            for i in range(9)
        ]
    }
    data = datasheet(plain)
    assert len(PdfReader(io.BytesIO(data)).pages) == 2
    text = words(data)
    for i in range(9):
        assert f"water {i} {('holds', 'marginal', 'fails')[i % 3]} {i}: no drop" in text


def test_a_part_that_must_not_be_fitted_says_so() -> None:
    plain = record() | {"standing": "do not fit: rain is predicted to get in"}
    assert "do not fit: rain is predicted to get in" in words(datasheet(plain))


def test_the_inspection_sheet_says_what_is_gauged() -> None:
    plain = record()
    items = gauged_of(plain, contents().context.spec, *fits())
    text = words(inspection(plain))
    assert 5 <= len(items) <= 10
    for number, item in enumerate(items, 1):
        drawn, expected, least, most = item.cells
        row = f"{item.what} {item.source} {drawn} {expected}"
        assert f"{number} {row}" in text, row
        assert least in text
        assert most in text
        assert item.how in text
    assert "measured" in text
    assert f"scatter {plain['printing']['scatter_mm']:g} mm" in text


def test_limits_are_those_of_the_record() -> None:
    """Of the fit from the record's own table; of gasket and screws worked out by hand."""
    plain, items = record(), {}
    for item in gauged_of(plain, contents().context.spec, *fits()):
        items[item.what.split(",")[0]] = item
    by_name = {fit["name"]: fit for fit in plain["printing"]["as_printed"]}
    for word in ("width", "height"):
        item, fit = items[f"{word} of the body"], by_name[f"fit in the opening, {word}"]
        assert item.most_mm == 40.0
        assert item.least_mm == pytest.approx(40.0 - 2.0 * fit["most"])
        assert item.expected_mm == pytest.approx(40.0 - 2.0 * fit["expected"])
    # A gasket of 2 mm, pressed by a quarter to a half of it.
    recess = items["depth of the gasket's recess"]
    assert (recess.drawn_mm, recess.least_mm, recess.most_mm) == pytest.approx((1.2, 1.0, 1.5))
    # M4 in 4.5 mm: half a millimetre of play at either end.
    holes = items["holes side to side"]
    assert (holes.least_mm, holes.most_mm) == pytest.approx(
        (holes.drawn_mm - 1.0, holes.drawn_mm + 1.0)
    )
    # Shrunk by 0.5 % across, off by 0.12 mm.
    sill = items["sill over the floor at its foot"]
    assert sill.least_mm == pytest.approx(sill.drawn_mm * 0.995 - 0.12)
    assert sill.most_mm == pytest.approx(sill.drawn_mm * 0.995 + 0.12)
    drain = items["height of the drain"]
    assert drain.least_mm == pytest.approx(2.7 * 0.995)


def test_limits_are_rounded_to_the_safe_side() -> None:
    item = Gauged("w", 8.0, 7.96, 7.8411, 8.0799, "h", "s", "front", (0.0, 0.0))
    assert item.cells == ("8", "7.96", "7.85", "8.07")
    assert item.expected_good
    assert not Gauged("w", 8.0, 7.8, 7.85, None, "h", "s", "front", (0.0, 0.0)).expected_good


def test_balloons_and_openings_never_collide() -> None:
    for one in [*SMALL.values(), *any_specs(16)]:
        plain = told(one)
        items = items_of(one, plain)
        assert 5 <= len(items) <= 10
        assert collisions(balloon_drawing(plain, plain_views(one), items)) == [], one.row
        assert collisions(cutout_drawing(plain, one, outline_sheet(one))) == [], one.row


def test_balloons_stand_for_their_items() -> None:
    one = SMALL["flanged"]
    items = items_of(one, told(one))
    drawing = balloon_drawing(told(one), plain_views(one), items)
    numbers = [t.text for t in drawing.marks.letterings]
    assert sorted(numbers, key=int) == [str(n) for n in range(1, len(items) + 1)]
    assert len(drawing.marks.fills) >= len(items)
