"""What rectangular and flanged vents share: a block pushed through a square-cut opening.

The block hangs on a cover in front of the panel: the rectangular vent's lip (``rectangular.py``),
with screws or snap arms, or the flanged vent's flange (``flanged.py``), with a gasket and a ring of
screws.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import replace
from types import MappingProxyType
from typing import ClassVar, Final, Generic, TypeVar

from vent_family.base.limits import (
    BAY_MIN,
    FIT_CLEARANCE,
    GAP_MIN,
)
from vent_family.catalog.columns import COLUMNS, decimal
from vent_family.catalog.model import (
    FanMountSize,
    LocatingKey,
    Screw,
    ScrewFit,
    SizeKind,
)
from vent_family.spec import defaults
from vent_family.spec.body import Body, SnapArms
from vent_family.spec.bounds import Bounds
from vent_family.spec.changes import Change, on_step
from vent_family.spec.families.block_body import BlockBody, KeyRidge
from vent_family.spec.families.block_cover import (
    BlockCover,
    collar_plate,
    sealed_cover,
)
from vent_family.spec.families.common import (
    bays,
    opening_size,
    own_columns,
    own_row,
    spaced,
)
from vent_family.spec.families.sheltered import ShelteredRow
from vent_family.spec.fan_mount import BEVEL_MM, FRAMES, FanMount
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.screen_rules import screen_behind_fan, sliding, woven_mesh
from vent_family.spec.section import Section
from vent_family.spec.shelter import Shelter
from vent_family.spec.stack import Stack


class BlockRow(ShelteredRow):
    """What both kinds of block have."""

    corner_radius_mm: float | None
    """Blank: the family's usual one, as far as the cover has room for it."""
    locating_key: LocatingKey
    screw: Screw
    screw_fit: ScrewFit
    fan_mount: FanMountSize | None
    """Blank: none."""
    screen_mm: float | None
    """Blank: no screen."""
    screen_wire_mm: float | None
    """Blank: the wire of a usual mesh."""


BLOCK_DEFAULTS: Final = MappingProxyType(
    {
        "banks_outside": 0,
        "wall_mm": 2.0,
        "locating_key": "none",
        "screw": "M4",
        "screw_fit": "medium",
    }
)
"""What a blank cell means in either family."""
SEALED_COVER_MM: Final = 4.0
"""Thickness of a cover with a gasket under it: over the recess 3 mm bend too far between screws."""


def _lower_sill(row: FilledRow, over_mm: float, size: tuple[float, float]) -> list[Change]:
    """Return a sill lower, or an opening higher, by what it stands too high (mm)."""
    higher = f"{decimal(size[0])}x{decimal(float(math.ceil(size[1] + over_mm)))}"
    if row.sill_height_mm is None:
        return [{"size": higher}]
    low = on_step(COLUMNS["sill_height_mm"], row.sill_height_mm - over_mm, upwards=False)
    return [{"sill_height_mm": low}, {"sill_height_mm": None}, {"size": higher}]


def _drop_mm(row: FilledRow) -> float:
    """Return how much lower than its opening a block hangs in use, mm.

    Printed upright, it goes through the opening lifted.
    """
    upright = row.print_orientation == "upright"
    return defaults.LEG_MM + FIT_CLEARANCE.value if upright else 0.0


BlockRowT = TypeVar("BlockRowT", bound=BlockRow)


