"""The bottom of a vent whose outermost banks shed outside: an apron behind them shelters the drain.

What strikes the outermost banks runs down in front of the apron and straight out. Behind the apron
a trough begins a step higher; its drain opens downwards, between its brink and the apron, onto the
floor below, which leads out under both. So a jet at the drain strikes banks, apron or step, and
never sees the trough. Windows through the ribs make one channel of the trough's floor: a jet that
pours into one bay drains from its neighbours, too. Coordinates as in
:mod:`vent_family.spec.section`, in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import GAP_MIN
from vent_family.spec.forms import Outline
from vent_family.spec.stack import Stack

COVER_MM: Final = 5.0
"""How far the apron reaches down past the trough's brink: a jet from below sees no slot."""
NOSE_MM: Final = (4.0, 1.6)
"""How far the trough's floor stands out over the step below it, and how thick it is there: a sheet
that runs up the step is turned outwards below it."""
SILL_LIP_MM: Final = (3.0, 1.6)
"""How far a lip stands out from the sill's face, and how thick it is: a sheet that runs along the
dry floor and up the sill is turned back below it."""
SILL_LIP_OVER_FLOOR_MM: Final = 4.0
"""Height of that lip's underside over the sill's foot."""
APRON_OVER_BRINK_MM: Final = 9.0
"""Height of the apron's top over the brink: no jet comes straight down past it onto the trough's
floor. A fuller trough runs over it, outside."""
WINDOW_MM: Final = 8.0
"""Height of the windows through the ribs over the trough's floor."""
BEAM_MM: Final = 1.2
"""Rib left between a window and the slats above it."""
POST_MM: Final = 4.0
"""Rib left between a window and the sill, which is a bridge from rib to rib when printed."""
BESIDE_BRINK_MM: Final = 1.0
"""How far windows stay behind the brink."""


def apron_gap_mm(apron_thickness_mm: float) -> float:
    """Return the least gap (mm) between two banks for an apron with room for water on both sides.

    Examples
    --------
    >>> apron_gap_mm(2.0)
    7.4
    """
    return round(2.0 * GAP_MIN.value + apron_thickness_mm, 9)


@dataclass(frozen=True, slots=True)
class Shelter:
    """Where apron, brink and lower floor lie, in mm.

    ``apron_z_mm`` are inner and outer z of the apron, ``brink`` is the trough's outer edge, z and
    y in mm;
    ``floor_front_mm`` is the lower floor's height in the outer plane ``front_z_mm``, from where it
    rises by ``tangent`` (1) inwards; ``slot_mm`` is the width of the drain and what is open under
    apron and outer banks.
    """

    banks_outside: int
    apron_z_mm: tuple[float, float]
    brink: tuple[float, float]
    front_z_mm: float
    floor_front_mm: float
    tangent: float
    slot_mm: float

    @classmethod
    def of(
        cls,
        stack: Stack,
        banks_outside: int,
        *,
        stack_front_mm: float,
        front_z_mm: float,
        floor_front_mm: float,
        slope_deg: float,
        slot_mm: float,
        apron_thickness_mm: float,
    ) -> Shelter:
        """Return the bottom of a stack whose outer side lies at ``stack_front_mm`` (z).

        Parameters
        ----------
        stack
            the banks
        banks_outside
            how many of them stand in front of the apron
        stack_front_mm, front_z_mm
            z of the stack's outer side and of the outer plane, mm
        floor_front_mm
            height of the lower floor in the outer plane, mm
        slope_deg
            slope of both floors, falling outwards
        slot_mm
            width of the drain, mm
        apron_thickness_mm
            thickness of the apron, mm
        """
        tangent = math.tan(math.radians(slope_deg))
        outer = stack_front_mm + stack.bank_z(banks_outside - 1)[0] - GAP_MIN.value
        inner = outer - apron_thickness_mm
        under = floor_front_mm + (front_z_mm - inner) * tangent + max(slot_mm, GAP_MIN.value)
        return cls(
            banks_outside=banks_outside,
            apron_z_mm=(inner, outer),
            brink=(inner - slot_mm, under + COVER_MM),
            front_z_mm=front_z_mm,
            floor_front_mm=floor_front_mm,
            tangent=tangent,
            slot_mm=slot_mm,
        )

    def lower_floor_mm(self, z: float) -> float:
        """Return the height (mm) of the lower floor at depth z (mm)."""
        return self.floor_front_mm + (self.front_z_mm - z) * self.tangent

    def floor_mm(self, z: float) -> float:
        """Return the height (mm) of the trough's floor at depth z (mm)."""
        return self.brink[1] + (self.brink[0] - z) * self.tangent

    def cut_mm(self, bank: int, inner_z_mm: float) -> float:
        """Return the height (mm) at which a bank ends whose inner side lies at a depth z (mm)."""
        if bank < self.banks_outside:
            return self.lower_floor_mm(inner_z_mm) + max(self.slot_mm, GAP_MIN.value)
        return self.floor_mm(inner_z_mm) + WINDOW_MM + BEAM_MM

    @property
    def outlet(self) -> Outline:
        """The way out below the brink: under its nose, down the step, along the lower floor."""
        (z, y), (out, thick) = self.brink, NOSE_MM
        step = z - out
        return (
            (z, y - thick),
            (step, y - thick),
            (step, self.lower_floor_mm(step)),
            (self.front_z_mm, self.floor_front_mm),
        )

    def sill_face(self, foot_mm: tuple[float, float], sill_top_mm: float) -> Outline:
        """Return the corners of a sill's face between its top (height in mm) and its foot (z, y)
        in mm: those of its lip, none where the sill is too low for one."""
        (z, y), (out, thick) = foot_mm, SILL_LIP_MM
        low = y + SILL_LIP_OVER_FLOOR_MM
        if low + 2.0 * thick > sill_top_mm:
            return ()
        # Its upper side falls outwards like the floor.
        end = low + thick - out * self.tangent
        return ((z, low + thick), (z + out, end), (z + out, low), (z, low))

    @property
    def apron(self) -> Outline:
        """Outline of the apron."""
        z0, z1 = self.apron_z_mm
        y0, y1 = self.brink[1] - COVER_MM, self.brink[1] + APRON_OVER_BRINK_MM
        return ((z0, y0), (z1, y0), (z1, y1), (z0, y1))

    def rib_window(self, foot_z_mm: float) -> Outline:
        """Return the outline of the windows through the ribs; the sill's foot is at a z (mm)."""
        inner, outer = foot_z_mm + POST_MM, self.brink[0] - BESIDE_BRINK_MM
        low, high = self.floor_mm(inner), self.floor_mm(outer)
        return ((inner, low), (outer, high), (outer, high + WINDOW_MM), (inner, low + WINDOW_MM))
