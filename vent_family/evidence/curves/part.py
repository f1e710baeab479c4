"""Bridges of a print and weak places, where they lie in the part."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.curves.curve import Curves
from vent_family.evidence.palette import GREEN, SKY, YELLOW
from vent_family.evidence.printing.carried import is_thin
from vent_family.evidence.printing.orientation import turned_back
from vent_family.evidence.printing.report import PrintReport
from vent_family.evidence.printing.supports import NEEDS_SUPPORT, Finding
from vent_family.evidence.strength.member import Member
from vent_family.evidence.strength.members import StrengthReport

_BELOW_MM: Final = 0.1
"""Places of a print are drawn so far below themselves, or the faces there would hide them."""
_WORST: Final = 3
"""So many members without a safety in hand are named in a legend."""


def bridge_curves(report: PrintReport) -> tuple[Curves, ...]:
    """Return each bridge as a line from anchor to anchor, those that are doubtful apart.

    Doubtful is a bridge longer than prints cleanly or on a strand below two beads, and whatever
    needs a support.
    """
    printed = report.vent
    good = printed.material.print_profile.bridge_good_mm
    bridges = printed.of_kind("bridge")
    doubtful = [b for b in bridges if b.span_mm > good or is_thin(b, printed)]
    bad = [f for f in printed.findings if f.kind in NEEDS_SUPPORT]
    clean = [b for b in bridges if all(b is not d for d in doubtful)]
    found = []
    if clean:
        longest = max(b.span_mm for b in clean)
        words = f"{len(clean)} bridges that print cleanly, up to {longest:.1f} mm"
        found.append(Curves("bridges", words, GREEN, _lines(report, clean)))
    if doubtful or bad:
        counts = [f"{len(doubtful)} bridges that may sag"] if doubtful else []
        counts += [f"{len(bad)} places that need supports"] if bad else []
        lines = (*_lines(report, doubtful), *_rims(report, bad))
        found.append(Curves("doubtful", " and ".join(counts), YELLOW, lines, True))
    return tuple(found)


def _lines(report: PrintReport, bridges: list[Finding]) -> tuple[FloatArray, ...]:
    """Return the longest line of each bridge through the middle of its region."""
    lines = []
    for bridge in bridges:
        middle, turn = bridge.region.centroid, math.radians(bridge.direction_deg)
        half = 0.5 * bridge.span_mm * np.array([math.cos(turn), math.sin(turn), 0.0])
        centre = np.array([middle.x, middle.y, bridge.z_mm])
        lines.append(_in_part(report, np.stack([centre - half, centre + half])))
    return tuple(lines)


def _rims(report: PrintReport, places: list[Finding]) -> tuple[FloatArray, ...]:
    """Return the outlines of places."""
    lines = []
    for place in places:
        for polygon in getattr(place.region, "geoms", [place.region]):
            ring = np.asarray(polygon.exterior.coords)[:, :2]
            lines.append(_in_part(report, np.column_stack([ring, np.full(len(ring), place.z_mm)])))
    return tuple(lines)


def _in_part(report: PrintReport, points: FloatArray) -> FloatArray:
    lower = points - np.array([0.0, 0.0, _BELOW_MM])
    return turned_back(lower, report.spec.print_orientation, report.lowest_mm)


def weak_curves(report: StrengthReport) -> tuple[Curves, ...]:
    """Return where judged members lie that do not hold, and the one with the least in hand."""
    placed = [m for m in report.members if m.judged and m.place]
    if not placed:
        return ()
    placed.sort(key=lambda m: m.safety / m.least)
    weak = [m for m in placed if m.verdict != "holds"]
    drawn = weak or placed[:1]
    lines = tuple(np.array(line) for member in drawn for line in member.place)
    told = "; ".join(_said(member) for member in drawn[:_WORST])
    words = told if weak else f"weakest place: {told}"
    return (Curves("weak places", words, SKY, lines, True),)


def _said(member: Member) -> str:
    return (
        f"{member.name}, {member.verdict} (safety {member.safety:.2f}, wanted {member.least:.1f})"
    )
