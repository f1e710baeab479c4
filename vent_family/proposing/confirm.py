"""A candidate on its real solid: every check that a release must pass, and its true price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from vent_family.evidence.cost.sheet import PartToPrint
from vent_family.evidence.result import CheckResult
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import PRICE, Candidate, Margin
from vent_family.spec.resolve import resolve


@dataclass(frozen=True)
class Confirmed:
    """A candidate with the figures of its solid.

    ``checks`` are those that must pass; ``failed`` says in words what did not, nothing where the
    candidate is confirmed. ``bodies`` are what an order of it prints.
    """

    candidate: Candidate
    checks: tuple[CheckResult, ...]
    failed: tuple[str, ...]
    bodies: tuple[PartToPrint, ...] = ()

    @property
    def good(self) -> bool:
        """Whether the solid passed, and still does what is asked at its true price."""
        return not self.failed


def confirmed(candidate: Candidate, enquiry: Enquiry) -> Confirmed:
    """Build a candidate, check it as a release is checked, and price it by its print.

    Water, air and strength need no solid: they are what the whole ladder found.

    Raises
    ------
    InputError
        if its row breaks a rule
    """
    # Imported here: the kernel takes a second to load, and the search does not need it.
    from vent_family.evidence.context import PartContext
    from vent_family.evidence.cost.part import bodies_to_print
    from vent_family.evidence.cost.sheet import order_cost, parts_per_plate
    from vent_family.evidence.printing.kind import PRINTING

    spec = resolve(candidate.row, enquiry.attached(candidate.row))
    context = PartContext(spec, enquiry.rates)
    checks = context.checks(binding=True)
    failed = [f"{c.name}: {c.message}" for c in checks if c.verdict != "pass"]
    report, shop, order = context.of(PRINTING), enquiry.rates.shop, enquiry.asked.order
    bodies = bodies_to_print(report)
    if any(parts_per_plate(body.size_mm, shop) == 0 for body in bodies):
        failed.append("print: it does not fit on the bed")
        return Confirmed(candidate, checks, tuple(failed))
    price = order_cost(bodies, order.quantity, shop).price
    margins = candidate.margins
    if order.price_most is not None:
        share = (order.price_most - price) / order.price_most
        mine = Margin(PRICE, price, order.price_most, shop.currency, share)
        margins = tuple(mine if m.name == PRICE else m for m in margins)
        if not mine.kept:
            failed.append(f"price: {price:.2f} {shop.currency}, more than {order.price_most:g}")
    figures = replace(candidate.figures, price=price, mass_g=report.vent.mass_g)
    known = replace(candidate, margins=margins, figures=figures)
    return Confirmed(known, checks, tuple(failed), tuple(bodies))


def confirm_all(enquiry: Enquiry, candidates: Sequence[Candidate]) -> list[Confirmed]:
    """Return candidates on their solids."""
    return [confirmed(c, enquiry) for c in candidates]
