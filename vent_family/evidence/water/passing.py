"""What becomes of the drops of an exposure: the worst direction and band, and where water goes.

Drops are sent off in batches until the verdict no longer hangs on chance: what passes, and what
runs into the trough, is on one side of its limit with the whole interval it lies in. Only the
splash assumptions and directions that decide get more batches; a budget ends it.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import WATER_FAILS_ML, WATER_HOLDS_ML, WATER_SHARE_MAX
from vent_family.evidence.water.arrival import Arrival
from vent_family.evidence.water.report import Penetration, Range
from vent_family.evidence.water.sampling import Interval, Sampler
from vent_family.evidence.water.setup import Setup

FLIGHTS_MAX: Final = 120_000
"""No further batch is begun after this many flights."""
GROWTH: Final = 1
"""Batches sent on top, over those there are."""
SURE: Final = 1000
"""The worst direction gets at least this many drops under the worst splash."""

Places = set[tuple[int, int]]
"""Splash corners and beams."""


@dataclass(frozen=True, slots=True)
class Ways:
    """Where the water of the worst direction and band goes under the worst splash, shares.

    ``air_share`` is what passes in the air, ``direct_share`` the part of it that touched nothing.
    """

    air_share: float
    direct_share: float
    drip_share: float
    trough_share: float
    returned_share: float
    bank_share: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Passing:
    """Drops of one exposure.

    ``elevation_deg`` and ``arriving_l_min`` are those of the worst direction; ``least_share`` and
    ``most_share`` what passes of it under the mildest and the worst splash, ``least_l_min`` and
    ``most_l_min`` the most that any direction sends into the trough under either. ``splash`` names
    the worst splash, ``flown`` is the number of flights it took.
    """

    elevation_deg: float
    arriving_l_min: float
    least_share: Interval
    most_share: Interval
    least_l_min: Interval
    most_l_min: Interval
    splash: str
    flown: int
    ways: Ways
    by_diameter: tuple[Penetration, ...]


def passing(
    setup: Setup,
    came: Arrival,
    pool: Callable[[float], Hashable],
    flights: int = FLIGHTS_MAX,
) -> Passing:
    """Return what becomes of the drops of an exposure.

    ``pool`` tells what an inflow into the trough, L/min, does to the verdict: ``None`` where it
    fails by it, whatever the drops do. No further batch is begun after so many ``flights``.
    """
    sampler = Sampler.begun(setup, came)
    while sampler.flown < flights:
        look = _Look(sampler, came)
        open_ = look.open_trough(pool)
        if not open_ and pool(look.inflow.low) is not None:
            open_ = look.open_drops()
        open_ = open_ or look.too_few()
        if not open_:
            break
        for corner in range(sampler.corners):
            for n in sorted({sampler.batches(corner, k) for c, k in open_ if c == corner}):
                beams = [k for c, k in open_ if c == corner and sampler.batches(corner, k) == n]
                sampler.add(corner, np.array(sorted(beams)), GROWTH * n)
    return _Look(sampler, came).passing(setup)


def looked(setup: Setup, sampler: Sampler) -> Passing:
    """Return what the batches that a sampler has sent say of an exposure's drops."""
    return _Look(sampler, sampler.came).passing(setup)


