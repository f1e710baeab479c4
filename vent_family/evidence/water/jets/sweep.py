"""A jet swept over the whole front and the drain, height by height and elevation by elevation.

First the jet is aimed at even steps of height, shifted from one elevation to the next so that the
steps fall in with no pitch of slats: that gives the mean. Then the worst aims are followed closer,
and closer aims tried around them, until the steps are a fraction of the first.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.jets.rules import Assumption, Rules, rules_of
from vent_family.evidence.water.jets.trace import GOLDEN, Trail, follow
from vent_family.evidence.water.jets.walls import Walls, walls_of
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.transport import Drip
from vent_family.spec.section import Section

STEP_OF_BORE: Final = 1.0 / 3.0
"""Heights are this far apart, in bores of the jet."""
STEEPEST_DEG: Final = 80.0
"""A jet closer to the front's plane than 10 degrees does not enter."""
AHEAD_MM: Final = 0.1
"""The jet is taken up this far in front of the outermost solid."""
ELEVATION_STEP_DEG: Final = 15.0
ROUNDS: Final = 3
KEPT: Final = 4
"""How many of the worst aims are looked at closer."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How finely a jet is followed; shares of its water, see :class:`Rules`."""

    cut_share: float
    grain_share: float
    rays: int


COARSE: Final = Effort(0.02, 0.0625, 16)
FINE: Final = Effort(0.004, 0.02, 24)


@dataclass(frozen=True, slots=True)
class Jet:
    """A coherent jet: bore (mm), speed (m/s) and the elevations (deg) it comes from.

    Elevations are those above the normal of the vent's face.
    """

    bore_mm: float
    speed_m_s: float
    elevations_deg: tuple[float, ...]


def jet_of(exposure: Exposure, posture: Posture) -> Jet:
    """Return the jet of an exposure at a vent in a mounting, in the plane across its slats.

    What comes along the slats of a rolled vent is left out: in that plane it only slows the jet.
    """
    turned = np.radians(np.array(exposure.elevations_deg) - posture.tilt_deg)
    across = np.sin(turned) * math.cos(math.radians(posture.roll_deg))
    mine = np.degrees(np.arctan2(across, np.cos(turned)))
    return Jet(
        exposure.bore_mm,
        exposure.exit_speed_m_s,
        tuple(float(e) for e in mine if abs(e) <= STEEPEST_DEG),
    )


@dataclass(frozen=True, eq=False)
class Target:
    """What a jet is aimed at: section, gravity (z, y) in m/s2 and what becomes of drips."""

    section: Section
    gravity_m_s2: tuple[float, float]
    drip: Drip


def heights_mm(section: Section) -> tuple[float, float]:
    """Return the lowest and the highest aim, mm: the drain's lower edge and the ceiling."""
    corners = [y for s in section.slats for _, y in s.outline]
    return (
        min(section.drain_mm[0], *corners),
        max(section.ceiling_mm, section.drain_mm[1]),
    )


@dataclass(frozen=True, eq=False)
class Aims:
    """Heights (mm) in the outer plane and elevations (deg), and where the water ended, shares.

    ``inside_share``, ``trough_share`` and ``returned_share`` count what drips from slats and
    ceiling, and add up to one.
    """

    height_mm: FloatArray
    elevation_deg: FloatArray
    inside_share: FloatArray
    trough_share: FloatArray
    returned_share: FloatArray


@dataclass(frozen=True, slots=True)
class Aim:
    """One aim, height in mm, elevation in deg, and the ``share`` (1) that ends in one place."""

    height_mm: float
    elevation_deg: float
    share: float


@dataclass(frozen=True, slots=True)
class Swept:
    """What a sweep found under one assumption, shares of the jet."""

    inside_share: float
    trough_share: float
    returned_share: float
    worst_inside: Aim
    worst_trough: Aim


def sweep(target: Target, jet: Jet, assumption: Assumption, pool_mm: float) -> Swept:
    """Return means and worst aims of a jet; ``pool_mm`` is the water over the drain's edge.

    Raises
    ------
    ValueError
        for a jet without elevations
    """
    found, step = _first_aims(target, jet, assumption, pool_mm)

    def worst(of: str) -> Aim:
        return _closer(target, jet, assumption, pool_mm, found, of, step)

    return _means(found, worst)


def glance(target: Target, jet: Jet, assumption: Assumption, pool_mm: float) -> Swept:
    """Return the same from the first aims alone: the worst of them are not looked at closer.

    ``pool_mm`` is the water over the drain's edge.

    Raises
    ------
    ValueError
        for a jet without elevations
    """
    found, _ = _first_aims(target, jet, assumption, pool_mm)

    def worst(of: str) -> Aim:
        value = getattr(found, of)
        k = int(np.argmax(value))
        return Aim(float(found.height_mm[k]), float(found.elevation_deg[k]), float(value[k]))

    return _means(found, worst)


