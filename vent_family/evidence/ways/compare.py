"""A row face down and upright, each resolved, built, checked and priced as its own design."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vent_family.catalog.model import Orientation
from vent_family.evidence.cost.part import PrintedCost, bodies_to_print, printed_cost
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.printing.report import PrintReport
from vent_family.evidence.strength.kind import STRENGTH
from vent_family.evidence.strength.member import Member
from vent_family.geometry.primitives import GeometryError
from vent_family.spec.other_way import other_way
from vent_family.spec.vent import VentSpec

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


@dataclass(frozen=True, eq=False)
class MadeWay:
    """What comes of a row printed one way.

    ``slat`` is its weakest slat under a thumb, ``weakest`` what bears its load worst for what it
    needs.
    ``cost`` is ``None`` where the part does not fit on the bed.
    """

    spec: VentSpec
    report: PrintReport
    slat: Member
    weakest: Member
    cost: PrintedCost | None

    @property
    def pushed_off(self) -> bool:
        """Whether a machine can clear the bed of it without a hand."""
        return all(body.pushed_off for body in bodies_to_print(self.report))

    @property
    def failed(self) -> tuple[str, ...]:
        """What the print check refuses, in its own words."""
        return tuple(
            f"{c.name.removeprefix('print: ')}: {c.message}"
            for c in self.report.checks()
            if c.verdict == "fail"
        )


@dataclass(frozen=True, eq=False)
class PrintWay:
    """One way to print a row: face down or upright.

    ``stated`` is the row's own. ``refused`` says why the row as it stands does not print this way,
    ``change`` what of it was changed besides so that it does; ``made`` is ``None`` where no change
    is known that does.
    """

    print_orientation: Orientation
    stated: bool
    refused: tuple[str, ...]
    change: str
    made: MadeWay | None


@dataclass(frozen=True, eq=False)
class WaysReport:
    """The row's own way and the other one."""

    own: PrintWay
    other: PrintWay


def made_way(context: PartContext) -> MadeWay:
    """Return what comes of a part as its row states it.

    Raises
    ------
    GeometryError
        where the kernel makes no solid
    """
    report, members = context.of(PRINTING), context.of(STRENGTH).members
    return MadeWay(
        spec=context.spec,
        report=report,
        slat=members[0],
        weakest=min((m for m in members if m.judged), key=lambda m: m.safety / m.least),
        cost=printed_cost(report, context.rates.shop),
    )


def ways_report(context: PartContext) -> WaysReport:
    """Return a part and its row printed the other way, at the same shop's rates.

    The other way is a second solid, sliced and searched like the first.
    """
    spec = context.spec
    own = PrintWay(spec.print_orientation, True, (), "", made_way(context))
    found = other_way(spec)
    refused, made = found.refused, None
    if found.spec is not None:
        try:
            made = made_way(type(context)(found.spec, context.rates))
        except GeometryError as error:
            refused = (*refused, f"its solid cannot be made: {error}")
    return WaysReport(own, PrintWay(found.print_orientation, False, refused, found.change, made))
