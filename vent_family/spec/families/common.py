"""Rules that all families share: bays between ribs, the size of an opening."""

from __future__ import annotations

import inspect
import math
from itertools import pairwise

from vent_family.base.limits import BAY_MIN, OPENING_MAX, OPENING_MIN
from vent_family.base.materials import MATERIALS
from vent_family.catalog.columns import decimal
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow, RowT
from vent_family.spec.stack import Stack
from vent_family.spec.thumb import thumb_bay_mm


def own_row(row: FilledRow, kind: type[RowT]) -> RowT:
    """Return a filled row as the kind of row its family fills.

    Raises
    ------
    TypeError
        if another family filled it
    """
    if not isinstance(row, kind):
        raise TypeError(f"a {row.family} row is no {kind.__name__}")
    return row


def own_columns(kind: type[FilledRow]) -> frozenset[str]:
    """Return the columns that a family's kind of row adds to those that every family has.

    Examples
    --------
    >>> from vent_family.spec.families.round import RoundRow
    >>> sorted(own_columns(RoundRow))[:3]
    ['back_plate_mm', 'banks_outside', 'head_diameter_mm']
    """
    bases = kind.__mro__[: kind.__mro__.index(FilledRow)]
    return frozenset(name for base in bases for name in inspect.get_annotations(base))


def opening_size(row: FilledRow, refusals: Refusals) -> tuple[float, float]:
    """Return width and height (mm) of a square-cut opening; sizes out of range are refused."""
    width, height = (float(side) for side in row.size.split("x"))
    for value, name in ((width, "width"), (height, "height")):
        if not OPENING_MIN.value <= value <= OPENING_MAX.value:
            held = (min(max(s, OPENING_MIN.value), OPENING_MAX.value) for s in (width, height))
            refusals.refuse(
                "opening.size.range",
                "size",
                f"the opening's {name} of {value:g} mm is out of range",
                which=name,
                allowed=f"{OPENING_MIN.value:g} to {OPENING_MAX.value:g} mm",
                guesses=({"size": "x".join(decimal(side) for side in held)},),
                columns=("size",),
            )
    return width, height


def refuse_upright(row: FilledRow, refusals: Refusals, what: str) -> None:
    """Refuse to print a vent standing whose neck or flange (``what``) would hang over the bed."""
    if row.print_orientation == "upright":
        refusals.refuse(
            "printing.upright.hanging",
            "print_orientation",
            f"a {row.family} vent does not print upright without supports: its {what} would hang"
            " over the bed",
            allowed="face_down",
            guesses=({"print_orientation": "face_down"},),
        )


def spaced(row: FilledRow, half: float, stack: Stack) -> tuple[tuple[float, float], ...]:
    """Return the clear x range of every bay of a cavity reaching from -``half`` to ``half``, mm.

    Ribs are spaced evenly. A blank rib count is the least one that keeps every slat of the stack
    within the bridge length that the material prints cleanly, and bears a thumb.

    Examples
    --------
    Planks of 1.5 mm in ASA bear a thumb over 22.7 mm; the rib is 1.6 mm thick:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.families import filled_row
    >>> cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> planks = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> row = filled_row(CatalogRow(**cells))
    >>> [(round(a, 2), round(b, 2)) for a, b in spaced(row, 20.0, planks)]
    [(-20.0, -0.8), (0.8, 20.0)]
    """
    t = row.rib_thickness_mm
    count = row.rib_count
    if count is None:
        good = MATERIALS[row.material].print_profile.bridge_good_mm
        widest = min(good, thumb_bay_mm(stack, row.material))
        count = math.ceil((2.0 * half + t) / (widest + t)) - 1
    bay = (2.0 * half - count * t) / (count + 1)
    starts = [-half + i * (bay + t) for i in range(count + 1)]
    return tuple((x, x + bay) for x in starts)


def bays(
    row: FilledRow, refusals: Refusals, half: float, stack: Stack
) -> tuple[tuple[float, float], ...]:
    """Return the bays of a cavity reaching from -``half`` to ``half``, mm, with a stack in it.

    Bays too wide to bridge or too narrow are refused.
    """
    found = spaced(row, half, stack)
    t, width, count = row.rib_thickness_mm, 2.0 * half, len(found) - 1
    bay = found[0][1] - found[0][0]
    material = row.material
    longest = MATERIALS[material].print_profile.bridge_max_mm
    if bay > longest:
        need = math.ceil((width + t) / (longest + t)) - 1
        refusals.refuse(
            "printing.bridge.long",
            "rib_count",
            f"with {count} ribs the slats bridge {bay:.1f} mm",
            allowed=f"bridges up to {longest:g} mm in {material}",
            guesses=({"rib_count": need}, {"rib_count": None}),
            columns=("rib_count", "wall_mm"),
        )
    if bay < BAY_MIN.value:
        most = max(0, math.floor((width + t) / (BAY_MIN.value + t)) - 1)
        refusals.refuse(
            "ribs.bay.narrow",
            "rib_count",
            f"{count} ribs of {t:g} mm leave bays only {bay:.1f} mm wide",
            allowed=f"bays of {BAY_MIN.value:g} mm or more",
            guesses=({"rib_count": most}, {"rib_count": None}),
            columns=("rib_count", "rib_thickness_mm", "wall_mm", "size"),
        )
    return found


def disc_in_box_mm2(
    radius_mm: float, x_mm: tuple[float, float], y_mm: tuple[float, float]
) -> float:
    """Return the area of a rectangle as far as it lies in a disc about the origin.

    Between the places where the circle meets the rectangle's lines, each bound is a line or the
    circle, and both are integrated in closed form.

    Examples
    --------
    A quarter of a disc of 10 mm, 25 pi; and a square inside it:

    >>> round(disc_in_box_mm2(10.0, (0.0, 20.0), (0.0, 20.0)), 4)
    78.5398
    >>> round(disc_in_box_mm2(10.0, (-3.0, 3.0), (-4.0, 4.0)), 9)
    48.0
    """
    r, (low, high) = radius_mm, y_mm
    x0, x1 = max(x_mm[0], -r), min(x_mm[1], r)
    reach = max(abs(x0), abs(x1))
    if x0 < x1 and low < high and reach**2 + max(abs(low), abs(high)) ** 2 < 0.999 * r * r:
        return high * (x1 - x0) - low * (x1 - x0)  # all of it lies in the disc
    places = {x0, x1}
    for y in (low, high):
        if abs(y) < r:
            meet = math.sqrt(r * r - y * y)
            places |= {x for x in (-meet, meet) if x0 < x < x1}

    def under_circle(a: float, b: float) -> float:
        ends = [x * math.sqrt(max(r * r - x * x, 0.0)) + r * r * math.asin(x / r) for x in (a, b)]
        return 0.5 * (ends[1] - ends[0])

    area = 0.0
    for a, b in pairwise(sorted(places)):
        half = math.sqrt(max(r * r - (0.5 * (a + b)) ** 2, 0.0))
        if min(high, half) <= max(low, -half):
            continue
        above = high * (b - a) if high < half else under_circle(a, b)
        below = low * (b - a) if low > -half else -under_circle(a, b)
        area += above - below
    return area
