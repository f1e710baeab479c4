"""Face down against upright: each way is what the row stated so would come to by itself."""

from __future__ import annotations

from functools import cache
from math import floor

import pytest

from tests.helpers.rows import spec
from vent_family.base.rates import Rates
from vent_family.base.shop import demo_shop
from vent_family.evidence import context as context_module
from vent_family.evidence.context import PartContext
from vent_family.evidence.ways.kind import BOTH_WAYS, compared
from vent_family.evidence.ways.record import MadeWayRecord, WayRecord
from vent_family.geometry.primitives import GeometryError
from vent_family.geometry.vent import VentSolids, build_solids
from vent_family.spec.vent import VentSpec

SHOP = demo_shop()


@cache
def context(**cells: object) -> PartContext:
    return PartContext(spec(size="40x40", **cells))


def ways(made: PartContext) -> tuple[WayRecord, WayRecord]:
    """Return a part's own way and the other one."""
    own, other = sorted(BOTH_WAYS.record(made).ways, key=lambda w: not w.stated)
    return own, other


def computed(way: WayRecord) -> MadeWayRecord:
    assert way.made is not None
    return way.made


def test_either_row_sees_the_other_as_it_sees_itself() -> None:
    down, up = ways(context()), ways(context(print_orientation="upright"))
    assert computed(down[1]) == computed(up[0])
    assert computed(up[1]) == computed(down[0])
    assert [w.print_orientation for w in (*down, *up)] == [
        "face_down", "upright", "upright", "face_down",
    ]  # fmt: skip
    assert [w.print_orientation for w in BOTH_WAYS.record(context()).ways] == [
        "face_down",
        "upright",
    ]


def test_the_other_way_stands_on_the_bed_as_its_own_solid_does() -> None:
    """Upright the solid's z lies on the bed, y points up; a lip is missing at the bottom."""
    made = computed(ways(context())[1])
    box = build_solids(spec(size="40x40", print_orientation="upright")).vent.BoundingBox()
    assert (made.width_mm, made.depth_mm, made.height_mm) == pytest.approx(
        (box.zlen, box.xlen, box.ylen), abs=0.01
    )
    # Of the lip's 6 mm below and the gap of 0.3 mm to the opening a leg of 1.8 mm is left.
    own = context().solids.vent.BoundingBox()
    assert own.ylen - box.ylen == pytest.approx(6.0 + 0.3 - 1.8, abs=0.01)
    rows = (floor(305.0 / (box.zlen + 5.0)), floor(305.0 / (box.xlen + 5.0)))
    assert made.parts_fit == rows[0] * rows[1]


def test_only_upright_is_cleared_without_a_hand_and_labour_says_so() -> None:
    """3 minutes by hand against 0.9 x 0.5 + 0.1 x 3 a plate, 0.25 a part, 25 an order."""
    for way in ways(context()):
        made = computed(way)
        minutes = 0.75 if way.print_orientation == "upright" else 3.0
        assert made.pushed_off == (way.print_orientation == "upright")
        for order in made.orders:
            each = minutes / order.parts_per_plate + 0.25 + 25.0 / order.parts
            assert order.labour == pytest.approx(26.0 / 60.0 * each)
        # Twenty machines do a hundred in one round; ten thousand are on the plates stated.
        order = made.orders[1]
        assert (order.parts, order.rounds) == (100, 1)
        assert order.plate_time_s == pytest.approx(order.days * 86_400.0)
        assert made.orders[3].parts_per_plate == made.parts_per_plate
        assert made.orders[3].plate_time_s == made.plate_time_s


def test_the_sentence_says_who_clears_the_bed_where_that_changes() -> None:
    own, other = (computed(way) for way in ways(context()))
    assert "cleared without a hand" in compared(own, other, "USD")
    assert "cleared by hand" in compared(other, own, "USD")
    assert "cleared" not in compared(own, own, "USD")


def test_a_refused_way_is_not_computed_and_says_why() -> None:
    part = PartContext(spec("flanged", size="40x40"))
    own, other = ways(part)
    assert own.made is not None
    assert (other.made, other.change) == (None, "")
    assert other.refused == [
        "a flanged vent does not print upright without supports: its flange would hang over the bed"
    ]
    (sentence,) = BOTH_WAYS.sentences(part)
    assert sentence == f"Not upright as it stands: {other.refused[0]}."
    assert "| face down, as stated | unit |" in "\n".join(BOTH_WAYS.chapter(part))


def test_a_row_that_a_change_lets_through_is_priced_with_it() -> None:
    part = context(locating_key="notch")
    _, other = ways(part)
    assert other.change == "set locating_key to none"
    assert computed(other) == computed(ways(context())[1])
    (sentence,) = BOTH_WAYS.sentences(part)
    assert sentence.startswith("Not upright as it stands: the key ridge below the body would lift")
    assert "To print it so, set locating_key to none; then: " in sentence
    price = next(o.price for o in computed(other).orders if o.parts == 1000)
    assert f"USD at 1,000 parts {price:.2f}" in sentence


def test_a_solid_that_cannot_be_made_is_a_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    def upright_fails(part: VentSpec) -> VentSolids:
        if part.print_orientation == "upright":
            raise GeometryError("no solid")
        return build_solids(part)

    monkeypatch.setattr(context_module, "build_solids", upright_fails)
    _, other = ways(PartContext(spec(size="40x40")))
    assert other.made is None
    assert other.refused == ["its solid cannot be made: no solid"]


def test_a_way_that_does_not_fit_on_the_bed_is_told() -> None:
    """Upright it is 46 mm high or less, face down some 25: a machine 30 mm high takes one."""
    low = SHOP.model_copy(update={"machine": SHOP.machine.model_copy(update={"bed_z_mm": 30.0})})
    part = PartContext(spec(size="40x40"), Rates(low, "low.toml"))
    own, other = ways(part)
    assert computed(own).parts_per_plate
    assert computed(other).parts_per_plate is None
    assert computed(other).orders == []
    assert "does not fit on the bed" in BOTH_WAYS.sentences(part)[0]
    lines = BOTH_WAYS.chapter(part)
    for order in ("1 part", "1,000 parts"):
        assert any(line.startswith(f"| price, {order} | ") for line in lines)
