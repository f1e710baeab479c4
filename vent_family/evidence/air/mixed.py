"""A question about a cabinet with vents of several kinds, at several heights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

from vent_family.evidence.air.asked import Mode
from vent_family.evidence.air.beside import SideBySide
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import Passage, Place, System, VentGroup


@dataclass(frozen=True)
class MixedQuestion:
    """What is asked.

    Parameters
    ----------
    cabinet
        heat load, surroundings and limit
    inlets, outlets
        the vents the air enters and leaves by; ``None`` for both in a closed cabinet
    fan
        what moves the air; ``None`` for natural draught or a closed cabinet
    place
        whether the fan moves outside air in or inside air out
    draught_height_m
        from where the rises of the inlets are counted from up to where those of the outlets are,
        m; ``None`` for no draught
    """

    cabinet: Cabinet
    inlets: SideBySide | None = None
    outlets: SideBySide | None = None
    fan: FanCurve | None = None
    place: Place = "intake"
    draught_height_m: float | None = None

    @property
    def mode(self) -> Mode:
        """What moves the air."""
        if self.fan is not None:
            return "fan"
        return "closed" if self.draught_height_m is None else "draught"

    @property
    def system(self) -> System:
        """Both sides, one behind the other."""
        if self.inlets is None or self.outlets is None:
            return System(())
        return System((VentGroup(self.inlets, "in"), VentGroup(self.outlets, "out")))

    def with_vents(self, vents: Sequence[Passage]) -> MixedQuestion:
        """Return the same question with other vents on either side."""
        inlets, outlets = (cast(SideBySide, vent) for vent in vents)
        return replace(self, inlets=inlets, outlets=outlets)

    def with_fan(self, fan: FanCurve) -> MixedQuestion:
        """Return the same question with another fan."""
        return replace(self, fan=fan)

    def with_cabinet(self, cabinet: Cabinet) -> MixedQuestion:
        """Return the same question about another cabinet."""
        return replace(self, cabinet=cabinet)
