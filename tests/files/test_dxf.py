"""DXF drawings, read back with the library that others read them with."""

from __future__ import annotations

import io
import math
from datetime import UTC, datetime, timedelta

import ezdxf
import pytest
from ezdxf.document import Drawing as Document

from tests.helpers.drawings import closed_polygon
from vent_family.files.dxf import (
    Circle,
    Corner,
    Drawing,
    Item,
    Layer,
    Line,
    Loop,
    Text,
    dxf_bytes,
)

NOON = datetime(2026, 3, 4, 12, 0, 0, tzinfo=UTC)
LAYERS = (Layer("CUT", 7), Layer("SHOWN", 1, "DASHED", "only shown"))
HALF_DISC = Loop("CUT", (Corner(3.0, 0.0, 1.0), Corner(-3.0, 0.0)))


def read(*items: Item, name: str = "plate") -> Document:
    data = dxf_bytes(Drawing(name, LAYERS, items, (("Part", "Blech ü"),)), NOON)
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def test_unit_layers_and_properties_are_stated() -> None:
    document = read(HALF_DISC)
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == 4  # millimetres
    assert document.header["$MEASUREMENT"] == 1  # metric
    assert document.audit().errors == []
    cut, shown = document.layers.get("CUT"), document.layers.get("SHOWN")
    assert (cut.dxf.color, shown.dxf.color, shown.dxf.linetype) == (7, 1, "DASHED")
    assert shown.description == "only shown"
    assert document.header.custom_vars.get("Part") == "Blech ü"


def test_outlines_are_closed_and_arcs_bulge_to_the_left_of_a_clockwise_way() -> None:
    """Half a disc of radius 3 above the x axis: going counterclockwise its arc is bent outwards."""
    (loop,) = read(HALF_DISC).modelspace()
    assert loop.dxftype() == "LWPOLYLINE"
    assert loop.closed
    shape = closed_polygon(loop)
    assert shape.area == pytest.approx(math.pi * 9.0 / 2.0, rel=1e-4)
    assert shape.bounds == pytest.approx((-3.0, 0.0, 3.0, 3.0), abs=1e-4)


def test_circles_lines_and_texts_lie_where_they_should() -> None:
    document = read(
        Circle("CUT", -1.0, 2.0, 4.5),
        Line("SHOWN", (0.0, 1.0), (2.0, 3.0)),
        Text("SHOWN", 5.0, -6.0, 2.5, "100%% ≤ Ø"),
    )
    circle, line, text = document.modelspace()
    assert (*circle.dxf.center, circle.dxf.radius) == (-1.0, 2.0, 0.0, 2.25)
    assert [tuple(line.dxf.start)[:2], tuple(line.dxf.end)[:2]] == [(0.0, 1.0), (2.0, 3.0)]
    assert (tuple(text.dxf.insert)[:2], text.dxf.height) == ((5.0, -6.0), 2.5)
    # Two per cent signs would begin a code of the drawing program's.
    assert text.plain_text() == "100% % ≤ Ø"
    assert [e.dxf.layer for e in (circle, line, text)] == ["CUT", "SHOWN", "SHOWN"]


def test_bytes_depend_on_drawing_and_time_alone() -> None:
    drawing = Drawing("plate", LAYERS, (HALF_DISC,))
    data = dxf_bytes(drawing, NOON)
    assert ezdxf.options.write_fixed_meta_data_for_testing is False
    # The same moment, told in another zone.
    assert dxf_bytes(drawing, NOON) == data
    later = dxf_bytes(drawing, NOON + timedelta(days=1))
    lines = zip(data.split(b"\n"), later.split(b"\n"), strict=True)
    changed = [(a, b) for a, b in lines if a != b]
    # Four dates, and by whom and when it was made, twice.
    assert len(changed) == 6
    # The astronomers' number of the day (the fourth of March 2026 has 2461104), and what has gone
    # by of it since midnight, as the makers of the format count (from memory).
    assert changed[0] == (b"2461104.500000000", b"2461105.500000000")
    assert b"2000-01-01" not in data


def test_identifiers_tell_drawings_and_what_is_drawn_apart() -> None:
    def both(document: Document) -> tuple[str, str]:
        return document.header["$FINGERPRINTGUID"], document.header["$VERSIONGUID"]

    first, same = read(HALF_DISC), read(HALF_DISC)
    changed, other = read(Circle("CUT", 0.0, 0.0, 1.0)), read(HALF_DISC, name="cover")
    assert both(first) == both(same)
    assert both(first)[0] == both(changed)[0] != both(other)[0]
    assert len({both(document)[1] for document in (first, changed, other)}) == 3


@pytest.mark.parametrize(
    ("item", "words"),
    [
        (Circle("NONE", 0.0, 0.0, 1.0), "no layer NONE"),
        (Text("CUT", 0.0, 0.0, 1.0, "two\nlines"), "more than one line"),
    ],
)
def test_what_cannot_be_drawn_is_refused(item: Item, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read(item)
