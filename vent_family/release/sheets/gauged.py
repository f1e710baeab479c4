"""What is gauged on a printed part: the few dimensions that decide whether it fits and stays dry.

A limit is that of a fit as printed (:mod:`vent_family.evidence.as_made.fits`) where the part needs
one; else it is what the shop's shrinkage and scatter leave of the drawing: beyond it the printer
does not do what the shop's table says, and nothing predicted holds for the part.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from vent_family.base.limits import DRAIN_MIN
from vent_family.base.said import said
from vent_family.evidence.as_made.fits import OWN, Fit
from vent_family.evidence.as_made.made import Made
from vent_family.release.sheets.dimensions import entering_mm
from vent_family.release.sheets.words import Told
from vent_family.spec.vent import VentSpec

ITEMS_MAX: Final = 10
SCATTER: Final = "the shop's shrinkage and scatter"
_THIN: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Gauged:
    """One dimension: drawn, expected as printed and its limits, mm; ``None`` where there is none.

    ``at_mm`` is its place in the view ``view``, mm. ``source`` says where the limits come from.
    """

    what: str
    drawn_mm: float
    expected_mm: float
    least_mm: float | None
    most_mm: float | None
    how: str
    source: str
    view: Literal["front", "section"]
    at_mm: tuple[float, float]

    @property
    def cells(self) -> tuple[str, str, str, str]:
        """Drawn, expected, least and most as they stand on the sheet.

        Limits are rounded towards the inside: what is read as good is good.
        """
        least, most = self.least_mm, self.most_mm
        low = "" if least is None else f"{math.ceil(100.0 * least - 1e-6) / 100.0:.2f}"
        high = "" if most is None else f"{math.floor(100.0 * most + 1e-6) / 100.0:.2f}"
        return said(self.drawn_mm), f"{self.expected_mm:.2f}", low, high

    @property
    def expected_good(self) -> bool:
        """Whether what is expected lies within the limits."""
        low = -math.inf if self.least_mm is None else self.least_mm
        high = math.inf if self.most_mm is None else self.most_mm
        return low - _THIN <= self.expected_mm <= high + _THIN


def gauged_of(record: Told, spec: VentSpec, fits: Sequence[Fit], made: Made) -> tuple[Gauged, ...]:
    """Return what to gauge of a part, :data:`ITEMS_MAX` dimensions at most."""
    by_name = {fit.name: fit for fit in fits}
    found = [
        *_entering(record, spec, by_name, made),
        *_cover(record, spec, by_name),
        *_holes(record, spec, made),
        *_water(record, spec, by_name, made),
    ]
    return tuple(found[:ITEMS_MAX])


def _entering(record: Told, spec: VentSpec, fits: dict[str, Fit], made: Made) -> Iterator[Gauged]:
    """Yield what goes into the opening: it may fill it, and no more."""
    inner = record["geometry"]["box_min_mm"][2]
    reads = f"most: the opening as stated; least: {SCATTER}"
    neck = spec.body.neck
    if neck is not None:
        fit, hole = fits["fit in the opening"], record["opening"]["width_mm"]
        own = fits[OWN]
        yield Gauged(
            f"outside of the thread, {record['thread']['designation']}",
            record["thread"]["major_mm"],
            hole - 2.0 * fit.expected,
            hole - 2.0 * fit.most,
            hole - 2.0 * fit.limits[0],
            "calliper over the crests; its own locknut runs on by hand all the way",
            f"{reads}; thread in its own nut: {own.outcome} as printed",
            "section",
            (inner / 2.0, neck.thread.nominal_mm / 2.0),
        )
        yield _scattered(
            "across the head's flats",
            record["geometry"]["box_max_mm"][0] - record["geometry"]["box_min_mm"][0],
            made,
            0,
            "calliper over both flats, for the spanner",
            "front",
            (record["geometry"]["box_max_mm"][0], 0.0),
        )
        return
    top = min(y for z, y in spec.body.side_outline_mm(spec.section.front_z_mm) if z <= 0.0)
    for axis, (word, drawn) in enumerate(
        zip(("width", "height"), entering_mm(record), strict=True)
    ):
        fit, hole = fits[f"fit in the opening, {word}"], record["opening"][f"{word}_mm"]
        at = (inner * 0.7, top) if axis else (-drawn / 2.0, 0.0)
        yield Gauged(
            f"{word} of the body, behind the cover",
            drawn,
            hole - 2.0 * fit.expected,
            hole - 2.0 * fit.most,
            hole - 2.0 * fit.limits[0],
            "calliper, in the middle and near both ends; the arms pressed in"
            if spec.body.snap is not None and axis == 0
            else "calliper, in the middle and near both ends",
            reads,
            "section" if axis else "front",
            at,
        )


def _cover(record: Told, spec: VentSpec, fits: dict[str, Fit]) -> Iterator[Gauged]:
    """Yield what closes the joint with the panel: the gasket's recess, or a flat back."""
    gasket, gap = spec.body.gasket, record["joint"]["gap_mm"]
    top = spec.body.cover.reach_mm[3]
    if gasket is not None:
        squeeze, thickness = fits["gasket squeeze"], gasket.thickness_mm
        least, most = squeeze.limits
        seat = (gasket.inner_mm[1] + gasket.outer_mm[1]) / 4.0
        yield Gauged(
            "depth of the gasket's recess",
            thickness * (1.0 - squeeze.drawn),
            thickness * (1.0 - squeeze.expected),
            thickness * (1.0 - most),
            thickness * (1.0 - least),
            "depth rod of a calliper, at eight places",
            f"a gasket of {said(thickness)} mm seals from {said(100.0 * least, 0)} % of squeeze on"
            f" and recovers from {said(100.0 * most, 0)} %",
            "section",
            (gasket.recess_mm / 2.0, seat),
        )
    elif gap is not None:
        yield Gauged(
            "gap under the cover's back",
            0.0,
            0.0,
            None,
            gap,
            "feeler gauge, the cover on a surface plate",
            "flatness of class K of ISO 2768-2, which the water check counts with",
            "section",
            (0.0, top - 1.5),
        )


