"""Where water goes: flight with splash over several generations, then the film that drips on.

Every gram put in comes out in one of four places: passed to the inside, returned outside, run to
the trough, or (only while counting) lying on a slat or the ceiling. What lies there runs down the
slat and drips from its lowest edge; where those drips go is again a flight, so the whole cascade
from slat to slat is one linear system, solved exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.evidence.water.airfield import AirField
from vent_family.evidence.water.boundary import Boundary
from vent_family.evidence.water.flight import AFLOAT, PASSED, RETURNED, fly
from vent_family.evidence.water.house import ALONG
from vent_family.evidence.water.posture.ribs import INSIDE, OUT, TROUGH
from vent_family.evidence.water.posture.sideways import LIGHTEST, Sideways, strikes
from vent_family.evidence.water.properties import pendant_drop_mm
from vent_family.evidence.water.splash import GOLDEN, SplashModel, secondary_drops, splashes
from vent_family.spec.forms import Outline
from vent_family.spec.section import Section

GENERATIONS: Final = 5
RIB_GENERATIONS: Final = 2
"""Of these, the first that are thrown back off ribs, too."""
DRIP_OFFSET_MM: Final = 0.02
LEVEL_MM: Final = 0.3
"""Corners within this height of the lowest one carry drips too."""
CEILING_DRIPS: Final = 12


@dataclass(frozen=True, eq=False)
class Drops:
    """Drops at the start: places (mm), velocities (m/s), diameters (mm), mass and label each.

    ``mass`` may have any unit; what becomes of it is told in the same.
    """

    z_mm: FloatArray
    y_mm: FloatArray
    w_m_s: FloatArray
    v_m_s: FloatArray
    diameter_mm: FloatArray
    mass: FloatArray
    label: IntArray
    radius_mm: FloatArray | None = None
    """Reach of drops that touch what they pass; ``None`` for points."""
    u_m_s: FloatArray | None = None
    """Speed along the slats, towards +x; ``None`` for none."""


@dataclass(frozen=True, eq=False)
class Fates:
    """Mass per label (rows) and place.

    ``caught``, ``trough``, ``passed``, ``passed_direct`` and ``returned`` are in the unit of the
    drops' mass. ``caught`` has a column per slat and one for the ceiling; ``passed_direct`` is the
    part of ``passed`` that never touched anything. ``flown`` is the number of flights it took.
    """

    caught: FloatArray
    trough: FloatArray
    passed: FloatArray
    passed_direct: FloatArray
    returned: FloatArray
    flown: int

    @property
    def total(self) -> FloatArray:
        """Mass accounted for, per label, in the unit of the drops' own mass."""
        return np.asarray(self.caught.sum(axis=1) + self.trough + self.passed + self.returned)


@dataclass(frozen=True, eq=False)
class DropScene:
    """Everything fixed for one vent: section, boundary, air and gravity (z, y) in the section.

    ``hangs`` is the wall above, from which water drips: by default the ceiling. ``sideways`` is the
    motion along the slats of a rolled vent, ``None`` where there is none.
    """

    section: Section
    boundary: Boundary
    air: AirField
    gravity_m_s2: tuple[float, float]
    hangs: Outline = ()
    sideways: Sideways | None = None

    @cached_property
    def drips(self) -> Drops:
        """The drops that fall from each slat's lowest edges and from the wall above."""
        return _drips(self)


def shoot(
    scene: DropScene,
    drops: Drops,
    model: SplashModel | None,
    labels: int,
    turns: FloatArray | None = None,
) -> Fates:
    """Fly drops with all their secondary drops and return where the mass went.

    ``model`` ``None`` means every contact catches the drop. ``turns`` are shares of a round of
    sizes and angles of secondary drops, (``GENERATIONS``, ``labels``), at which each label begins;
    drawn at random, they make labels independent samples.
    """
    b = scene.boundary
    n_caught = b.slat_count + 1
    caught = np.zeros((labels, n_caught))
    trough, passed = np.zeros(labels), np.zeros(labels)
    direct, returned = np.zeros(labels), np.zeros(labels)
    z, y, w, v = drops.z_mm, drops.y_mm, drops.w_m_s, drops.v_m_s
    d, mass, label = drops.diameter_mm, drops.mass, drops.label
    u = np.zeros(z.size) if drops.u_m_s is None else drops.u_m_s
    flown = 0
    for generation in range(GENERATIONS + 1):
        if z.size == 0:
            break
        flown += z.size
        reach = drops.radius_mm if generation == 0 else None
        end = fly(b, scene.air, scene.gravity_m_s2, z, y, w, v, d, radius_mm=reach)
        off = None
        if scene.sideways is not None:
            # Later generations only run down: each further throw is a fraction of a fraction.
            splash = model if generation < RIB_GENERATIONS else None
            off = strikes(scene.sideways, splash, np.stack([z, y]), end, u, d, mass)
            for code, place in ((TROUGH, trough), (INSIDE, passed), (OUT, returned)):
                mine = off.end == code
                np.add.at(place, label[mine], (mass * off.stays)[mine])
            splashed = (mass[off.parent] * off.share, label[off.parent])
            mass = mass * off.left
        through = (end.edge == PASSED) | (end.edge == AFLOAT)
        out = end.edge == RETURNED
        np.add.at(passed, label[through], mass[through])
        if generation == 0:
            np.add.at(direct, label[through], mass[through])
        np.add.at(returned, label[out], mass[out])
        hit = end.edge >= 0
        edge, owner = end.edge[hit], b.owner[end.edge[hit]]
        m, lab, dia = mass[hit].copy(), label[hit], d[hit]
        hz, hy, hw, hv = end.z_mm[hit], end.y_mm[hit], end.w_m_s[hit], end.v_m_s[hit]
        if model is not None and generation < GENERATIONS and hz.size:
            breaks = splashes(model, b.edges[edge], hw, hv, dia) & (m > LIGHTEST)
            lot = None
            if turns is not None:
                steps = np.arange(int(breaks.sum())) * GOLDEN
                lot = (steps + turns[generation, lab[breaks]]) % 1.0
            child = secondary_drops(
                model,
                b.edges[edge[breaks]],
                hz[breaks],
                hy[breaks],
                hw[breaks],
                hv[breaks],
                dia[breaks],
                thinned=generation > 0,
                lot=lot,
            )
            parents = m[breaks]
            z, y, w, v = child.z_mm, child.y_mm, child.w_m_s, child.v_m_s
            d, label = child.diameter_mm, lab[breaks][child.parent]
            mass = parents[child.parent] * child.share
            u = ALONG.now * u[hit][breaks][child.parent]
            m[breaks] *= 1.0 - model.thrown
        else:
            z = y = w = v = u = d = mass = np.empty(0)
            label = np.empty(0, dtype=np.int64)
        if off is not None:
            z, y = np.concatenate([z, off.z_mm]), np.concatenate([y, off.y_mm])
            w, v = np.concatenate([w, off.w_m_s]), np.concatenate([v, off.v_m_s])
            u, d = np.concatenate([u, off.u_m_s]), np.concatenate([d, off.diameter_mm])
            mass = np.concatenate([mass, splashed[0]])
            label = np.concatenate([label, splashed[1]])
        for place, who in ((trough, b.trough), (passed, b.inside), (returned, b.face)):
            mine = owner == who
            np.add.at(place, lab[mine], m[mine])
        mine = owner < n_caught
        np.add.at(caught, (lab[mine], owner[mine]), m[mine])
    return Fates(caught, trough, passed, direct, returned, flown)


