"""Samples of drops, drawn batch by batch; means with the interval the truth lies in."""

from __future__ import annotations

from copy import copy, deepcopy
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import stdtrit

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.water.arrival import Arrival
from vent_family.evidence.water.setup import Setup
from vent_family.evidence.water.spray import spray

CONFIDENCE: Final = 0.999
"""Share of samples whose mean lies no further off than the interval says, on either side."""
BATCHES: Final = 8
DROPS: Final = 360
"""Drops that a first look sends off per splash model, for all beams together."""
LEAST: Final = 5
"""Drops per beam, band and batch at least."""
CLASS_POWER: Final = 0.75
"""Light classes get more drops than their share of the water: more of them pass."""
UNSEEN: Final = 3.0
"""What was not met in n drops has a share of less than 3 / n with a confidence of 95 %."""
CHILDREN: Final = 6
"""First secondary drops of one impact."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A sampled value and the interval it lies in.

    ``low``, ``mean`` and ``high`` are in the same unit, that of what was sampled.
    """

    low: float
    mean: float
    high: float


class Sampler:
    """Batches of drops sent through one vent, kept per corner of the splash bracket and beam.

    ``drops`` are as many as a first look sends off per splash model, by default ``DROPS``, and
    ``least`` as many as a beam gets per band and batch at least, by default ``LEAST``.
    """

    def __init__(
        self, setup: Setup, came: Arrival, drops: int | None = None, least: int | None = None
    ) -> None:
        self.came = came
        self.flown = 0
        self._setup = setup
        share = came.class_share
        self._share = share
        beams, classes = share.shape
        self.corners = len(setup.models)
        asked = DROPS if drops is None else drops
        per_batch = max(
            LEAST if least is None else least, asked // (BATCHES * beams * came.stream.bands)
        )
        weight = share**CLASS_POWER
        weight = weight / np.maximum(weight.sum(axis=1), 1e-300)[:, None]
        self._heights: IntArray = np.maximum(np.rint(per_batch * weight), 1.0).astype(np.int64)
        every = range(self.corners)
        self._rng = [np.random.default_rng((setup.seed, c)) for c in every]
        self._passed: list[list[FloatArray]] = [
            [np.empty((0, came.stream.bands)) for _ in range(beams)] for _ in every
        ]
        self._trough: list[list[FloatArray]] = [[p.copy() for p in of] for of in self._passed]
        banks = setup.scene.section.stack.bank_count
        self._sums = np.zeros((self.corners, beams, classes, came.stream.bands, 5 + banks))

    @classmethod
    def begun(cls, setup: Setup, came: Arrival) -> Sampler:
        """Return a sampler that has sent the first batches of all beams under every splash.

        They are sent once, however often the same water is asked about: a search judges by them,
        and what it finds is judged again with more.
        """
        begun: Sampler | None = setup.kept.get(came.key)
        if begun is None:
            begun = cls(setup, came)
            for corner in range(begun.corners):
                begun.begin(corner)
        return begun._twin()

    def begin(self, corner: int) -> None:
        """Send the first batches of all beams under one splash.

        Each splash has chance of its own, so the order in which they begin does not count; once all
        have, this is what others go on from.
        """
        self.add(corner, np.arange(len(self.came.elevation_deg)), BATCHES)
        if all(self.batches(c, 0) for c in range(self.corners)):
            self._setup.kept[self.came.key] = self

    def _twin(self) -> Sampler:
        """Return another sampler that goes on from here."""
        twin = copy(self)
        twin._rng = deepcopy(self._rng)
        twin._passed = [list(beams) for beams in self._passed]
        twin._trough = [list(beams) for beams in self._trough]
        twin._sums = self._sums.copy()
        return twin

    def add(self, corner: int, beams: IntArray, batches: int) -> None:
        """Send further batches of some beams."""
        setup, share = self._setup, self._share[beams][None, :, :, None]
        found = spray(
            setup.scene,
            self.came.stream.only(beams),
            setup.models[corner],
            setup.drip(corner),
            self._heights[beams],
            batches,
            self._rng[corner],
        )
        self.flown += found.flown
        passed = (found.passed * share).sum(axis=2)
        trough = (found.trough * share).sum(axis=2)
        ways = np.stack(
            [
                found.passed_air,
                found.passed_direct,
                found.passed_drip,
                found.trough,
                found.returned,
            ],
            axis=-1,
        )
        self._sums[corner, beams] += np.concatenate([ways, found.caught_by_bank], axis=-1).sum(0)
        for i, k in enumerate(beams):
            self._passed[corner][k] = np.concatenate([self._passed[corner][k], passed[:, i]])
            self._trough[corner][k] = np.concatenate([self._trough[corner][k], trough[:, i]])

    def batches(self, corner: int, beam: int) -> int:
        """Return the number of batches sent of a beam."""
        return len(self._trough[corner][beam])

    def sent(self, corner: int, beam: int) -> int:
        """Return the number of drops sent of a beam, on each band."""
        return int(self._heights[beam].sum()) * self.batches(corner, beam)

    def passed(self, corner: int) -> FloatArray:
        """Return shares that pass per beam and band: low, mean and high, (3, beams, bands)."""
        return np.stack(
            [
                _interval(found, self._unseen(corner, k))
                for k, found in enumerate(self._passed[corner])
            ],
            axis=1,
        )

    def trough(self, corner: int) -> FloatArray:
        """Return shares that reach the trough per beam and band, as :meth:`passed` does."""
        return np.stack([_interval(found, 0.0) for found in self._trough[corner]], axis=1)

    def ways(self, corner: int, beam: int, band: int) -> FloatArray:
        """Return mean shares per class, (classes, ways), in the order of :class:`Spray`'s."""
        return np.asarray(self._sums[corner, beam, :, band] / self.batches(corner, beam))

    def _unseen(self, corner: int, beam: int) -> float:
        """Return the share that may pass on ways no drop has met."""
        sent = self._heights[beam] * self.batches(corner, beam)
        thrown = self._setup.models[corner].thrown
        return UNSEEN * float((self._share[beam] / sent).max()) * thrown / CHILDREN


def _interval(batches: FloatArray, least: float) -> FloatArray:
    """Return low, mean and high of the mean of batches, along the first axis."""
    n = len(batches)
    mean = batches.mean(axis=0)
    half = stdtrit(n - 1, CONFIDENCE) * batches.std(axis=0, ddof=1) / np.sqrt(n)
    half = np.maximum(half, least)
    return np.stack([np.maximum(mean - half, 0.0), mean, np.minimum(mean + half, 1.0)])
