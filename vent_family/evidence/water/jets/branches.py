"""The branches of a full jet in a section: which way its water goes, and where it ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.jets.rules import ASSUMPTIONS, MID, Assumption, rules_of
from vent_family.evidence.water.jets.sweep import Jet, jet_starts
from vent_family.evidence.water.jets.trace import Trail, follow
from vent_family.evidence.water.jets.walls import Walls, walls_of
from vent_family.evidence.water.penetration import scene_of
from vent_family.evidence.water.splash import SEVERE
from vent_family.evidence.water.transport import Drip, drip_matrix
from vent_family.spec.section import Section

End = Literal["ends in the trough", "thrown back out", "gets inside"]
ENDS: Final[tuple[End, ...]] = ("ends in the trough", "thrown back out", "gets inside")
"""Ends of water, what gets inside last."""
_POINTS: Final = 20_000
_LEAD_MM: Final = 10.0
"""How far in front of its first impact a jet's way begins."""


@dataclass(frozen=True, slots=True)
class JetAim:
    """Where a jet is aimed: height in the outer plane, mm, elevation against the vent, degrees."""

    height_mm: float
    elevation_deg: float
    assumption: Assumption


@dataclass(frozen=True, slots=True, eq=False)
class JetRun:
    """A stretch of a branch with water that comes to one end.

    ``path_mm`` are two points (z, y), mm; ``share`` (1) is that of the jet's water.
    """

    path_mm: FloatArray
    share: float
    end: End


@dataclass(frozen=True, slots=True, eq=False)
class Branches:
    """All branches of one jet.

    ``shares`` says what of its water (1) comes to each end; ``pool_mm`` is the height of the water
    in the trough, ``None`` where the floor is dry.
    """

    runs: tuple[JetRun, ...]
    shares: dict[End, float]
    pool_mm: float | None


def percent(share: float) -> str:
    """Return a ``share`` (1) in words, two digits of it.

    Examples
    --------
    >>> percent(0.0123), percent(1.0)
    ('1.2 %', '100 %')
    """
    number = 100.0 * share
    return f"{number:.0f} %" if number >= 10.0 else f"{number:.2g} %"


def worst_aim(report: JetReport, tilt_deg: float) -> JetAim:
    """Return the aim from which most gets inside, under the assumption that makes it so.

    ``tilt_deg`` is the vent's lean, degrees.
    """
    worst = max(report.shares, key=lambda s: s.worst_inside_share)
    severest = next(a for a in ASSUMPTIONS if a.name == worst.assumption)
    return JetAim(report.worst_height_mm, report.worst_elevation_deg - tilt_deg, severest)


def level_aim(section: Section, tilt_deg: float) -> JetAim:
    """Return the level aim at the middle of the front; ``tilt_deg`` is the lean, degrees."""
    return JetAim(0.5 * (section.window_bottom_mm + section.ceiling_mm), -tilt_deg, MID)


def jet_branches(
    section: Section,
    report: JetReport,
    tilt_deg: float,
    aims: tuple[JetAim, ...],
    source: AirSource = potential_flow,
) -> tuple[Branches, ...]:
    """Return the branches of a jet from each of some aims.

    Water that stays on a slat counts where most of its drips end. ``tilt_deg`` is the vent's lean,
    degrees.
    """
    scene = scene_of(section, report.air.face_velocity_m_s, tilt_deg, source)
    drip = drip_matrix(scene, SEVERE)
    jet = Jet(EXPOSURES[report.name].bore_mm, report.speed_m_s, ())
    found = []
    for aim in aims:
        dry = aim.assumption.dry
        walls = walls_of(section, 0.0 if dry else report.start_pool_mm)
        pool = min(section.brink[1] + report.start_pool_mm, section.sill_top_mm)
        runs, shares = _followed(walls, jet, aim, scene.gravity_m_s2, drip)
        found.append(Branches(runs, shares, None if dry else pool))
    return tuple(found)


def _followed(
    walls: Walls, jet: Jet, aim: JetAim, gravity_m_s2: tuple[float, float], drip: Drip
) -> tuple[tuple[JetRun, ...], dict[End, float]]:
    """Return the stretches of a jet's branches, and the share of its water by its end."""
    start = jet_starts(walls, jet, np.array([aim.height_mm]), np.array([aim.elevation_deg]))
    trail = Trail.of(_POINTS, _POINTS)
    rules = rules_of(aim.assumption, gravity_m_s2, cut=0.004, grain=0.02, rays=24)
    seeds, columns = np.array([0.5]), walls.slats + 4
    out = follow(walls.arrays, rules, start, jet.bore_mm, seeds, columns, trail)[0]
    film = out[: walls.slats + 1]
    shares: dict[End, float] = {
        "ends in the trough": float(out[walls.trough] + film @ drip.trough),
        "thrown back out": float(out[walls.returned] + film @ drip.returns),
        "gets inside": float(out[walls.inside] + film @ drip.passes),
    }
    nodes = trail.nodes[: int(trail.tally[0])]
    leaves = trail.leaves[: int(trail.tally[1])]
    fate = _fates(walls, leaves[:, 1].astype(np.int64), drip)
    runs: list[JetRun] = []
    for k, end in enumerate(ENDS):
        weight = np.zeros(len(nodes))
        for node, _, water in leaves[fate == k]:
            here = int(node)
            while here >= 0:
                weight[here] += water
                here = int(nodes[here, 2])
        drawn = np.flatnonzero((weight > 0.0) & (nodes[:, 2] >= 0.0))
        before = nodes[drawn, 2].astype(np.int64)
        lines = np.stack([nodes[before, :2], nodes[drawn, :2]], axis=1)
        runs += [JetRun(p, float(w), end) for p, w in zip(lines, weight[drawn], strict=True)]
        if weight[0] > 0.0:
            first = nodes[0, :2]
            way = -start[0, 4:6] / jet.speed_m_s
            runs.append(JetRun(np.stack([first + _LEAD_MM * way, first]), float(weight[0]), end))
    return tuple(runs), shares


def _fates(walls: Walls, columns: IntArray, drip: Drip) -> IntArray:
    """Return for each end its place among ``ENDS``."""
    drips = np.argmax(np.stack([drip.trough, drip.returns, drip.passes], axis=1), axis=1)
    known = np.array([*drips, 0, 2, 1], dtype=np.int64)
    return np.asarray(known[columns])