class _Look:
    """What the batches sent so far say."""

    def __init__(self, sampler: Sampler, came: Arrival) -> None:
        self._sampler = sampler
        self._came = came
        self._total = came.total_l_min
        corners = range(sampler.corners)
        rate = self._total[None, None, :, None]
        # Both (corners, low-mean-high, beams, bands).
        self._share = np.stack([sampler.passed(c) for c in corners])
        self._rate = self._share * rate
        self._trough = np.stack([sampler.trough(c) for c in corners]) * rate
        mean = self._rate[:, 1]
        self.corner, self.beam, self.band = (
            int(i) for i in np.unravel_index(int(np.argmax(mean)), mean.shape)
        )
        self.mildest = int(np.argmin(self._share[:, 1, self.beam, self.band]))
        self.inflow = _largest(self._trough)

    def open_trough(self, pool: Callable[[float], Hashable]) -> Places:
        """Return splash corners and beams that may still change what the trough does."""
        if pool(self.inflow.low) == pool(self.inflow.high):
            return set()
        return _in_doubt(self._trough, self.inflow.low)

    def open_drops(self) -> Places:
        """Return splash corners and beams that may still change what passing drops do."""
        most = _largest(self._rate)
        holds = self._limit_l_min(WATER_HOLDS_ML.value)
        if most.low <= holds < most.high:
            return _in_doubt(self._rate, holds)
        if most.high <= holds:
            return set()
        fails = self._limit_l_min(WATER_FAILS_ML.value)
        here = self._rate[:, :, self.beam, self.band]
        if here[:, 0].min() <= fails < here[:, 2].min():
            return {(int(c), self.beam) for c in np.flatnonzero(here[:, 0] <= fails)}
        return set()

    def too_few(self) -> Places:
        """Return the worst splash corner and beam while chance may have picked it."""
        few = self._sampler.sent(self.corner, self.beam) < SURE
        return {(self.corner, self.beam)} if few else set()

    def passing(self, setup: Setup) -> Passing:
        """Return the result."""
        k, band = self.beam, self.band
        here = self._share[:, :, k, band]
        most = _largest(self._rate)
        arriving = float(self._total[k])
        of = self._sampler.ways(self.corner, k, band)
        mild = self._sampler.ways(self.mildest, k, band)
        share = self._came.class_share[k]
        air, direct, drip, trough, returned, *banks = (of * share[:, None]).sum(axis=0)
        lowest, highest = here.min(axis=0), float(here[self.corner, 1])
        return Passing(
            elevation_deg=self._came.elevation_deg[k],
            arriving_l_min=arriving,
            least_share=Interval(*(float(x) for x in lowest)),
            most_share=Interval(
                min(highest, most.low / max(arriving, 1e-300)),
                highest,
                min(max(highest, most.high / max(arriving, 1e-300)), 1.0),
            ),
            least_l_min=_smallest(self._trough),
            most_l_min=self.inflow,
            splash=setup.models[self.corner].name,
            flown=self._sampler.flown,
            ways=Ways(air, direct, drip, trough, returned, tuple(float(b) for b in banks)),
            by_diameter=tuple(
                Penetration(
                    float(diameter),
                    float(part),
                    Range.of([float(m[0] + m[2]), float(w[0] + w[2])]),
                )
                for diameter, part, m, w in zip(
                    self._came.stream.diameter_mm[k], share, mild, of, strict=True
                )
            ),
        )

    def _limit_l_min(self, millilitres: float) -> float:
        """Return the rate that passes at a limit, by share or volume, of the worst direction."""
        total = float(self._total[self.beam])
        return min(WATER_SHARE_MAX.value * total, millilitres * 60.0 / (1000.0 * self._came.time_s))


def _largest(values: FloatArray) -> Interval:
    """Return the interval of the largest of many (corners, low-mean-high, beams, bands)."""
    return Interval(*(float(values[:, i].max()) for i in range(3)))


def _smallest(values: FloatArray) -> Interval:
    """Return the interval of the mildest splash's largest."""
    most = values.max(axis=(2, 3))
    return Interval(*(float(x) for x in most.min(axis=0)))


def _in_doubt(values: FloatArray, limit: float) -> Places:
    """Return splash corners and beams to follow further, so that a limit is cleared or missed.

    One that certainly lies beyond the limit settles it, so the largest goes first.
    """
    mean = values[:, 1].max(axis=2)
    c, k = np.unravel_index(int(np.argmax(mean)), mean.shape)
    if mean[c, k] > limit:
        return {(int(c), int(k))}
    return {(int(c), int(k)) for c, k, _ in np.argwhere(values[:, 2] > limit)}
