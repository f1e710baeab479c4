"""The slat stack: banks of slats, their outlines, and the choice of slopes and gaps.

Section coordinates are (z, y) in mm: z along the flow, positive outwards; y upwards. Banks are
counted from outside in; the outermost bank begins at ``z = 0`` here and the stack grows towards
negative z.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import GAP_MIN, SIGHT_MARGIN_GOOD
from vent_family.spec.forms import FORMS, IN, OUT, Outline, SlatBox, SlatForm
from vent_family.spec.sightlines import (
    SightResult,
    all_miss_by,
    margin_within,
    misses_by,
    padded,
    sight_margin,
)

CANDIDATES: Final = 4
"""Stacks offered by the search; the first one that also closes at floor and ceiling is taken."""
QUICK_PATTERNS: Final = 3
"""Slope patterns that a quick search tries."""
QUICK_CANDIDATES: Final = 2
"""Stacks offered by a quick search."""


_PITCHES: Final = 6
"""So many pitches high is a stack as good as endless."""


@dataclass(frozen=True, slots=True)
class Stack:
    """Staggered banks of equal slats.

    ``form`` names the slat form; ``slat_height_mm`` is the height of one slat, ``gaps_mm`` the
    clear distances between banks from outside in, ``shift`` the height shift from bank to bank as
    a fraction of the pitch, ``slopes`` :data:`OUT` (outer edge down) or :data:`IN` (inner edge
    down) per bank, where the form has a slope to choose. ``foot_mm`` is the width of the flats in
    which acute corners of slats end; 0 where they are sharp.

    Examples
    --------
    Three banks of 6.75 mm high inclined slats with 3 mm between them:

    >>> stack = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (OUT, IN, OUT))
    >>> stack.bank_count, round(stack.depth_mm, 3), stack.overlap_mm
    (3, 19.886, 3.5)
    >>> stack.offsets_mm
    (0.0, 3.25, 0.0)
    >>> round(stack.passage_mm, 3), round(stack.free_fraction, 3)
    (3.096, 0.674)
    """

    form: str
    thickness_mm: float
    pitch_mm: float
    slat_height_mm: float
    gaps_mm: tuple[float, ...]
    shift: float
    slopes: tuple[int, ...]
    foot_mm: float = 0.0

    @property
    def shape(self) -> SlatForm:
        """The slat form itself."""
        return FORMS[self.form]

    @property
    def bank_count(self) -> int:
        """Number of banks."""
        return len(self.gaps_mm) + 1

    @property
    def uncut_height_mm(self) -> float:
        """Height a slat would have if its corners were not cut off level.

        Examples
        --------
        A plank loses 0.9 mm at either end, a fold at its feet:

        >>> Stack("inclined", 1.5, 6.5, 6.75, (), 0.5, (OUT,), foot_mm=0.9).uncut_height_mm
        8.55
        >>> Stack("folded", 1.5, 8.0, 7.0, (), 0.5, (OUT,), foot_mm=0.9).uncut_height_mm
        7.9
        """
        return self.slat_height_mm + sum(self.shape.cuts_mm(self.foot_mm))

    @property
    def bank_depth_mm(self) -> float:
        """Depth of one bank along the flow."""
        return self.shape.bank_depth_mm(self.uncut_height_mm, self.thickness_mm)

    @property
    def depth_mm(self) -> float:
        """Depth of the whole stack along the flow."""
        return self.bank_count * self.bank_depth_mm + sum(self.gaps_mm)

    @property
    def offsets_mm(self) -> tuple[float, ...]:
        """Height offset of each bank within one pitch."""
        return tuple((i * self.shift % 1.0) * self.pitch_mm for i in range(self.bank_count))

    @property
    def overlap_mm(self) -> float:
        """Overlap of slats seen square on; negative means a level straight path."""
        return self.slat_height_mm - uncovered_fraction(self.shift, self.bank_count) * self.pitch_mm

    @property
    def passage_mm(self) -> float:
        """Clear width between two slats of one bank, normal to the flow between them."""
        return self.shape.passage_mm(self.pitch_mm, self.uncut_height_mm, self.thickness_mm)

    @property
    def free_fraction(self) -> float:
        """Least share of a bank's height left open, in planes normal to z."""
        return self.shape.free_fraction(self.pitch_mm, self.uncut_height_mm, self.thickness_mm)

    def bank_z(self, bank: int) -> tuple[float, float]:
        """Return inner and outer z (mm) of a bank, the outermost bank's outer side being z = 0.

        Examples
        --------
        >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (OUT, OUT))
        >>> flat.bank_z(0), flat.bank_z(1)
        ((-1.5, 0.0), (-7.0, -5.5))
        """
        outer = -sum(self.gaps_mm[:bank]) - bank * self.bank_depth_mm
        return outer - self.bank_depth_mm, outer

    def slat_box(self, bank: int, centre_y: float) -> SlatBox:
        """Return the box one slat of a bank fills; ``centre_y`` (mm) is the middle of its height.

        Examples
        --------
        >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (OUT, OUT))
        >>> flat.slat_box(1, 10.0).z_mm, flat.slat_box(1, 10.0).y_mm
        ((-7.0, -5.5), (5.5, 14.5))
        """
        return self.slat_boxes(bank, (centre_y,))[0]

    def slat_boxes(self, bank: int, centres_y: Iterable[float]) -> list[SlatBox]:
        """Return the boxes of some slats of a bank, whose middles are at ``centres_y`` (mm)."""
        half, z_mm, shape = self.slat_height_mm / 2, self.bank_z(bank), self.shape
        slope = self.slopes[bank] if shape.slopes_chosen else OUT
        cuts, t = shape.cuts_mm(self.foot_mm), self.thickness_mm
        return [SlatBox(z_mm, (y - half, y + half), t, slope, cuts) for y in centres_y]