def _holes(record: Told, spec: VentSpec, made: Made) -> Iterator[Gauged]:
    """Yield the distances of the outermost screw holes: screws have their play in both plates."""
    holes = record["opening"]["holes_mm"]
    for axis, word in enumerate(("side to side", "from below to above")):
        ends = sorted((h[axis], h[1 - axis], h[2]) for h in holes)
        if not ends or ends[0][0] == ends[-1][0]:
            continue
        hole = spec.opening.holes[0]
        # Either end may be off by half of it in the vent and by half in the panel.
        drawn, play = ends[-1][0] - ends[0][0], 2.0 * (hole.diameter_mm - hole.screw_mm)
        at = (ends[-1][0], ends[-1][1]) if axis == 0 else (ends[-1][1], ends[-1][0])
        yield Gauged(
            f"holes {word}, outermost",
            drawn,
            made.shrunk(drawn, axis),
            drawn - play,
            drawn + play,
            f"calliper over two pins; {len(holes)} screws go through both plates by hand",
            "play of a screw in the holes of vent and panel",
            "front",
            at,
        )


def _water(record: Told, spec: VentSpec, fits: dict[str, Fit], made: Made) -> Iterator[Gauged]:
    """Yield what stops drops and lets water out: slats, gaps, drain and sill."""
    section = spec.section
    slats = [slat for slat in section.slats if slat.whole] or list(section.slats)
    outermost = [slat for slat in slats if slat.bank == 0] or slats
    shown = sorted(outermost, key=lambda slat: max(y for _, y in slat.outline))
    slat = shown[len(shown) // 2]
    z = sum(point[0] for point in slat.outline) / len(slat.outline)
    y = sum(point[1] for point in slat.outline) / len(slat.outline)
    for name, what, how, at in (
        ("slat thickness", "thickness of the front slats", "calliper, near a rib and between", y),
        (
            "narrowest gap for water and air",
            "narrowest gap between slats, or of the drain",
            "pin or feeler gauge of the least size goes through",
            y + section.stack.pitch_mm / 2.0,
        ),
    ):
        fit = fits[name]
        yield Gauged(
            what,
            fit.drawn,
            fit.expected,
            fit.limits[0],
            fit.most if fit.most >= fit.limits[0] else None,
            how,
            f"least: the drawing's least, shrunk; most: {SCATTER}",
            "section",
            (z, at),
        )
    low, high = section.drain_mm
    least = min(made.shrunk(DRAIN_MIN.value, axis) for axis in range(3))
    expected = made.shrunk(high - low, 1)
    yield Gauged(
        "height of the drain",
        high - low,
        expected,
        least,
        expected + made.scatter_mm,
        "pin gauge or drill shank from the front, in every bay",
        f"least: water bridges a lower one; most: {SCATTER}",
        "section",
        (section.front_z_mm, (low + high) / 2.0),
    )
    yield _scattered(
        "sill over the floor at its foot",
        record["geometry"]["sill_height_mm"],
        made,
        1,
        "depth rod from inside, from the sill's edge down to the floor",
        "section",
        (section.sill[0], (section.sill[1] + section.foot[1]) / 2.0),
    )
    if spec.body.snap is not None:
        half = spec.opening.size_mm[0] / 2.0 + spec.body.snap.hook_mm
        yield _scattered(
            "over both hooks, arms free",
            2.0 * half,
            made,
            0,
            "calliper over the hooks' tips",
            "front",
            (half, -2.0),
        )


def _scattered(
    what: str,
    drawn_mm: float,
    made: Made,
    axis: int,
    how: str,
    view: Literal["front", "section"],
    at_mm: tuple[float, float],
) -> Gauged:
    """Return a dimension that the shop's shrinkage and scatter bound on both sides."""
    expected = made.shrunk(drawn_mm, axis)
    low, high = expected - made.scatter_mm, expected + made.scatter_mm
    return Gauged(what, drawn_mm, expected, low, high, how, SCATTER, view, at_mm)
