"""From the loss of the slat stack to the pressure drop of a whole vent.

The air passes in series: the mouth it enters by, then side by side the slat stack and the drain
channel below it, then the mouth it leaves by (sill or neck when drawn in, window when blown out).
Pressures are total-pressure losses between two rooms at rest, so the last mouth loses its whole
velocity head. K is referred to the velocity in the opening cut into the panel.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Final, Literal

import numpy as np
from fluids.fittings import (
    contraction_sharp,
    diffuser_sharp,
    entrance_sharp,
)

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN, SCREEN_ERROR
from vent_family.evidence.air.coefficients import (
    SQUARE_TURN_DEG,
    TERMS,
    StackBatch,
    mitre,
    quick_loss,
    smooth_friction,
)
from vent_family.evidence.air.fan_annulus import ANNULUS, annulus_losses
from vent_family.evidence.air.losses import band, corrected_loss
from vent_family.evidence.air.neck_entry import entry_loss
from vent_family.evidence.air.screens import ScreenLoss
from vent_family.evidence.air.state import AirState
from vent_family.spec.areas import (
    OpenArea,
    VentAreas,
    areas_of,
    band_area_mm2,
    plane_area_mm2,
)
from vent_family.spec.forms import SlatForm
from vent_family.spec.stack import Stack
from vent_family.spec.vent import VentSpec

Direction = Literal["in", "out"]

ENTRY: Final = float(entrance_sharp(method="Rennels"))
"""Loss of a sharp entrance from a room, on its own head (Rennels & Hudson 2012)."""
DRAIN_K: Final = ENTRY + mitre(SQUARE_TURN_DEG) + 1.0
"""Loss of the dry drain channel on the head in its slot: sharp entry, one mitre up over the sill,
the whole head lost where it joins the chamber."""
MM2: Final = 1e-6
EDGE_MM: Final = 1e-3
"""How far inside an end plane its area is taken."""
SPLIT_STEPS: Final = 30


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


@dataclass(frozen=True)
class StackCurve:
    """The loss terms of one stack over the Reynolds number, tabulated finely enough to forget.

    One model call per stack instead of one per flow: root finders ask thousands of times. Linear
    in log Re with a hundred points a decade: exact to 1e-4. ``log_re`` holds
    natural logarithms of Reynolds numbers.
    """

    log_re: FloatArray
    terms: dict[str, FloatArray]
    covered: bool

    def term(self, name: str, re: FloatArray) -> FloatArray:
        """Return one term in face velocity heads."""
        return np.asarray(np.interp(np.log(re), self.log_re, self.terms[name]))

    @cached_property
    def _total(self) -> FloatArray:
        """The sum of all terms, in face velocity heads."""
        return np.asarray(sum(self.terms[name] for name in TERMS))

    def k(self, re: FloatArray) -> FloatArray:
        """Return the total loss in face velocity heads."""
        return np.asarray(np.interp(np.log(re), self.log_re, self._total))

    def in_range(self, re: FloatArray) -> BoolArray:
        """Tell where the loss model is calibrated."""
        return np.asarray((re >= AIR_RE_MIN.value) & (re <= AIR_RE_MAX.value) & self.covered)


def stack_curve(stack: Stack, bay_mm: float, *, calibrated: bool) -> StackCurve:
    """Return the tabulated loss of a stack between ribs ``bay_mm`` apart (mm)."""
    return _curve(stack, stack.shape, bay_mm, calibrated)


@lru_cache(maxsize=512)
def _curve(stack: Stack, shape: SlatForm, bay_mm: float, calibrated: bool) -> StackCurve:
    # The form's object is part of the key: two forms may bear one name, one after the other.
    re = np.geomspace(1e-3, 1e6, 901)
    model = corrected_loss if calibrated else quick_loss
    found = model(StackBatch.of([stack], bay_mm), re)
    inside = (re >= AIR_RE_MIN.value) & (re <= AIR_RE_MAX.value)
    return StackCurve(
        np.log(re),
        {name: found.terms[name][0] for name in TERMS},
        bool(found.in_range[0][inside].all()),
    )


@dataclass(frozen=True)
class VentAir:
    """The air side of one vent, ready to be asked for pressures and flows.

    Areas in mm2; ``opening_mm2`` is the panel opening K refers to, ``open_face_mm2`` the clear
    area of the front plane that face velocities refer to, ``sill_mm2`` the plane over the sill;
    ``stack_factor`` multiplies the loss of the slats (1), one number or one for each flow. An
    insect ``screen`` lies behind all of it.
    """

    part_number: str
    stack: Stack
    areas: tuple[OpenArea, ...]
    opening_mm2: float
    open_face_mm2: float
    face_mm2: float
    sill_mm2: float
    drain_mm2: float
    drain_k: float
    bay_mm: float
    entry: dict[Direction, tuple[Mouth, ...]]
    leave: dict[Direction, tuple[Mouth, ...]]
    extras: tuple[ExtraLoss, ...] = ()
    stack_factor: FloatArray | float = 1.0
    screen: ScreenLoss | None = None

    @property
    def smallest(self) -> OpenArea:
        """The narrowest cross-section."""
        return self.areas[0]

    @property
    def passage_mm2(self) -> float:
        """Area between the slats of one bank, normal to the flow."""
        return self.face_mm2 * self.stack.passage_mm / self.stack.pitch_mm

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
        q = np.atleast_1d(np.asarray(flow_m3_s, dtype=float))
        if not (q > 0).all():
            raise ValueError("flows must be above zero")
        curve = stack_curve(self.stack, self.bay_mm, calibrated=calibrated)
        face, drain = self.face_mm2 * MM2, self.drain_mm2 * MM2
        rho = air.density_kg_m3
        share = np.ones_like(q)
        # Stack and drain channel see the same pressure: the split settles in a few rounds since
        # K depends on the flow but weakly.
        for _ in range(SPLIT_STEPS):
            re = share * q / face * self.stack.pitch_mm * 1e-3 / air.kinematic_m2_s
            before = share
            share = 1.0 / (
                1.0 + drain / face * np.sqrt(self.stack_factor * curve.k(re) / self.drain_k)
            )
            if np.abs(share - before).max() < 1e-12:
                break
        head = 0.5 * rho * (share * q / face) ** 2 * self.stack_factor
        terms = {name: head * curve.term(name, re) for name in TERMS}
        for mouth in (*self.entry[direction], *self.leave[direction]):
            own = 0.5 * rho * (q / (mouth.area_mm2 * MM2)) ** 2
            k: FloatArray | float = mouth.k
            if mouth.length_mm:
                re_d = q / (mouth.area_mm2 * MM2) * mouth.diameter_mm * 1e-3 / air.kinematic_m2_s
                f = np.where(re_d < 2300, 64 / re_d, smooth_friction(re_d))
                k = mouth.k + f * mouth.length_mm / mouth.diameter_mm
            terms[mouth.name] = terms.get(mouth.name, 0.0) + own * k
        if self.screen is not None:
            terms["screen"] = self.screen.drop_pa(q, air)
        opening = q / (self.opening_mm2 * MM2)
        for extra in self.extras:
            terms[extra.name] = 0.5 * rho * extra.k * opening**2 + extra.linear_pa_s_m * opening
        drop = np.asarray(sum(terms.values()))
        return VentLoss(
            flow_m3_s=q,
            drop_pa=drop,
            terms_pa=terms,
            re=re,
            gap_m_s=share * q / (self.passage_mm2 * MM2),
            drain_share=1.0 - share,
            in_range=curve.in_range(re),
            k=drop / (0.5 * rho * opening**2),
        )

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
        factors = np.array([band(self.stack, float(re), self.bay_mm) for re in middle.re])
        worst, best = (self.at_end(factors[:, end]) for end in (1, 0))
        return worst.flow(drop_pa, air, direction), best.flow(drop_pa, air, direction)

    def at_end(self, factor: FloatArray | float) -> VentAir:
        """Return the vent at an end of what is known of it: its slats' loss times a ``factor`` (1).

        A screen's own loss goes to the same end, and stays where the factor is 1.
        """
        screen = self.screen
        if screen is not None:
            sense = float(np.sign(np.mean(np.log(factor))))
            screen = screen.scaled((1.0 + SCREEN_ERROR.value) ** sense)
        return replace(self, stack_factor=self.stack_factor * factor, screen=screen)

    def with_extras(self, *extras: ExtraLoss) -> VentAir:
        """Return the vent with guards or filters added."""
        return replace(self, extras=(*self.extras, *extras))

    def drain_full(self) -> VentAir:
        """Return the vent with water in its drain: all of the air goes between the slats."""
        return replace(self, drain_mm2=0.0)

    def blocked(self, share: float) -> VentAir:
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

    def bare(self) -> VentAir:
        """Return the vent without guards and filters."""
        return replace(self, extras=())


def vent_air(
    spec: VentSpec, extras: Sequence[ExtraLoss] = (), areas: VentAreas | None = None
) -> VentAir:
    """Return the air side of a resolved vent; ``areas`` are its own, where known already."""
    section = spec.section
    known = areas or areas_of(spec)
    face, drain = band_area_mm2(spec, section.channel_mean_mm, section.ceiling_mm), known.drain_mm2
    window = plane_area_mm2(spec, section.front_z_mm - EDGE_MM)
    foot = section.foot[0]
    # Widest plane behind the slats: what the inner mouth opens from.
    chamber = max(window, plane_area_mm2(spec, (section.stack_z_mm[0] + foot) / 2))
    pipe = spec.body.neck
    # A round head's sill is its back plate, and over it lies the hole.
    mouth_in = plane_area_mm2(spec, (foot if pipe is None else pipe.bore_end_z_mm) - EDGE_MM)
    d_chamber, d_window = math.sqrt(chamber), math.sqrt(window)
    front_in = Mouth("front window", ENTRY + float(diffuser_sharp(d_window, d_chamber)), window)
    front_out = Mouth("front window", float(contraction_sharp(d_chamber, d_window)) + 1.0, window)
    entry: dict[Direction, tuple[Mouth, ...]] = {"in": (front_in,)}
    leave: dict[Direction, tuple[Mouth, ...]] = {"out": (front_out,)}
    held = spec.body.screen
    screen = None if held is None else ScreenLoss(held.mesh, held.window_mm2(section, spec.bays))
    if pipe is not None:
        neck = math.pi * pipe.bore_radius_mm**2
        d_neck = 2 * pipe.bore_radius_mm
        d_room = d_neck * math.sqrt(chamber / neck)
        length = pipe.length_mm + pipe.bore_end_z_mm
        leave["in"] = (
            Mouth(
                "neck",
                entry_loss(d_room, d_neck, pipe.bevel_mm, pipe.way_mm2) + 1.0,
                neck,
                length,
                d_neck,
            ),
        )
        entry["out"] = (
            Mouth(
                "neck",
                ENTRY + float(diffuser_sharp(d_neck, d_room)),
                neck,
                length,
                d_neck,
            ),
        )
    else:
        # A screen's frame is narrower than the cavity: then its windows are the mouth.
        inner = mouth_in if screen is None else min(mouth_in, screen.window_mm2)
        d_sill = math.sqrt(inner)
        d_room = max(d_chamber, d_sill)
        leave["in"] = (Mouth("sill", float(contraction_sharp(d_room, d_sill)) + 1.0, inner),)
        entry["out"] = (Mouth("sill", ENTRY + float(diffuser_sharp(d_sill, d_room)), inner),)
    for way, k, area in annulus_losses(spec.fan_duct):
        mouths = leave if way == "in" else entry
        mouths[way] = (*mouths[way], Mouth(ANNULUS, k, area))
    bays = [b - a for a, b in spec.bays]
    return VentAir(
        part_number=spec.part_number,
        stack=section.stack,
        areas=tuple(sorted(known.open, key=lambda a: a.area_mm2)),
        opening_mm2=spec.opening.area_mm2,
        open_face_mm2=band_area_mm2(spec, section.drain_mm[0], section.ceiling_mm),
        face_mm2=face,
        sill_mm2=mouth_in,
        drain_mm2=drain,
        drain_k=DRAIN_K,
        bay_mm=sum(bays) / len(bays),
        entry=entry,
        leave=leave,
        extras=tuple(extras),
        screen=screen,
    )
