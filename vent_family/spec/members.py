"""What a vent is made of, by where it lies: slats, ribs, floor, ceiling, walls, cover, neck.

Each member is a stretch of space; together they hold all of the part, and none lies in another.
Sizes in mm, part coordinates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import shapely
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from vent_family.spec.section import BEYOND_MM, Section

Span = tuple[float, float]
ACROSS: Final[tuple[Span, ...]] = ((-BEYOND_MM, BEYOND_MM),)
"""From side to side, as far as anything reaches."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """Outlines (z, y) drawn along x over each of some spans; none touches another."""

    xs_mm: tuple[Span, ...]
    outline: BaseGeometry


@dataclass(frozen=True, eq=False)
class BodyMember:
    """A named piece of a part: whatever of its material lies in one of the stretches.

    ``inside`` is True or False if only what lies within or beyond the outline of the cavity belongs
    to it (:meth:`vent_family.spec.body.Body.cavity_outline`), ``None`` if that does not matter.
    ``detail`` tells members of one name apart; ``plate`` says that it is meant to be of even
    thickness.
    """

    name: str
    stretches: tuple[Stretch, ...]
    inside: bool | None = None
    detail: str = ""
    plate: bool = False


def block(z_mm: Span, y_mm: Span = ACROSS[0], xs_mm: tuple[Span, ...] = ACROSS) -> Stretch:
    """Return what fills a depth (z), a height (y) and one or more widths (x), mm."""
    return Stretch(xs_mm, box(z_mm[0], y_mm[0], z_mm[1], y_mm[1]))


def stack_members(
    section: Section,
    bays: Sequence[Span],
    y_mm: Span = ACROSS[0],
    *,
    inside: bool | None = None,
) -> tuple[BodyMember, ...]:
    """Return what the section holds between the side walls.

    Parameters
    ----------
    section
        The section.
    bays
        Clear x ranges between ribs, mm.
    y_mm
        Where floor and ceiling end below and above, mm.
    inside
        As for the members.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> vent = resolve(CatalogRow(part_number="A", family="rectangular", size="80x60",
    ...                           status="draft"))
    >>> [m.name for m in stack_members(vent.section, vent.bays, (-30.0, 30.0)) if not m.detail]
    ['apron', 'ribs', 'floor', 'sill', 'ceiling']
    """
    width = ((bays[0][0], bays[-1][1]),)
    ribs = tuple((a[1], b[0]) for a, b in pairwise(bays))
    ground, roof = section.ground(y_mm[0]), section.roof(y_mm[1])
    before_foot = box(section.foot[0], -2.0 * BEYOND_MM, 2.0 * BEYOND_MM, 2.0 * BEYOND_MM)
    room, bays = section.room, tuple(bays)

    def member(
        name: str, xs: tuple[Span, ...], outline: BaseGeometry, plate: bool, detail: str = ""
    ) -> BodyMember:
        return BodyMember(name, (Stretch(xs, outline),), inside, detail, plate)

    found = [
        member("slats", bays, _bank(section, bank), True, f"bank {bank + 1}")
        for bank in range(section.stack.bank_count)
    ]
    found.append(member("apron", bays, section.apron_solid.intersection(room), True))
    if ribs:
        found.append(member("ribs", ribs, room.difference(Polygon(section.rib_window)), True))
    found.append(member("floor", width, ground.intersection(before_foot), True))
    found.append(member("sill", width, ground.difference(before_foot), True))
    found.append(member("ceiling", width, roof, True))
    return tuple(found)


def _bank(section: Section, bank: int) -> MultiPolygon:
    """Return the slats of a bank, those that run on into the ceiling cut off there."""
    outlines = [Polygon(s.outline) for s in section.slats if s.bank == bank]
    # Of a fold whose ridge lies in the ceiling, two feet are left apart.
    cut = shapely.get_parts(shapely.intersection(outlines, section.room))
    return MultiPolygon([c for c in cut if isinstance(c, Polygon) and not c.is_empty])
