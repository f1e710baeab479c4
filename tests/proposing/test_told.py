"""What is told of a proposal: the same figures in words and data, and nothing that is not so."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, replace

import pytest

from tests.proposing.small import asked, cooled
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.cost.sheet import order_cost
from vent_family.evidence.result import CheckResult
from vent_family.proposing.answer import RequirementAnswer
from vent_family.proposing.constraints import Relaxation
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.figures import figures_told, margin_told, proposed_cells
from vent_family.proposing.known import Carried, KnownPart
from vent_family.proposing.ladder import TEMPERATURE, Candidate, Figures, Margin
from vent_family.proposing.proposal import Option, Proposal
from vent_family.proposing.run import Front
from vent_family.proposing.search import Found
from vent_family.proposing.space import space_of
from vent_family.proposing.titles import titled
from vent_family.proposing.told import prices_told, proposal_told
from vent_family.proposing.words import proposal_lines
from vent_family.release.cautions import CAUTION

CELLS = {"part_number": "TRIAL", "family": "rectangular", "size": "40x40", "status": "draft"}
ROW = CatalogRow(**CELLS, slat_form="folded", bank_count=1, exposure="dry")
SIGHT = Margin("sight line", 0.304, 0.0, "mm", 0.05)
THUMB = Margin("strength: slat under a thumb", 1.02, 1.0, "1", 0.02)
GOOD = Candidate(
    ROW, "full", 0.0, (SIGHT, THUMB), Figures(1.2345, 6.449, 25.0, 0.0, 14.26)
)  # fmt: skip
BROKEN = Candidate(ROW, "rules", 1.0)
CHECK = CheckResult("solid", "pass", "")


def answer(**changes: object) -> RequirementAnswer:
    """Return an answer of one option that nobody searched for."""
    enquiry = enquiry_of(cooled(15.0))
    found = Found(drawn=9)
    found.keep([GOOD])
    options = (Option(("cheapest", "coolest"), GOOD, (CHECK,)),)
    front = Front(space_of(enquiry.asked), (GOOD,), found)
    whole = RequirementAnswer(Proposal(enquiry, options, front, 3))
    return replace(whole, **changes)  # type: ignore[arg-type]


def numbers(text: str) -> set[str]:
    return set(re.findall(r"\d+(?:\.\d+)?", text.replace(",", "")))


def test_words_hold_the_figures_of_the_data() -> None:
    told = proposal_told(answer())
    figures = told.options[0].figures
    assert (figures.price, figures.rise_k, figures.inside_c, figures.mass_g) == (
        1.23, 6.4, 36.4, 14.3,
    )  # fmt: skip
    text = "\n".join(proposal_lines(told))
    assert {"1.23", "6.4", "36.4", "14.3", f"{figures.in_front_mm:.1f}"} <= numbers(text)
    assert f"{figures.behind_mm:.1f} mm behind" in text
    assert "Cheapest, coolest: rectangular, 40x40, ASA" in text
    assert "What binds: slat under a thumb: 1.02 of the safety needed." in text
    assert text.count(CAUTION) == 1
    assert "water" not in text.replace(CAUTION, "")
    json.dumps(asdict(told))


def test_cells_that_are_told_are_the_row() -> None:
    (option,) = proposal_told(answer()).options
    cells = {**option.cells, "bank_count": 1, "panel_thickness_mm": None}
    assert CatalogRow(**(CELLS | cells)) == ROW
    assert "part_number" not in proposed_cells(ROW)


def known(row: CatalogRow, *margins: Margin, **words: object) -> KnownPart:
    lack = 0.0 if all(m.kept for m in margins) else 1.0
    reason = str(words.get("reason", ""))
    candidate = replace(GOOD, row=ROW, margins=margins, lack=lack, reason=reason)
    return KnownPart(row, Carried(candidate))


def test_the_catalogue_is_told_first_with_what_its_parts_lack() -> None:
    hot = Margin("temperature", 56.24, 55.0, "degC", -0.12)
    price = Margin("price", 1.5, 1.0, "USD", -0.5)
    wet = Margin("water", 310.4, 0.0, "mL", -1.5)
    rows = [ROW.model_copy(update={"part_number": f"HV-{i}"}) for i in range(6)]
    parts = (
        known(rows[0], SIGHT, THUMB),
        known(rows[1], SIGHT, hot, price, reason="temperature"),
        known(rows[2], SIGHT, wet, reason="water: rain: drops between the slats"),
        *(known(row, hot) for row in rows[3:]),
    )
    told = proposal_told(answer(known=parts))
    assert [k.part_number for k in told.known] == ["HV-0", "HV-1", "HV-2", "HV-3"]
    lines = list(proposal_lines(told))
    first = next(i for i, line in enumerate(lines) if "HV-0" in line)
    assert first < next(i for i, line in enumerate(lines) if line.startswith("1. "))
    assert "HV-0 (draft) does it already: 1.23 USD each" in lines[first]
    assert lines[first + 1].strip() == (
        "HV-1 (draft) lacks: price: 1.50 USD, at most 1.00; temperature: 56.2 degC with all that"
        " is uncertain, at most 55."
    )
    assert lines[first + 2].strip() == (
        "HV-2 (draft) lacks: rain limited by drops between the slats, up to 310 mL pass."
    )


def test_where_nothing_does_it_what_would_have_to_give_is_told() -> None:
    nothing = replace(answer().proposal, options=())
    part = ROW.model_copy(update={"part_number": "HV-9"})
    relaxed = (
        Relaxation("cabinet.limit_c", "degC", 45.0, 48.6, GOOD),
        Relaxation("opening.size", "", "40x40"),
        Relaxation("air.vents", "1", 1, 2, replace(GOOD, row=part)),
    )
    short = Margin("temperature", 56.2, 55.0, "degC", -0.05)
    far = Carried(replace(GOOD, margins=(SIGHT, short)), ("the fan stalls",))
    given = answer(proposal=nothing, relaxed=relaxed, nearest=far)
    text = "\n".join(proposal_lines(proposal_told(given)))
    assert "No new row does what is asked." in text
    assert "cabinet.limit_c: 48.6 degC in place of 45 would do." in text
    assert "air.vents: 2 in place of 1 would do, with HV-9." in text
    assert "Of new rows came farthest: rectangular, 40x40, ASA" in text
    assert (
        "It lacks: temperature: 56.2 degC with all that is uncertain, at most 55; the fan" in text
    )
    without = proposal_told(answer(proposal=nothing, nearest=replace(far, candidate=BROKEN)))
    assert without.nearest is None
    assert "Alone none of these helps: opening.size." in text
    assert "No part of the catalogue" not in text
    assert "The catalogue has no part for this opening." in text
    assert not answer(proposal=nothing).anything
    assert answer().anything


def test_what_was_broken_off_or_not_built_is_told_so() -> None:
    whole = answer().proposal
    unsure = replace(
        whole,
        options=(replace(whole.options[0], checks=()),),
        front=replace(whole.front, interrupted=True),
    )
    told = proposal_told(answer(proposal=unsure))
    text = "\n".join(proposal_lines(told))
    assert (told.interrupted, told.options[0].confirmed) == (True, False)
    assert "Interrupted: this is the best so far." in text
    assert "(its solid was not built)" in text
    nothing = "\n".join(proposal_lines(replace(told, options=())))
    assert "No new row was found so far." in nothing
    assert "does what is asked" not in nothing
    sure = "\n".join(proposal_lines(proposal_told(answer())))
    assert "not built" not in sure
    assert "Interrupted" not in sure


@pytest.mark.parametrize(
    ("ratio", "words"), [(0.93, "0.93"), (0.9999, "0.9999"), (1.0, "1.00"), (2.345, "2.35")]
)
def test_what_is_not_kept_never_reads_as_kept(ratio: float, words: str) -> None:
    margin = Margin("strength: flange", ratio, 1.0, "1", ratio - 1.0)
    assert margin_told(margin).words == f"flange: {words} of the safety needed"


def test_titles_are_given_for_what_somebody_notices() -> None:
    near = replace(GOOD, figures=replace(GOOD.figures, price=1.3, rise_k=6.41, passed_ml=0.001))
    far = replace(GOOD, figures=replace(GOOD.figures, price=1.4, rise_k=5.0))
    assert list(titled([GOOD, near]).values()) == [("cheapest", "balanced")]
    assert titled([GOOD, near, far])[far] == ("coolest",)


def test_without_a_cabinet_nothing_is_told_of_warmth() -> None:
    enquiry = enquiry_of(asked())
    cold = replace(GOOD, figures=replace(GOOD.figures, rise_k=None))
    told = figures_told(cold, enquiry)
    assert (told.inside_c, told.rise_k, told.water) == (None, None, None)
    assert "inside" not in told.words


def test_prices_are_those_of_the_cost_sheet() -> None:
    from vent_family.evidence.cost.sheet import PartToPrint
    from vent_family.evidence.printing.foretold import foretold_vent
    from vent_family.spec.resolve import resolve

    enquiry = enquiry_of(asked())
    body = PartToPrint.of(foretold_vent(resolve(ROW), enquiry.rates.shop))
    prices = prices_told((body,), enquiry, (1, 500))
    assert [p.price for p in prices] == [
        round(order_cost((body,), n, enquiry.rates.shop).price, 2) for n in (1, 500)
    ]
    assert prices[0].price > 5.0 * prices[1].price
    assert prices_told((), enquiry, (1,)) == ()


def test_the_answer_is_plain_data() -> None:
    plain = json.loads(json.dumps(asdict(proposal_told(answer()))))
    assert plain["tried"] == {
        "drawn": 9,
        "unlike": 1,
        "reached": dict.fromkeys(
            ("rules", "room", "air", "price", "strength", "water", "full"), 1
        ),
        "front": 1,
        "seed": 3,
    }  # fmt: skip


def test_a_fan_that_may_stall_is_told_instead_of_a_temperature_that_is_low_enough() -> None:
    stalls = Margin(TEMPERATURE, 41.8, 45.0, "degC", -0.05)
    assert margin_told(stalls).words == (
        "temperature: 41.8 degC, but the fan may stall, or settle at less air"
    )
    hot = Margin(TEMPERATURE, 46.8, 45.0, "degC", -0.05)
    assert margin_told(hot).words.endswith("at most 45")
