"""The part families: all that is particular to each, behind one protocol.

A family fills its rows' blank cells, holds the rules between its own columns, and lays out the
body; the body (:class:`vent_family.spec.body.Body`) answers what everything above asks. Nothing
outside this package asks for a family by its name. Its solids are made by a builder registered
beside it, see :mod:`vent_family.geometry.families`.
"""

from __future__ import annotations

import inspect
from typing import Final, Protocol

from vent_family.catalog import model
from vent_family.catalog.model import CatalogRow, FamilyCells, SizeKind
from vent_family.spec.body import OPENINGS, Body
from vent_family.spec.bounds import Bounds
from vent_family.spec.families.flanged import Flanged
from vent_family.spec.families.rectangular import Rectangular
from vent_family.spec.families.round import Round
from vent_family.spec.refusals import Refusals
from vent_family.spec.registry import Registry, members_of
from vent_family.spec.row import FilledRow
from vent_family.spec.section import Section
from vent_family.spec.stack import Stack


class Family(Protocol):
    """What a part family must bring."""

    @property
    def name(self) -> str:
        """The name a row's family cell gives it."""
        ...

    @property
    def size(self) -> SizeKind:
        """What the size column holds."""
        ...

    @property
    def columns(self) -> frozenset[str]:
        """The columns that apply to it beyond those that apply to every family."""
        ...

    @property
    def opening(self) -> str:
        """The kind of opening it needs cut."""
        ...

    @property
    def body(self) -> type[Body]:
        """The type of its bodies."""
        ...

    def filled(self, row: CatalogRow) -> FilledRow:
        """Return a row with every default filled in."""
        ...

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        """Refuse ways of fixing and printing that do not go together."""
        ...

    def place_ribs(
        self, row: FilledRow, refusals: Refusals, body: Body, section: Section
    ) -> tuple[Body, tuple[tuple[float, float], ...]]:
        """Return the body with its ribs in place, and the clear x range of every bay, mm.

        What does not do is refused.
        """
        ...

    def bounds(self, row: FilledRow, stack: Stack) -> Bounds:
        """Return the bounds that :meth:`lay_out` does, without the body, and refuse nothing."""
        ...

    def lay_out(self, row: FilledRow, refusals: Refusals, stack: Stack) -> tuple[Body, Bounds]:
        """Return the body around a stack, and the bounds its section is laid out in.

        What cannot be laid out is refused; body and bounds are then not used.
        """
        ...


class Families(Registry[Family, FamilyCells]):
    """The registered families, by name."""

    def register(self, member: Family) -> None:
        """Add a family; its kind of opening is known from then on.

        Raises
        ------
        TypeError
            if the family, or the type of its bodies, lacks a member
        ValueError
            if its name is taken or cannot stand in a cell
        """
        kind = getattr(member, "body", None)
        if inspect.isclass(kind):
            known = {
                n for base in kind.__mro__ for n in (*inspect.get_annotations(base), *vars(base))
            }
            for name in members_of(Body):
                if name not in known:
                    raise TypeError(f"the body of the family {member.name} lacks the member {name}")
        super().register(member)
        if member.opening not in OPENINGS:
            OPENINGS.admit(member.opening, None)

    def withdraw(self, name: str) -> None:
        """Take a family out again, and its kind of opening unless another one needs it.

        Raises
        ------
        LookupError
            if none is registered under that name
        """
        opening = self[name].opening
        super().withdraw(name)
        if opening not in OPENINGS.own and not any(f.opening == opening for f in self):
            OPENINGS.withdraw(opening)


FAMILIES: Final = Families(
    Family, model.FAMILIES, lambda family: FamilyCells(family.size, family.columns)
)
"""Every family a row can name."""
for _family in (Rectangular(), Round(), Flanged()):
    FAMILIES.register(_family)


def filled_row(row: CatalogRow) -> FilledRow:
    """Return a row with every default of its family, its form and of all vents filled in.

    Examples
    --------
    >>> row = CatalogRow(part_number="A", family="round", size="M32x1.5", status="draft")
    >>> filled = filled_row(row)
    >>> filled.wall_mm, filled.pitch_mm, filled.rib_count, filled.given("wall_mm")
    (2.4, 6.5, None, False)
    """
    return FAMILIES[row.family].filled(row)
