"""What all exposures of a vent share under the same air and mounting."""

from __future__ import annotations

import zlib
from collections.abc import Hashable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.drainage import Trough, trough_of
from vent_family.evidence.water.frontage import Frontage, frontage
from vent_family.evidence.water.house import TOLERANCE
from vent_family.evidence.water.posture.basin import Basin, basin_of
from vent_family.evidence.water.posture.film import RibWays, rib_ways
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.scene import mounted_scene
from vent_family.evidence.water.splash import SplashModel, bracket
from vent_family.evidence.water.transport import Drip, DropScene, drip_matrix
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, eq=False)
class Setup:
    """A vent made ready for water: what it shows it, where it drains, where drops and drips go.

    ``models`` are the corners of the splash bracket. ``seed`` is what samples are drawn with.
    ``face_velocity_m_s`` is that of the air drawn in, whose field ``source`` gives. What takes
    longer is made when it is first asked for.
    """

    vent: VentSpec
    posture: Posture
    face_velocity_m_s: float
    front: Frontage
    trough: Trough
    models: tuple[SplashModel, ...]
    source: AirSource
    seed: int

    @cached_property
    def kept(self) -> dict[Hashable, Any]:
        """What has been found out about some water here, for those who ask about it again."""
        return {}

    @cached_property
    def basin(self) -> Basin:
        """Where its water stands in any mounting."""
        return basin_of(self.vent)

    @cached_property
    def scene(self) -> DropScene:
        """What drops fly in."""
        return mounted_scene(self.vent, self.face_velocity_m_s, self.posture, self.source)

    def drip(self, corner: int) -> Drip:
        """Return the dripping cascade of a corner of the splash bracket."""
        if corner not in self._drips:
            self._drips[corner] = drip_matrix(self.scene, self.models[corner])
        return self._drips[corner]

    @cached_property
    def _drips(self) -> dict[int, Drip]:
        return {}

    @cached_property
    def ribs(self) -> RibWays:
        """What becomes of films on ribs and side walls."""
        return rib_ways(self.vent, self.posture, self.face_velocity_m_s)

    @cached_property
    def ribs_out_of_true(self) -> RibWays:
        """The same at the end of the mounting's tolerance."""
        posture = self.posture.more(TOLERANCE.now)
        return rib_ways(self.vent, posture, self.face_velocity_m_s)


def setup_of(
    vent: VentSpec,
    face_velocity_m_s: float,
    posture: Posture,
    source: AirSource = potential_flow,
    *,
    seed: int | None = None,
) -> Setup:
    """Return the setup of a vent at a face velocity in a mounting.

    ``source`` gives the air field.

    ``seed`` is by default a number that follows from the section alone, so that the same vent gets
    the same answer on any day, in any order and in any process.
    """
    front = frontage(vent)
    trough = trough_of(vent.section, front.floor_width_mm, front.bays)
    return Setup(
        vent=vent,
        posture=posture,
        face_velocity_m_s=face_velocity_m_s,
        front=front,
        trough=trough,
        models=bracket(),
        source=source,
        seed=_seed(vent.section) if seed is None else seed,
    )


def _seed(section: Section) -> int:
    """Return a number that follows from the slats, a thousandth of a millimetre apart."""
    corners = np.array([p for s in section.slats for p in s.outline]).round(3) + 0.0
    return zlib.crc32(np.rint(1e3 * corners).astype("<i8").tobytes())
