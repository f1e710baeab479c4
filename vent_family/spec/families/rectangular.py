"""Rectangular vents: a block behind a lip, held by screws or by snap arms."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from vent_family.base.limits import FIT_CLEARANCE, HOLE_SPACING_MAX
from vent_family.catalog.model import CatalogRow, Fixing, Seal
from vent_family.spec import defaults
from vent_family.spec.body import Hole, SnapArms
from vent_family.spec.families.block import (
    BLOCK_DEFAULTS,
    SEALED_COVER_MM,
    BlockRow,
    Blocks,
    notch_mm,
)
from vent_family.spec.families.block_cover import CLEAR_MM, BlockCover
from vent_family.spec.families.common import own_row
from vent_family.spec.families.sheltered import check_banks_outside
from vent_family.spec.fan_rules import fan_ways
from vent_family.spec.printable import gap_over_snap_arms, lip_holds_gasket
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow, fill


class RectangularRow(BlockRow):
    """A row of a block with a lip."""

    fixing: Fixing
    lip_width_mm: float
    lip_thickness_mm: float
    seal: Seal


_DEFAULTS: Final = MappingProxyType(
    {
        **BLOCK_DEFAULTS,
        "lip_width_mm": 6.0,
        "lip_thickness_mm": 3.0,
        "fixing": "screw",
        "seal": "none",
    }
)


class Rectangular(Blocks[RectangularRow]):
    """Blocks with a lip, held by screws or by snap arms."""

    name = "rectangular"
    _kind = RectangularRow
    _cover_column = "lip_width_mm"
    _corner_mm = 4.0

    def filled(self, row: CatalogRow) -> RectangularRow:
        """Return a row with its defaults: snap arms print standing, a gasket needs a thick lip."""
        standing = {"print_orientation": "upright"} if row.fixing == "snap" else {}
        sealed = {"lip_thickness_mm": SEALED_COVER_MM} if row.seal == "gasket" else {}
        return fill(row, RectangularRow, {**_DEFAULTS, **standing, **sealed})

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        """Refuse snap arms that print badly, and a key ridge printed upright."""
        own = own_row(row, RectangularRow)
        check_banks_outside(own, refusals)
        fan_ways(row, own.fan_mount, refusals, snapped=own.fixing == "snap")
        upright = row.print_orientation == "upright"
        if own.fixing == "snap":
            gap_over_snap_arms(row, refusals)
            if not upright:
                refusals.refuse(
                    "snap.print.down",
                    "fixing",
                    "snap arms start in mid-air when printed face down",
                    guesses=({"print_orientation": None}, {"fixing": "screw"}),
                    columns=("print_orientation",),
                )
            for column in ("screw", "screw_fit"):
                if row.given(column):
                    refusals.refuse(
                        "snap.screw.idle",
                        column,
                        "a snap-fixed vent has no screws",
                        which=column,
                        guesses=({column: None},),
                    )
        if own.seal == "gasket":
            lip_holds_gasket(row, refusals, own.lip_thickness_mm, own.fixing)
        if upright and own.locating_key == "notch":
            refusals.refuse(
                "key.print.upright",
                "locating_key",
                "the key ridge below the body would lift the part off the bed when printed upright",
                guesses=({"print_orientation": "face_down"}, {"locating_key": "none"}),
            )

    def _cover_thickness_mm(self, row: RectangularRow) -> float:
        return row.lip_thickness_mm

    def _snap(self, row: RectangularRow, refusals: Refusals, inner_z: float) -> SnapArms | None:
        """Return snap arms whose 45 degree hooks bear on the panel's inner edge."""
        if row.fixing != "snap":
            return None
        free_end = -row.panel_thickness_mm + FIT_CLEARANCE.value
        length = free_end - (inner_z + defaults.SNAP_ROOT_MM)
        if length < 4 * defaults.SNAP_ARM_MM + 3.5 * defaults.SNAP_HOOK_MM:
            refusals.refuse(
                "snap.arm.short",
                "panel_thickness_mm",
                f"snap arms only {max(length, 0.0):.1f} mm long would break",
                guesses=({"fixing": "screw"},),
                columns=("bank_gaps_mm", "bank_count", "overlap_mm", "panel_thickness_mm"),
            )
        return SnapArms(
            thickness_mm=defaults.SNAP_ARM_MM,
            slot_mm=defaults.SNAP_SLOT_MM,
            root_mm=defaults.SNAP_ROOT_MM,
            hook_mm=defaults.SNAP_HOOK_MM,
            free_end_z_mm=free_end,
            length_mm=length,
        )

    def _cover(
        self, row: RectangularRow, refusals: Refusals, size: tuple[float, float]
    ) -> BlockCover:
        """Return the lip with its screw holes.

        Upright parts stand on a leg of their lip, which covers the panel below the opening.
        """
        if row.seal == "gasket":
            given = row.lip_width_mm if row.given("lip_width_mm") else None
            return self.sealed(row, refusals, size, given)
        w, h = size
        lip = row.lip_width_mm
        side, washer = w / 2 + lip, 0.0
        holes: tuple[Hole, ...] = ()
        if row.fixing != "snap":
            washer = defaults.WASHER_MM[row.screw]
            diameter = defaults.ISO_273_MM[row.screw][row.screw_fit]
            x = w / 2 + washer / 2 + CLEAR_MM
            side = max(side, x + washer / 2 + CLEAR_MM)
            heights = (0.0,) if h <= HOLE_SPACING_MAX.value else (-h / 4, h / 4)
            holes = tuple(Hole(sx * x, y, diameter, row.screw) for sx in (-1, 1) for y in heights)
        upright = row.print_orientation == "upright"
        bottom = h / 2 + (defaults.LEG_MM if upright else lip)
        reach = (side, side, bottom, h / 2 + lip)
        return BlockCover(reach, size, holes, washer, stands=upright, notch_mm=notch_mm(row))
