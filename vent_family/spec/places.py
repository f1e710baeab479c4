"""Where the slats of a layout stand: on one lattice, down to the channel, up to a clean ceiling.

Compiled, since one row tries dozens of layouts, and a search for a vent tens of thousands of rows.
A layout draws what stands here; one that is only tried is looked through before it is drawn.
Coordinates as in :mod:`vent_family.spec.section`, in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.compiled import compiled
from vent_family.base.limits import GAP_MIN, SLIVER_MIN
from vent_family.spec.bounds import Bounds
from vent_family.spec.forms import Outline
from vent_family.spec.section import SectionError
from vent_family.spec.sightlines import ENOUGH_MM
from vent_family.spec.sightsearch import WIDER, widest_from
from vent_family.spec.stack import Stack, patterns_of

NUDGE_MM: Final = 0.05
"""Least distance of a slat's corner from a wall's plane; coinciding corners spoil the mesh."""
CUT_MIN: Final = 0.3
"""Least height by which a slat cut at the ceiling runs on into it, mm."""
_STEP_MM: Final = -0.1
"""Step in which ceilings are tried, from the highest down, mm."""
_SLIVER_MM: Final = SLIVER_MIN.value
_NO_CEILING: Final = -1


@dataclass(frozen=True, slots=True)
class SlatPlace:
    """Where one slat stands: its bank, the middle of its height (mm) as if nothing cut it.

    ``short`` says that the channel cuts it, ``grown`` that it grows out of the ceiling.
    """

    bank: int
    centre_mm: float
    short: bool
    grown: bool


@dataclass(frozen=True, slots=True)
class Frame:
    """What all layouts of a stack within the same bounds share.

    ``cuts_mm`` is the height to which each bank reaches down, from outside in; ``slot_mm`` are
    bottom and top of the drain slot in front; mm.
    """

    stack: Stack
    bounds: Bounds
    cuts_mm: tuple[float, ...]
    slot_mm: tuple[float, float]

    @classmethod
    def of(cls, stack: Stack, bounds: Bounds) -> Frame:
        """Return the frame of a stack within bounds.

        Examples
        --------
        >>> stack = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
        >>> bounds = Bounds(
        ...     front_z_mm=3.0, front_margin_mm=1.0, floor_front_mm=-30.0, slope_deg=5.0,
        ...     drain_height_mm=4.0, apron_thickness_mm=2.0, ceiling_max_mm=30.0,
        ...     ceiling_min_mm=17.0, inner_z_mm=-22.5, foot_z_mm=-20.9, sill_top_mm=-19.5)
        >>> frame = Frame.of(stack, bounds)
        >>> [round(cut, 2) for cut in frame.cuts_mm], frame.slot_mm
        ([-21.3, -24.84, -24.17], (-30.0, -26.0))
        """
        channel = max(bounds.drain_height_mm, GAP_MIN.value)
        front = bounds.front_z_mm - bounds.front_margin_mm
        slot = (bounds.floor_front_mm, bounds.floor_front_mm + bounds.drain_height_mm)
        shelter, cuts = bounds.shelter, []
        for bank, (z0, _) in enumerate(stack.banks_z):
            if shelter is not None:
                cuts.append(shelter.cut_mm(bank, front + z0))
            else:
                cuts.append(bounds.floor_mm(front + z0) + channel)
        if shelter is None:
            # The apron stands in front of the outermost bank, so that bank ends above it.
            gap = stack.shape.apron_gap_mm(stack.pitch_mm, stack.slat_height_mm)
            cuts[0] = max(cuts[0], slot[1] + bounds.apron_thickness_mm + gap)
        return cls(stack, bounds, tuple(cuts), slot)

    @property
    def front_mm(self) -> float:
        """z of the stack's outer side."""
        return self.bounds.front_z_mm - self.bounds.front_margin_mm

    def apron(self, lowest_mm: float) -> Outline:
        """Return the apron, under an outermost bank that reaches down to a height (mm)."""
        bounds = self.bounds
        if bounds.shelter is not None:
            return bounds.shelter.apron
        stack = self.stack
        z1, low = bounds.front_z_mm, self.slot_mm[1]
        z0 = z1 - bounds.apron_thickness_mm
        high = lowest_mm - stack.shape.apron_gap_mm(stack.pitch_mm, stack.slat_height_mm)
        return ((z0, low), (z1, low), (z1, high), (z0, high))


