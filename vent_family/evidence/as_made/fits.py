"""Fits, gaps and thicknesses of the printed part at their worst, each with a verdict.

The expected size is the drawn one less the material's shrinkage; the worst is that with the
scatter against it, once for every printed length that takes part. A fit holds if its worst keeps
the limit, is marginal if only what is expected does, and fails otherwise. The panel's opening and
what is bought count as drawn. Limits of a gap, a slat and a sight line are those of the drawing,
and come off the printer shrunk as all else does: a row at its allowed minimum does not fail by it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import (
    FIT_CLEARANCE,
    GAP_MIN,
    GASKET_SQUEEZE_MAX,
    GASKET_SQUEEZE_MIN,
    PRINT_GAP_MIN,
    SIGHT_MARGIN_MIN,
    SLAT_LEFT,
    SLAT_MIN_UPRIGHT,
)
from vent_family.evidence.as_made.made import Made
from vent_family.evidence.as_made.section import made_margin_mm
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.spec.body import Neck
from vent_family.spec.screen import SlideScreen
from vent_family.spec.thread.iso import FLANK_ANGLE_DEG
from vent_family.spec.thread.parts import locknut_size
from vent_family.spec.vent import VentSpec

OWN: Final = "thread in its own nut"
BOUGHT: Final = "thread in a bought metal nut"
_HAIR: Final = 1e-9
"""Rounding of sums, mm or 1."""
_FLANK: Final = math.radians(FLANK_ANGLE_DEG)


@dataclass(frozen=True, slots=True)
class Fit:
    """One fit; ``drawn``, ``expected``, ``least``, ``most`` and ``limits`` in mm, or in ``unit``.

    ``limits`` are the least and, where there is one, the greatest that will do. ``needed`` is False
    for what the part does without: nothing hangs on it.
    """

    name: str
    unit: str
    drawn: float
    expected: float
    least: float
    most: float
    limits: tuple[float, float]
    needed: bool = True

    @property
    def outcome(self) -> Outcome:
        """Whether it holds at its worst, only as expected, or not at all."""
        low, high = self.limits
        low, high = low - _HAIR, high + _HAIR
        if low <= self.least and self.most <= high:
            return "holds"
        return "marginal" if low <= self.expected <= high else "fails"

    def words(self) -> str:
        """Return the fit in words.

        Examples
        --------
        >>> Fit("gap", "mm", 3.0, 2.98, 2.86, 3.1, (2.7, math.inf)).words()
        'gap: 2.98 mm expected (drawn 3), 2.86 to 3.1 at worst, at least 2.7: holds'
        """
        low, high = self.limits
        ends = [f"at least {_plain(low)}"] if low > -math.inf else []
        ends += [f"at most {_plain(high)}"] if high < math.inf else []
        return (
            f"{self.name}: {_plain(self.expected)} {self.unit} expected (drawn"
            f" {_plain(self.drawn)}), {_plain(self.least)} to {_plain(self.most)} at worst,"
            f" {' and '.join(ends)}: {self.outcome}"
        )


def fits_of(spec: VentSpec, vent: Made, nut: Made, narrowest_mm: float | None) -> tuple[Fit, ...]:
    """Return all fits of a vent.

    Parameters
    ----------
    spec
        the vent
    vent, nut
        how it comes off the printer, and its locknut or its screen's frame, printed lying
    narrowest_mm
        narrowest gap measured on its solid, mm; ``None`` if none was met
    """
    return tuple(_fits(spec, vent, nut, narrowest_mm))


def _fits(spec: VentSpec, vent: Made, nut: Made, narrowest_mm: float | None) -> Iterator[Fit]:
    neck, stack = spec.body.neck, spec.section.stack
    if neck is None:
        for axis, name in ((0, "width"), (1, "height")):
            hole = spec.opening.size_mm[axis]
            yield _in_hole(
                f"fit in the opening, {name}", hole, hole - 2.0 * FIT_CLEARANCE.value, vent, axis
            )
    else:
        hole = spec.opening.size_mm[0]
        yield _in_hole("fit in the opening", hole, neck.thread.external.major_mm, vent, 0)
        yield _own_nut(neck, vent, nut)
        yield _bought_nut(neck, vent)
    passages = [
        stack.passage_mm,
        *stack.gaps_mm,
        spec.section.drain_mm[1] - spec.section.drain_mm[0],
    ]
    yield _sized("narrowest gap for water and air", min(passages), vent, GAP_MIN.value)
    if narrowest_mm is not None:
        yield _sized("narrowest gap to print", narrowest_mm, vent, PRINT_GAP_MIN.value)
    thinnest = stack.shape.thinnest.value
    if spec.print_orientation == "upright":
        thinnest = max(thinnest, SLAT_MIN_UPRIGHT.value)
    # Its beads are laid as drawn, two of them; what comes out may be less, but not a single one.
    yield _sized("slat thickness", stack.thickness_mm, vent, SLAT_LEFT.value * thinnest)
    if spec.body.gasket is not None:
        yield _squeezed(spec.body.gasket.thickness_mm, spec.body.gasket.recess_mm, vent)
    rails = None if spec.body.screen is None else spec.body.screen.rails
    if rails is not None:
        yield from _in_rails(rails, vent, nut)
    margins = [made_margin_mm(spec.section, vent, of * vent.scatter_mm) for of in (0.0, 1.0, -1.0)]
    yield Fit(
        "sight margin",
        "mm",
        spec.section.sight.margin_mm,
        margins[0],
        min(margins),
        max(margins),
        (_least_shrunk(SIGHT_MARGIN_MIN.value, vent), math.inf),
    )


def _in_hole(name: str, hole_mm: float, body_mm: float, made: Made, axis: int) -> Fit:
    """Return the gap on each side of a body in its opening."""
    half = made.scatter_mm / 2.0
    expected = (hole_mm - made.shrunk(body_mm, axis)) / 2.0
    drawn = (hole_mm - body_mm) / 2.0
    return Fit(name, "mm", drawn, expected, expected - half, expected + half, (0.0, math.inf))


def _sized(name: str, drawn_mm: float, made: Made, least_mm: float) -> Fit:
    """Return a gap or a thickness whose drawing keeps a limit, whatever way it lies."""
    expected = _least_shrunk(drawn_mm, made)
    low, high = expected - made.scatter_mm, expected + made.scatter_mm
    limits = _least_shrunk(least_mm, made), math.inf
    return Fit(name, "mm", drawn_mm, expected, low, high, limits)


def _least_shrunk(drawn_mm: float, made: Made) -> float:
    """Return what a length comes out as at least, mm, whatever way it lies."""
    return min(made.shrunk(drawn_mm, axis) for axis in range(3))


def _own_nut(neck: Neck, vent: Made, nut: Made) -> Fit:
    """Return the narrowest gap between the threads of neck and printed locknut.

    The drawn gap is the same all along the profile. A diameter that is off by the scatter moves
    crest and root by half of it, flanks by a quarter: at worst crest and root are the narrowest.
    """
    ring, hole = neck.thread.external, neck.thread.internal
    drawn = neck.thread.clearance_normal_mm
    gaps = [
        (nut.shrunk(inner, 0) - vent.shrunk(outer, 0)) / 2.0
        for inner, outer in ((hole.major_mm, ring.major_mm), (hole.minor_mm, ring.minor_mm))
    ]
    both = (nut.scatter_mm + vent.scatter_mm) / 2.0
    expected = min(gaps)
    return Fit(
        OWN,
        "mm",
        drawn,
        expected,
        expected - both,
        expected + both,
        (0.0, math.inf),
    )


def _bought_nut(neck: Neck, vent: Made) -> Fit:
    """Return the narrowest gap between the neck's thread and a metal nut of class 6H.

    Measured normal to the flanks; expected in the middle of 6H, at worst at its end. Where the neck
    shrinks along its axis its pitch falls behind the nut's by so much over the nut's height. Layers
    are steps, so a printed pair gets a clearance; a pair of which one is printed needs half of it.
    """
    thread, limits = neck.thread, neck.thread.limits_6h
    drawn = thread.external
    behind = vent.shares[2] * locknut_size(thread).thickness_mm / math.tan(_FLANK)

    def flank(nut_mm: float, scatter_mm: float, behind_mm: float) -> float:
        own = vent.shrunk(drawn.pitch_diameter_mm, 0) + scatter_mm + behind_mm
        return (nut_mm - own) / 2.0 * math.sin(_FLANK)

    tight, slack = limits.pitch_diameter_min_mm, limits.pitch_diameter_max_mm
    return Fit(
        BOUGHT,
        "mm",
        (tight - drawn.pitch_diameter_mm) / 2.0 * math.sin(_FLANK),
        flank((tight + slack) / 2.0, 0.0, behind),
        flank(tight, vent.scatter_mm, behind),
        flank(slack, -vent.scatter_mm, behind),
        (thread.clearance_normal_mm / 2.0, math.inf),
        needed=False,
    )


def _squeezed(thickness_mm: float, recess_mm: float, made: Made) -> Fit:
    """Return how far a gasket is pressed together, a share of its thickness."""
    # The panel is the recess's other side: its depth, along z, is what is left of the gasket.
    depth = made.shrunk(recess_mm, 2)

    def share(left_mm: float) -> float:
        return 1.0 - left_mm / thickness_mm

    return Fit(
        "gasket squeeze",
        "of its thickness",
        share(recess_mm),
        share(depth),
        share(depth + made.scatter_mm),
        share(depth - made.scatter_mm),
        (GASKET_SQUEEZE_MIN.value, GASKET_SQUEEZE_MAX.value),
    )


def _in_rails(screen: SlideScreen, vent: Made, frame: Made) -> Iterator[Fit]:
    """Yield the play of a frame between its rails, and the gap over it that comes of it.

    The play is what the mesh folded round it leaves; the gap lets nothing in that the mesh stops.
    """
    mesh = screen.mesh.thickness_mm
    drawn, expected = (
        (rails - own) / 2.0 / screen.slant - mesh
        for rails, own in (
            (screen.channel_mm, screen.face_mm),
            (vent.shrunk(screen.channel_mm, 0), frame.shrunk(screen.face_mm, 0)),
        )
    )
    # Each width may be off by the scatter, which is shared between both sides.
    off = (vent.scatter_mm + frame.scatter_mm) / 2.0 / screen.slant
    name = "play of the screen's frame in its rails"
    yield Fit(name, "mm", drawn, expected, expected - off, expected + off, (0.0, math.inf))
    plays = (drawn, expected, max(expected - off, 0.0), expected + off)
    gap, likely, least, most = (play * screen.loosest for play in plays)
    limits = (-math.inf, screen.mesh.opening_mm)
    yield Fit("gap over the screen's frame", "mm", gap, likely, least, most, limits)


def worst_of(fits: tuple[Fit, ...]) -> Fit:
    """Return the fit with the worst outcome of those the part needs, the first of several."""
    return max((f for f in fits if f.needed), key=lambda f: RANK[f.outcome])


def _plain(value: float) -> str:
    """Return a number to hundredths, without idle zeros; its unit stands elsewhere."""
    return f"{round(value, 2) + 0.0:g}"
