"""What surface tension holds back at a sharp edge, and at a slot between two of them.

The pool ends at the drain in a free surface that hangs on the outer edge of the floor. A line on a
sharp edge stays put until the water would advance on the face beyond it: the surface may lean by
the contact angle past that face (Gibbs' condition; de Gennes, Brochard-Wyart and Quere 2004, from
memory). On the vertical face below a floor that is the contact angle and 90 degrees more.

Along the surface, which is straight across the part, curvature balances depth (Young and Laplace):

    d(angle)/ds = depth / l^2,   so   depth^2 / 2 = l^2 (1 - cos angle) below a level pool,

with the capillary length l, and the angle to the horizontal inside the water. That is the height of
a puddle, 2 l sin(angle / 2). In a low slot the surface spans from the floor's edge to the one above
it, both in the same plane. The push of the water on the slot is then what both edges hold,

    h (2 H - h) / 2 = l^2 (cos upper - cos lower),

and its two ends stand above one another, which fixes the upper angle. A very low slot holds
2 l^2 cos 10 deg / h over its middle, as between two plates; a higher one ever less, until the
puddle of the lower edge alone clears the upper edge. There both laws meet. Surfaces that hang on
the underside of a thick upper part are not looked at: they hold no more than the puddle does.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from scipy.integrate import quad
from scipy.optimize import brentq

from vent_family.base.constants import CAPILLARY_LENGTH_MM
from vent_family.evidence.water.house import CONTACT_ANGLE

FACE_DEG: Final = 90.0
"""Angle by which the face below a floor's edge turns away from the level: an upright front."""


def puddle_mm(angle_deg: float) -> float:
    """Return the height of a wide pool whose surface ends at an angle to the level, 2 l sin(a / 2).

    On a level floor ``angle_deg`` is the contact angle.

    Examples
    --------
    At 90 degrees sqrt(2) times the capillary length of 2.727 mm; where water wets, none:

    >>> round(puddle_mm(90.0), 3), puddle_mm(0.0)
    (3.857, 0.0)
    """
    return 2.0 * CAPILLARY_LENGTH_MM * math.sin(math.radians(angle_deg) / 2.0)


def edge_angle_deg(face_deg: float = FACE_DEG) -> float:
    """Return the steepest angle at which a surface still hangs on an edge, 180 at most.

    ``face_deg`` is how far the face beyond the edge turns down from the level, 90 for an upright
    front; a vent that leans back by some degrees has that much less.

    Examples
    --------
    80 degrees of contact angle past an upright face, and past one that leans back by 30:

    >>> edge_angle_deg(), edge_angle_deg(60.0), edge_angle_deg(120.0)
    (170.0, 140.0, 180.0)
    """
    return min(CONTACT_ANGLE.now + face_deg, 180.0)


def edge_mm(face_deg: float = FACE_DEG) -> float:
    """Return the height of water that a sharp edge holds; ``face_deg`` as above.

    Examples
    --------
    2 x 2.7271 mm x sin 85 deg:

    >>> round(edge_mm(), 3)
    5.433
    """
    return puddle_mm(edge_angle_deg(face_deg))


def held_mm(slot_mm: float) -> float:
    """Return the level over the lower edge at which a slot (mm) in an upright front lets go.

    Continuous, and lower the higher the slot is.

    Raises
    ------
    ValueError
        for a slot that is not open

    Examples
    --------
    A high slot holds what its lower edge holds. 2 mm hold less than the 8.324 mm that the pull of
    both edges straight inwards would, 1 + 2 x 7.437 x cos 10 deg / 2:

    >>> round(held_mm(4.0), 3), round(held_mm(2.0), 2), round(held_mm(0.1), 1)
    (5.433, 8.18, 146.5)
    """
    if not slot_mm > 0.0:
        raise ValueError(f"a slot must be open, not {slot_mm:g} mm high")
    return _held_mm(slot_mm, CONTACT_ANGLE.now)


@lru_cache(maxsize=4096)
def _held_mm(slot_mm: float, _contact_deg: float) -> float:
    """Return the same; what the contact angle is stands beside it for the memory's sake."""
    if slot_mm >= clear_slot_mm():
        return edge_mm()
    both = slot_mm / 2.0 + 2.0 * CAPILLARY_LENGTH_MM**2 * _hold_share() / slot_mm
    # Up to the pull of both edges straight inwards; from there the ends cannot meet the edges.
    return float(brentq(lambda level: _overhang(level, slot_mm), edge_mm(), both, xtol=1e-9))


def clear_slot_mm() -> float:
    """Return the height (mm) from which a slot's upper edge has no part in what is held.

    There the surface of the puddle on the lower edge comes back over that edge:

        ln tan(a / 4) + 2 cos(a / 2)

    is its course over the angle in capillary lengths, the same at both places.

    Examples
    --------
    37.24 degrees: 5.4334 mm less 2 x 2.7271 x sin 18.62 deg:

    >>> round(clear_slot_mm(), 3)
    3.692
    """
    return _clear_slot_mm(CONTACT_ANGLE.now)


@lru_cache(maxsize=64)
def _clear_slot_mm(_contact_deg: float) -> float:
    """Return the same; what the contact angle is stands beside it for the memory's sake."""
    steep = math.radians(edge_angle_deg())

    def course(angle: float) -> float:
        return math.log(math.tan(angle / 4.0)) + 2.0 * math.cos(angle / 2.0)

    angle = brentq(lambda a: course(a) - course(steep), 1e-3, math.pi / 2.0, xtol=1e-12)
    return edge_mm() - puddle_mm(math.degrees(angle))


def _hold_share() -> float:
    """Return the share of an edge's surface tension that pulls inwards when it lets go."""
    return -math.cos(math.radians(edge_angle_deg()))


def _overhang(level_mm: float, slot_mm: float) -> float:
    """Return how far (mm) the lower end stands out over the upper, as the lower lets go."""
    squared, hold = CAPILLARY_LENGTH_MM**2, _hold_share()
    upper = slot_mm * (2.0 * level_mm - slot_mm) / (2.0 * squared) - hold
    begin, end = math.acos(min(upper, 1.0)), math.radians(edge_angle_deg())

    def forward(angle: float) -> float:
        depth = math.sqrt(level_mm**2 - 2.0 * squared * (math.cos(angle) + hold))
        return math.cos(angle) * squared / depth

    return float(quad(forward, begin, end, epsabs=1e-10)[0])
