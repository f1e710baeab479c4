"""How a vent is mounted: lean and roll, and what is up, in the part's coordinates."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import GRAVITY_M_S2

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Posture:
    """A mounting.

    ``tilt_deg`` is the lean of the panel, positive where the vent's face looks upwards: 90 in a
    roof, -90 in a floor. ``roll_deg`` is by how much the vent is turned in its opening, positive
    clockwise as seen from outside: 180 is upside down.

    Examples
    --------
    >>> Posture(0.0, 0.0).up
    (0.0, 1.0, 0.0)

    A vent turned clockwise by a right angle has its left side up; in a roof, its face:

    >>> [round(v, 9) + 0.0 for v in Posture(0.0, 90.0).up]
    [-1.0, 0.0, 0.0]
    >>> [round(v, 9) + 0.0 for v in Posture(90.0, 0.0).up]
    [0.0, 0.0, 1.0]
    """

    tilt_deg: float = 0.0
    roll_deg: float = 0.0

    @property
    def up(self) -> Vector:
        """Unit vector (x, y, z) against gravity, in the part's coordinates."""
        t, r = math.radians(self.tilt_deg), math.radians(self.roll_deg)
        c = math.cos(t)
        return (-math.sin(r) * c + 0.0, math.cos(r) * c, math.sin(t))

    @property
    def gravity_m_s2(self) -> Vector:
        """Gravity (x, y, z) in the part's coordinates."""
        x, y, z = self.up
        return (-GRAVITY_M_S2 * x, -GRAVITY_M_S2 * y, -GRAVITY_M_S2 * z)

    @property
    def upright(self) -> bool:
        """True for a vent with TOP up in an upright panel."""
        return self.tilt_deg == 0.0 and self.roll_deg == 0.0

    def more(self, more_deg: float) -> Posture:
        """Return the mounting that leans back and is rolled by so much more."""
        side = 1.0 if self.roll_deg >= 0.0 else -1.0
        return Posture(self.tilt_deg + more_deg, self.roll_deg + side * more_deg)

    def turned(
        self, w_m_s: FloatArray, v_m_s: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return velocities (z, y, x) in m/s in the part's coordinates.

        ``w_m_s`` is the velocity level towards the panel's outside, ``v_m_s`` upwards, of water
        that comes in the upright plane square to the panel.

        Examples
        --------
        Rain that falls straight down meets a face in a roof head on:

        >>> w, v, u = Posture(90.0, 0.0).turned(np.array([0.0]), np.array([-6.0]))
        >>> [round(float(c[0]), 9) + 0.0 for c in (w, v, u)]
        [-6.0, 0.0, 0.0]
        """
        t, r = math.radians(self.tilt_deg), math.radians(self.roll_deg)
        # In the panel's own frame: along its normal, and up along it.
        out = w_m_s * math.cos(t) + v_m_s * math.sin(t)
        along = -w_m_s * math.sin(t) + v_m_s * math.cos(t)
        return np.asarray(out), np.asarray(along * math.cos(r)), np.asarray(-along * math.sin(r))
