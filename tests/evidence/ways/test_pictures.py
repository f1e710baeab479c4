"""The curves of cost: what is drawn is what an order of that size costs."""

from __future__ import annotations

from typing import cast

import numpy as np
import pytest
from matplotlib.figure import Figure

from tests.helpers.rows import spec
from vent_family.base.rates import Rates
from vent_family.base.shop import demo_shop
from vent_family.evidence.context import PartContext
from vent_family.evidence.cost.kind import COST
from vent_family.evidence.cost.part import PartCost
from vent_family.evidence.ways.kind import BOTH_WAYS

SHOP = demo_shop()


@pytest.fixture(scope="module")
def drawn() -> tuple[PartCost, Figure]:
    context = PartContext(spec(size="40x40", locating_key="notch"))
    cost = context.of(COST)
    assert cost is not None
    return cost, cast("Figure", BOTH_WAYS.figures(context)["cost"].drawn)


def test_curves_pass_through_the_orders(drawn: tuple[PartCost, Figure]) -> None:
    """Own way, other way, moulded, cut plates: each on its own line, in its own colour."""
    cost, figure = drawn
    (axes,) = figure.axes
    own, other, moulded, cut = axes.lines[:4]
    assert len({line.get_color() for line in axes.lines[:4]}) == 4
    parts = np.asarray(own.get_xdata(), dtype=float)
    assert parts[0] == 1
    assert parts[-1] >= 100_000
    # The steps of filament by the pallet, from 1,000 parts on, are drawn as steps.
    assert {999.0, 1000.0} <= set(parts)
    for order in cost.printed.orders:
        at = float(np.interp(order.parts, parts, np.asarray(own.get_ydata(), dtype=float)))
        assert at == pytest.approx(order.cost, rel=2e-3)
    made, costs = cost.moulding, np.asarray(moulded.get_ydata(), dtype=float)
    by_hand = [made.piece + (made.tool + made.setup) / n for n in parts]
    assert costs == pytest.approx(np.array(by_hand))
    assert set(np.asarray(cut.get_ydata()).tolist()) == {cost.stack.cost}
    assert not np.allclose(np.asarray(other.get_ydata()), np.asarray(own.get_ydata()))
    told = " ".join(text.get_text() for text in axes.texts)
    for word in ("printed face down", "set locating_key to none", "moulded, ", "cut plates"):
        assert word in told


def test_the_mark_stands_where_the_curves_cross(drawn: tuple[PartCost, Figure]) -> None:
    cost, figure = drawn
    (axes,) = figure.axes
    assert cost.tool_pays_from is not None
    own, moulded = axes.lines[0], axes.lines[2]
    x = np.asarray(own.get_xdata(), dtype=float)
    gap = np.asarray(moulded.get_ydata(), dtype=float) - np.asarray(own.get_ydata(), dtype=float)
    first = int(np.argmax(gap <= 0.0))
    assert x[first - 1] <= cost.tool_pays_from <= x[first]
    mark = axes.lines[5]
    assert np.asarray(mark.get_xdata()).tolist() == [cost.tool_pays_from]
    at = float(np.asarray(mark.get_ydata())[0])
    assert at == pytest.approx(cost.moulding.cost_per_part(cost.tool_pays_from), rel=0.01)
    assert any(f"pays from {cost.tool_pays_from:,}" in t.get_text() for t in axes.texts)


def test_no_mark_where_moulding_never_pays() -> None:
    """Resin as dear as silver: a moulded part costs more than a printed one for ever."""
    resin = SHOP.mould.resin
    silver = resin.model_copy(update={"ASA": resin.of("ASA").model_copy(update={"per_kg": 900.0})})
    mould = SHOP.mould.model_copy(update={"resin": silver})
    shop = SHOP.model_copy(update={"mould": mould})
    context = PartContext(spec(size="40x40"), Rates(shop, "silver"))
    figure = cast("Figure", BOTH_WAYS.figures(context)["cost"].drawn)
    assert "moulding never pays" in [t.get_text() for t in figure.axes[0].texts]
    assert len(figure.axes[0].lines) == 4


def test_no_picture_of_a_part_that_does_not_fit() -> None:
    low = SHOP.model_copy(update={"machine": SHOP.machine.model_copy(update={"bed_z_mm": 10.0})})
    assert BOTH_WAYS.figures(PartContext(spec(size="40x40"), Rates(low, "low"))) == {}
