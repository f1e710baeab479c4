"""Figures as files: named by the part, whole, and the same bytes for the same figure."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from PIL import Image

from tests.helpers.rows import spec
from vent_family.evidence.air.pictures import resistance_figure
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at
from vent_family.files.figure import figure_bytes, write_figure


def line() -> Figure:
    figure = Figure(figsize=(4.0, 3.0))
    figure.add_subplot().plot([0.0, 1.0], [0.0, 1.0], color="black", linewidth=3.0)
    return figure


def test_part_number_with_a_dot_keeps_it(tmp_path: Path) -> None:
    figure = resistance_figure(vent_air(spec("rectangular")), air_at())
    paths = write_figure(tmp_path, "A.1-resistance", figure, dpi=130)
    assert [p.name for p in paths] == ["A.1-resistance.svg", "A.1-resistance.png"]
    first = [path.read_bytes() for path in paths]
    write_figure(tmp_path, "A.1-resistance", figure, dpi=130)
    assert [path.read_bytes() for path in paths] == first


def test_nothing_but_the_drawing_is_in_it() -> None:
    png, svg = (figure_bytes(line(), kind, dpi=100) for kind in ("png", "svg"))
    with Image.open(io.BytesIO(png)) as image:
        assert image.size == (400, 300)
        assert "Software" not in image.info
        assert (np.asarray(image.convert("L")) < 50).sum() > 300
    assert b"dc:date" not in svg
    assert b"<text" not in svg, "letters are drawn, so that no font is needed to read them"


def test_two_on_one_page_have_identifiers_of_their_own() -> None:
    first, second = (figure_bytes(line(), "svg", dpi=100, salt=s) for s in ("a", "b"))
    assert first != second
    assert first == figure_bytes(line(), "svg", dpi=100, salt="a")


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_figure(tmp_path / "nowhere", "a", line(), dpi=100)
