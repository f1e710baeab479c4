"""How a round jet's film spreads along a slat before it runs over its edges: closed forms.

What a plane solution cannot tell. A film of a round jet that meets a plate at an angle a runs out
along rays at the jet's speed; the share per angle is sin^3 a / (2 pi (1 - cos a cos phi)^2), which
keeps mass and momentum (Hasson & Peck 1964, from memory). Its thickness at a distance r is d^2/4 of
that over r, so d^2/(8 r) for a square jet; the boundary layer reaches the surface only at 0.3155
(Q/(nu d/2))^(1/3) d/2, 44 mm for 6 mm and 11.8 m/s (Watson 1964, from memory).
"""

from __future__ import annotations

import math

from scipy.integrate import quad


def film_share(phi: float, angle_deg: float) -> float:
    """Return the share of the film per radian at an angle phi (rad) from its main direction."""
    a = math.radians(angle_deg)
    return math.sin(a) ** 3 / (2.0 * math.pi * (1.0 - math.cos(a) * math.cos(phi)) ** 2)


def film_mm(r_mm: float, diameter_mm: float, phi: float = 0.0, angle_deg: float = 90.0) -> float:
    """Return the film's thickness (mm) at a distance (mm) from where the jet meets the plate."""
    return math.pi * diameter_mm**2 / 4.0 * film_share(phi, angle_deg) / r_mm


def within_bay(bay_mm: float, slat_mm: float, angle_deg: float, *, x_mm: float = 0.0) -> float:
    """Return the share of a round jet's film that leaves a slat over its long edges.

    The rest reaches the ribs that end the bay. The jet meets the slat's middle line, ``x_mm`` from
    the bay's middle, its main direction square to the edges; lengths in mm along the slat's face.
    For a square jet in the middle this is (2/pi) atan(bay/slat).
    """
    half = 0.5 * slat_mm
    total = 0.0
    for side in (0.5 * bay_mm - x_mm, 0.5 * bay_mm + x_mm):
        corner = math.atan2(side, half)  # from the main direction to the rib's end
        for a, b in ((0.0, corner), (math.pi - corner, math.pi)):
            total += float(quad(film_share, a, b, args=(angle_deg,))[0])
    return total
