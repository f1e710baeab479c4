"""A vent as printed, measured on its section by other means than it was made with."""

from __future__ import annotations

from functools import cache

import pytest
from shapely.geometry import Polygon

from tests.helpers.rows import spec
from vent_family.proposing.robust.printed import AsPrinted, as_printed
from vent_family.spec.vent import VentSpec

NONE = (0.0, 0.0, 0.0)


@cache
def drawn(family: str = "rectangular", form: str = "inclined") -> VentSpec:
    return spec(family, slat_form=form)


FORMS = ("flat", "inclined", "folded")


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("off", [-0.12, 0.12])
def test_slats_are_thicker_all_round(form: str, off: float) -> None:
    """The area of a polygon grows by its girth times what it grows by, and corners (Steiner)."""
    before = drawn(form=form).section
    after = as_printed(drawn(form=form), AsPrinted(NONE, thicker_mm=off)).section
    for old, new in zip(before.slats, after.slats, strict=True):
        shape = Polygon(old.outline)
        grown = Polygon(new.outline).area - shape.area
        assert grown == pytest.approx(shape.length * off / 2, abs=10.0 * off**2)
        pieces = sum(Polygon(p).area for p in new.pieces)
        assert pieces == pytest.approx(Polygon(new.outline).area, rel=1e-9)
    assert after.sight.margin_mm - before.sight.margin_mm == pytest.approx(off, abs=abs(off))
    assert (after.sight.margin_mm > before.sight.margin_mm) == (off > 0)


@pytest.mark.parametrize("form", FORMS)
def test_the_passage_told_is_the_one_between_two_slats(form: str) -> None:
    how = AsPrinted((0.005, 0.005, 0.003), thicker_mm=0.1)
    vent = drawn(form=form)
    section = as_printed(vent, how).section
    slats = [Polygon(s.outline) for s in section.slats if s.whole and s.bank == 0]
    slats.sort(key=lambda s: s.centroid.y)
    between = slats[1].distance(slats[2])
    told, before = section.stack.passage_mm, vent.section.stack.passage_mm
    if form != "folded":
        # Between folds the nearest places lie beside the ridge.
        assert told == pytest.approx(between, abs=0.01)
    assert told - before == pytest.approx(-0.1 - 0.005 * before, abs=0.02)
    gap = section.stack.gaps_mm[0]
    next_bank = [Polygon(s.outline) for s in section.slats if s.whole and s.bank == 1]
    nearest = min(s.bounds[0] for s in slats) - max(s.bounds[2] for s in next_bank)
    assert gap == pytest.approx(nearest, abs=0.01)


def test_shrinkage_takes_every_length_by_its_own_axis() -> None:
    vent = drawn()
    after = as_printed(vent, AsPrinted((0.02, 0.01, 0.005)))
    old, new = vent.section, after.section
    assert new.room.area == pytest.approx(old.room.area * 0.99 * 0.995)
    assert new.slats_solid.area == pytest.approx(old.slats_solid.area * 0.99 * 0.995)
    assert [b - a for a, b in after.bays] == pytest.approx([0.98 * (b - a) for a, b in vent.bays])
    assert new.front_z_mm == pytest.approx(0.995 * old.front_z_mm)
    assert new.stack.pitch_mm == pytest.approx(0.99 * old.stack.pitch_mm)
    assert new.narrowest_mm == pytest.approx(0.99 * old.narrowest_mm)


@pytest.mark.parametrize("family", ["rectangular", "round"])
def test_drain_and_sill_move_alone(family: str) -> None:
    old = drawn(family).section
    new = as_printed(drawn(family), AsPrinted(NONE, drain_mm=0.1, sill_mm=-0.15)).section
    low, high = new.brink_drain_mm
    was = old.brink_drain_mm
    assert (high - low) - (was[1] - was[0]) == pytest.approx(0.1)
    # The underside of the apron, where the solid is.
    assert min(y for _, y in new.apron) - min(y for _, y in old.apron) == pytest.approx(0.1)
    assert new.window_bottom_mm == old.window_bottom_mm
    assert new.sill_top_mm - old.sill_top_mm == pytest.approx(-0.15)
    assert (new.foot, new.brink, new.upper) == (old.foot, old.brink, old.upper)
    assert [s.outline for s in new.slats] == [s.outline for s in old.slats]
