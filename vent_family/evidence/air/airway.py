"""From the losses along the way to the pressure drop of a whole vent.

The air passes in series: the mouth it enters by, then side by side the slat stack and the drain
channel below it, then the mouth it leaves by (sill or neck when drawn in, window when blown out).
Pressures are total-pressure losses between two rooms at rest, so the last mouth loses its whole
velocity head. K is referred to the velocity in the opening cut into the panel.

Every loss is a velocity head times a coefficient that depends on the flow over the kinematic
viscosity alone, except that of a fibre filter.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal, Protocol, Self

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.limits import SCREEN_ERROR
from vent_family.evidence.air.coefficients import smooth_friction
from vent_family.evidence.air.state import AirState

Direction = Literal["in", "out"]
MM2: Final = 1e-6
SPLIT_STEPS: Final = 30
SPLIT_CLOSE: Final = 1e-10
"""Rounds at most to find what goes by the drain, and the share (1) to which two agree at last."""
_NODES: Final = np.geomspace(1e-3, 1e7, 1001)
"""Passage Reynolds numbers at which a vent's shares are known before they are asked for."""


@dataclass(frozen=True, slots=True)
class ExtraLoss:
    """A guard, grille or filter in series.

    Pressure drop ``k rho v^2 / 2 + linear v``, with the mean velocity v in the panel opening
    and the loss coefficient ``k`` (1);
    ``linear_pa_s_m`` suits fibre filters, whose drop is nearly proportional to velocity.
    """

    name: str
    k: float = 0.0
    linear_pa_s_m: float = 0.0

    def blocked(self, share: float) -> ExtraLoss:
        """Return it with a ``share`` (1) of its area closed: the rest works that much faster.

        As leaves and insects close it, in patches. An even film of dust that narrows every mesh of
        a fine screen costs more.

        Examples
        --------
        >>> ExtraLoss("guard", 0.8, 10.0).blocked(0.5)
        ExtraLoss(name='guard', k=3.2, linear_pa_s_m=20.0)
        """
        left = 1.0 - share
        return replace(self, k=self.k / left**2, linear_pa_s_m=self.linear_pa_s_m / left)


@dataclass(frozen=True, slots=True)
class Mouth:
    """A loss in series: ``k`` in velocity heads of the flow through ``area_mm2``."""

    name: str
    k: float
    area_mm2: float
    length_mm: float = 0.0
    diameter_mm: float = 0.0


@dataclass(frozen=True)
class VentLoss:
    """Losses of one vent at flows of shape (m,).

    ``terms_pa`` maps each term to its pressure drop and sums to ``drop_pa``; ``re`` is the
    passage Reynolds number, ``gap_m_s`` the mean velocity between slats, ``drain_share`` the part
    of the flow that goes by the drain channel, ``k`` the whole loss in velocity heads in the
    opening.
    """

    flow_m3_s: FloatArray
    drop_pa: FloatArray
    terms_pa: dict[str, FloatArray]
    re: FloatArray
    gap_m_s: FloatArray
    drain_share: FloatArray
    in_range: BoolArray
    k: FloatArray

    @property
    def discharge_coefficient(self) -> FloatArray:
        """Flow over the flow an ideal nozzle of the opening's area would pass (1)."""
        return np.asarray(1.0 / np.sqrt(self.k))


class SlatCurve(Protocol):
    """The loss of slats over the passage Reynolds number, in face velocity heads."""

    @property
    def names(self) -> Sequence[str]:
        """The terms it is made of."""

    def term(self, name: str, re: FloatArray) -> FloatArray:
        """Return one term at Reynolds numbers (1)."""

    def k(self, re: FloatArray) -> FloatArray:
        """Return the total loss at Reynolds numbers (1)."""

    def in_range(self, re: FloatArray) -> BoolArray:
        """Tell at which Reynolds numbers (1) the loss model is calibrated."""


class Screened(Protocol):
    """The loss of an insect screen."""

    def drop_pa(self, flow_m3_s: FloatArray, air: AirState) -> FloatArray:
        """Return the pressure drop, Pa, at volume flows, m3/s."""

    def blocked(self, share: float) -> Self:
        """Return the screen with a ``share`` (1) of it closed in patches."""

    def scaled(self, factor: float) -> Self:
        """Return the screen with its loss multiplied by a ``factor`` (1)."""