def uncovered_fraction(shift: float, bank_count: int) -> float:
    """Return the widest height, in pitches, between the slat centres of all banks together.

    Parameters
    ----------
    shift
        height shift from bank to bank, as a fraction of the pitch
    bank_count
        number of banks

    Examples
    --------
    Half a pitch of shift halves the height that a slat must cover, however many banks follow:

    >>> uncovered_fraction(0.5, 1), uncovered_fraction(0.5, 2), uncovered_fraction(0.5, 4)
    (1.0, 0.5, 0.5)
    """
    centres = sorted({round(i * shift % 1.0, 9) for i in range(bank_count)})
    return max(b - a for a, b in zip(centres, [*centres[1:], centres[0] + 1.0], strict=True))


def endless_margin(stack: Stack, pitches: int = _PITCHES) -> SightResult:
    """Return the sight margin of the stack alone, as if many pitches high between two walls.

    Examples
    --------
    Four equal gaps leave the line that climbs half a pitch per bank, 0.92 mm wide:

    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0, 4.0, 4.0), 0.5, (OUT,) * 4)
    >>> round(endless_margin(flat).margin_mm, 2)
    -0.92
    """
    return sight_margin(
        _endless_pieces(stack.shape, stack, pitches), *_endless_walls(stack, pitches)
    )


def _endless_pieces(shape: SlatForm, stack: Stack, pitches: int) -> list[Outline]:
    """Return the convex solids of a stack many pitches high, whose form is ``shape``."""
    pieces: list[Outline] = []
    for bank, offset in enumerate(stack.offsets_mm):
        centres = [offset + k * stack.pitch_mm for k in range(-1, pitches + 2)]
        for box in stack.slat_boxes(bank, centres):
            pieces.extend(shape.pieces(box))
    return pieces


def _endless_walls(stack: Stack, pitches: int) -> tuple[Outline, Outline]:
    """Return the two walls between which it stands."""
    z0, z1 = stack.bank_z(stack.bank_count - 1)[0], 0.0
    height = pitches * stack.pitch_mm
    return ((z0, 0.0), (z1, 0.0)), ((z0, height), (z1, height))


@dataclass(frozen=True, slots=True)
class Patterns:
    """One slat of each bank of a stack, the middle of its height at 0: others are it, moved.

    ``heights`` (banks, corners) are the corners' of its outline, mm; ``pieces`` (pieces, corners,
    2) those of its convex pieces (z, y), mm, and ``banks`` the bank of each.
    """

    heights: FloatArray
    pieces: FloatArray
    banks: IntArray


