"""What rows beside another one are called: differences that nobody would notice give no title."""

from __future__ import annotations

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.ladder import PRICE, Candidate, Figures, Margin
from vent_family.proposing.titles import FLOW, saving_half, titled_beside

TODAY = 2.0


def cheaper(number: int, price: float, flow_m3_h: float) -> Candidate:
    """Return a row that is cheaper than 2.00; its number says how many cells it changes."""
    row = CatalogRow(part_number=f"T{number}", family="round", size="M32x1.5", status="draft")
    margins = (
        Margin(PRICE, price, TODAY, "USD", 1.0 - price / TODAY),
        Margin(FLOW, flow_m3_h, 5.0, "m3/h", flow_m3_h / 5.0 - 1.0),
    )
    return Candidate(row, "full", 0.0, margins, Figures(price=price))


def names(*rows: Candidate) -> dict[str, tuple[str, ...]]:
    found = titled_beside(rows, lambda row: int(row.part_number[1:]))
    return {c.row.part_number: titles for c, titles in found.items()}


def test_each_is_called_by_what_it_is_best_in() -> None:
    cheapest, fewest, airiest = cheaper(9, 1.5, 5.0), cheaper(1, 1.7, 5.0), cheaper(5, 1.6, 6.0)
    assert names(airiest, fewest, cheapest) == {
        "T9": ("cheapest",),
        "T1": ("fewest cells changed",),
        "T5": ("most air",),
    }
    assert names() == {}


def test_a_little_more_air_is_none() -> None:
    cheapest = cheaper(9, 1.5, 5.0)
    assert names(cheapest, cheaper(9, 1.51, 5.09)) == {"T9": ("cheapest", "fewest cells changed")}
    assert names(cheapest, cheaper(8, 1.6, 5.2), cheaper(7, 1.9, 5.25)) == {
        "T9": ("cheapest",),
        "T8": ("fewest cells changed", "most air"),
    }


def test_what_saves_less_than_half_as_much_is_not_worth_its_few_cells() -> None:
    half, less = cheaper(2, 1.75, 5.0), cheaper(1, 1.76, 5.0)
    rows = [cheaper(9, 1.5, 5.0), half, less]
    assert saving_half(rows, TODAY) == rows[:2]
    assert "T1" not in names(*rows)
