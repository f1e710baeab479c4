"""What is shown of a part: bodies and curves with colours, whoever draws them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cadquery as cq

from vent_family.base.materials import Rgb
from vent_family.evidence.curves.curve import Curves

Stage = Literal["section", "solid", "evidence"]
"""How far a part is made: its section, its exact solids, everything known about it."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What of a part is to be shown.

    Cut open along its ``section``, as an ``assembly`` with what it is fitted with, with the
    ``evidence`` as curves.
    """

    section: bool = False
    assembly: bool = False
    evidence: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class ShownBody:
    """A shape in part coordinates, mm, with its colour.

    ``opacity`` and each part of the colour are shares, 0 to 1.
    """

    name: str
    shape: cq.Shape
    colour: Rgb
    opacity: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class ShownPart:
    """A part at one stage.

    ``towards`` points to the viewer, a direction (1); ``notes`` are lines that stand with it.
    """

    part_number: str
    title: str
    stage: Stage
    bodies: tuple[ShownBody, ...]
    curves: tuple[Curves, ...]
    towards: tuple[float, float, float]
    notes: tuple[str, ...] = ()

    @property
    def legend(self) -> tuple[str, ...]:
        """What the colours mean, in words."""
        return tuple(curves.legend for curves in self.curves)
