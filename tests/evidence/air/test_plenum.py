"""The way out of a low head's plenum into its bore, against steady finite elements.

The solutions are laminar at Re 2000 of the bore, where use is 4000 to 11000; the solver is first
held against a pipe and against the jet behind a sharp contraction, which are published.
"""

from __future__ import annotations

import math
from functools import cache

import pytest

from tests.helpers.fe_plenum import CONVERGED, Plenum, entry
from tests.helpers.rows import spec
from vent_family.evidence.air.neck_entry import entry_loss, jet_over_mean
from vent_family.evidence.air.resistance import vent_air
from vent_family.spec.areas import plane_area_mm2
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.vent import VentSpec

RE = 2000.0


@cache
def resolved(size: str) -> VentSpec:
    return spec("round", size=size)


def plenum(size: str, depth: float | None = None) -> Plenum:
    """Return a head's plenum, but even all round, of a ``depth`` in bore radii.

    By default it is as deep as leaves the same way into the bore as the head does with its ribs.
    """
    vent = resolved(size)
    body = vent.body
    assert isinstance(body, RoundBody)
    head, bore = body.head, body.head.bore_radius_mm
    across = plane_area_mm2(vent, head.stack_z_mm - 1e-3)
    mouth = head.mouth_radius_mm
    deep = depth or body.neck.way_mm2 / (2.0 * math.pi * mouth * bore)
    radius = math.sqrt(across / math.pi) / bore
    return Plenum(
        radius=radius,
        depth=deep,
        corner=min(deep, radius - (mouth + 2.0) / bore),
        mouth=mouth / bore,
        lead=(head.plate_z_mm - head.bevel_z_mm[1]) / bore,
        bore=(head.bevel_z_mm[0] + body.neck.length_mm) / bore,
    )


def rennels_jet(beta: float) -> float:
    """Return jet over mean behind a sharp contraction (Rennels & Hudson 2012, from memory)."""
    return 1.0 + 0.622 * (1.0 - 0.215 * beta**2 - 0.785 * beta**5)


def test_solved_pipe_rubs_as_hagen_and_poiseuille_say() -> None:
    short, long = (entry(Plenum(2.0, 2.0, 0.02, 1.0, 0.02, bore), 20.0) for bore in (8.0, 10.0))
    assert long.drop - short.drop == pytest.approx(64.0 / 20.0, rel=1e-3)


def test_solved_sharp_contraction_loses_what_its_jet_does() -> None:
    sharp = entry(Plenum(2.07, 2.0, 0.02, 1.0, 0.02, 2.0), RE)
    assert sharp.residual < CONVERGED
    assert sharp.form == pytest.approx((rennels_jet(1.0 / 2.07) - 1.0) ** 2, rel=0.2)


def test_mesh_hardly_matters() -> None:
    coarse, fine = (entry(plenum("M63x1.5"), RE, step, 5.0 * step) for step in (0.03, 0.022))
    assert coarse.form == pytest.approx(fine.form, rel=0.03)


@pytest.mark.parametrize(
    ("size", "depth"),
    [("M20x1.5", 0.4), ("M32x1.5", 0.3), ("M63x1.5", 0.4), ("M63x1.5", 0.7)],
)
def test_jet_is_that_of_solved_flows(size: str, depth: float) -> None:
    at = plenum(size, depth)
    solved = entry(at, RE)
    assert solved.residual < CONVERGED
    assert (jet_over_mean(at.way, at.mouth) - 1.0) ** 2 == pytest.approx(solved.form, rel=0.25)


@pytest.mark.parametrize("size", ["M20x1.5", "M32x1.5", "M63x1.5"])
def test_head_counts_the_turn_as_solved(size: str) -> None:
    """What its jet loses, and the share of the jet's head that a contraction loses besides."""
    at = plenum(size)
    jet = 1.0 + math.sqrt(entry(at, RE).form)
    besides = 0.0696 * (1.0 - at.radius**-5) * jet**2
    stated = vent_air(resolved(size)).leave["in"][0].k - 1.0
    assert stated == pytest.approx((jet - 1.0) ** 2 + besides, rel=0.2)


def test_deep_plenum_leaves_the_bevelled_contraction() -> None:
    """Its solution, with the whole hole as a rounding, loses less than the published one."""
    at = plenum("M32x1.5", 2.0)
    stated = entry_loss(26.8 * at.radius, 26.8, 1.2, math.pi * 13.4**2 * at.way)
    jet = rennels_jet(1.0 / at.radius)
    sharp = 0.0696 * (1.0 - at.radius**-5) * jet**2 + (jet - 1.0) ** 2
    # A bevel of 0.045 bores takes a quarter off: Rennels' 0.427 for an entrance, of 0.57.
    assert stated == pytest.approx(0.75 * sharp, rel=0.02)
    assert entry(at, RE).form < stated
