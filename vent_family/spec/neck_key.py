"""A key on a round vent's neck: it goes into a notch of the hole, TOP up and no other way.

It stands on the head's shoulder below the neck, over the plain stub before the thread. Lengths in
mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import FIT_CLEARANCE
from vent_family.spec import defaults
from vent_family.spec.thread.iso import ThreadSpec
from vent_family.spec.thread.parts import neck_relief_diameter_mm

KEY_PANEL_LEFT_MM: Final = 0.1
"""What a thin panel is thicker than the key, which must not hold off the locknut, mm."""


@dataclass(frozen=True, slots=True)
class NeckKey:
    """A block ``width_mm`` wide below the neck.

    It reaches from the stub, of radius ``stub_mm``, to ``reach_mm`` below the axis, and
    ``depth_mm`` behind the shoulder.
    """

    width_mm: float
    stub_mm: float
    reach_mm: float
    depth_mm: float

    def notch_mm(self, hole_radius_mm: float) -> tuple[float, float]:
        """Return width and depth of the notch below a hole, the clearance all round; mm."""
        clear = FIT_CLEARANCE.value
        return self.width_mm + 2.0 * clear, self.reach_mm + clear - hole_radius_mm

    def volume_mm3(self) -> float:
        """Return its volume outside the stub.

        Examples
        --------
        Below a stub of 10 mm the circle falls back by 0.46 mm over 3 mm, a third of it on average:

        >>> round(NeckKey(6.0, 10.0, 11.0, 1.0).volume_mm3(), 2)
        6.91
        """
        half, r = self.width_mm / 2.0, self.stub_mm
        under_circle = half * math.sqrt(r * r - half * half) + r * r * math.asin(half / r)
        return (self.width_mm * self.reach_mm - under_circle) * self.depth_mm


def neck_key(thread: ThreadSpec, panel_mm: float) -> NeckKey:
    """Return the key of a neck behind a panel of a thickness ``panel_mm``, mm.

    Examples
    --------
    >>> from vent_family.spec.thread.iso import thread_spec
    >>> key = neck_key(thread_spec("M32x1.5", 0.12), 2.0)
    >>> key.reach_mm, key.depth_mm, [round(side, 2) for side in key.notch_mm(16.3)]
    (17.0, 0.8, [6.6, 1.0])
    """
    return NeckKey(
        width_mm=defaults.KEY_WIDTH_MM,
        stub_mm=neck_relief_diameter_mm(thread.external) / 2.0,
        reach_mm=thread.nominal_mm / 2.0 + defaults.NECK_KEY_BESIDE_MM,
        depth_mm=min(defaults.NECK_KEY_MM, panel_mm - KEY_PANEL_LEFT_MM),
    )
