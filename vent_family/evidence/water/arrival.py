"""How an exposure meets a vent: its beams, the strip it wets, its time on the vent."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.exposures import Beam, Exposure, beams, time_on_vent_s
from vent_family.evidence.water.frontage import Frontage

BANDS_MAX = 12
"""A jet is followed on at most this many bands of the vent's height."""


@dataclass(frozen=True, eq=False)
class Arrival:
    """Water at the outer plane.

    ``bands`` is how many spots of the water lie one above the other on the vent (one for water
    that comes everywhere), ``time_s`` how long it comes at the vent, ``concentration`` how much
    more than its share the worst bay gets.
    """

    beams: list[Beam]
    bands: int
    time_s: float
    concentration: float


def arrival(exposure: Exposure, front: Frontage, face_velocity_m_s: float) -> Arrival:
    """Return how an exposure meets a vent that draws in air at a face velocity."""
    wetted_mm = exposure.footprint_mm if exposure.kind == "nozzle" else math.inf
    bands = 1
    if wetted_mm < math.inf:
        bands = max(1, min(BANDS_MAX, int(front.height_mm // wetted_mm)))
    return Arrival(
        beams=beams(exposure, face_velocity_m_s),
        bands=bands,
        time_s=time_on_vent_s(exposure, front.face_m2),
        concentration=_concentration(wetted_mm, front),
    )


def rates_l_min(
    flux_l_min_m2: FloatArray, came: Arrival, exposure: Exposure, front: Frontage
) -> FloatArray:
    """Return the water through the open face per beam and class.

    ``flux_l_min_m2`` is the water through the outer plane per beam and class. A jet narrower than
    the vent spends itself on its spot, however large the vent is.
    """
    if exposure.kind != "nozzle":
        return flux_l_min_m2 * front.face_m2
    spot = math.pi * (exposure.footprint_mm * 1e-3) ** 2 / 4.0
    areas = [
        min(front.face_m2, spot / max(math.cos(math.radians(b.elevation_deg)), 0.05))
        for b in came.beams
    ]
    return np.asarray(flux_l_min_m2 * np.array(areas)[:, None])


def _concentration(wetted_mm: float, front: Frontage) -> float:
    """Return how much more than its share of the water the worst bay gets."""
    total = front.floor_width_mm
    if wetted_mm >= total:
        return 1.0
    # The jet wets a strip; the bay in its middle takes all of it, or its own width's part.
    in_bay = min(1.0, front.bay_mm / wetted_mm)
    return max(1.0, in_bay * front.bays)
