"""The slat stack: banks of slats, their outlines, and the choice of slopes and gaps.

Section coordinates are (z, y) in mm: z along the flow, positive outwards; y upwards. Banks are
counted from outside in; the outermost bank begins at ``z = 0`` here and the stack grows towards
negative z.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.limits import GAP_MIN, SIGHT_MARGIN_GOOD
from vent_family.spec.sightlines import SightResult, sight_margin

Outline = tuple[tuple[float, float], ...]
Form = str

CANDIDATES: Final = 4
"""Stacks offered by the search; the first one that also closes at floor and ceiling is taken."""
OUT: Final = 1
IN: Final = -1
_R2: Final = math.sqrt(2.0)


@dataclass(frozen=True, slots=True)
class Stack:
    """Staggered banks of equal slats.

    ``slat_height_mm`` is the height of one slat, ``gaps_mm`` the clear distances between banks
    from outside in, ``shift`` the height shift from bank to bank as a fraction of the pitch,
    ``slopes`` +1 (outer edge down) or -1 (inner edge down) per bank, used by inclined slats only.
    """

    form: Form
    thickness_mm: float
    pitch_mm: float
    slat_height_mm: float
    gaps_mm: tuple[float, ...]
    shift: float
    slopes: tuple[int, ...]

    @property
    def bank_count(self) -> int:
        """Number of banks."""
        return len(self.gaps_mm) + 1

    @property
    def bank_depth_mm(self) -> float:
        """Depth of one bank along the flow."""
        if self.form == "flat":
            return self.thickness_mm
        if self.form == "inclined":
            return self.slat_height_mm
        return 2.0 * (self.slat_height_mm - self.thickness_mm * _R2)

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
        if self.form == "flat":
            return self.pitch_mm - self.slat_height_mm
        return self.pitch_mm / _R2 - self.thickness_mm

    @property
    def free_fraction(self) -> float:
        """Least share of a bank's height left open, in planes normal to z."""
        if self.form == "flat":
            return 1.0 - self.slat_height_mm / self.pitch_mm
        return 1.0 - self.thickness_mm * _R2 / self.pitch_mm

    def bank_z(self, bank: int) -> tuple[float, float]:
        """Return inner and outer z of a bank, the outermost bank's outer side being z = 0."""
        outer = -sum(self.gaps_mm[:bank]) - bank * self.bank_depth_mm
        return outer - self.bank_depth_mm, outer

    def slat_pieces(self, bank: int, centre_y: float) -> tuple[Outline, ...]:
        """Return the convex outlines (z, y) making up one slat of a bank.

        ``centre_y`` is the middle of the slat's height.
        """
        z0, z1 = self.bank_z(bank)
        y0, y1 = centre_y - self.slat_height_mm / 2, centre_y + self.slat_height_mm / 2
        t = self.thickness_mm
        if self.form == "flat":
            return (((z0, y0), (z1, y0), (z1, y1), (z0, y1)),)
        if self.form == "inclined":
            # A bar turned by 45 degrees: its box is square, the corners lie c from the box's.
            c = t / _R2
            falling = ((z0, y1 - c), (z1 - c, y0), (z1, y0 + c), (z0 + c, y1))
            if self.slopes[bank] == OUT:
                return (falling,)
            return (tuple((z0 + z1 - z, y) for z, y in reversed(falling)),)
        zm, rise, v = (z0 + z1) / 2, self.bank_depth_mm / 2, t * _R2
        inner = ((z0, y0), (zm, y0 + rise), (zm, y0 + rise + v), (z0, y0 + v))
        outer = ((zm, y0 + rise), (z1, y0), (z1, y0 + v), (zm, y0 + rise + v))
        return (inner, outer)

    def slat_outline(self, bank: int, centre_y: float) -> Outline:
        """Return the closed outline (z, y) of one slat."""
        pieces = self.slat_pieces(bank, centre_y)
        if len(pieces) == 1:
            return pieces[0]
        inner, outer = pieces
        return (inner[0], inner[1], outer[1], outer[2], inner[2], inner[3])


def uncovered_fraction(shift: float, bank_count: int) -> float:
    """Return the widest height, in pitches, between the slat centres of all banks together."""
    centres = sorted({round(i * shift % 1.0, 9) for i in range(bank_count)})
    return max(b - a for a, b in zip(centres, [*centres[1:], centres[0] + 1.0], strict=True))


def endless_margin(stack: Stack, pitches: int = 6) -> SightResult:
    """Return the sight margin of the stack alone, as if many pitches high between two walls."""
    height = pitches * stack.pitch_mm
    pieces: list[Outline] = []
    for bank, offset in enumerate(stack.offsets_mm):
        for k in range(-1, pitches + 2):
            pieces.extend(stack.slat_pieces(bank, offset + k * stack.pitch_mm))
    z0, z1 = stack.bank_z(stack.bank_count - 1)[0], 0.0
    return sight_margin(pieces, ((z0, 0.0), (z1, 0.0)), ((z0, height), (z1, height)))


def slope_patterns(bank_count: int) -> list[tuple[int, ...]]:
    """Return slope patterns worth trying, preferred first.

    The innermost bank must shed its water outwards, away from the cabinet, so it always slopes
    out; an outermost bank that slopes out turns rain away and comes first; after that, patterns
    with the most changes of slope, since equal slopes leave a straight path along the slats.
    """
    patterns = [(*head, OUT) for head in itertools.product((OUT, IN), repeat=bank_count - 1)]

    def rank(pattern: tuple[int, ...]) -> tuple[bool, int]:
        changes = sum(a != b for a, b in itertools.pairwise(pattern))
        return (pattern[0] != OUT, -changes)

    return sorted(patterns, key=rank)


def closing_stacks(stack: Stack, *, free_slopes: bool, free_gaps: bool) -> list[Stack]:
    """Return stacks with slopes and gaps chosen so that no straight path is left, best first.

    Slopes (inclined slats) and the outermost gap are varied only where the caller leaves them
    free. Those with a good margin come first, in the order of preference (see
    :func:`slope_patterns`, then small gaps), the others by margin. Never empty: if nothing closes
    the stack, the nearest miss is returned and the caller decides. Equal gaps with half a pitch
    of shift always leave the line that climbs half a pitch per bank, unless slat thickness or
    slope closes it: hence the search.
    """
    patterns = (
        slope_patterns(stack.bank_count)
        if free_slopes and stack.form == "inclined"
        else [stack.slopes]
    )
    widths = [1.0]
    if free_gaps and stack.bank_count > 2:
        widths += [1.0 + 0.25 * i for i in range(1, 9)]
    good: list[Stack] = []
    rest: list[tuple[float, Stack]] = []
    for pattern in patterns:
        for width in widths:
            gaps = stack.gaps_mm
            if gaps:
                gaps = (round(gaps[0] * width, 3), *gaps[1:])
            trial = replace(stack, slopes=pattern, gaps_mm=gaps)
            margin = endless_margin(trial).margin_mm
            if margin >= SIGHT_MARGIN_GOOD.value:
                good.append(trial)
                if len(good) == CANDIDATES:
                    return good
            else:
                rest.append((margin, trial))
    rest.sort(key=lambda item: -item[0])
    return [*good, *(trial for _, trial in rest)][:CANDIDATES]


def narrow_places(stack: Stack) -> list[tuple[str, float]]:
    """Return names and widths (mm) of passages that a water film would bridge."""
    places = [("passage between slats", stack.passage_mm)]
    places += [(f"gap behind bank {i + 1}", g) for i, g in enumerate(stack.gaps_mm)]
    return [(name, width) for name, width in places if width < GAP_MIN.value]
