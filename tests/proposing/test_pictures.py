"""The pictures: every option and part is named beside its point, and no name lies on another."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text

from tests.proposing.test_told import CHECK, GOOD, ROW, answer, known
from vent_family.evidence.cost.sheet import PartToPrint
from vent_family.evidence.printing.foretold import foretold_vent
from vent_family.proposing.answer import RequirementAnswer
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.pictures import price_figure, trade_figure, write_pictures
from vent_family.proposing.proposal import Option
from vent_family.release.cautions import CAUTION
from vent_family.spec.resolve import resolve

CROWD = ((1.00, 6.0), (1.005, 6.01), (1.01, 6.0), (1.2, 5.0))


def placed(price: float, rise_k: float, passed_ml: float = 0.0) -> Candidate:
    figures = replace(GOOD.figures, price=price, rise_k=rise_k, passed_ml=passed_ml)
    return replace(GOOD, figures=figures)


def crowded(passed_ml: float = 0.0) -> RequirementAnswer:
    """Return an answer whose options and known parts lie close together."""
    whole = answer()
    body = PartToPrint.of(foretold_vent(resolve(ROW), whole.proposal.enquiry.rates.shop))
    options = tuple(
        Option((f"title {i}",), placed(price, rise, passed_ml * i), (CHECK,), (body,))
        for i, (price, rise) in enumerate(CROWD, start=1)
    )
    parts = []
    for i in range(3):
        part = known(ROW.model_copy(update={"part_number": f"HV-R04{i}"}))
        there = placed(1.0 + 0.004 * i, 6.02)
        parts.append(replace(part, carried=replace(part.carried, candidate=there)))
    return replace(whole, proposal=replace(whole.proposal, options=options), known=tuple(parts))


def names(figure: Figure) -> list[Annotation]:
    (axes, *_) = figure.axes
    return [text for text in axes.texts if isinstance(text, Annotation)]


def test_options_and_known_parts_are_named_and_no_name_lies_on_another() -> None:
    figure = trade_figure(crowded())
    found = names(figure)
    assert [text.get_text() for text in found] == [
        "1", "2", "3", "4", "HV-R040", "HV-R041", "HV-R042",
    ]  # fmt: skip
    figure.draw_without_rendering()
    boxes = [Text.get_window_extent(text).padded(-1.0) for text in found]
    for one, other in itertools.combinations(boxes, 2):
        assert not one.overlaps(other)
    edge = figure.axes[0].get_window_extent()
    assert all(edge.x0 <= b.x0 and b.x1 <= figure.bbox.x1 for b in boxes)


def test_each_name_points_at_its_row() -> None:
    at = [text.xy for text in names(trade_figure(crowded()))][:4]
    assert at == [(rise, price) for price, rise in CROWD]


@pytest.mark.parametrize("passed_ml", [0.0, 40.0])
def test_water_has_a_scale_where_any_passes(passed_ml: float) -> None:
    figure = trade_figure(crowded(passed_ml))
    labels = [axes.get_ylabel() for axes in figure.axes]
    assert ("water that passes at most, mL" in labels) == (passed_ml > 0.0)


@pytest.mark.parametrize("draw", [trade_figure, price_figure])
def test_the_caution_stands_on_every_picture(draw: object) -> None:
    figure = draw(crowded())  # type: ignore[operator]
    assert figure.get_supxlabel() == CAUTION


def test_the_price_at_the_order_is_that_of_its_option() -> None:
    whole = crowded()
    figure = price_figure(whole)
    (axes,) = figure.axes
    (curve, *_) = axes.get_lines()
    parts, prices = curve.get_xdata(), curve.get_ydata()
    assert 1000 in list(parts)
    assert min(parts) == 1
    assert max(parts) == 10_000
    assert list(prices) == sorted(prices, reverse=True)
    ends = [text.get_text() for text in axes.texts]
    assert {"1 title 1", "4 title 4"} <= set(ends)


def test_without_solids_there_is_no_price_curve(tmp_path: Path) -> None:
    assert sorted(p.name for p in write_pictures(crowded(), tmp_path)) == [
        "prices.png", "prices.svg", "trade-off.png", "trade-off.svg",
    ]  # fmt: skip
    assert {p.stem for p in write_pictures(answer(), tmp_path)} == {"trade-off"}
