"""Vents of several kinds side by side, at different heights, that share one flow.

All of them lie between the air outside and the air in the cabinet, so each takes what its own loss
leaves it of the common pressure difference. A vent higher than the others sees less of it when it
draws in, and more when it lets out, by ``g (rho_outside - rho_inside)`` a metre; where that turns
the difference round, air goes the other way by that vent, and is counted so.

Every loss is ``rho nu^2`` times a function of flow over kinematic viscosity, fibre filters apart
(:mod:`vent_family.evidence.air.airway`): one table a vent and way serves any air.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Self

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import GRAVITY_M_S2
from vent_family.evidence.air.airway import MM2, AirPath, Direction
from vent_family.evidence.air.state import AirState, air_at

OTHER_WAY: Final[dict[Direction, Direction]] = {"in": "out", "out": "in"}
FLOWS_M3_S: Final = (1e-10, 30.0)
"""Flows through one vent between which its table lies, in air of 20 degC."""
POINTS: Final = 900
"""Points of a table: straight between them in logarithms is exact to 3e-5."""


@dataclass(frozen=True)
class Beside:
    """``count`` equal vents, ``rise_m`` above where the pressure of their side is counted from.

    ``name`` is what they are called.
    """

    vent: AirPath
    count: int = 1
    rise_m: float = 0.0
    name: str = ""

    @cached_property
    def tables(self) -> dict[Direction, tuple[FloatArray, FloatArray]]:
        """Logarithms of flow over viscosity (m) and of the drop over rho nu^2 (1/m2), by way."""
        bare, air = self.vent.bare(), air_at()
        flows = np.geomspace(*FLOWS_M3_S, POINTS)
        scale = air.density_kg_m3 * air.kinematic_m2_s**2
        ways: tuple[Direction, Direction] = ("in", "out")
        return {
            way: (
                np.log(flows / air.kinematic_m2_s),
                np.log(bare.loss(flows, air, way).drop_pa / scale),
            )
            for way in ways
        }

    def curve(self, air: AirState, way: Direction) -> tuple[FloatArray, FloatArray]:
        """Return mass flows (kg/s) of all of them and the drops (Pa), both rising."""
        log_flow, log_drop = self.tables[way]
        flow = np.exp(log_flow) * air.kinematic_m2_s
        drop = np.exp(log_drop) * air.density_kg_m3 * air.kinematic_m2_s**2
        velocity = flow / (self.vent.opening_mm2 * MM2)
        for extra in self.vent.extras:
            drop = drop + 0.5 * air.density_kg_m3 * extra.k * velocity**2
            drop = drop + extra.linear_pa_s_m * velocity
        return flow * air.density_kg_m3 * self.count, drop


@dataclass(frozen=True)
class SideBySide:
    """The vents of one side of a cabinet.

    Raises
    ------
    ValueError
        if there is none
    """

    members: tuple[Beside, ...]

    def __post_init__(self) -> None:
        if not self.members:
            raise ValueError("a side needs a vent")

    def drops_pa(
        self,
        mass_kg_s: FloatArray | float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> FloatArray:
        """Return the pressure differences (Pa) that drive mass flows through all of them.

        At the height that rises are counted from; less than zero where the buoyancy of a vent that
        lies better drives all of the flow and more.
        """
        asked = np.atleast_1d(np.asarray(mass_kg_s, dtype=float)) / count
        flows = self._flows(outside, inside, direction)
        grid = np.unique(np.concatenate([place for _, place in flows]))
        total = np.sum([passed(grid) for passed, _ in flows], axis=0)
        if self._level(outside, inside):
            # Straight in logarithms, as the tables are.
            return np.asarray(np.exp(np.interp(np.log(asked), np.log(total), np.log(grid))))
        return np.asarray(np.interp(asked, total, grid))

    def masses_kg_s(
        self, mass_kg_s: float, outside: AirState, inside: AirState, direction: Direction
    ) -> list[float]:
        """Return what each of them passes of a mass flow; below zero: the other way."""
        (drop,) = self.drops_pa(mass_kg_s, outside, inside, direction)
        flows = self._flows(outside, inside, direction)
        return [float(passed(np.array([drop]))[0]) for passed, _ in flows]

    def ends_at(
        self,
        mass_kg_s: float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> tuple[Self, Self]:
        """Return them with the least and the greatest K of all their slats at a mass flow.

        Raises
        ------
        UncalibratedError
            if the air model's table lacks runs of a slat form
        """
        found = [
            member.vent.ends_at(max(abs(mass), _LEAST_KG_S), outside, inside, way, member.count)
            for member, mass, way in self._passing(mass_kg_s / count, outside, inside, direction)
        ]
        least, greatest = (self._with([ends[i] for ends in found]) for i in (0, 1))
        return least, greatest

    def warnings_at(
        self,
        mass_kg_s: float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> list[str]:
        """Return a warning for every vent that works outside the loss model's range."""
        return [
            text
            for member, mass, way in self._passing(mass_kg_s / count, outside, inside, direction)
            for text in member.vent.warnings_at(
                max(abs(mass), _LEAST_KG_S), outside, inside, way, member.count
            )
        ]

    def blocked(self, share: float) -> Self:
        """Return them with a ``share`` (1) of their clear areas closed, in patches."""
        return self._with([member.vent.blocked(share) for member in self.members])

    @property
    def clogs(self) -> str:
        """What clogs."""
        return " and ".join(dict.fromkeys(member.vent.clogs for member in self.members))

    def _with(self, vents: list[AirPath]) -> Self:
        members = zip(self.members, vents, strict=True)
        return replace(self, members=tuple(replace(m, vent=vent) for m, vent in members))

    def _passing(
        self, mass_kg_s: float, outside: AirState, inside: AirState, direction: Direction
    ) -> list[tuple[Beside, float, Direction]]:
        masses = self.masses_kg_s(mass_kg_s, outside, inside, direction)
        return [
            (member, mass, direction if mass >= 0.0 else OTHER_WAY[direction])
            for member, mass in zip(self.members, masses, strict=True)
        ]

    def _level(self, outside: AirState, inside: AirState) -> bool:
        return all(self._help_pa(m, outside, inside, "in") == 0.0 for m in self.members)

    @staticmethod
    def _help_pa(
        member: Beside, outside: AirState, inside: AirState, direction: Direction
    ) -> float:
        """Return by how much buoyancy drives a vent more than one at the height counted from."""
        lighter = outside.density_kg_m3 - inside.density_kg_m3
        lift = GRAVITY_M_S2 * lighter * member.rise_m
        return -lift if direction == "in" else lift

    def _flows(
        self, outside: AirState, inside: AirState, direction: Direction
    ) -> list[tuple[Callable[[FloatArray], FloatArray], FloatArray]]:
        """Return what each vent passes (kg/s) over the side's pressure difference (Pa), signed.

        With each go the pressure differences at which its table has its points.
        """
        airs: dict[Direction, AirState] = {"in": outside, "out": inside}
        level = self._level(outside, inside)
        found = []
        for member in self.members:
            own = self._help_pa(member, outside, inside, direction)
            forth = member.curve(airs[direction], direction)
            if level:
                found.append((_along(*forth), forth[1]))
                continue
            other = OTHER_WAY[direction]
            back = member.curve(airs[other], other)
            mass = np.concatenate([-back[0][::-1], [0.0], forth[0]])
            drop = np.concatenate([-back[1][::-1], [0.0], forth[1]]) - own
            found.append((_between(mass, drop), drop))
        return found


_LEAST_KG_S: Final = 1e-12
"""Of a vent that passes nothing, its band is asked for at so little."""


def _along(mass_kg_s: FloatArray, drop_pa: FloatArray) -> Callable[[FloatArray], FloatArray]:
    log_mass, log_drop = np.log(mass_kg_s), np.log(drop_pa)
    return lambda p: np.asarray(np.exp(np.interp(np.log(p), log_drop, log_mass)))


def _between(mass_kg_s: FloatArray, drop_pa: FloatArray) -> Callable[[FloatArray], FloatArray]:
    return lambda p: np.asarray(np.interp(p, drop_pa, mass_kg_s))
