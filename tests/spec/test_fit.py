"""Fit and layout in words: what a change of a row does to them."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.helpers.rows import spec
from vent_family.base.limits import SAME_SIZE
from vent_family.geometry.screen import frame_location
from vent_family.geometry.vent import build_solids
from vent_family.spec.fit import Sizes, SizesError, design_of, fit_of

ROWS: list[tuple[str, dict[str, Any]]] = [
    ("rectangular", {}),
    ("rectangular", {"fixing": "snap"}),
    ("rectangular", {"size": "90x90", "fan_mount": "80", "slat_foot_mm": 0}),
    ("rectangular", {"size": "30x30", "screen_mm": 1.0}),
    ("round", {}),
    ("flanged", {}),
]


@pytest.mark.parametrize(("family", "cells"), ROWS)
def test_the_text_reads_back(family: str, cells: dict[str, Any]) -> None:
    part = spec(family, **cells)
    for sizes in (fit_of(part), design_of(part)):
        assert Sizes.from_text(sizes.text()) == sizes
        assert sizes.changes(sizes) == []
        assert sizes.text().isprintable()


CHANGES = [
    ("rectangular", {"size": "60x61"}, "opening rectangle 60 x 61 mm"),
    ("rectangular", {"panel_thickness_mm": 3}, "panel 3 mm, before 2 mm"),
    ("rectangular", {"locating_key": "notch"}, "opening rectangle 60 x 60 mm"),
    ("rectangular", {"screw_fit": "coarse"}, "opening rectangle 60 x 60 mm"),
    ("rectangular", {"lip_thickness_mm": 3.2}, "envelope "),
    ("rectangular", {"lip_width_mm": 13}, "envelope left/right/bottom/top 43/43/43/43 mm"),
    ("rectangular", {"screen_mm": 1.0}, "screen opening 1 mm"),
    ("round", {"size": "M40x1.5"}, "thread M40x1.5"),
    ("round", {"neck_length_mm": 15}, "thread M32x1.5, neck 15 mm"),
    ("round", {"head_diameter_mm": 70}, "envelope "),
]
"""What another part must fit, changed on the usual row of a family, and how that is told."""


@pytest.mark.parametrize(("family", "cells", "told"), CHANGES)
def test_what_changes_the_fit_is_told(family: str, cells: dict[str, Any], told: str) -> None:
    found = fit_of(spec(family)).changes(fit_of(spec(family, **cells)))
    assert any(words.startswith(told) for words in found), found


LAYOUT = [
    ("rectangular", {"pitch_mm": 7}, "slats inclined"),
    ("rectangular", {"slat_thickness_mm": 1.6}, "slats inclined 1.6"),
    ("rectangular", {"bank_count": 4}, "banks 4"),
    ("rectangular", {"bank_gaps_mm": "3.5"}, "banks 3, gaps 3.5/3.5 mm"),
    ("rectangular", {"rib_count": 3}, "ribs 3 of"),
    ("rectangular", {"rib_thickness_mm": 2}, "ribs "),
    ("rectangular", {"sill_height_mm": 9}, "lower side z/y"),
    ("rectangular", {"drain_height_mm": 5}, "apron z/y"),
    ("rectangular", {"corner_radius_mm": 3}, "cover corner radius 3 mm"),
    ("round", {"head_diameter_mm": 70}, "head diameter 70 mm"),
]


@pytest.mark.parametrize(("family", "cells", "told"), LAYOUT)
def test_what_changes_the_layout_is_told(family: str, cells: dict[str, Any], told: str) -> None:
    found = design_of(spec(family)).changes(design_of(spec(family, **cells)))
    assert any(words.startswith(told) for words in found), found


@pytest.mark.parametrize(
    "cells",
    [
        {"description": "another"},
        {"colour": "black"},
        {"exposure": "rain"},
        {"revision": "C"},
        {"stl_orientation": "use"},
    ],
)
def test_what_is_no_size_changes_none(cells: dict[str, Any]) -> None:
    before, now = spec("rectangular"), spec("rectangular", **cells)
    assert fit_of(before).changes(fit_of(now)) == []
    assert design_of(before).changes(design_of(now)) == []


def test_fit_is_told_in_its_order() -> None:
    before = fit_of(spec("round"))
    now = fit_of(spec("round", size="M40x1.5", panel_thickness_mm=3, neck_length_mm=16))
    told = [words.split()[0] for words in before.changes(now)]
    assert told == ["opening", "thread", "envelope", "panel", "gasket"]


def test_what_is_written_differs_by_less_than_what_counts() -> None:
    """Two values that are rounded apart are the same; a hundredth more is another size."""
    step = SAME_SIZE.value
    for off, same in ((0.9 * step, True), (1.1 * step, False), (-1.1 * step, False)):
        before = Sizes((("panel", "2 mm"),))
        now = Sizes((("panel", f"{2 + off:.6f} mm"),))
        assert (before.changes(now) == []) == same


@pytest.mark.parametrize(("family", "cells"), ROWS)
def test_the_envelope_is_that_of_the_solid(family: str, cells: dict[str, Any]) -> None:
    """By the kernel's box; a raised mark stands out in front, a screen's frame behind."""
    part = spec(family, **cells)
    words = dict(fit_of(part).named)["envelope"]
    numbers = re.findall(r"-?[0-9]+(?:\.[0-9]+)?", words)
    left, right, bottom, top, front, back = (float(number) for number in numbers)
    solids = build_solids(part)
    box = solids.vent.BoundingBox()
    assert (box.xmin, box.xmax, box.ymin) == pytest.approx((-left, right, -bottom), abs=1e-3)
    assert box.ymax == pytest.approx(top, abs=1e-3)
    raised = part.mark.depth_mm if part.mark.raised else 0.0
    assert box.zmax == pytest.approx(front + raised, abs=1e-3)
    behind = box.zmin
    if part.body.screen is not None and solids.screen_frame is not None:
        placed = solids.screen_frame.moved(frame_location(part.body.screen))
        behind = min(behind, placed.BoundingBox().zmin)
    assert behind == pytest.approx(back, abs=1e-3)


def test_a_size_that_comes_or_goes_is_told() -> None:
    none, some = Sizes(()), Sizes((("gasket", "ring"),))
    assert none.changes(some) == ["gasket ring, before none"]
    assert some.changes(none) == ["gasket none, before ring"]


def test_another_count_of_numbers_is_no_match() -> None:
    before = Sizes((("holes", "1/2 3/4 mm"),))
    assert before.changes(Sizes((("holes", "1/2 3/4 5/6 mm"),)))
    assert before.changes(Sizes((("holes", "1/2 3/4 in"),)))


@pytest.mark.parametrize("text", ["opening", "=x", "opening=", "panel=1; panel=1"])
def test_a_text_without_sizes_is_refused(text: str) -> None:
    with pytest.raises(SizesError):
        Sizes.from_text(text)


def test_slats_are_cut_with_the_area_of_their_outlines() -> None:
    """Flat slats: so many rectangles of thickness times height."""
    part = spec("rectangular", slat_form="flat")
    words = dict(design_of(part).named)
    area = float(words["cut through slats"].removesuffix(" mm2"))
    thickness = part.section.stack.thickness_mm
    rectangles = sum(_height(s.outline) * thickness for s in part.section.slats)
    assert area == pytest.approx(rectangles, abs=1e-3)


def _height(outline: Any) -> float:
    levels = [y for _, y in outline]
    return max(levels) - min(levels)
