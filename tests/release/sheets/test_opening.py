"""The sheet for the sheet-metal shop, compared with the tool that cuts panels and with meshes."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from datetime import UTC, datetime

import cadquery as cq
import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing as Document
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union

from tests.helpers.drawings import closed_polygon
from tests.helpers.families import ALL, fourth_family, vent_of
from vent_family.base.limits import OPENING_OVERSIZE
from vent_family.evidence.context import PartContext
from vent_family.geometry.opening import opening_tool
from vent_family.release.record import CAUTION
from vent_family.release.sheets.opening import (
    CENTRE,
    GASKET,
    HOLES,
    INSIDE,
    LAYERS,
    OPENING,
    OUTSIDE,
    TOLERANCE,
    OpeningSheet,
    opening_dxf,
    opening_sheet,
)

CELLS = {
    "rectangular": {"size": "40x40", "locating_key": "notch"},
    "round": {"size": "M20x1.5", "locating_key": "notch", "step_thread": "plain"},
    "flanged": {"size": "50x60"},
    "octagonal": {"size": "90x80"},
}
STAMP = datetime(2026, 1, 2, tzinfo=UTC)


@pytest.fixture(scope="module")
def made() -> Iterator[dict[str, tuple[PartContext, OpeningSheet, Document]]]:
    found = {}
    with fourth_family():
        for family in ALL:
            context = PartContext(vent_of(family, **CELLS[family]))
            sheet = opening_sheet(context, "0" * 16)
            text = opening_dxf(sheet, STAMP).decode("utf-8")
            found[family] = context, sheet, ezdxf.read(io.StringIO(text))
        yield found


@pytest.fixture(scope="module", params=ALL)
def one(
    request: pytest.FixtureRequest, made: dict[str, tuple[PartContext, OpeningSheet, Document]]
) -> tuple[PartContext, OpeningSheet, Document]:
    return made[request.param]


def shapes(document: Document, layer: str) -> list[Polygon]:
    """Return what is closed on a layer, arcs in chords that hardly leave them."""
    return [
        closed_polygon(entity)
        for entity in document.modelspace().query(f'LWPOLYLINE CIRCLE[layer=="{layer}"]')
    ]


def test_it_cuts_what_the_panel_loses(one: tuple[PartContext, OpeningSheet, Document]) -> None:
    context, _, document = one
    assert document.audit().errors == []
    (opening,) = shapes(document, OPENING.name)
    holes = shapes(document, HOLES.name)
    away = unary_union([opening, *holes])
    panel = cq.Solid.makeBox(400.0, 400.0, 2.0, cq.Vector(-200.0, -200.0, -2.0))
    left = panel.cut(*opening_tool(context.spec, 2.0).Solids())
    assert away.area == pytest.approx((panel.Volume() - left.Volume()) / 2.0, rel=1e-4)
    # Where, too: points of a grid over all of it lie in both or in neither.
    x0, y0, x1, y1 = away.buffer(2.0).bounds
    tools = opening_tool(context.spec, 2.0).Solids()
    for x, y in np.random.default_rng(7).uniform((x0, y0), (x1, y1), (150, 2)):
        if away.boundary.distance(Point(x, y)) > 0.01:
            inside = any(tool.isInside(cq.Vector(x, y, -1.0)) for tool in tools)
            assert inside == away.contains(Point(x, y)), (x, y)
    stated = context.spec.opening
    width, height = stated.size_mm
    low = stated.notch_mm[1] if stated.notch_mm else 0.0
    half = (-width / 2, -height / 2 - low, width / 2, height / 2)
    assert opening.bounds == pytest.approx(half, abs=1e-3)
    circles = document.modelspace().query(f'CIRCLE[layer=="{HOLES.name}"]')
    assert [(*c.dxf.center, 2 * c.dxf.radius) for c in circles] == [
        pytest.approx((h.x_mm, h.y_mm, 0.0, h.diameter_mm)) for h in stated.holes
    ]


def test_what_the_fitted_vent_takes_up_is_kept_out(
    one: tuple[PartContext, OpeningSheet, Document],
) -> None:
    context, sheet, document = one
    vent, _ = context.meshes[""]
    (outside,), (inside,) = shapes(document, OUTSIDE.name), shapes(document, INSIDE.name)
    panel = context.spec.panel_thickness_mm
    for kept, taken in ((outside, vent[vent[:, 2] > 0.0]), (inside, vent[vent[:, 2] < -panel])):
        wide = kept.buffer(0.03)
        assert all(wide.contains(Point(x, y)) for x, y, _ in taken)
    left, right, bottom, top = context.spec.body.cover.reach_mm
    assert outside.bounds == pytest.approx((-left, -bottom, right, top), abs=0.02)
    assert sheet.reach_mm == pytest.approx((vent[:, 2].max(), -vent[:, 2].min()), abs=0.7)
    assert sheet.reach_mm[1] >= -vent[:, 2].min() - 1e-6


def test_a_locknut_may_come_to_rest_at_any_angle(
    made: dict[str, tuple[PartContext, OpeningSheet, Document]],
) -> None:
    context, sheet, document = made["round"]
    nut, _ = context.meshes["locknut"]
    corners = float(np.hypot(nut[:, 0], nut[:, 1]).max())
    (inside,) = shapes(document, INSIDE.name)
    assert inside.area == pytest.approx(math.pi * corners**2, rel=2e-3)
    assert any("spanner" in line for line in sheet.told())


def test_layers_words_and_centre_lines(one: tuple[PartContext, OpeningSheet, Document]) -> None:
    context, _, document = one
    spec = context.spec
    assert {layer.dxf.name for layer in document.layers} >= {layer.name for layer in LAYERS}
    texts = " ".join(t.plain_text() for t in document.modelspace().query("TEXT"))
    for words in (spec.part_number, f"revision {spec.revision}", "TOP", "1:1", CAUTION):
        assert words in texts
    corner = spec.opening.corner_max_mm
    assert ("radius" in texts) == (corner is not None)
    assert corner is None or f"radius of {corner:g} mm" in texts
    gasket = spec.body.gasket
    rings = shapes(document, GASKET.name)
    if gasket is None:
        assert rings == []
    else:
        sizes = [ring.bounds[2] - ring.bounds[0] for ring in rings]
        assert sizes == pytest.approx([gasket.inner_mm[0], gasket.outer_mm[0]], abs=1e-3)
    lines = document.modelspace().query(f'LINE[layer=="{CENTRE.name}"]')
    # One across and one upright through the middle, and through every hole.
    middles = sorted(tuple(np.round((e.dxf.start + e.dxf.end).xyz, 6)[:2] / 2) for e in lines)
    assert len(lines) == 2 + 2 * len(spec.opening.holes)
    for hole in spec.opening.holes:
        assert middles.count((pytest.approx(hole.x_mm), pytest.approx(hole.y_mm))) == 2


def test_it_says_on_a_layer_of_its_own_how_much_larger_the_opening_may_be(
    one: tuple[PartContext, OpeningSheet, Document],
) -> None:
    _, _, document = one
    (said,) = document.modelspace().query(f'*[layer=="{TOLERANCE.name}"]')
    more = f"up to {OPENING_OVERSIZE.value:g} mm larger is allowed, smaller is not"
    assert said.plain_text() == f"The opening as drawn: {more}."


def test_the_fan_behind_a_vent_is_kept_free() -> None:
    context = PartContext(vent_of("rectangular", size="44x44", fan_mount="40"))
    sheet = opening_sheet(context, "0" * 16)
    duct = context.spec.fan_duct
    assert duct is not None
    frame = box(-20.0, duct.centre_mm - 20.0, 20.0, duct.centre_mm + 20.0)
    assert Polygon(sheet.inside).buffer(0.01).contains(frame)
    assert any("the fan's own depth not counted" in line for line in sheet.told())


def test_same_bytes(made: dict[str, tuple[PartContext, OpeningSheet, Document]]) -> None:
    context, sheet, _ = made["rectangular"]
    again = opening_sheet(PartContext(context.spec), "0" * 16)
    assert opening_dxf(again, STAMP) == opening_dxf(sheet, STAMP)