class Layouts:
    """The layouts of one stack within the same bounds: the lattice lifted by shares of a pitch."""

    def __init__(self, frame: Frame) -> None:
        stack, bounds = frame.stack, frame.bounds
        shape, v = stack.shape, stack.slat_height_mm
        self.frame = frame
        self._cuts = np.asarray(frame.cuts_mm)
        self._offsets = np.asarray(stack.offsets_mm)
        self._patterns = patterns_of(stack)
        self._gap = shape.ceiling_gap_mm(stack.pitch_mm, v)
        self._stub = shape.stub_mm(stack.thickness_mm)
        self._remnant = shape.remnant_mm(stack.thickness_mm)
        self._levels = np.arange(bounds.ceiling_max_mm, bounds.ceiling_min_mm - 1e-9, _STEP_MM)
        per_bank = math.ceil((bounds.ceiling_max_mm - min(frame.cuts_mm)) / stack.pitch_mm) + 4
        self._found = np.empty((max(per_bank, 1) * stack.bank_count, 4))
        self._open_at = math.nan
        self._low: FloatArray | None = None

    def _placed(self, phase: float) -> tuple[int, float]:
        """Fill in what stands at a phase; return how many slats, and the ceiling (mm).

        Raises
        ------
        SectionError
            as :meth:`places` does
        """
        stack, bounds = self.frame.stack, self.frame.bounds
        count, whole, ceiling = _place(
            self._cuts,
            self._offsets,
            self._patterns.heights,
            (stack.pitch_mm, stack.slat_height_mm, phase, bounds.ceiling_max_mm),
            (bounds.ceiling_min_mm - self._gap - NUDGE_MM, self._gap, self._stub),
            (stack.shape.corner_clear_mm, self._remnant),
            self._levels,
            self._found,
        )
        if count == _NO_CEILING:
            raise SectionError(
                "slats.ceiling.sliver",
                "no clean ceiling: every height between the slats leaves a sliver or a bridged gap",
                "pitch_mm",
            )
        if whole < stack.bank_count:
            need = max(self.frame.cuts_mm) + 2 * stack.pitch_mm - bounds.ceiling_max_mm
            raise SectionError(
                "cavity.height.low",
                f"the cavity is {max(need, 0.1):.1f} mm too low for the slat stack",
                "size",
                max(need, 0.1),
            )
        return count, ceiling

    def places(self, phase: float) -> tuple[list[SlatPlace], float]:
        """Return where slats stand, bank by bank from below, and the height of the ceiling (mm).

        At ``phase`` (1) 0 the innermost bank's lowest slat ends on the drain channel; other phases
        lift the lattice by that share of a pitch. The ceiling is the highest level under which no
        slat leaves a sliver or a gap that a water film would bridge.

        Raises
        ------
        SectionError
            when there is no such level, or the cavity is too low for the stack
        """
        count, ceiling = self._placed(phase)
        rows = self._found[:count].tolist()
        places = [
            SlatPlace(int(bank), y, short > 0.0, grown > 0.0) for bank, y, short, grown in rows
        ]
        return places, round(ceiling, 3)

    def surely_open(self, phase: float, sill_top_mm: float) -> bool:
        """Return whether lines pass at a ``phase`` (1), or nearly, that even fuller slats leave.

        Slats that channel or ceiling cut short are taken whole, and the sill ends at a height
        (mm): where lines pass then, they pass the layout with any sill up to that. Where they do
        not, nothing is said.

        Raises
        ------
        SectionError
            as :meth:`places` does
        """
        count, ceiling = self._placed(phase)
        bounds = self.frame.bounds
        if self._low is None:
            self._low = np.asarray(bounds.lower(sill_top_mm), dtype=float)
        self._open_at = _open_at(
            self._found[:count],
            self._patterns.pieces,
            self._patterns.banks,
            (float(self._patterns.heights[0].min()), float(self._cuts[0])),
            np.asarray(self.frame.apron(0.0)),
            (self.frame.front_mm, bounds.shelter is None, -ENOUGH_MM, self._open_at),
            self._low,
            np.asarray(bounds.upper(ceiling), dtype=float),
        )
        return not math.isnan(self._open_at)


