"""Face down against upright as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from vent_family.evidence.cost.kind import COST
from vent_family.evidence.cost.sheet import TOLD_ORDER
from vent_family.evidence.kind import Kind, Picture
from vent_family.evidence.ways.compare import WaysReport, ways_report
from vent_family.evidence.ways.record import (
    MadeWayRecord,
    WayRecord,
    WaysRecord,
    way_words,
    ways_record,
    ways_table,
)

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class BothWays(Kind[WaysReport]):
    """What the row would be printed the other way: a second solid, sliced and priced."""

    name = "ways"
    section = "printing"
    record_type = WaysRecord
    heading = "Face down or upright"

    def compute(self, context: PartContext) -> WaysReport:
        """Resolve, build, slice and price the row the other way, too."""
        return ways_report(context)

    def record(self, context: PartContext) -> WaysRecord:
        """Return both ways, or why there is only one."""
        return ways_record(context.of(self))

    def figures(self, context: PartContext) -> dict[str, Picture]:
        """Return what the part costs by the size of the order, where it fits on the bed."""
        # Imported here: the plotting library takes a while to load, and only this needs it.
        from vent_family.evidence.ways.pictures import cost_curves, cost_figure

        cost, ways, spec = context.of(COST), context.of(self), context.spec
        if cost is None:
            return {}
        curves = cost_curves(cost, ways.own, ways.other, context.rates.shop)
        title = f"{spec.part_number} {spec.revision}, {spec.material.name}: {context.rates.source}"
        figure = cost_figure(title, cost.printed.currency, curves, cost.tool_pays_from)
        return {"cost": Picture(figure, "cost of one part by the size of the order")}

    def sentences(self, context: PartContext) -> list[str]:
        """Return what the other way would bring, or why it is refused."""
        ways = self.record(context).ways
        own = next(w for w in ways if w.stated)
        other = next(w for w in ways if not w.stated)
        return [ways_sentence(own, other, context.rates.shop.currency)]

    def chapter(self, context: PartContext) -> list[str]:
        """Return both ways side by side."""
        ways = self.record(context).ways
        return [
            "Each way is a design of its own, resolved from the row, built, searched and priced."
            " Common practice (no source): only parts that stand upright can be pushed off the bed"
            " without a hand, and face down is the most durable; the safeties say how far that"
            " holds here.",
            "",
            *(f"{way_words(w)[0].upper()}{way_words(w)[1:]}.\n" for w in ways if w.refused),
            *ways_table(ways, context.rates.shop.currency),
        ]


def ways_sentence(own: WayRecord, other: WayRecord, currency: str) -> str:
    """Return in one or two sentences what a row's other way would bring.

    Parameters
    ----------
    own
        the way that the row states
    other
        the other one
    currency
        what the shop's money is called
    """
    name = other.print_orientation.replace("_", " ")
    words = ""
    if other.refused:
        words = f"Not {name} as it stands: {'; '.join(other.refused)}."
        if other.made is None or own.made is None:
            return words
        words += f" To print it so, {other.change}; then: "
    else:
        words = f"Printed {name} instead: "
    assert own.made is not None
    assert other.made is not None
    return words + f"{compared(own.made, other.made, currency)}."


def compared(own: MadeWayRecord, other: MadeWayRecord, currency: str) -> str:
    """Return how a way differs from the row's own: plate, hands, price, days and durability.

    Parameters
    ----------
    own, other
        the row's own way and the other one
    currency
        what the shop's money is called
    """
    words = []
    if other.failed:
        words.append(f"fails the print check ({'; '.join(other.failed)})")
    if own.parts_per_plate and other.parts_per_plate:
        fill = _instead(f"{other.parts_per_plate}", f"{own.parts_per_plate}")
        words.append(f"on a plate {fill}")
    elif own.parts_per_plate != other.parts_per_plate:
        words.append(f"{'fits' if other.parts_per_plate else 'does not fit'} on the bed")
    if other.pushed_off != own.pushed_off:
        words.append("cleared " + ("without a hand" if other.pushed_off else "by hand"))
    mine = {o.parts: o for o in own.orders}.get(TOLD_ORDER)
    theirs = {o.parts: o for o in other.orders}.get(TOLD_ORDER)
    if mine and theirs:
        price = _instead(f"{theirs.price:.2f}", f"{mine.price:.2f}")
        days = _instead(f"{theirs.days:.1f}", f"{mine.days:.1f}")
        words.append(f"{currency} at {TOLD_ORDER:,} parts {price}; days {days}")
    thumb = _instead(f"{other.thumb_safety:.1f}", f"{own.thumb_safety:.1f}")
    words.append(f"a slat's safety under a thumb {thumb}")
    return "; ".join(words)


def _instead(value: str, now: str) -> str:
    """Return a value and what it is now, or that it is the same."""
    return f"{value} as now" if value == now else f"{value}, not {now}"


BOTH_WAYS: Final = BothWays()