@dataclass(frozen=True, eq=False)
class Drip:
    """What becomes of the water lying on slats and ceiling, per unit on each of them.

    ``passes``, ``trough`` and ``returns`` are shares, one per slat and one for the ceiling, and add
    up to one; ``load`` (n, n) is the water that in all runs over surface j for
    1 put on i, a ratio.
    """

    passes: FloatArray
    trough: FloatArray
    returns: FloatArray
    load: FloatArray


def drip_matrix(scene: DropScene, model: SplashModel) -> Drip:
    """Return the end of the dripping cascade, solved exactly."""
    drops = scene.drips
    n = scene.boundary.slat_count + 1
    fates = shoot(scene, drops, model, n)
    # Rows are normalised by what was accounted for, so that rounding cannot lose water.
    total = fates.total[:, None]
    move = fates.caught / total
    ends = np.stack([fates.passed, fates.trough, fates.returned], axis=1) / total
    lost = _circling(move, ends)
    # Water that strong air carries round and round between slats can only end inside.
    move[lost] = 0.0
    ends[lost] = (1.0, 0.0, 0.0)
    load: FloatArray = np.asarray(np.linalg.inv(np.eye(n) - move), dtype=float)
    final = load @ ends
    return Drip(final[:, 0], final[:, 1], final[:, 2], load)


def _circling(move: FloatArray, ends: FloatArray) -> BoolArray:
    """Return the surfaces from which water reaches no end, by way of any others."""
    reaches = ends.sum(axis=1) > 0.0
    while True:
        more = reaches | (move[:, reaches].sum(axis=1) > 0.0)
        if np.array_equal(more, reaches):
            return np.asarray(~reaches)
        reaches = more


def _drips(scene: DropScene) -> Drops:
    """Return the drops that fall from each slat's lowest edges and from the ceiling."""
    gz, gy = scene.gravity_m_s2
    g = float(np.hypot(gz, gy))
    down = np.array([gz / g, gy / g])
    thickness = scene.section.stack.thickness_mm
    diameter = pendant_drop_mm(thickness)
    hang = (diameter / 2 + DRIP_OFFSET_MM) * down
    places: list[tuple[float, float, float, int]] = []
    for k, slat in enumerate(scene.section.slats):
        corners = np.array(slat.outline)
        depth = corners @ down
        edges = _edges(corners[depth > depth.max() - LEVEL_MM], thickness)
        for z, y in edges:
            places.append((z + hang[0], y + hang[1], 1.0 / len(edges), k))
    ceiling = scene.boundary.slat_count
    level = np.array(scene.hangs or scene.section.upper)
    z0, z1 = scene.section.stack_z_mm[0], level[-1, 0]
    for z in np.linspace(z0, z1, CEILING_DRIPS + 2)[1:-1]:
        y = float(np.interp(z, level[:, 0], level[:, 1]))
        places.append((float(z) + hang[0], y + hang[1], 1.0 / CEILING_DRIPS, ceiling))
    a = np.array(places)
    zero = np.zeros(len(a))
    return Drops(
        a[:, 0],
        a[:, 1],
        zero,
        zero,
        np.full(len(a), diameter),
        a[:, 2],
        a[:, 3].astype(np.int64),
        np.full(len(a), diameter / 2),
    )


def _edges(corners: FloatArray, thickness_mm: float) -> list[tuple[float, float]]:
    """Return the middles of the lowest edges: corners closer than a slat is thick are one."""
    groups: list[list[FloatArray]] = []
    for corner in corners[np.argsort(corners[:, 0])]:
        if groups and corner[0] - groups[-1][-1][0] <= thickness_mm + 0.1:
            groups[-1].append(corner)
        else:
            groups.append([corner])
    middles = [np.mean(g, axis=0) for g in groups]
    return [(float(m[0]), float(m[1])) for m in middles]
