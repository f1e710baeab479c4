"""What can be told of a row before it is resolved: for searches that try tens of thousands.

Everything here is a necessary condition: a row said to be refused never resolves, and a vent is
never wider open than it is said to be at most.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.compiled import compiled
from vent_family.base.limits import SLIVER_MIN
from vent_family.catalog.attached import NOTHING_ATTACHED, Attached
from vent_family.catalog.model import CatalogRow
from vent_family.spec.air_rules import air_columns
from vent_family.spec.areas import BANK_PLANES
from vent_family.spec.body import Body
from vent_family.spec.bounds import Bounds
from vent_family.spec.changes import nearest
from vent_family.spec.choice import StackChoice, possible_stacks
from vent_family.spec.families import FAMILIES, Family
from vent_family.spec.foregone import open_whatever, sight_lack_mm
from vent_family.spec.places import Frame
from vent_family.spec.refusals import Refusal, Refusals
from vent_family.spec.resolve import BY_PITCH, PITCH_SHARE, refusals_of, resolved_or_none
from vent_family.spec.row import FilledRow
from vent_family.spec.stack import Stack, patterns_of
from vent_family.spec.stack_rules import stacks

_STAGES: Final = 4
"""Rules of single columns; rules of slats; what a body is refused for; what a section is."""
_SIGHT: Final = "water.sight.open"
_HAIR: Final = 1e-6
"""As a share of a bank's depth: how far beside a plane a slat is cut, where pieces meet."""


def certainly_refused(rows: Sequence[CatalogRow]) -> tuple[BoolArray, tuple[str, ...]]:
    """Return which of many rows certainly break a rule, and the code of one that each breaks.

    Looked at are all rules that need no section, and lines that pass every layout. Of a row that is
    not among them nothing is said; its code is empty.

    Examples
    --------
    >>> cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> folded = {"slat_form": "folded", "pitch_mm": 7.0, "slat_thickness_mm": 1.0}
    >>> rows = [CatalogRow(**cells, **folded, overlap_mm=overlap) for overlap in (0.2, 3.0)]
    >>> refused, codes = certainly_refused(rows)
    >>> refused.tolist(), codes
    ([True, False], ('water.sight.open', ''))
    """
    codes = tuple(_code(row) for row in rows)
    return np.array([bool(code) for code in codes], dtype=bool), codes


def _code(row: CatalogRow) -> str:
    """Return the code of a rule that a row certainly breaks, or nothing."""
    family, filled, broken, choice = _looked_at(row)
    if choice is None:
        return "" if _may_move(row, broken) else broken[0].problem.code
    if row.pitch_mm is None:
        return ""  # it may be moved
    if open_whatever(family, filled, choice):
        return _SIGHT
    first = ""
    for stack in possible_stacks(choice):
        refusals = Refusals(row)
        family.lay_out(filled, refusals, stack)
        if not refusals.found:
            return ""
        first = first or refusals.found[0].problem.code
    return first


def _looked_at(
    row: CatalogRow,
) -> tuple[Family, FilledRow, tuple[Refusal, ...], StackChoice | None]:
    """Return a row filled, the rules of its columns and slats that it breaks, and its stack."""
    family = FAMILIES[row.family]
    filled, refusals = family.filled(row), Refusals(row)
    family.check_ways(filled, refusals)
    air_columns(filled, refusals)
    choice = stacks(filled, refusals)
    return family, filled, refusals.found, None if refusals.found else choice


def _may_move(row: CatalogRow, broken: Iterable[Refusal]) -> bool:
    """Return whether a blank pitch, moved, may keep all rules that are broken."""
    return row.pitch_mm is None and {r.rule for r in broken} <= BY_PITCH


def lack_of(row: CatalogRow, attached: Attached = NOTHING_ATTACHED) -> float:
    """Return how far a row is from resolving: 0 where it does, else more (1).

    Whole numbers count the stages of rules still before it, from 3 where its columns or slats do
    not fit to 0 where only its section breaks a rule; the rest, from 0 to 1, grows with what each
    broken rule lacks, and with every further one. A violation for an optimiser, to be made small.

    Parameters
    ----------
    row
        the row
    attached
        what it names outside itself

    Examples
    --------
    Folds overlap by more and more, until none sees through:

    >>> cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> folded = {"slat_form": "folded", "pitch_mm": 7.0, "slat_thickness_mm": 1.0}
    >>> rows = [CatalogRow(**cells, **folded, overlap_mm=overlap) for overlap in (0.2, 0.5, 3.0)]
    >>> far, near, none = (lack_of(row) for row in rows)
    >>> 1.0 > far > near > none == 0.0
    True
    """
    if resolved_or_none(row, attached) is not None:
        return 0.0
    family, filled, broken, choice = _looked_at(row)
    if choice is not None and row.pitch_mm is not None:
        refusals = Refusals(row)
        family.lay_out(filled, refusals, next(possible_stacks(choice)))
        if not refusals.found and open_whatever(family, filled, choice):
            return _rest([sight_lack_mm(family, filled, choice)])
    if choice is not None or _may_move(row, broken):
        broken = refusals_of(row)
    stage = min(max(r.stage for r in broken), _STAGES - 1)
    return _STAGES - 1 - stage + _rest(r.lack for r in broken)


