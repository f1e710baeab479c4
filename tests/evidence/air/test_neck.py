"""The neck of a round vent as a pipe: Hagen and Poiseuille below Re 2300, Blasius above."""

from __future__ import annotations

import math

import pytest

from tests.helpers.rows import spec
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at

AIR = air_at(20.0)


def rubbed_pa(flow_m3_s: float, lengths_mm: tuple[float, float]) -> tuple[float, float]:
    """Return what a longer neck costs more, Pa, and its bore, m."""
    vents = [
        vent_air(spec("round", size="M25x1.5", neck_length_mm=length)) for length in lengths_mm
    ]
    short, long = (v.loss(flow_m3_s, AIR).terms_pa["neck"][0] for v in vents)
    bores = {round(math.sqrt(4.0 * v.leave["in"][0].area_mm2 / math.pi), 6) for v in vents}
    (bore_mm,) = bores
    return float(long - short), bore_mm * 1e-3


def test_laminar_neck_rubs_as_a_round_pipe() -> None:
    """dp = 128 mu L Q / (pi d^4): Hagen and Poiseuille, textbook; air of 20 degC, 18.1 uPa s."""
    flow = 2e-4
    more, bore = rubbed_pa(flow, (14.0, 24.0))
    reynolds = 4.0 * flow / (math.pi * bore * 1.51e-5)
    assert 100.0 < reynolds < 2000.0
    by_hand = 128.0 * 18.13e-6 * 10e-3 * flow / (math.pi * bore**4)
    assert more == pytest.approx(by_hand, rel=0.02)


def test_turbulent_neck_rubs_by_blasius() -> None:
    """f = 0.3164 Re^-0.25 (Blasius 1913, textbook) on rho v^2 / 2 times length over bore."""
    flow = 2e-3
    more, bore = rubbed_pa(flow, (14.0, 24.0))
    speed = 4.0 * flow / (math.pi * bore**2)
    reynolds = speed * bore / 1.512e-5
    assert reynolds > 4000.0
    by_hand = 0.3164 * reynolds**-0.25 * 10e-3 / bore * 0.5 * 1.204 * speed**2
    assert more == pytest.approx(by_hand, rel=0.02)
