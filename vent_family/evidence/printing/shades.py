"""Colours of uncarried places, and which of them are called out by number.

Bridges are shaded by span, in a ramp that says what kind of strand they start with: blue for two
beads or more, green for what is held along a side, orange for less than two beads. The ramps are
told apart by colour-blind eyes, their steps in grey.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.evidence.printing.carried import is_thin
from vent_family.evidence.printing.report import Printed
from vent_family.evidence.printing.supports import Finding, Kind, longest

STRANDS: Final = ("strand of two beads or more", "held along a side", "strand below two beads")
"""The rows of the table of bridges."""
_RAMPS: Final = (
    ("#b5d9f0", "#6cb0dc", "#2f7fbd", "#0a4a8f", "#041f47"),
    ("#cbe6d3", "#92cba6", "#52a376", "#22683f", "#0d3a20"),
    ("#ffdf9e", "#fdae4b", "#f07d1a", "#bf4402", "#6e1f00"),
)
DARK: Final = 2
"""The first column of the ramps that asks for light letters."""
_SPANS: Final = (0.4, 0.8)
"""Shares of the span that prints cleanly at which the shade changes."""
_OTHERS: Final[dict[Kind, tuple[str, str]]] = {
    "steep": ("#e8c400", "steep places on half a bead"),
    "ledge": ("#c38fd1", "single short steps"),
    "overhang": ("#b3004b", "overhangs that NEED SUPPORTS"),
    "floating": ("#b3004b", "places that START IN MID-AIR"),
}


@dataclass(frozen=True, slots=True)
class Shade:
    """A colour (#rrggbb) and, for bridges, row and column in their table."""

    colour: str
    place: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Callout:
    """A numbered place (bed coordinates, mm) and what is told of it."""

    number: int
    point_mm: tuple[float, float, float]
    words: str
    colour: str


def span_bounds(printed: Printed) -> tuple[float, ...]:
    """Return the spans (mm) at which the shade changes; the last two print cleanly, and at all."""
    profile = printed.material.print_profile
    short = (share * profile.bridge_good_mm for share in _SPANS)
    return (*short, profile.bridge_good_mm, profile.bridge_max_mm)


def shade_of(finding: Finding, printed: Printed) -> Shade:
    """Return the shade of a place."""
    if finding.kind != "bridge":
        return Shade(_OTHERS[finding.kind][0])
    row = 2 if is_thin(finding, printed) else int(math.isinf(finding.strand_mm))
    column = sum(finding.span_mm > bound for bound in span_bounds(printed))
    return Shade(_RAMPS[row][column], (row, column))


def bridge_table(printed: Printed) -> list[list[tuple[str, int]]]:
    """Return colour and number of bridges, by row of :data:`STRANDS` and column of span."""
    counts = [[0] * len(ramp) for ramp in _RAMPS]
    for finding in printed.of_kind("bridge"):
        place = shade_of(finding, printed).place
        assert place is not None
        counts[place[0]][place[1]] += 1
    return [list(zip(ramp, row, strict=True)) for ramp, row in zip(_RAMPS, counts, strict=True)]


def other_kinds(printed: Printed) -> list[tuple[str, str]]:
    """Return colour and words of the other kinds of places there are."""
    found = []
    for kind, (colour, words) in _OTHERS.items():
        places = printed.of_kind(kind)
        if places:
            reach = "" if kind == "floating" else f", up to {printed.worst_mm(kind):.2f} mm out"
            found.append((colour, f"{len(places)} {words}{reach}"))
    return found


def callouts(printed: Printed) -> list[Callout]:
    """Return the places worth pointing at: the longest bridge, the narrowest strand, the worst."""
    told: list[tuple[Finding, str]] = []
    bridges = printed.of_kind("bridge")
    if bridges:
        # Of equals the one that is worse in the other respect, so that one number may do for both.
        long = max(bridges, key=lambda f: (round(f.span_mm, 1), -round(f.strand_mm, 2)))
        thin = min(bridges, key=lambda f: (round(f.strand_mm, 2), -round(f.span_mm, 1)))
        both = f"longest bridge, {long.span_mm:.1f} mm"
        if thin is long and math.isfinite(thin.strand_mm):
            told.append((long, f"{both}, on the narrowest strand, {thin.strand_mm:.2f} mm"))
        else:
            told.append((long, f"{both}, {_strand(long)}"))
            if math.isfinite(thin.strand_mm):
                words = f"narrowest strand, {thin.strand_mm:.2f} mm, spans {thin.span_mm:.1f} mm"
                told.append((thin, words))
    kinds: tuple[tuple[Kind, str], ...] = (
        ("steep", "steepest place"),
        ("ledge", "longest step"),
        ("overhang", "longest overhang"),
        ("floating", "starts in mid-air"),
    )
    for kind, words in kinds:
        worst = longest(printed.findings, kind)
        if worst is not None:
            size = "" if kind == "floating" else f", {worst.reach_mm:.2f} mm out"
            told.append((worst, f"{words}{size}"))
    return [
        Callout(
            number,
            _point(finding),
            f"{words}, {finding.z_mm:.1f} mm above the bed",
            shade_of(finding, printed).colour,
        )
        for number, (finding, words) in enumerate(told, 1)
    ]


def _strand(bridge: Finding) -> str:
    free = math.isfinite(bridge.strand_mm)
    return f"on a strand of {bridge.strand_mm:.2f} mm" if free else "held along a side"


def _point(finding: Finding) -> tuple[float, float, float]:
    inside = finding.region.representative_point()
    return float(inside.x), float(inside.y), finding.z_mm
