"""What all exposures of a vent share under the same air and mounting."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np

from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.drainage import Trough, trough_of
from vent_family.evidence.water.frontage import Frontage, frontage
from vent_family.evidence.water.penetration import scene_of
from vent_family.evidence.water.splash import SplashModel, bracket
from vent_family.evidence.water.transport import Drip, DropScene, drip_matrix
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, eq=False)
class Setup:
    """A vent made ready for water: what it shows it, where it drains, where drops and drips go.

    ``models`` are the corners of the splash bracket, ``drips`` has a cascade for each. ``seed`` is
    what samples are drawn with.
    """

    front: Frontage
    trough: Trough
    scene: DropScene
    models: tuple[SplashModel, ...]
    drips: tuple[Drip, ...]
    seed: int


def setup_of(
    vent: VentSpec,
    face_velocity_m_s: float,
    tilt_deg: float,
    source: AirSource = potential_flow,
    *,
    seed: int | None = None,
) -> Setup:
    """Return the setup of a vent at a face velocity and a lean; ``source`` gives the air field.

    ``seed`` is by default a number that follows from the section alone, so that the same vent gets
    the same answer on any day, in any order and in any process.
    """
    front = frontage(vent)
    trough = trough_of(vent.section, front.floor_width_mm, front.bays)
    scene = scene_of(vent.section, face_velocity_m_s, tilt_deg, source)
    models = bracket()
    drips = tuple(drip_matrix(scene, model) for model in models)
    return Setup(front, trough, scene, models, drips, _seed(vent.section) if seed is None else seed)


def _seed(section: Section) -> int:
    """Return a number that follows from the slats, a thousandth of a millimetre apart."""
    corners = np.array([p for s in section.slats for p in s.outline]).round(3) + 0.0
    return zlib.crc32(np.rint(1e3 * corners).astype("<i8").tobytes())
