"""What becomes of the drops of an exposure: the worst direction and band, and where water goes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.arrival import Arrival, rates_l_min
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.penetration import Spray, spray
from vent_family.evidence.water.report import Penetration, Range
from vent_family.evidence.water.setup import Setup
from vent_family.evidence.water.splash import BRACKET


@dataclass(frozen=True, slots=True)
class Ways:
    """Where the water of the worst direction and band goes under the severe assumption, shares.

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

    ``elevation_deg`` and ``arriving_l_min`` are those of the worst direction, ``passed_share`` what
    passes of it and ``inflows_l_min`` the most that any direction sends into the trough, one for
    each splash model.
    """

    elevation_deg: float
    arriving_l_min: float
    passed_share: tuple[float, ...]
    inflows_l_min: tuple[float, ...]
    ways: Ways
    by_diameter: tuple[Penetration, ...]


def passing(setup: Setup, exposure: Exposure, came: Arrival, tilt_deg: float) -> Passing:
    """Return what becomes of the drops of an exposure; ``tilt_deg`` is the lean of the vent."""
    sprays = [
        spray(setup.scene, came.beams, tilt_deg, model, came.bands, drip)
        for model, drip in zip(BRACKET, setup.drips, strict=True)
    ]
    severe = sprays[-1]
    rates = rates_l_min(severe.flux_l_min_m2, came, exposure, setup.front)
    total = rates.sum(axis=1)
    share = rates / np.maximum(total, 1e-300)[:, None]

    def per_beam(values: FloatArray) -> FloatArray:
        """Weigh classes by their share; a jet may stay on the worst band of the height."""
        return np.asarray((values * share[:, :, None]).sum(axis=1))

    passed = [per_beam(s.passed) for s in sprays]
    k = int(np.argmax(passed[-1].max(axis=1) * total))
    band = int(np.argmax(passed[-1][k]))
    classes = came.beams[k].diameter_mm
    return Passing(
        elevation_deg=came.beams[k].elevation_deg,
        arriving_l_min=float(total[k]),
        passed_share=tuple(float(p[k, band]) for p in passed),
        # Drainage has its own worst direction: where most water ends in the trough.
        inflows_l_min=tuple(float((per_beam(s.trough) * total[:, None]).max()) for s in sprays),
        ways=_ways(severe, share, k, band),
        by_diameter=tuple(
            Penetration(
                float(classes[c]),
                float(share[k, c]),
                Range.of([float(s.passed[k, c, band]) for s in sprays]),
            )
            for c in range(classes.size)
        ),
    )


def _ways(s: Spray, share: FloatArray, k: int, band: int) -> Ways:
    """Return class-weighted shares of one beam and band."""

    def mean(values: FloatArray) -> float:
        return float((values[k, :, band] * share[k]).sum())

    banks = (s.caught_by_bank[k, :, band, :] * share[k][:, None]).sum(axis=0)
    return Ways(
        air_share=mean(s.passed_air),
        direct_share=mean(s.passed_direct),
        drip_share=mean(s.passed_drip),
        trough_share=mean(s.trough),
        returned_share=mean(s.returned),
        bank_share=tuple(float(x) for x in banks),
    )
