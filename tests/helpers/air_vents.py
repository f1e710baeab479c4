"""Vents and fans with closed forms: constant losses and parabolas."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.helpers.rows import spec
from vent_family.evidence.air.airway import Mouth
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.air.state import air_at

AIR = air_at(20.0)


def plain_vent(k: float, area_mm2: float = 4000.0) -> VentAir:
    """Return a vent with one constant loss, for closed forms: stack and drain far too wide.

    ``k`` is the loss coefficient on the velocity in an opening of ``area_mm2``.
    """
    vent = vent_air(spec("rectangular"))
    mouth = (Mouth("plain", k, area_mm2),)
    return replace(
        vent,
        face_mm2=1e13,
        drain_mm2=0.0,
        opening_mm2=area_mm2,
        entry={"in": (), "out": ()},
        leave={"in": mouth, "out": mouth},
    )


def parabola(p0_pa: float = 60.0, q0_m3_s: float = 0.03, points: int = 81) -> FanCurve:
    """Return p = p0 (1 - (q / q0)^2), sampled."""
    q = np.linspace(0, q0_m3_s, points)
    p = p0_pa * (1 - (q / q0_m3_s) ** 2)
    return FanCurve("parabola", tuple(q.tolist()), tuple(p.tolist()), AIR.density_kg_m3)
