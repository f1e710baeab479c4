"""A fully resolved vent: every dimension of one part, frozen, with nothing left to default.

Datum: outer panel face at z = 0, +z outwards, +y up, origin on the opening's centre; mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vent_family.base.materials import Material
from vent_family.catalog.attached import NOTHING_ATTACHED, Attached
from vent_family.catalog.model import CatalogRow, Orientation, StlOrientation
from vent_family.spec.body import Body, Mark, Opening
from vent_family.spec.fan_mount import FanDuct
from vent_family.spec.label import Label
from vent_family.spec.section import Section

DATUM: Final = (
    "outer panel face at Z = 0, +Z outwards, +Y up, drain towards -Y,"
    " origin on the opening's centre"
)
"""Where the origin of every part lies, in words."""


@dataclass(frozen=True)
class VentSpec:
    """Everything that defines one part.

    ``bays`` are the clear x ranges between ribs, mm; ``label`` is what is marked inside;
    ``attached`` is what the row names outside itself.
    """

    row: CatalogRow
    revision: str
    description: str
    colour: str
    material: Material
    print_orientation: Orientation
    stl_orientation: StlOrientation
    section: Section
    bays: tuple[tuple[float, float], ...]
    rib_thickness_mm: float
    panel_thickness_mm: float
    body: Body
    mark: Mark
    label: Label
    attached: Attached = NOTHING_ATTACHED

    @property
    def opening(self) -> Opening:
        """What to cut into the panel."""
        return self.body.opening

    @property
    def fan_duct(self) -> FanDuct | None:
        """The duct to a fan behind the vent, if there is one."""
        mount = self.body.fan_mount
        return None if mount is None else mount.duct(self.section)

    @property
    def in_front_mm(self) -> float:
        """How far the vent stands out from the wall's outer face."""
        return self.section.front_z_mm

    @property
    def behind_mm(self) -> float:
        """How far it reaches behind that face: block or neck, duct of a fan, screen."""
        duct, screen = self.fan_duct, self.body.screen
        ends = [self.section.inner_z_mm]
        ends += [] if duct is None else [duct.end_z_mm]
        ends += [] if screen is None else [screen.back_z_mm]
        return -min(ends)

    @property
    def part_number(self) -> str:
        """The part number."""
        return self.row.part_number

    @property
    def family(self) -> str:
        """The part family."""
        return self.row.family

    @property
    def rib_count(self) -> int:
        """Number of ribs between the bays."""
        return len(self.bays) - 1

    @property
    def longest_bridge_mm(self) -> float:
        """Widest bay, the span a slat bridges when printed."""
        return max(b - a for a, b in self.bays)
