"""The choice of slopes and gaps: which stacks of a row are worth laying out, best first.

A stack is judged as if it were many pitches high, without floor and ceiling.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import SIGHT_MARGIN_GOOD
from vent_family.spec.forms import IN, OUT, Outline, SlatForm
from vent_family.spec.sightlines import (
    SightResult,
    all_miss_by,
    margin_within,
    misses_by,
    padded,
    sight_margin,
)
from vent_family.spec.stack import Stack, patterns_of

CANDIDATES: Final = 4
"""Stacks offered by the search; the first one that also closes at floor and ceiling is taken."""
QUICK_PATTERNS: Final = 3
"""Slope patterns that a quick search tries."""
QUICK_CANDIDATES: Final = 2
"""Stacks offered by a quick search."""
_PITCHES: Final = 6
"""So many pitches high is a stack as good as endless."""


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


@dataclass(frozen=True, slots=True)
class StackChoice:
    """A stack as its row asks for it, and what of it is left open.

    With ``free_slopes`` the slopes may be chosen, where the form has any, with ``free_gaps`` the
    outermost gap may be widened. ``quick`` tries the likeliest slopes only, and offers fewer.
    """

    stack: Stack
    free_slopes: bool
    free_gaps: bool
    quick: bool = False


def possible_stacks(choice: StackChoice) -> Iterator[Stack]:
    """Yield every stack among which :func:`closing_stacks` chooses, preferred first.

    Examples
    --------
    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0, 4.0, 4.0), 0.5, (OUT,) * 4)
    >>> choice = StackChoice(flat, free_slopes=False, free_gaps=True)
    >>> [s.gaps_mm[0] for s in possible_stacks(choice)][:4]
    [4.0, 5.0, 6.0, 7.0]
    """
    stack, patterns = choice.stack, [choice.stack.slopes]
    if choice.free_slopes and stack.shape.slopes_chosen:
        patterns = slope_patterns(stack.bank_count)
    widths = [1.0]
    if choice.free_gaps and stack.bank_count > 2:
        widths += [1.0 + 0.25 * i for i in range(1, 9)]
    if choice.quick:
        patterns = patterns[:QUICK_PATTERNS]
    gaps = [stack.gaps_mm]
    if stack.gaps_mm:
        gaps = [(round(stack.gaps_mm[0] * width, 3), *stack.gaps_mm[1:]) for width in widths]
    for pattern in patterns:
        for widened in gaps:
            yield replace(stack, slopes=pattern, gaps_mm=widened)


def closing_stacks(choice: StackChoice) -> Iterator[Stack]:
    """Yield stacks with slopes and gaps chosen so that no straight path is left, best first.

    Those with a good margin come first, in the order of preference (see
    :func:`slope_patterns`, then small gaps), the others by margin. Never empty: if nothing closes
    the stack, the nearest miss is yielded and the caller decides. Equal gaps with half a pitch
    of shift always leave the line that climbs half a pitch per bank, unless slat thickness or
    slope closes it: hence the search.

    Examples
    --------
    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0, 4.0, 4.0), 0.5, (OUT,) * 4)
    >>> best = next(closing_stacks(StackChoice(flat, free_slopes=False, free_gaps=True)))
    >>> best.gaps_mm, round(endless_margin(best).margin_mm, 2)
    ((9.0, 4.0, 4.0), 0.8)
    """
    wanted = QUICK_CANDIDATES if choice.quick else CANDIDATES
    good, rest = 0, []
    for trial in possible_stacks(choice):
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
