"""The slat stack: banks of slats and their outlines.

Section coordinates are (z, y) in mm: z along the flow, positive outwards; y upwards. Banks are
counted from outside in; the outermost bank begins at ``z = 0`` here and the stack grows towards
negative z.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import GAP_MIN
from vent_family.spec.forms import FORMS, OUT, SlatBox, SlatForm
from vent_family.spec.sightlines import padded


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

    >>> from vent_family.spec.forms.form import IN
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
        return self.banks_z[bank]

    @property
    def banks_z(self) -> tuple[tuple[float, float], ...]:
        """Inner and outer z (mm) of every bank, see :meth:`bank_z`."""
        depth = self.bank_depth_mm
        outer = [-sum(self.gaps_mm[:bank]) - bank * depth for bank in range(self.bank_count)]
        return tuple([(z - depth, z) for z in outer])

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
    places = [(outer, 0.0) for _, outer in stack.banks_z]
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
