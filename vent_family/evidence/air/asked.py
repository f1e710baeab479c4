"""What a balance and its band need to know of a question about a cabinet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, Protocol, Self

from vent_family.evidence.air.balance import Cooling, fan_forced, natural_draught, walls_only
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import Passage, Place, System

Mode = Literal["fan", "draught", "closed"]


class Asked(Protocol):
    """A question about a cabinet: of equal vents on either side, or of vents of several kinds."""

    @property
    def cabinet(self) -> Cabinet:
        """Heat load, surroundings and limit."""

    @property
    def fan(self) -> FanCurve | None:
        """What moves the air; ``None`` for natural draught or a closed cabinet."""

    @property
    def place(self) -> Place:
        """Whether the fan moves outside air in or inside air out."""

    @property
    def draught_height_m(self) -> float | None:
        """Height between low inlet and high outlet, m; ``None`` for no draught."""

    @property
    def mode(self) -> Mode:
        """What moves the air."""

    @property
    def system(self) -> System:
        """Both sides, one behind the other: inlets, then outlets."""

    def with_vents(self, vents: Sequence[Passage]) -> Self:
        """Return the same question with other vents on either side."""

    def with_fan(self, fan: FanCurve) -> Self:
        """Return the same question with another fan."""

    def with_cabinet(self, cabinet: Cabinet) -> Self:
        """Return the same question about another cabinet."""


def balance_of(question: Asked, sun_w: float | None = None, near_k: float = 0.0) -> Cooling:
    """Return the balance of the cabinet that is asked about.

    ``sun_w`` is the heat of the sun that comes in, W; the cabinet's own if not given. ``near_k`` is
    a rise that a fan's is looked for near, K.

    Raises
    ------
    InputError
        where the draught's height is out of range
    NoOperatingPointError
        where the fan moves no air
    NoBalanceError
        where so little carries the heat that no temperature is predicted
    """
    system = question.system
    if question.fan is not None:
        return fan_forced(question.cabinet, question.fan, system, question.place, sun_w, near_k)
    if question.draught_height_m is not None:
        low, high = system.groups
        return natural_draught(question.cabinet, low, high, question.draught_height_m, sun_w)
    return walls_only(question.cabinet, sun_w)
