"""Drawings on paper: dimensions keep clear of each other, both writers draw what the model says."""

from __future__ import annotations

import io
import math
import re
import xml.etree.ElementTree as ET
from random import Random

import pytest
from pypdf import PdfReader

from tests.helpers.sheets import collisions
from vent_family.files.drawing.canvas import draw_on
from vent_family.files.drawing.dimensions import (
    Dimension,
    DimensionError,
    Note,
    dimensioned,
    noted,
)
from vent_family.files.drawing.model import (
    DASHED,
    Lettering,
    Marks,
    PaperDrawing,
    Patch,
    Stroke,
    overlapping,
    text_width_mm,
    together,
)
from vent_family.files.drawing.svg import svg_bytes
from vent_family.files.pdf import pdf_bytes

SVG = "{http://www.w3.org/2000/svg}"
VIEW = (40.0, 40.0, 100.0, 90.0)
ODD = 'Pump <b>2</b> & "north" ]]> Ø 40'


def drawing(*marks: Marks, text: str = "t") -> PaperDrawing:
    return PaperDrawing(150.0, 140.0, text, text, together(marks))


def any_dimensions(random: Random, count: int) -> list[Dimension]:
    found = []
    for _ in range(count):
        side = random.choice(("below", "above", "left", "right"))
        low, high = (VIEW[0], VIEW[2]) if side in ("below", "above") else (VIEW[1], VIEW[3])
        edge = {"below": VIEW[1], "above": VIEW[3], "left": VIEW[0], "right": VIEW[2]}[side]
        a, b = sorted((random.uniform(low, high), random.uniform(low, high)))
        text = random.choice(("8", "23.41", "drain 4", "M20x1.5", "204 ±0.5"))
        found.append(Dimension(side, (a, b + 0.5), (edge, edge), text))
    return found


@pytest.mark.parametrize("seed", range(60))
def test_dimensions_never_meet(seed: int) -> None:
    random = Random(seed)
    dimensions = any_dimensions(random, random.randint(1, 9))
    try:
        marks = dimensioned(VIEW, dimensions)
    except DimensionError:
        pytest.fail(f"no place for {dimensions}")
    wide = marks.moved(100.0, 100.0)
    paper = PaperDrawing(400.0, 400.0, "t", "t", wide)
    assert collisions(paper) == []
    assert sorted(t.text for t in marks.letterings) == sorted(d.text for d in dimensions)


def test_what_has_no_room_is_told() -> None:
    """Twenty distances of a hair in one place: their texts cannot stand side by side."""
    tight = [Dimension("below", (50.0, 50.1 + 0.001 * i), (40.0, 40.0), "12.5") for i in range(20)]
    with pytest.raises(DimensionError, match="no room"):
        dimensioned(VIEW, tight)


def test_a_dimension_is_where_it_says() -> None:
    """The line lies outside the view, its arrows' tips on both ends, its text over its middle."""
    marks = dimensioned(VIEW, [Dimension("below", (50.0, 90.0), (45.0, 40.0), "40")])
    extension = [s.points for s in marks.strokes if s.points[0][0] == s.points[1][0]]
    assert sorted(p[0][0] for p in extension) == [50.0, 90.0]
    (line,) = (s.points for s in marks.strokes if s.points[0][1] == s.points[1][1])
    assert (line[0][0], line[1][0]) == (50.0, 90.0)
    assert line[0][1] < VIEW[1] - 5.0
    assert sorted(patch.rings[0][0] for patch in marks.fills) == [line[0], line[1]]
    (text,) = marks.letterings
    box = text.box_mm
    assert (box[0] + box[2]) / 2.0 == pytest.approx(70.0)
    assert line[0][1] < box[1] < box[3] < VIEW[1]


def test_a_text_too_wide_stands_beside_and_arrows_point_inwards() -> None:
    marks = dimensioned(VIEW, [Dimension("right", (60.0, 62.0), (100.0, 100.0), "drain 2")])
    (text,) = marks.letterings
    assert text.upright
    low, high = text.box_mm[1], text.box_mm[3]
    assert low > 62.0 or high < 60.0
    for patch in marks.fills:
        tip, *back = patch.rings[0]
        inside = all(60.0 < y < 62.0 for _, y in back)
        assert not inside, tip