@dataclass(frozen=True, kw_only=True)
class AirPath(ABC):
    """The way of the air through one vent, ready to be asked for pressures and flows.

    Areas in mm2; ``opening_mm2`` is the panel opening K refers to, ``face_mm2`` the face of the
    slats' banks; ``pitch_mm`` and ``passage_mm`` are height and clear width of a passage between
    slats; ``stack_factor`` multiplies the loss of the slats (1), one number or one for each flow.
    An insect ``screen`` lies behind all of it. ``fan_frame_mm`` is the side of the fan that the
    vent holds, ``None`` if it holds none.
    """

    part_number: str
    opening_mm2: float
    face_mm2: float
    drain_mm2: float
    drain_k: float
    pitch_mm: float
    passage_mm: float
    entry: dict[Direction, tuple[Mouth, ...]]
    leave: dict[Direction, tuple[Mouth, ...]]
    extras: tuple[ExtraLoss, ...] = ()
    stack_factor: FloatArray | float = 1.0
    screen: Screened | None = None
    fan_frame_mm: float | None = None

    @abstractmethod
    def curve(self, *, calibrated: bool = True) -> SlatCurve:
        """Return the loss of the slats over the Reynolds number."""

    @abstractmethod
    def band(self, re: float) -> tuple[float, float]:
        """Return the factors (1) between which the slats' loss lies at a Reynolds number (1).

        Raises
        ------
        UncalibratedError
            if the air model's table lacks runs of the slat form
        """

    @abstractmethod
    def beyond(self, re: float) -> list[str]:
        """Return in words where slats or Reynolds number (1) lie outside the calibrated range."""

    @property
    def passage_mm2(self) -> float:
        """Area between the slats of one bank, normal to the flow."""
        return self.face_mm2 * self.passage_mm / self.pitch_mm

    @property
    def clogs(self) -> str:
        """What clogs: guard and filter if there are any, else slats and screen."""
        own = "slats" if self.screen is None else "slats and screen"
        return " and ".join(extra.name for extra in self.extras) or own

    def loss(
        self,
        flow_m3_s: FloatArray | float,
        air: AirState,
        direction: Direction = "in",
        *,
        calibrated: bool = True,
    ) -> VentLoss:
        """Return the losses at given volume flows (m3/s, above zero).

        Raises
        ------
        ValueError
            if a flow is not above zero
        """
        q = _flows(flow_m3_s)
        curve = self.curve(calibrated=calibrated)
        share = self._between_slats(q, air, curve)
        re = share * self._whole_re(q, air)
        head = self._stack_head_pa(share * q, air)
        terms = {name: head * curve.term(name, re) for name in curve.names}
        for name, drop in self._elsewhere(q, air, direction):
            terms[name] = terms.get(name, 0.0) + drop
        drop_pa = np.asarray(sum(terms.values()))
        opening = q / (self.opening_mm2 * MM2)
        return VentLoss(
            flow_m3_s=q,
            drop_pa=drop_pa,
            terms_pa=terms,
            re=re,
            gap_m_s=share * q / (self.passage_mm2 * MM2),
            drain_share=1.0 - share,
            in_range=curve.in_range(re),
            k=drop_pa / (0.5 * air.density_kg_m3 * opening**2),
        )

    def _whole_re(self, flow_m3_s: FloatArray, air: AirState) -> FloatArray:
        """Return the passage Reynolds number (1) if all of a flow went between the slats."""
        face_m_s = flow_m3_s / (self.face_mm2 * MM2)
        return face_m_s * (self.pitch_mm * 1e-3 / air.kinematic_m2_s)

    def _stack_head_pa(self, flow_m3_s: FloatArray, air: AirState) -> FloatArray:
        """Return what K of the slats multiplies at flows between them, Pa."""
        face_m_s = flow_m3_s / (self.face_mm2 * MM2)
        return np.asarray(0.5 * air.density_kg_m3 * face_m_s**2 * self.stack_factor)

    def _between_slats(self, flow_m3_s: FloatArray, air: AirState, curve: SlatCurve) -> FloatArray:
        """Return the share (1) of flows that goes between the slats, the rest by the drain.

        Slats and drain channel see the same pressure. K depends on the flow but weakly: from a near
        guess the share follows from itself in a few rounds, from the second on along the line
        through two rounds.
        """
        whole = self._whole_re(flow_m3_s, air)
        share = before = found_before = self._near_share(whole)
        for turn in range(SPLIT_STEPS):
            found = self._share_at(share * whole, curve)
            if np.abs(found - share).max() < SPLIT_CLOSE:
                break
            slope = np.zeros_like(whole)
            if turn:
                moved = share - before
                np.divide(found - found_before, moved, out=slope, where=np.abs(moved) > SPLIT_CLOSE)
                slope[np.abs(slope) > 0.5] = 0.0
            before, found_before = share, found
            share = (found - slope * share) / (1.0 - slope)
        return found

    def _share_at(self, re: FloatArray, curve: SlatCurve) -> FloatArray:
        """Return the share (1) between the slats where they have a passage Reynolds number."""
        ratio = self.drain_mm2 / self.face_mm2
        k = self.stack_factor * curve.k(re)
        return np.asarray(1.0 / (1.0 + ratio * np.sqrt(k / self.drain_k)))

    @cached_property
    def _shares(self) -> tuple[FloatArray, FloatArray]:
        """Logarithms of Reynolds numbers of a whole flow, and the shares (1) that belong to them.

        By the Reynolds number between the slats both follow at once.
        """
        share = self._share_at(_NODES, self.curve())
        return np.log(_NODES / share), share

    def _near_share(self, whole_re: FloatArray) -> FloatArray:
        """Return about what share (1) of flows goes between the slats, by those of the table."""
        if np.ndim(self.stack_factor):
            return np.ones_like(whole_re)
        return np.asarray(np.interp(np.log(whole_re), *self._shares))

    def _elsewhere(
        self, flow_m3_s: FloatArray, air: AirState, direction: Direction
    ) -> Iterator[tuple[str, FloatArray]]:
        """Yield what all of a flow meets but for slats and drain, with its pressure drop, Pa."""
        q, rho = flow_m3_s, air.density_kg_m3
        for mouth in (*self.entry[direction], *self.leave[direction]):
            velocity = q / (mouth.area_mm2 * MM2)
            k: FloatArray | float = mouth.k
            if mouth.length_mm:
                re_d = velocity * mouth.diameter_mm * 1e-3 / air.kinematic_m2_s
                f = np.where(re_d < 2300, 64 / re_d, smooth_friction(re_d))
                k = mouth.k + f * mouth.length_mm / mouth.diameter_mm
            yield mouth.name, 0.5 * rho * velocity**2 * k
        if self.screen is not None:
            yield "screen", self.screen.drop_pa(q, air)
        opening = q / (self.opening_mm2 * MM2)
        for extra in self.extras:
            yield extra.name, 0.5 * rho * extra.k * opening**2 + extra.linear_pa_s_m * opening

    def flow(
        self, drop_pa: FloatArray | float, air: AirState, direction: Direction = "in"
    ) -> VentLoss:
        """Return the losses at the flows that given pressure drops (Pa, above zero) drive.

        Raises
        ------
        ValueError
            if a pressure drop is not above zero
        """
        p = np.atleast_1d(np.asarray(drop_pa, dtype=float))
        if not (p > 0).all():
            raise ValueError("pressure drops must be above zero")
        q = self.opening_mm2 * MM2 * np.sqrt(2 * p / (air.density_kg_m3 * 20.0))
        for _ in range(60):
            found = self.loss(q, air, direction)
            # Between laminar (p ~ q) and turbulent (p ~ q^2) this converges for both.
            step = (p / found.drop_pa) ** (1 / 1.8)
            q = q * step
            if np.abs(step - 1).max() < 1e-10:
                break
        return self.loss(q, air, direction)

    def ends(
        self, drop_pa: FloatArray | float, air: AirState, direction: Direction = "in"
    ) -> tuple[VentLoss, VentLoss]:
        """Return the losses at given pressure drops (Pa) with the greatest and the least K.

        Raises
        ------
        ValueError
            if a pressure drop is not above zero
        UncalibratedError
            if the air model's table lacks runs of the slat form
        """
        middle = self.flow(drop_pa, air, direction)
        factors = np.array([self.band(float(re)) for re in middle.re])
        worst, best = (self.at_end(factors[:, end]) for end in (1, 0))
        return worst.flow(drop_pa, air, direction), best.flow(drop_pa, air, direction)

    def at_end(self, factor: FloatArray | float) -> Self:
        """Return the vent at an end of what is known of it: its slats' loss times a ``factor`` (1).

        A screen's own loss goes to the same end, and stays where the factor is 1.
        """
        screen = self.screen
        if screen is not None:
            sense = float(np.sign(np.mean(np.log(factor))))
            screen = screen.scaled((1.0 + SCREEN_ERROR.value) ** sense)
        return replace(self, stack_factor=self.stack_factor * factor, screen=screen)

    def drops_pa(
        self,
        mass_kg_s: FloatArray | float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> FloatArray:
        """Return the pressure drops, Pa, of ``count`` such vents that pass mass flows together.

        Drawn in is air of the outside, blown out that of the inside.

        Raises
        ------
        ValueError
            if a mass flow is not above zero
        """
        q, air = self._each(mass_kg_s, outside, inside, direction, count)
        curve = self.curve()
        share = self._between_slats(q, air, curve)
        slats = self._stack_head_pa(share * q, air) * curve.k(share * self._whole_re(q, air))
        return np.asarray(slats + sum(drop for _, drop in self._elsewhere(q, air, direction)))

    def ends_at(
        self,
        mass_kg_s: float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> tuple[Self, Self]:
        """Return the vent with the least and the greatest K of its slats at a mass flow.

        Raises
        ------
        ValueError
            if the mass flow is not above zero
        UncalibratedError
            if the air model's table lacks runs of the slat form
        """
        low, high = self.band(self._re(mass_kg_s, outside, inside, direction, count))
        return self.at_end(low), self.at_end(high)

    def warnings_at(
        self,
        mass_kg_s: float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int = 1,
    ) -> list[str]:
        """Return a warning if the vent works outside the loss model's range at a mass flow.

        Raises
        ------
        ValueError
            if the mass flow is not above zero
        """
        why = self.beyond(self._re(mass_kg_s, outside, inside, direction, count))
        told = f"the pressure drop of {self.part_number} is extrapolated: "
        return [told + "; ".join(why)] if why else []

    def _re(
        self,
        mass_kg_s: float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int,
    ) -> float:
        """Return the passage Reynolds number (1) in each of ``count`` such vents at a mass flow."""
        q, air = self._each(mass_kg_s, outside, inside, direction, count)
        share = self._between_slats(q, air, self.curve())
        return float((share * self._whole_re(q, air))[0])

    @staticmethod
    def _each(
        mass_kg_s: FloatArray | float,
        outside: AirState,
        inside: AirState,
        direction: Direction,
        count: int,
    ) -> tuple[FloatArray, AirState]:
        """Return the volume flows (m3/s) of each of ``count`` vents, and the air that passes."""
        air = outside if direction == "in" else inside
        return _flows(mass_kg_s / air.density_kg_m3 / count), air

    def with_extras(self, *extras: ExtraLoss) -> Self:
        """Return the vent with guards or filters added."""
        return replace(self, extras=(*self.extras, *extras))

    def drain_full(self) -> Self:
        """Return the vent with water in its drain: all of the air goes between the slats."""
        return replace(self, drain_mm2=0.0)

    def blocked(self, share: float) -> Self:
        """Return the vent with a ``share`` (1) of its clear areas closed, in patches.

        Guard and filter where it has any, for they keep from the slats what would close them; else
        slats and drain, and the screen behind them.
        """
        if self.extras:
            return replace(self, extras=tuple(extra.blocked(share) for extra in self.extras))
        left = 1.0 - share
        screen = None if self.screen is None else self.screen.blocked(share)
        face, drain = self.face_mm2 * left, self.drain_mm2 * left
        return replace(self, face_mm2=face, drain_mm2=drain, screen=screen)

    def bare(self) -> Self:
        """Return the vent without guards and filters."""
        return replace(self, extras=())


def _flows(flow_m3_s: FloatArray | float) -> FloatArray:
    """Return volume flows (m3/s) as an array.

    Raises
    ------
    ValueError
        if one is not above zero
    """
    q = np.atleast_1d(np.asarray(flow_m3_s, dtype=float))
    if not (q > 0).all():
        raise ValueError("flows must be above zero")
    return q
