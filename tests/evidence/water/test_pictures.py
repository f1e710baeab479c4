from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from tests.helpers.conditions import stated_conditions
from tests.helpers.rows import spec
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.pictures import CURVES, FATE_STYLE, pictures
from vent_family.files.figure import figure_bytes


def luminance(colour: str) -> float:
    r, g, b = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize("family", ["rectangular", "round"])
def test_pictures_are_drawn_and_repeat(family: str) -> None:
    vent = spec(family)
    report = assess(vent, stated_conditions("splashing", 1.0, 10.0, 0.0), advise=False)
    first, second = (pictures(vent.section, report) for _ in range(2))
    assert set(first) == {"water-sight", "water-penetration", "water-tracks"}
    for stem, figure in first.items():
        svg = figure_bytes(figure, "svg", dpi=150)
        ElementTree.fromstring(svg)
        assert svg == figure_bytes(second[stem], "svg", dpi=150)
        image = np.asarray(
            Image.open(io.BytesIO(figure_bytes(figure, "png", dpi=150))).convert("L")
        )
        assert min(image.shape) > 400
        # Something is drawn, and most of the sheet is not ink.
        assert 0.02 < np.mean(image < 250) < 0.9


def test_dry_parts_have_no_tracks() -> None:
    vent = spec()
    report = assess(vent, stated_conditions("dry", 1.0, 10.0, 0.0))
    assert set(pictures(vent.section, report)) == {"water-sight", "water-penetration"}


def test_fates_and_curves_differ_without_colour() -> None:
    styles = {(str(s["linestyle"]), s["linewidth"]) for s in FATE_STYLE.values()}
    assert len(styles) == len(FATE_STYLE)
    assert len({(line, marker) for _, line, marker in CURVES}) == len(CURVES)
    assert len({marker for _, _, marker in CURVES}) == len(CURVES)
    # On white every line must be darker than the paper by a good step.
    assert all(luminance(c) < 0.75 for c, _, _ in CURVES)
