"""Water of an exposure sent through a vent, in independent batches of drops."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.water.exposures import Beam
from vent_family.evidence.water.penetration import START_MM
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.splash import SplashModel
from vent_family.evidence.water.transport import GENERATIONS, Drip, Drops, DropScene, shoot


@dataclass(frozen=True, eq=False)
class Stream:
    """Beams at the outer plane of a vent, in its own coordinates, shape (beams, classes).

    ``flux_l_min_m2`` is the water through the outer plane; ``bands`` how many wetted spots lie one
    above the other on the vent's height.
    """

    diameter_mm: FloatArray
    w_m_s: FloatArray
    v_m_s: FloatArray
    u_m_s: FloatArray
    flux_l_min_m2: FloatArray
    bands: int

    def only(self, beams: IntArray) -> Stream:
        """Return some of the beams."""
        return Stream(
            self.diameter_mm[beams],
            self.w_m_s[beams],
            self.v_m_s[beams],
            self.u_m_s[beams],
            self.flux_l_min_m2[beams],
            self.bands,
        )


def stream(beams: list[Beam], posture: Posture, bands: int = 1) -> Stream:
    """Return beams as a vent meets them in its mounting."""
    w_earth = np.array([b.w_m_s for b in beams])
    v_earth = np.array([b.v_m_s for b in beams])
    w, v, u = posture.turned(w_earth, v_earth)
    with np.errstate(divide="ignore", invalid="ignore"):
        grown = np.where(w_earth < 0.0, w / w_earth, 0.0)
    flux = np.array([b.flux_l_min_m2 for b in beams]) * np.maximum(grown, 0.0)
    return Stream(np.array([b.diameter_mm for b in beams]), w, v, u, flux, bands)


@dataclass(frozen=True, eq=False)
class Spray:
    """Where a stream goes, as shares of what arrives, shape (batches, beams, classes, bands).

    ``passed_air``, ``passed_direct``, ``passed_drip``, ``trough``, ``returned`` and
    ``caught_by_bank`` are shares; the last has a further axis, the banks. Batches are
    independent samples of the same. ``flown`` is the number of flights it took.
    """

    passed_air: FloatArray
    passed_direct: FloatArray
    passed_drip: FloatArray
    trough: FloatArray
    returned: FloatArray
    caught_by_bank: FloatArray
    flown: int

    @property
    def passed(self) -> FloatArray:
        """Share that passes, in the air or by dripping."""
        return self.passed_air + self.passed_drip


def spray(
    scene: DropScene,
    came: Stream,
    model: SplashModel,
    drip: Drip,
    heights: IntArray,
    batches: int = 1,
    rng: np.random.Generator | None = None,
) -> Spray:
    """Send a stream through the scene.

    Parameters
    ----------
    scene, model, drip
        the vent with its air, a splash model and the dripping cascade that belongs to both
    came
        what arrives
    heights
        drops sent off per batch and band, each from its own strip of the height, (beams, classes)
    batches
        number of independent batches
    rng
        draws places within the strips and the order of secondary drops; ``None`` takes middles
    """
    n_beam, n_class = came.flux_l_min_m2.shape
    shape = (batches, n_beam, n_class, came.bands)
    labels = int(np.prod(shape))
    count = np.broadcast_to(np.where(came.flux_l_min_m2 > 0.0, heights, 0)[None, :, :, None], shape)
    label = np.repeat(np.arange(labels), count.ravel())
    of_label = count.ravel()[label]
    first = np.cumsum(count.ravel()) - count.ravel()
    step = np.arange(label.size) - first[label]
    within = 0.5 if rng is None else rng.random(label.size)
    band = label % came.bands
    low, high = scene.section.drain_mm[0], scene.section.ceiling_mm
    cell = (label // came.bands) % (n_beam * n_class)
    drops = Drops(
        np.full(label.size, scene.section.front_z_mm + START_MM),
        low + (high - low) * (band + (step + within) / of_label) / came.bands,
        came.w_m_s.ravel()[cell],
        came.v_m_s.ravel()[cell],
        came.diameter_mm.ravel()[cell],
        1.0 / of_label,
        label,
        u_m_s=came.u_m_s.ravel()[cell],
    )
    turns = None if rng is None else rng.random((GENERATIONS, labels))
    fates = shoot(scene, drops, model, labels, turns)
    caught, bank = fates.caught, scene.boundary.bank
    by_bank = np.stack(
        [caught[:, :-1][:, bank == b].sum(axis=1) for b in range(scene.section.stack.bank_count)],
        axis=1,
    )
    return Spray(
        fates.passed.reshape(shape),
        fates.passed_direct.reshape(shape),
        (caught @ drip.passes).reshape(shape),
        (fates.trough + caught @ drip.trough).reshape(shape),
        (fates.returned + caught @ drip.returns).reshape(shape),
        by_bank.reshape(*shape, -1),
        fates.flown,
    )
