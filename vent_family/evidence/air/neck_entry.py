"""What air loses on its way from a vent's chamber, or from a shallow plenum, into its neck."""

from __future__ import annotations

import math
from typing import Final

from fluids.fittings import contraction_sharp, entrance_beveled, entrance_sharp

JET_PER_WAY: Final = 0.855
"""By how much the jet in a bore outruns its mean, times the way into it over its area and times
its mouth over its diameter."""


def entry_loss(room_mm: float, bore_mm: float, bevel_mm: float, way_mm2: float) -> float:
    """Return K of a neck's entry, on the head in its bore.

    Air parts from the bore's edge once, be it that it comes from a wide chamber or that it turns
    out of a shallow plenum: the larger loss of the two counts.

    Parameters
    ----------
    room_mm, bore_mm
        diameters of the chamber and of the bore, mm
    bevel_mm
        depth of the bevel of 45 degrees at the bore's front end, mm
    way_mm2
        area of the way over the bore's edge, between back plate and slats, mm2
    """
    way, mouth = way_mm2 / (0.25 * math.pi * bore_mm**2), 1.0 + 2.0 * bevel_mm / bore_mm
    turned = turn_loss(way, mouth, bore_mm / room_mm)
    return max(_bevelled(room_mm, bore_mm, bevel_mm), turned)


def jet_over_mean(way: float, mouth: float) -> float:
    """Return how much faster the jet in a bore is than its mean where it is narrowest (1).

    Laminar flows out of plenums of 0.3 to 0.7 bore radii into M20, M32 and M63, solved at Re 2000,
    lose ``(jet - 1)^2``, within a quarter.

    Parameters
    ----------
    way
        area of the way into the bore over the bore's (1)
    mouth
        diameter of the bevel's front over the bore's (1)

    Examples
    --------
    >>> round((jet_over_mean(1.13, 1.09) - 1.0) ** 2, 3)
    0.482
    """
    return 1.0 + JET_PER_WAY / (way * mouth)


def turn_loss(way: float, mouth: float, beta: float) -> float:
    """Return K of the turn out of a shallow plenum into a bore, on the head in the bore.

    Rennels' contraction (2012), with the jet of :func:`jet_over_mean` in place of his: beyond what
    a jet loses where it fills the bore again, turbulent air loses a share of the jet's head.

    Parameters
    ----------
    way
        area of the way into the bore over the bore's (1)
    mouth
        diameter of the bevel's front over the bore's (1)
    beta
        diameter of the bore over the chamber's (1)
    """
    jet = jet_over_mean(way, mouth)
    return 0.0696 * (1.0 - beta**5) * jet**2 + (jet - 1.0) ** 2


def _bevelled(room_mm: float, bore_mm: float, bevel_mm: float) -> float:
    """Return K of a sharp contraction, less what a bevel of 45 degrees saves a pipe's entrance.

    Diameters and the bevel's depth in mm. That it saves as much of the one as of the other (both
    Rennels 2012, by fluids) is the house's own step.
    """
    saved = entrance_beveled(bore_mm, bevel_mm, 45.0) / entrance_sharp()
    return float(contraction_sharp(room_mm, bore_mm)) * float(saved)