def patterns_of(stack: Stack) -> Patterns:
    """Return one slat of each bank: what is looked through before it is drawn.

    Moved, its corners are those of :meth:`Stack.slat_boxes` but for rounding.

    Examples
    --------
    >>> flat = patterns_of(Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (OUT, OUT)))
    >>> flat.heights[1].tolist(), flat.banks.tolist(), flat.pieces[1][0].tolist()
    ([-4.5, -4.5, 4.5, 4.5], [0, 1], [-7.0, -4.5])
    """
    shape = stack.shape
    slopes = stack.slopes if shape.slopes_chosen else (OUT,) * stack.bank_count
    drawn = [
        _pattern(shape, stack.thickness_mm, stack.slat_height_mm, stack.foot_mm, slope)
        for slope in slopes
    ]
    places = [(stack.bank_z(bank)[1], 0.0) for bank in range(stack.bank_count)]
    pieces = [own + place for (_, own), place in zip(drawn, places, strict=True)]
    banks = np.repeat(np.arange(stack.bank_count), [len(own) for own in pieces])
    return Patterns(np.array([heights for heights, _ in drawn]), np.concatenate(pieces), banks)


@lru_cache(maxsize=512)
def _pattern(
    shape: SlatForm, thickness_mm: float, height_mm: float, foot_mm: float, slope: int
) -> tuple[FloatArray, FloatArray]:
    """Return heights of the outline's corners, and the pieces, of a slat whose outer end is z = 0.

    Kept by the form itself, ``shape``, since its name may come to stand for another.
    """
    cuts, half = shape.cuts_mm(foot_mm), height_mm / 2
    depth = shape.bank_depth_mm(height_mm + sum(cuts), thickness_mm)
    box = SlatBox((-depth, 0.0), (-half, half), thickness_mm, slope, cuts)
    return np.array([y for _, y in shape.outline(box)]), padded(shape.pieces(box))


def _endless_corners(stack: Stack, pitches: int) -> FloatArray:
    """Return the corners of :func:`_endless_pieces` but for rounding."""
    patterns = patterns_of(stack)
    centres = np.asarray(stack.offsets_mm) + stack.pitch_mm * np.arange(-1, pitches + 2)[:, None]
    corners = np.repeat(patterns.pieces[None], len(centres), axis=0)
    corners[..., 1] += centres[:, patterns.banks][..., None]
    return corners.reshape(-1, *patterns.pieces.shape[1:])


@lru_cache(maxsize=2048)
def _closes_well(shape: SlatForm, stack: Stack) -> bool:
    """Return whether straight lines miss an endless stack by a margin to be content with.

    Kept by the form itself, ``shape``, since its name may come to stand for another.
    """
    walls = _endless_walls(stack, _PITCHES)
    told = misses_by(SIGHT_MARGIN_GOOD.value, _endless_corners(stack, _PITCHES), *walls)
    if told is None:
        corners = padded(_endless_pieces(shape, stack, _PITCHES))
        return all_miss_by(SIGHT_MARGIN_GOOD.value, corners, *walls)
    return told


def slope_patterns(bank_count: int) -> list[tuple[int, ...]]:
    """Return slope patterns worth trying, preferred first.

    The innermost bank must shed its water outwards, away from the cabinet, so it always slopes
    out; an outermost bank that slopes out turns rain away and comes first; after that, patterns
    with the most changes of slope, since equal slopes leave a straight path along the slats.

    Examples
    --------
    >>> slope_patterns(3)
    [(1, -1, 1), (1, 1, 1), (-1, 1, 1), (-1, -1, 1)]
    """
    patterns = [(*head, OUT) for head in itertools.product((OUT, IN), repeat=bank_count - 1)]

    def rank(pattern: tuple[int, ...]) -> tuple[bool, int]:
        changes = sum(a != b for a, b in itertools.pairwise(pattern))
        return (pattern[0] != OUT, -changes)

    return sorted(patterns, key=rank)