def _rest(lacks: Iterable[float]) -> float:
    """Return a number from 0 to 1 that grows with every lack, a broken rule without one counted."""
    left = 1.0
    for lack in lacks:
        # A rule that is or is not kept lacks as much as one that is off by 1.
        left *= 1.0 / (1.0 + (lack if lack > 0.0 else 1.0))
    return 1.0 - left


def open_area_most_mm2(row: CatalogRow) -> float:
    """Return an area than which the narrowest cross-section of a row's vent is no greater, mm2.

    Without a section: the highest cavity, its whole width, less the slats that every layout has.
    Infinite for a row that breaks a rule of its columns or slats.

    Examples
    --------
    >>> from vent_family.spec.areas import open_areas, smallest
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="80x60", status="draft",
    ...                  pitch_mm=6.5, bank_gaps_mm="3")
    >>> round(smallest(open_areas(resolve(row))).area_mm2), round(open_area_most_mm2(row))
    (1819, 2486)
    """
    _, filled, broken, choice = _looked_at(row)
    pitches = [filled.pitch_mm]
    if row.pitch_mm is None:
        pitches += nearest("pitch_mm", filled.pitch_mm, PITCH_SHARE * filled.pitch_mm)
    if choice is None and not _may_move(row, broken):
        return math.inf
    return max(_area_most_mm2(filled.model_copy(update={"pitch_mm": p})) for p in pitches)


def _area_most_mm2(row: FilledRow) -> float:
    """Return the greatest area (mm2) over the stacks that a row may choose, its pitch as it is."""
    family, refusals = FAMILIES[row.family], Refusals(row.source)
    choice = stacks(row, refusals)
    if choice is None:
        return 0.0
    areas = {}
    for stack in possible_stacks(choice):
        # Planks that lean the other way leave as much open.
        if stack.gaps_mm not in areas:
            body, bounds = family.lay_out(row, Refusals(row.source), stack)
            areas[stack.gaps_mm] = _area_within_mm2(stack, body, bounds)
    return max(areas.values())


def _area_within_mm2(stack: Stack, body: Body, bounds: Bounds) -> float:
    """Return the greatest area (mm2) of the narrowest cross-section of a stack in a body."""
    frame, shape, half = Frame.of(stack, bounds), stack.shape, body.half_width_mm
    patterns = patterns_of(stack)

    def clear(low: float, high: float) -> float:
        return body.clear_area_mm2((-half, half), (low, high)) if high > low else 0.0

    areas = [clear(bounds.sill_top_mm, bounds.ceiling_max_mm)]
    if body.neck is not None:
        share = 1.0 if body.screen is None else body.screen.mesh.open_share
        areas = [share * math.pi * body.neck.bore_radius_mm**2]
    along = math.cos(math.radians(shape.slant_deg))
    left = max(shape.remnant_mm(stack.thickness_mm), SLIVER_MIN.value)
    for bank, (z0, z1) in enumerate(stack.banks_z):
        # Between these heights all slats are whole, wherever the lattice hangs.
        low = frame.cuts_mm[bank] + stack.slat_height_mm + left
        whole = clear(low, bounds.ceiling_min_mm - stack.slat_height_mm)
        pieces = patterns.pieces[patterns.banks == bank]
        planes = z0 + (z1 - z0) * np.asarray(BANK_PLANES)
        # Where pieces meet, either side of the plane counts.
        solid = [_heights_mm(pieces, planes + side * (z1 - z0)) for side in (-_HAIR, _HAIR)]
        for z, height in zip(planes.tolist(), np.minimum(*solid).tolist(), strict=True):
            floor = _floor_least_mm(bounds, frame.front_mm + z)
            # One slat a pitch, but for one: across a round cavity they are not all as wide.
            slats = height * max(whole / stack.pitch_mm - 2.0 * half, 0.0)
            areas.append(along * (clear(floor, bounds.ceiling_max_mm) - slats))
    return max(min(areas), 0.0)


def _floor_least_mm(bounds: Bounds, z_mm: float) -> float:
    """Return a height (mm) below which the cavity does not reach at a depth z (mm)."""
    if bounds.shelter is not None:
        return min(bounds.shelter.lower_floor_mm(z_mm), bounds.floor_mm(z_mm))
    return bounds.floor_mm(z_mm)


@compiled()
def _heights_mm(pieces: FloatArray, planes: FloatArray) -> FloatArray:
    """Return the height (mm) of convex pieces (pieces, corners, 2), mm, in planes at some z, mm."""
    heights = np.zeros(planes.shape[0])
    for i in range(planes.shape[0]):
        z = planes[i]
        for p in range(pieces.shape[0]):
            low, high = np.inf, -np.inf
            for j in range(pieces.shape[1]):
                za, ya = pieces[p, j - 1, 0], pieces[p, j - 1, 1]
                zb, yb = pieces[p, j, 0], pieces[p, j, 1]
                if za != zb and min(za, zb) <= z <= max(za, zb):
                    y = ya + (yb - ya) * (z - za) / (zb - za)
                    low, high = min(low, y), max(high, y)
            heights[i] += max(high - low, 0.0)
    return heights
