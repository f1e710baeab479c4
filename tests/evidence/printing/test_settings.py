"""The shop's settings, in words, in verdicts and in every number that follows from them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.helpers.print_shapes import box, mesh
from tests.helpers.rows import spec
from tests.helpers.shops import shop_with
from vent_family.base.materials import MATERIALS
from vent_family.base.shop import Shop
from vent_family.evidence.printing.report import sliced, wall_checks
from vent_family.evidence.printing.settings import (
    beside_settings,
    settings_checks,
    shell_words,
    support_rules,
    vent_settings,
)
from vent_family.evidence.printing.walls import WallFacts, Width

ASA = MATERIALS["ASA"]


def shop(**printing: float) -> Shop:
    return shop_with(printing=printing)


def test_the_words_follow_the_shop() -> None:
    neck = spec("round", size="M20x1.5", neck_length_mm=15.0)
    fine = shop(nozzle_mm=0.3, line_width_mm=0.35, layer_mm=0.15, thread_layer_mm=0.1)
    words = vent_settings(neck, 50.0, fine).text()
    assert words.startswith(
        "0.3 mm nozzle, 0.35 mm lines, layers 0.15 mm, 0.1 mm from 35.0 to 50.0"
    )
    assert "nozzle 250 degC, bed 100 degC" in words
    assert (
        beside_settings(ASA, fine, threaded=True)
        .text()
        .startswith("0.3 mm nozzle, 0.35 mm lines, layers 0.1 mm")
    )


def test_filled_solid_is_said_only_where_it_is() -> None:
    block = spec("rectangular")
    solid = vent_settings(block, 30.0, shop(infill_share=1.0)).text()
    assert "filled solid" in solid
    assert "cores" not in solid
    sparse = vent_settings(block, 30.0, shop(infill_share=0.15, wall_count=4)).text()
    assert "filled solid" not in sparse
    assert "4 walls, 5 top and 4 bottom layers, cores filled to 15 %" in sparse


def test_bodies_are_sliced_and_carried_by_the_shop() -> None:
    """6 mm in layers of 0.15: 40 of them; half a line of 0.3 mm carries 0.15 mm."""
    own = shop(layer_mm=0.15, line_width_mm=0.3)
    settings = vent_settings(spec("rectangular"), 6.0, own)
    printed = sliced(*mesh(box((0.0, 8.0), (0.0, 8.0), (0.0, 6.0))), ASA, settings, own)
    assert printed.layers.heights_mm == pytest.approx(np.full(40, 0.15))
    assert support_rules(ASA, settings).half_bead_mm == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("printing", "failing"),
    [
        ({}, []),
        ({"layer_mm": 0.25}, ["print: settings the parts are designed for"]),
        ({"line_width_mm": 0.5}, ["print: settings the parts are designed for"]),
        ({"wall_count": 1, "infill_share": 0.2}, ["print: walls hold water"]),
        ({"wall_count": 2, "infill_share": 0.2}, []),
        ({"wall_count": 1, "infill_share": 1.0}, []),
    ],
)
def test_what_a_shop_is_told(printing: dict[str, float], failing: list[str]) -> None:
    found = settings_checks(shop(**printing).printing)
    assert [c.name for c in found if c.verdict != "pass"] == failing
    for check in found:
        if check.verdict == "fail":
            assert check.value is not None
            assert check.limit is not None


def test_one_line_of_wall_is_not_said_to_hold_water() -> None:
    """Nor two lines not to: the sentence says what the check of the same table says."""
    for lines, verdict, words in (
        (1, "fail", "1 line of wall will not keep water out"),
        (2, "pass", "2 lines of wall keep water out"),
    ):
        own = shop(wall_count=lines, infill_share=0.2).printing
        (check,) = (c for c in settings_checks(own) if c.name == "print: walls hold water")
        assert check.verdict == verdict
        assert shell_words(own.wall_count).startswith(words)


def test_a_wider_line_or_nozzle_asks_for_wider_features() -> None:
    """A wall of 0.55, a gap of 0.55 and a stroke of 1.1 mm: too little for lines of 0.6 mm."""
    part = spec("rectangular", slat_thickness_mm=1.5)
    place = Width(0.55, 0.0, 0.0, 0.0)
    facts = WallFacts(
        place, replace(place, width_mm=1.5), place, replace(place, width_mm=1.1), 9, 1
    )
    names = ("print: thinnest wall", "print: narrowest gap", "print: mark legible")
    for own, verdict in (
        (shop(), "pass"),
        (shop(nozzle_mm=0.6, line_width_mm=0.6), "fail"),
    ):
        found = {c.name: c for c in wall_checks(part, facts, own.printing)}
        assert [found[name].verdict for name in names] == [verdict] * 3
    assert "0.9 nozzle widths" in found["print: thinnest wall"].message
    # A shop that lays finer lines does not make the family's own limits smaller.
    slim = replace(facts, wall=replace(place, width_mm=0.44))
    fine = {c.name: c for c in wall_checks(part, slim, shop(line_width_mm=0.35).printing)}
    assert fine["print: thinnest wall"].verdict == "fail"
