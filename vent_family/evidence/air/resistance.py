"""The way of the air through a resolved vent: its slats, and the mouths before and behind them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final

import numpy as np
from fluids.fittings import (
    contraction_sharp,
    diffuser_sharp,
    entrance_sharp,
)

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN
from vent_family.evidence.air.airway import AirPath, Direction, ExtraLoss, Mouth
from vent_family.evidence.air.coefficients import (
    SQUARE_TURN_DEG,
    TERMS,
    StackBatch,
    mitre,
    quick_loss,
)
from vent_family.evidence.air.fan_annulus import ANNULUS, annulus_losses
from vent_family.evidence.air.losses import band, beyond_table, corrected_loss
from vent_family.evidence.air.neck_entry import entry_loss
from vent_family.evidence.air.screens import ScreenLoss
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

ENTRY: Final = float(entrance_sharp(method="Rennels"))
"""Loss of a sharp entrance from a room, on its own head (Rennels & Hudson 2012)."""
DRAIN_K: Final = ENTRY + mitre(SQUARE_TURN_DEG) + 1.0
"""Loss of the dry drain channel on the head in its slot: sharp entry, one mitre up over the sill,
the whole head lost where it joins the chamber."""
EDGE_MM: Final = 1e-3
"""How far inside an end plane its area is taken."""


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
    names: Sequence[str] = TERMS

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


@dataclass(frozen=True, kw_only=True)
class VentAir(AirPath):
    """The air side of a vent by its row.

    ``areas`` are its open areas, the narrowest first; ``open_face_mm2`` is the clear area of the
    front plane that face velocities refer to, ``sill_mm2`` the plane over the sill, ``bay_mm`` the
    clear width between ribs.
    """

    stack: Stack
    areas: tuple[OpenArea, ...]
    open_face_mm2: float
    sill_mm2: float
    bay_mm: float

    @property
    def smallest(self) -> OpenArea:
        """The narrowest cross-section."""
        return self.areas[0]

    def curve(self, *, calibrated: bool = True) -> StackCurve:
        """Return the loss of the slats over the Reynolds number."""
        if calibrated:
            return self._calibrated
        return stack_curve(self.stack, self.bay_mm, calibrated=False)

    @cached_property
    def _calibrated(self) -> StackCurve:
        """The curve that every flow is asked of: to look it up by its stack costs as much."""
        return stack_curve(self.stack, self.bay_mm, calibrated=True)

    def band(self, re: float) -> tuple[float, float]:
        """Return the factors (1) between which the slats' loss lies at a Reynolds number (1).

        Raises
        ------
        UncalibratedError
            if the air model's table lacks runs of the slat form
        """
        return band(self.stack, re, self.bay_mm)

    def beyond(self, re: float) -> list[str]:
        """Return in words where slats or Reynolds number (1) lie outside the calibrated range."""
        return beyond_table(self.stack, re)


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
        pitch_mm=section.stack.pitch_mm,
        passage_mm=section.stack.passage_mm,
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
        fan_frame_mm=None if spec.fan_duct is None else spec.fan_duct.frame.side_mm,
    )