def test_notes_stand_in_a_row_in_the_order_of_their_places() -> None:
    notes = [
        Note("4 × Ø4.5 for M4", (95.0, 80.0)),
        Note("A–A", bold=True),
        Note("R4", (92.0, 88.0)),
        Note("panel 2", (60.0, 90.0)),
    ]
    marks = noted(VIEW, notes)
    assert collisions(drawing(marks)) == []
    pointing = [t for t in marks.letterings if not t.bold]
    assert [t.text for t in pointing] == ["panel 2", "R4", "4 × Ø4.5 for M4"]
    assert [t.x_mm for t in pointing] == sorted(t.x_mm for t in pointing)
    tips = {patch.rings[0][0] for patch in marks.fills}
    assert tips == {n.at_mm for n in notes if n.at_mm}


def test_lettering_has_the_room_that_its_font_needs() -> None:
    wide = text_width_mm("M" * 10, 3.0)
    assert wide == pytest.approx(10 * text_width_mm("M", 3.0))
    assert text_width_mm("MM", 6.0) == pytest.approx(2 * text_width_mm("MM", 3.0))
    level = Lettering("abc", 10.0, 5.0, 3.0, "end").box_mm
    upright = Lettering("abc", 10.0, 5.0, 3.0, "end", upright=True).box_mm
    assert level[2] == pytest.approx(10.0)
    assert upright[3] == pytest.approx(5.0)
    assert level[2] - level[0] == pytest.approx(upright[3] - upright[1])
    assert overlapping([level, upright]) == [(0, 1)]


def plain_drawing() -> PaperDrawing:
    square = ((10.0, 20.0), (30.0, 20.0), (30.0, 35.5), (10.0, 35.5), (10.0, 20.0))
    hole = ((15.0, 25.0), (20.0, 25.0), (20.0, 30.0))
    marks = Marks(
        (Patch((square, hole), 0.5), Patch((hole,))),
        (Stroke(square, 0.5), Stroke(((0.0, 0.0), (5.125, 7.0)), 0.13, DASHED)),
        (Lettering(ODD, 12.0, 50.0, 3.0, "middle"), Lettering("up", 5.0, 60.0, 3.0, upright=True)),
    )
    return PaperDrawing(80.0, 70.0, ODD, f"what {ODD} is", marks)


def test_an_svg_says_what_the_drawing_says() -> None:
    root = ET.fromstring(svg_bytes(plain_drawing()))
    assert (root.get("width"), root.get("viewBox"), root.get("role")) == (
        "80mm",
        "0 0 80 70",
        "img",
    )
    assert [root.findtext(f"{SVG}{name}") for name in ("title", "desc")] == [ODD, f"what {ODD} is"]
    texts = root.findall(f".//{SVG}text")
    assert [t.text for t in texts] == [ODD, "up"]
    assert float(texts[0].get("textLength") or 0) == pytest.approx(
        text_width_mm(ODD, 3.0), abs=0.01
    )
    assert texts[1].get("transform") == "rotate(-90 5 10)"
    paths = root.findall(f"{SVG}path")
    # y runs down: 20 of 70 is 50.
    assert paths[2].get("d") == "M10,50 30,50 30,34.5 10,34.5Z"
    assert paths[3].get("d") == "M0,70 5.12,63"
    assert paths[3].get("stroke-dasharray") == "2 1"
    assert all(re.search(r"[MZ0-9]", p.get("d") or "") for p in paths)
    assert svg_bytes(plain_drawing()) == svg_bytes(plain_drawing())


def test_a_page_says_what_the_drawing_says() -> None:
    def page() -> bytes:
        def draw(canvas: object) -> None:
            draw_on(canvas, plain_drawing())  # type: ignore[arg-type]
            canvas.showPage()  # type: ignore[attr-defined]

        return pdf_bytes(
            draw, size_mm=(80.0, 70.0), title="t", subject="s", author="a", creator="c"
        )

    data = page()
    assert data == page()
    (read,) = PdfReader(io.BytesIO(data)).pages
    assert ODD in read.extract_text().replace("\n", "")
    content = read.get_contents()
    assert content is not None
    words = content.get_data().decode("latin-1")
    point = 72.0 / 25.4
    # The square's first corner, (10, 20) mm, and its line 0.5 mm wide.
    assert re.search(r"\b28\.346\d* 56\.69\d* m\b", words)
    widths = [float(w) for w in re.findall(r"([\d.]+) w\b", words)]
    assert any(math.isclose(w, 0.5 * point, abs_tol=1e-3) for w in widths)
