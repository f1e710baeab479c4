"""How an exposure meets a vent: its streams, the strip it wets, its time on the vent."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.exposures import Exposure, beams, time_on_vent_s
from vent_family.evidence.water.frontage import Frontage
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.spray import Stream, stream

BANDS_MAX: Final = 12
"""A jet is followed on at most this many bands of the vent's height."""


@dataclass(frozen=True, eq=False)
class Arrival:
    """Water at the outer plane.

    ``elevation_deg`` has one entry per beam, ``rate_l_min`` (beams, classes) is the water through
    the open face. ``time_s`` is how long it comes at the vent, ``concentration`` how much more than
    its share the worst bay gets.
    """

    elevation_deg: tuple[float, ...]
    stream: Stream
    rate_l_min: FloatArray
    time_s: float
    concentration: float

    @property
    def key(self) -> tuple[bytes | int, ...]:
        """What tells this water from any other that comes at the same vent."""
        flow = self.stream
        arrays = (flow.diameter_mm, flow.w_m_s, flow.v_m_s, flow.u_m_s, self.rate_l_min)
        return (flow.bands, *(array.tobytes() for array in arrays))

    @property
    def total_l_min(self) -> FloatArray:
        """Water through the open face per beam."""
        return np.asarray(self.rate_l_min.sum(axis=1))

    @property
    def class_share(self) -> FloatArray:
        """Shares of the drop classes in each beam, (beams, classes)."""
        return self.rate_l_min / np.maximum(self.total_l_min, 1e-300)[:, None]


def arrival(
    exposure: Exposure,
    front: Frontage,
    face_velocity_m_s: float,
    posture: Posture,
    cabinet_m2: float,
) -> Arrival:
    """Return how an exposure meets a vent.

    Parameters
    ----------
    exposure, front
        the water and the vent's open face
    face_velocity_m_s
        air that the vent draws in, m/s
    posture
        its mounting
    cabinet_m2
        outer surface of the cabinet it sits in, m2
    """
    wetted_mm = exposure.footprint_mm if exposure.kind == "nozzle" else math.inf
    bands = 1
    if wetted_mm < math.inf:
        bands = max(1, min(BANDS_MAX, int(front.height_mm // wetted_mm)))
    came = beams(exposure, face_velocity_m_s)
    elevations = tuple(b.elevation_deg for b in came)
    flow = stream(came, posture, bands)
    return Arrival(
        elevation_deg=elevations,
        stream=flow,
        rate_l_min=flow.flux_l_min_m2 * _open_m2(exposure, front, elevations)[:, None],
        time_s=time_on_vent_s(exposure, front, cabinet_m2),
        concentration=_concentration(wetted_mm, front),
    )


def _open_m2(exposure: Exposure, front: Frontage, elevations: tuple[float, ...]) -> FloatArray:
    """Return the open face that each beam wets.

    A jet narrower than the vent spends itself on its spot, however large the vent is.
    """
    if exposure.kind != "nozzle":
        return np.full(len(elevations), front.face_m2)
    spot = math.pi * (exposure.footprint_mm * 1e-3) ** 2 / 4.0
    cosines = np.cos(np.radians(elevations))
    return np.asarray(np.minimum(front.face_m2, spot / np.maximum(cosines, 0.05)))


def _concentration(wetted_mm: float, front: Frontage) -> float:
    """Return how much more than its share of the water the worst bay gets."""
    total = front.floor_width_mm
    if wetted_mm >= total:
        return 1.0
    # The jet wets a strip; the bay in its middle takes all of it, or its own width's part.
    in_bay = min(1.0, front.bay_mm / wetted_mm)
    return max(1.0, in_bay * front.bays)
