"""What all exposures of a vent share under the same air and mounting."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.drainage import Trough, trough_of
from vent_family.evidence.water.frontage import Frontage, frontage
from vent_family.evidence.water.penetration import scene_of
from vent_family.evidence.water.splash import BRACKET
from vent_family.evidence.water.transport import Drip, DropScene, drip_matrix
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, eq=False)
class Setup:
    """A vent made ready for water: what it shows it, where it drains, where drops and drips go.

    ``drips`` has one cascade for each splash model of the bracket.
    """

    front: Frontage
    trough: Trough
    scene: DropScene
    drips: tuple[Drip, ...]


def setup_of(
    vent: VentSpec,
    face_velocity_m_s: float,
    tilt_deg: float,
    source: AirSource = potential_flow,
) -> Setup:
    """Return the setup of a vent at a face velocity and a lean; ``source`` gives the air field."""
    front = frontage(vent)
    trough = trough_of(vent.section, front.floor_width_mm, front.bays)
    scene = scene_of(vent.section, face_velocity_m_s, tilt_deg, source)
    return Setup(front, trough, scene, tuple(drip_matrix(scene, model) for model in BRACKET))