class Blocks(ABC, Generic[BlockRowT]):
    """What both families of blocks share; they differ in their cover and what holds them."""

    name: ClassVar[str]
    size: ClassVar[SizeKind] = "opening"
    opening: ClassVar[str] = "rectangle"
    body: ClassVar[type[BlockBody]] = BlockBody
    _kind: type[BlockRowT]
    _cover_column: ClassVar[str]
    _corner_mm: ClassVar[float]
    """Radius of the cover's corners where the row's cell is blank."""

    @property
    def columns(self) -> frozenset[str]:
        """The columns that not every family has."""
        return own_columns(self._kind)

    def place_ribs(
        self, row: FilledRow, refusals: Refusals, body: Body, section: Section
    ) -> tuple[Body, tuple[tuple[float, float], ...]]:
        """Return the body as it is, and the clear x range of every bay, mm, all alike."""
        return body, bays(row, refusals, body.half_width_mm, section.stack)

    def bounds(self, row: FilledRow, stack: Stack) -> Bounds:
        """Return the bounds alone."""
        own = own_row(row, self._kind)
        height = float(row.size.split("x")[1])
        front, slot = self._cover_thickness_mm(own), row.drain_height_mm
        plate = row.wall_mm if own.plate_mm is None else own.plate_mm
        body_h = height - 2 * FIT_CLEARANCE.value
        ceiling = body_h / 2 - _drop_mm(row) - plate
        depth = (
            defaults.FRONT_MARGIN_MM
            + stack.depth_mm
            + defaults.INNER_MARGIN_MM
            + defaults.SILL_THICKNESS_MM
        )
        inner_z = front - depth
        foot_z = inner_z + defaults.SILL_THICKNESS_MM
        floor_front = -body_h / 2 + plate
        floor_foot = floor_front + (front - foot_z) * math.tan(math.radians(row.floor_slope_deg))
        shelter = None
        if own.banks_outside:
            shelter = Shelter.of(
                stack,
                own.banks_outside,
                stack_front_mm=front - defaults.FRONT_MARGIN_MM,
                front_z_mm=front,
                floor_front_mm=floor_front,
                slope_deg=row.floor_slope_deg,
                slot_mm=slot,
                apron_thickness_mm=defaults.APRON_THICKNESS_MM,
            )
            floor_foot = shelter.floor_mm(foot_z)
        return Bounds(
            front_z_mm=front,
            front_margin_mm=defaults.FRONT_MARGIN_MM,
            floor_front_mm=floor_front,
            slope_deg=row.floor_slope_deg,
            drain_height_mm=slot,
            apron_thickness_mm=defaults.APRON_THICKNESS_MM,
            ceiling_max_mm=ceiling,
            ceiling_min_mm=ceiling - stack.pitch_mm,
            inner_z_mm=inner_z,
            foot_z_mm=foot_z,
            sill_top_mm=floor_foot + (row.sill_height_mm or slot + defaults.SILL_OVER_DRAIN_MM),
            shelter=shelter,
        )

    def lay_out(self, row: FilledRow, refusals: Refusals, stack: Stack) -> tuple[BlockBody, Bounds]:
        """Return body and bounds."""
        own = own_row(row, self._kind)
        size = opening_size(row, refusals)
        bounds = self.bounds(row, stack)
        wall, front, inner_z = row.wall_mm, bounds.front_z_mm, bounds.inner_z_mm
        plate = wall if own.plate_mm is None else own.plate_mm
        body_w, body_h = (side - 2 * FIT_CLEARANCE.value for side in size)
        upright, drop = row.print_orientation == "upright", _drop_mm(row)
        snap = self._snap(own, refusals, inner_z)
        half = body_w / 2 - wall
        if snap is not None:
            half -= snap.thickness_mm + snap.slot_mm
        over = bounds.sill_top_mm - (bounds.ceiling_max_mm - 2 * GAP_MIN.value)
        if over > 0.0:
            refusals.refuse(
                "cavity.sill.high",
                "sill_height_mm",
                "the sill closes the inner side of the cavity",
                guesses=_lower_sill(row, over, size),
                columns=("sill_height_mm", "floor_slope_deg", "drain_height_mm", "size"),
                lack=over,
            )
        if half < BAY_MIN.value / 2:
            refusals.refuse(
                "cavity.width.none",
                "wall_mm",
                "the walls leave no cavity",
                columns=("wall_mm", "size", "fixing"),
                lack=BAY_MIN.value / 2 - half,
            )
        seat_z = -(row.panel_thickness_mm + FIT_CLEARANCE.value)
        if upright and seat_z - inner_z < defaults.HEEL_MIN_MM:
            short = defaults.HEEL_MIN_MM - (seat_z - inner_z)
            refusals.refuse(
                "printing.heel.short",
                "panel_thickness_mm",
                f"a panel of {row.panel_thickness_mm:g} mm leaves too little of the vent behind it"
                " to stand on when printed upright",
                guesses=({"print_orientation": "face_down"},),
                columns=("panel_thickness_mm", "bank_gaps_mm", "bank_count", "overlap_mm"),
                lack=short,
            )
        cover = self._cover(own, refusals, size)
        mesh = woven_mesh(own.screen_mm, own.screen_wire_mm, refusals)
        if own.fan_mount is not None:
            screen_behind_fan(mesh, refusals)
        screen = sliding(mesh, (body_w, body_h), inner_z, spaced(row, half, stack), refusals)
        corner = cover.corner_mm(own.corner_radius_mm, self._corner_mm, refusals)
        most = defaults.BODY_CORNER_MM if own.fan_mount is None else BEVEL_MM
        most = most if screen is None else defaults.RAIL_CORNER_MM
        collar = collar_plate((body_w / 2, body_h / 2), drop, min(wall, plate), snap, most)
        left, right, below, above = collar.reach_mm
        collar_z = max(-row.panel_thickness_mm - defaults.COLLAR_MM, inner_z + 1.0)
        body = BlockBody(
            opening_mm=size,
            half_width_mm=half,
            wall_mm=wall,
            plate_mm=plate,
            cover_plate=cover.plate(corner),
            cover_column=self._cover_column,
            cover_thickness_mm=front,
            drip_mm=cover.drip_mm(front),
            collar=collar,
            collar_z_mm=collar_z,
            heel=replace(collar, reach_mm=(left, right, below + drop, above)) if upright else None,
            seat_z_mm=seat_z,
            inner_z_mm=inner_z,
            holes=cover.holes,
            teardrop_holes=upright,
            snap=snap,
            key=KeyRidge(defaults.KEY_WIDTH_MM, defaults.KEY_HEIGHT_MM, -collar_z)
            if own.locating_key == "notch"
            else None,
            gasket=cover.gasket,
            fan_mount=None
            if own.fan_mount is None
            else FanMount(
                FRAMES[own.fan_mount],
                (body_w / 2, body_h / 2),
                half,
                min(wall, plate),
                row.panel_thickness_mm,
            ),
            screen=screen,
        )
        return body, bounds

    def sealed(
        self, row: BlockRow, refusals: Refusals, size: tuple[float, float], given_mm: float | None
    ) -> BlockCover:
        """Return a lip or flange with a gasket around an opening of a ``size``, mm.

        ``given_mm`` is its width, mm, if the row says.
        """
        return sealed_cover(
            size, row.screw, row.screw_fit, given_mm, self._cover_column, notch_mm(row), refusals
        )

    @abstractmethod
    def _cover_thickness_mm(self, row: BlockRowT) -> float:
        """Return the thickness of lip or flange."""

    @abstractmethod
    def _snap(self, row: BlockRowT, refusals: Refusals, inner_z: float) -> SnapArms | None:
        """Return the snap arms, if that is what holds the vent."""

    @abstractmethod
    def _cover(self, row: BlockRowT, refusals: Refusals, size: tuple[float, float]) -> BlockCover:
        """Return lip or flange around an opening (width, height), its corners square."""


def notch_mm(row: BlockRow) -> float:
    """Return how deep the notch for the key ridge is, mm; 0 without one."""
    return defaults.KEY_HEIGHT_MM + FIT_CLEARANCE.value if row.locating_key == "notch" else 0.0
