"""What drives the air through a vent: a fan with its openings, a face velocity, or a default."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from vent_family.catalog.model import OtherOpenings
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import Place
from vent_family.evidence.air.resistance import MM2, Direction, VentAir
from vent_family.evidence.air.state import AirState
from vent_family.evidence.air.summary import RATED_PA
from vent_family.evidence.air.wind import OPENINGS_DEFAULT

Source = Literal["fan", "face velocity", "default"]
DEFAULT_PA: Final = RATED_PA
"""Pressure drop over the vent where a row states neither fan nor face velocity: the one for which
the air record states K. An axial fan of 92 mm with 52 Pa at shut-off leaves about half of that over
each of two small vents, and less over large ones (worked out with the fan curves of the package)."""


@dataclass(frozen=True)
class Drive:
    """What drives the air through a vent.

    Parameters
    ----------
    face_velocity_m_s
        flow over the open face in calm air, m/s, zero or more; ``None`` where it is not known
    fan
        what moves the air, through all vents of a kind together; ``None`` where it is not known
    place
        whether the fan moves outside air in or inside air out
    direction
        whether the vent draws air in or lets it out while the fan runs
    vents
        how many vents of this kind stand side by side; as many stand opposite
    opposite
        the vents on the other side, ``None`` for the same kind
    extra_pa
        what lowers the pressure over the pool besides, Pa: it acts on the pool in full and moves no
        air that is counted
    openings
        how the vents opposite lie to the wind
    openings_stated
        whether the row says so
    """

    face_velocity_m_s: float | None = None
    fan: FanCurve | None = None
    place: Place = "intake"
    direction: Direction = "in"
    vents: int = 1
    opposite: VentAir | None = None
    extra_pa: float = 0.0
    openings: OtherOpenings = OPENINGS_DEFAULT
    openings_stated: bool = False

    @property
    def source(self) -> Source:
        """Where the flow comes from."""
        if self.fan is not None:
            return "fan"
        return "default" if self.face_velocity_m_s is None else "face velocity"

    @property
    def moves_air(self) -> bool:
        """Whether air moves on a calm day."""
        return self.face_velocity_m_s != 0.0

    def calm_flow_m3_s(self, vent: VentAir, air: AirState) -> float:
        """Return the flow through a vent on a calm day, m3/s into the cabinet, without a fan curve.

        Where nothing is known it is what :data:`DEFAULT_PA` over the vent drive.
        """
        if self.face_velocity_m_s is None:
            flow = float(vent.flow(DEFAULT_PA, air, self.direction).flow_m3_s[0])
        else:
            flow = self.face_velocity_m_s * vent.open_face_mm2 * MM2
        return flow if self.direction == "in" else -flow