def closing_stacks(
    stack: Stack, *, free_slopes: bool, free_gaps: bool, quick: bool = False
) -> Iterator[Stack]:
    """Yield stacks with slopes and gaps chosen so that no straight path is left, best first.

    Slopes (of forms that have them) and the outermost gap are varied only where the caller leaves
    them free. Those with a good margin come first, in the order of preference (see
    :func:`slope_patterns`, then small gaps), the others by margin. Never empty: if nothing closes
    the stack, the nearest miss is yielded and the caller decides. Equal gaps with half a pitch
    of shift always leave the line that climbs half a pitch per bank, unless slat thickness or
    slope closes it: hence the search.

    Parameters
    ----------
    stack
        the stack as the row asks for it
    free_slopes
        whether the slopes may be chosen, where the form has any
    free_gaps
        whether the outermost gap may be widened
    quick
        try the likeliest slopes only, and offer fewer stacks

    Examples
    --------
    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0, 4.0, 4.0), 0.5, (OUT,) * 4)
    >>> best = next(closing_stacks(flat, free_slopes=False, free_gaps=True))
    >>> best.gaps_mm, round(endless_margin(best).margin_mm, 2)
    ((9.0, 4.0, 4.0), 0.8)
    """
    patterns = [stack.slopes]
    if free_slopes and stack.shape.slopes_chosen:
        patterns = slope_patterns(stack.bank_count)
    widths = [1.0]
    if free_gaps and stack.bank_count > 2:
        widths += [1.0 + 0.25 * i for i in range(1, 9)]
    if quick:
        patterns = patterns[:QUICK_PATTERNS]
    wanted = QUICK_CANDIDATES if quick else CANDIDATES
    good, rest = 0, []
    for pattern in patterns:
        for width in widths:
            gaps = stack.gaps_mm
            if gaps:
                gaps = (round(gaps[0] * width, 3), *gaps[1:])
            trial = replace(stack, slopes=pattern, gaps_mm=gaps)
            if not _closes_well(trial.shape, trial):
                rest.append(trial)
                continue
            yield trial
            good += 1
            if good == wanted:
                return
    rest = _likely_best(rest, wanted - good)
    if len(rest) > 1:
        rest.sort(key=lambda trial: _margin_mm(trial.shape, trial), reverse=True)
    yield from rest[: wanted - good]


def _likely_best(stacks: list[Stack], most: int) -> list[Stack]:
    """Return those of some stacks, in their order, that may be among so many best by margin."""
    if len(stacks) <= most:
        return stacks
    within = [_margin_within(trial.shape, trial) for trial in stacks]
    least = sorted((low for low, _ in within), reverse=True)[most - 1]
    return [trial for trial, (_, high) in zip(stacks, within, strict=True) if high >= least]


@lru_cache(maxsize=2048)
def _margin_within(shape: SlatForm, stack: Stack) -> tuple[float, float]:
    """Return margins (mm) between which that of an endless stack lies, whose form is ``shape``."""
    return margin_within(_endless_corners(stack, _PITCHES), *_endless_walls(stack, _PITCHES))


@lru_cache(maxsize=2048)
def _margin_mm(shape: SlatForm, stack: Stack) -> float:
    """Return by how much straight lines miss an endless stack, mm, whose form is ``shape``."""
    pieces = _endless_pieces(shape, stack, _PITCHES)
    return sight_margin(pieces, *_endless_walls(stack, _PITCHES)).margin_mm


def narrow_places(stack: Stack) -> list[tuple[str, float]]:
    """Return names and widths (mm) of passages that a water film would bridge.

    Examples
    --------
    >>> narrow_places(Stack("flat", 1.5, 12.0, 10.0, (4.0, 1.5), 0.5, (OUT,) * 3))
    [('passage between slats', 2.0), ('gap behind bank 2', 1.5)]
    """
    places = [("passage between slats", stack.passage_mm)]
    places += [(f"gap behind bank {i + 1}", g) for i, g in enumerate(stack.gaps_mm)]
    return [(name, width) for name, width in places if width < GAP_MIN.value]
