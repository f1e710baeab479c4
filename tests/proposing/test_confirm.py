"""Rows on their solids: what is proposed is what a build of the same row gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from tests.proposing.small import SHALLOW, cooled, small
from vent_family.evidence.air.predicted import predict
from vent_family.evidence.context import PartContext
from vent_family.evidence.cost.kind import COST
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.strength.kind import STRENGTH
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import conditions_of
from vent_family.proposing import confirm
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew, crew_of
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.proposal import Proposal, chosen
from vent_family.proposing.run import front_for
from vent_family.release.examine import examined
from vent_family.spec.resolve import resolve


@pytest.fixture(scope="module")
def proposal() -> Proposal:
    """Return what is proposed of few rows for a cabinet in dripping water, 1,000 parts."""
    enquiry, space = small(cooled(10.0, water={"exposure": "dripping", "at_least": "marginal"}))
    with crew_of(enquiry) as crew:
        front = front_for(space, crew, depth=SHALLOW)
        options, refused = chosen(front.candidates, crew, front.found, lambda *_: None)
    return Proposal(enquiry, options, front, 1, refused)


def test_every_option_holds_as_a_build_of_its_row_says(proposal: Proposal) -> None:
    assert proposal.options
    for option in proposal.options:
        spec = resolve(option.row, proposal.enquiry.attached(option.row))
        context: PartContext = examined(spec)
        figures = option.candidate.figures
        cost = context.of(COST)
        assert cost is not None
        (order,) = (o for o in cost.printed.orders if o.parts == 1000)
        assert figures.price == pytest.approx(order.price, rel=1e-12)
        assert figures.mass_g == context.of(PRINTING).vent.mass_g
        assert all(check.verdict == "pass" for check in context.of(STRENGTH).checks)
        water = assess(spec, conditions_of(spec), advise=False)
        assert water.outcome in ("holds", "marginal")
        assert figures.passed_ml == pytest.approx(1000.0 * water.drops[0].passed_l.high)
        question = proposal.enquiry.question(spec)
        assert question is not None
        found = predict(question)
        assert found.holds
        assert found.cooling is not None
        assert figures.rise_k == pytest.approx(found.cooling.rise_k)
        assert figures.depth_mm == pytest.approx(spec.in_front_mm + spec.behind_mm)


def test_the_binding_constraint_is_the_one_of_which_least_is_left(proposal: Proposal) -> None:
    for option in proposal.options:
        shares = {m.name: m.share for m in option.candidate.margins}
        assert option.binding.share == min(shares.values()) >= 0.0
        assert {"sight line", "temperature", "water"} <= set(shares)


def test_what_its_solid_refuses_is_replaced(
    proposal: Proposal, monkeypatch: pytest.MonkeyPatch
) -> None:
    cheapest = proposal.options[0].candidate

    def but_one(candidate: Candidate, enquiry: object) -> Confirmed:
        bad = candidate.row == cheapest.row
        return Confirmed(candidate, (), ("print: too thin",) if bad else ())

    monkeypatch.setattr(confirm, "confirmed", but_one)
    front = [cheapest, replace(cheapest, row=cheapest.row.model_copy(update={"wall_mm": 1.3}))]
    crew = Crew(proposal.enquiry)
    told: list[Sequence[object]] = []
    options, built = chosen(front, crew, proposal.front.found, lambda *a: told.append(a))
    refused = [known for known in built if not known.good]
    assert [o.row.wall_mm for o in options] == [1.3]
    assert [c.candidate.row for c in refused] == [cheapest.row]
    assert told


def test_a_price_that_the_solid_does_not_keep_is_told(proposal: Proposal) -> None:
    option = proposal.options[0]
    price = option.candidate.figures.price
    assert price is not None
    order = proposal.enquiry.asked.order.model_copy(update={"price_most": 0.9 * price})
    dear = replace(
        proposal.enquiry, asked=proposal.enquiry.asked.model_copy(update={"order": order})
    )
    found = confirm.confirmed(option.candidate, dear)
    assert not found.good
    assert found.failed[-1].startswith("price: ")