@compiled()
def _place(
    cuts: FloatArray,
    offsets: FloatArray,
    heights: FloatArray,
    lattice: tuple[float, float, float, float],
    under: tuple[float, float, float],
    kept: tuple[float, float],
    levels: FloatArray,
    found: FloatArray,
) -> tuple[int, int, float]:
    """Fill in bank, middle, and whether cut short or grown, of every slat; return how many.

    The second answer is how many are whole, the third the ceiling. ``found`` has room for all.
    """
    pitch, v, phase, top = lattice
    least, gap, stub = under
    clear, remnant = kept
    last = cuts.shape[0] - 1
    anchor = cuts[last] + v / 2 - offsets[last] + phase * pitch
    count = 0
    for bank in range(cuts.shape[0]):
        start, cut = anchor + offsets[bank], cuts[bank]
        first = math.floor((cut - v / 2 - start) / pitch) - 1
        for i in range(math.ceil((top - cut) / pitch) + 4):
            y = start + (first + i) * pitch
            if y + v / 2 > cut + _SLIVER_MM and y - v / 2 < top:
                found[count, 0], found[count, 1] = bank, y
                count += 1
    ceiling = _ceiling(found[:count], heights, v, least, gap, stub, clear, levels)
    if math.isnan(ceiling):
        return _NO_CEILING, 0, ceiling
    left, whole = 0, 0
    for k in range(count):
        bank, y = int(found[k, 0]), found[k, 1]
        bottom, upper = y - v / 2, y + v / 2
        short, grown = bottom < cuts[bank] - 1e-9, upper > ceiling
        if bottom >= ceiling or (short and upper - cuts[bank] < remnant - 1e-9):
            continue
        found[left, 0], found[left, 1], found[left, 2], found[left, 3] = bank, y, short, grown
        left += 1
        whole += not short and not grown
    return left, whole, ceiling


@compiled()
def _ceiling(
    found: FloatArray,
    heights: FloatArray,
    v: float,
    least: float,
    gap: float,
    stub: float,
    clear: float,
    levels: FloatArray,
) -> float:
    """Return the highest of some levels that leaves neither slivers nor bridged gaps under it.

    Slats that end below ``least`` are clear of every one; ``nan`` where there is none.
    """
    near = 0
    for k in range(found.shape[0]):
        near += found[k, 1] + v / 2 > least
    if near == 0:
        return float(levels[0])
    for level in levels:
        clean = True
        for k in range(found.shape[0]):
            y = found[k, 1]
            if y + v / 2 <= least:
                continue
            corners = heights[int(found[k, 0])]
            bottom, top = corners.min() + y, corners.max() + y
            if bottom >= level + NUDGE_MM or top <= level - gap + 1e-9:
                continue
            # What hangs under the ceiling is no sliver. Its first strand lies free only where the
            # slat rises into the ceiling, and is then whole; one that comes down out of it begins
            # beside the ceiling's own beads.
            clean = top >= level + CUT_MIN and bottom <= level - stub
            for corner in corners:
                clean = clean and abs(corner + y - level) >= clear
            if not clean:
                break
        if clean:
            return float(level)
    return math.nan


@compiled()
def _open_at(
    found: FloatArray,
    pieces: FloatArray,
    banks: IntArray,
    reach: tuple[float, float],
    apron: FloatArray,
    place: tuple[float, bool, float, float],
    low: FloatArray,
    high: FloatArray,
) -> float:
    """Return a slope at which lines pass whole slats, or ``nan`` if none is met soon.

    The slope met in the layout before is looked at first.
    """
    front, is_front_apron, width, met = place
    lowest, cut = reach
    count = 1
    for k in range(found.shape[0]):
        for p in range(pieces.shape[0]):
            count += banks[p] == int(found[k, 0])
    if count == 1:
        return math.nan
    corners = np.empty((count, max(pieces.shape[1], 4), 2))
    down = math.inf
    at = 1
    for k in range(found.shape[0]):
        bank, y = int(found[k, 0]), found[k, 1]
        if bank == 0:
            down = min(down, max(lowest + y, cut))
        for p in range(pieces.shape[0]):
            if banks[p] != bank:
                continue
            for j in range(corners.shape[1]):
                i = min(j, pieces.shape[1] - 1)
                corners[at, j, 0] = pieces[p, i, 0] + front
                corners[at, j, 1] = pieces[p, i, 1] + y
            at += 1
    for j in range(corners.shape[1]):
        i = min(j, 3)
        corners[0, j, 0] = apron[i, 0]
        corners[0, j, 1] = apron[i, 1]
        if is_front_apron and i >= 2:
            corners[0, j, 1] += down
    answer, slope = widest_from(corners, low, high, width, met)
    return float(slope) if answer == WIDER else math.nan
