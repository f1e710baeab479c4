"""A fully resolved vent: every dimension of one part, frozen, with nothing left to default.

Datum: outer panel face at z = 0, +z outwards, +y up, origin on the opening's centre; mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from vent_family.base.materials import Material
from vent_family.catalog.model import CatalogRow
from vent_family.spec.section import Section
from vent_family.spec.thread.iso import ThreadSpec

Orientation = Literal["face_down", "upright"]


@dataclass(frozen=True, slots=True)
class Hole:
    """A screw hole through cover or flange, axis along z; centre (x, y) and diameter in mm."""

    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class SnapArms:
    """Two spring arms, left and right, over the whole height of the body; lengths in mm."""

    thickness_mm: float
    slot_mm: float
    root_mm: float
    hook_mm: float
    free_end_z_mm: float


@dataclass(frozen=True, slots=True)
class KeyRidge:
    """A ridge below the body that needs a notch in the opening's lower edge; lengths in mm."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class GasketSpec:
    """A flat gasket: a ring (each size its diameter, twice) or a rectangular frame, mm."""

    is_ring: bool
    inner_mm: tuple[float, float]
    outer_mm: tuple[float, float]
    thickness_mm: float
    recess_mm: float


@dataclass(frozen=True, slots=True)
class BlockBody:
    """Body of a rectangular or flanged vent.

    ``cover_mm`` holds the reach of lip or flange from the origin to left, right, bottom and top.
    """

    opening_mm: tuple[float, float]
    body_mm: tuple[float, float]
    cavity_half_width_mm: float
    wall_mm: float
    cover_mm: tuple[float, float, float, float]
    cover_thickness_mm: float
    inner_z_mm: float
    holes: tuple[Hole, ...]
    teardrop_holes: bool
    snap: SnapArms | None
    key: KeyRidge | None
    gasket: GasketSpec | None


@dataclass(frozen=True, slots=True)
class RoundBody:
    """Body of a round vent with a threaded neck.

    The head is a cylinder in front, narrowed by a 45 degree cone to the shoulder that sits on the
    panel; ``cone_z_mm`` is where the outer cone begins and ends, ``throat_z_mm`` where the inner
    cone meets the bore.
    """

    head_radius_mm: float
    inner_radius_mm: float
    wall_mm: float
    flat_depth_mm: float
    shoulder_radius_mm: float
    cone_z_mm: tuple[float, float]
    throat_z_mm: float
    bore_radius_mm: float
    neck_length_mm: float
    thread: ThreadSpec
    true_thread: bool
    gasket: GasketSpec


@dataclass(frozen=True, slots=True)
class Mark:
    """The arrow and TOP mark on the outer face: lower middle point, letter height, sense."""

    x_mm: float
    y_mm: float
    height_mm: float
    depth_mm: float
    raised: bool


@dataclass(frozen=True, slots=True)
class Opening:
    """What to cut into the panel.

    ``kind`` is ``rectangle`` or ``circle``; ``size_mm`` its width and height (the diameter twice
    for a circle); ``notch_mm`` width and depth of the key notch at the lower edge; ``holes`` the
    screw holes.
    """

    kind: Literal["rectangle", "circle"]
    size_mm: tuple[float, float]
    notch_mm: tuple[float, float] | None
    holes: tuple[Hole, ...]

    @property
    def area_mm2(self) -> float:
        """Area of the main opening without notch and screw holes."""
        if self.kind == "circle":
            return math.pi * self.size_mm[0] ** 2 / 4
        return self.size_mm[0] * self.size_mm[1]

    def text(self) -> str:
        """Return the opening in words, for people and for metadata."""
        if self.kind == "circle":
            return f"round hole, diameter {self.size_mm[0]:g} mm"
        words = f"rectangle {self.size_mm[0]:g} x {self.size_mm[1]:g} mm"
        if self.notch_mm:
            words += (
                f", notch {self.notch_mm[0]:g} x {self.notch_mm[1]:g} mm"
                " in the middle of the lower edge"
            )
        if self.holes:
            words += f", {len(self.holes)} holes of diameter {self.holes[0].diameter_mm:g} mm"
        return words


@dataclass(frozen=True)
class VentSpec:
    """Everything that defines one part."""

    row: CatalogRow
    revision: str
    description: str
    colour: str
    material: Material
    print_orientation: Orientation
    stl_orientation: Literal["print", "use"]
    section: Section
    bays: tuple[tuple[float, float], ...]
    rib_thickness_mm: float
    panel_thickness_mm: float
    body: BlockBody | RoundBody
    mark: Mark
    opening: Opening

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