def _means(found: Aims, worst: Callable[[str], Aim]) -> Swept:
    """Return the means of aims, and the worst of them by place."""
    return Swept(
        float(found.inside_share.mean()),
        float(found.trough_share.mean()),
        float(found.returned_share.mean()),
        worst("inside_share"),
        worst("trough_share"),
    )


def _first_aims(
    target: Target, jet: Jet, assumption: Assumption, pool_mm: float
) -> tuple[Aims, float]:
    """Return what evenly spaced aims find, and the step between them, mm."""
    if not jet.elevations_deg:
        raise ValueError("the jet comes from nowhere in front of the vent")
    low, high = heights_mm(target.section)
    count = max(8, int(np.ceil((high - low) / (STEP_OF_BORE * jet.bore_mm))))
    step = (high - low) / count
    shift = np.arange(len(jet.elevations_deg)) * GOLDEN % 1.0
    heights = low + step * (np.arange(count)[None, :] + shift[:, None])
    elevations = np.repeat(np.array(jet.elevations_deg), count)
    found = shot(target, jet, assumption, pool_mm, heights.ravel(), elevations, COARSE)
    return found, step


def _closer(
    target: Target,
    jet: Jet,
    assumption: Assumption,
    pool_mm: float,
    found: Aims,
    of: str,
    step_mm: float,
) -> Aim:
    """Return the aim from which most water ends in one place, looked for ever closer."""
    value = getattr(found, of)
    order = np.argsort(-value, kind="stable")[:KEPT]
    order = order[value[order] > 0.0]
    best = Aim(float(found.height_mm[0]), float(found.elevation_deg[0]), 0.0)
    heights, elevations = found.height_mm[order], found.elevation_deg[order]
    widest = max(jet.elevations_deg)
    least = min(jet.elevations_deg)
    turn = ELEVATION_STEP_DEG
    for _ in range(ROUNDS):
        if heights.size == 0:
            break
        step_mm, turn = step_mm / 2.0, turn / 2.0
        away = np.array([(0, 0), (-1, 0), (1, 0), (0, -1), (0, 1)], dtype=float)
        h = (heights[:, None] + step_mm * away[None, :, 0]).ravel()
        e = np.clip((elevations[:, None] + turn * away[None, :, 1]).ravel(), least, widest)
        tried = shot(target, jet, assumption, pool_mm, h, e, FINE)
        value = getattr(tried, of)
        order = np.argsort(-value, kind="stable")[:KEPT]
        heights, elevations = h[order], e[order]
        if value[order[0]] > best.share:
            k = order[0]
            best = Aim(float(h[k]), float(e[k]), float(value[k]))
    return best


def shot(
    target: Target,
    jet: Jet,
    assumption: Assumption,
    pool_mm: float,
    height_mm: FloatArray,
    elevation_deg: FloatArray,
    effort: Effort,
) -> Aims:
    """Return where a jet's water ends, aim by aim; heights in mm, elevations in deg."""
    walls = walls_of(target.section, 0.0 if assumption.dry else pool_mm)
    out = follow(
        walls.arrays,
        _rules(target, assumption, effort),
        jet_starts(walls, jet, height_mm, elevation_deg),
        jet.bore_mm,
        (np.arange(height_mm.size) + 0.5) * GOLDEN % 1.0,
        walls.slats + 4,
        Trail.of(0, 0),
    )
    film = out[:, : walls.slats + 1]
    return Aims(
        height_mm,
        elevation_deg,
        out[:, walls.inside] + film @ target.drip.passes,
        out[:, walls.trough] + film @ target.drip.trough,
        out[:, walls.returned] + film @ target.drip.returns,
    )


def _rules(target: Target, assumption: Assumption, effort: Effort) -> Rules:
    return rules_of(
        assumption,
        target.gravity_m_s2,
        cut=effort.cut_share,
        grain=effort.grain_share,
        rays=effort.rays,
    )


def jet_starts(
    walls: Walls, jet: Jet, height_mm: FloatArray, elevation_deg: FloatArray
) -> FloatArray:
    """Return the rows that the compiled code takes; heights in mm, elevations in deg."""
    c, s = np.cos(np.radians(elevation_deg)), np.sin(np.radians(elevation_deg))
    across = jet.bore_mm / c
    zero = np.zeros(height_mm.size)
    return np.stack(
        [
            np.full(height_mm.size, walls.front_z_mm + AHEAD_MM),
            height_mm - 0.5 * across + AHEAD_MM * s / c,
            zero,
            across,
            -jet.speed_m_s * c,
            -jet.speed_m_s * s,
        ],
        axis=1,
    )
