"""Rectangular and flanged vents: a block pushed through a square-cut opening.

The block hangs on a cover in front of the panel: the rectangular vent's lip, with screws or snap
arms, or the flanged vent's flange, with a gasket and a ring of screws.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar, Final, Generic, TypeVar

from shapely.geometry import Polygon, box

from vent_family.base.limits import BAY_MIN, FIT_CLEARANCE, GAP_MIN, HOLE_SPACING_MAX
from vent_family.catalog.columns import COLUMNS, decimal
from vent_family.catalog.model import (
    CatalogRow,
    FanMountSize,
    Fixing,
    LocatingKey,
    Screw,
    ScrewFit,
    Seal,
    SizeKind,
)
from vent_family.spec import defaults
from vent_family.spec.body import Cover, GasketSpec, Hole, Opening, SnapArms
from vent_family.spec.changes import Change, on_step
from vent_family.spec.families.common import (
    opening_size,
    own_columns,
    own_row,
    refuse_upright,
    spaced,
)
from vent_family.spec.fan_mount import FRAMES, FanMount
from vent_family.spec.fan_rules import fan_ways
from vent_family.spec.layout import Bounds
from vent_family.spec.members import BodyMember, block, stack_members
from vent_family.spec.printable import gap_over_snap_arms, lip_holds_gasket
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow, fill
from vent_family.spec.screen import SlideScreen
from vent_family.spec.screen_rules import screen_behind_fan, sliding, woven_mesh
from vent_family.spec.section import BEYOND_MM, FAR, Section
from vent_family.spec.stack import Stack


class BlockRow(FilledRow):
    """What both kinds of block have."""

    sill_height_mm: float | None
    locating_key: LocatingKey
    screw: Screw
    screw_fit: ScrewFit
    fan_mount: FanMountSize | None
    """Blank: none."""
    screen_mm: float | None
    """Blank: no screen."""
    screen_wire_mm: float | None
    """Blank: the wire of a usual mesh."""


class RectangularRow(BlockRow):
    """A row of a block with a lip."""

    fixing: Fixing
    lip_width_mm: float
    lip_thickness_mm: float
    seal: Seal


class FlangedRow(BlockRow):
    """A row of a block with a screwed flange."""

    flange_width_mm: float | None
    """Blank: the least that holds gasket and screws."""
    flange_thickness_mm: float


_BLOCK: Final = {"wall_mm": 2.0, "locating_key": "none", "screw": "M4", "screw_fit": "medium"}
_RECTANGULAR: Final = MappingProxyType(
    {**_BLOCK, "lip_width_mm": 6.0, "lip_thickness_mm": 3.0, "fixing": "screw", "seal": "none"}
)
_FLANGED: Final = MappingProxyType({**_BLOCK, "flange_thickness_mm": 4.0})


@dataclass(frozen=True, slots=True)
class KeyRidge:
    """A ridge below the body that needs a notch in the opening's lower edge; lengths in mm."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class BlockBody:
    """Body of a rectangular or flanged vent.

    ``cover_mm`` holds the reach of lip or flange from the origin to left, right, bottom and top,
    ``cover_column`` names the column that says how wide it is.
    """

    opening_mm: tuple[float, float]
    body_mm: tuple[float, float]
    half_width_mm: float
    wall_mm: float
    cover_mm: tuple[float, float, float, float]
    cover_column: str
    cover_thickness_mm: float
    inner_z_mm: float
    holes: tuple[Hole, ...]
    teardrop_holes: bool
    snap: SnapArms | None
    key: KeyRidge | None
    gasket: GasketSpec | None
    fan_mount: FanMount | None
    screen: SlideScreen | None

    @property
    def neck(self) -> None:
        """A block has no neck."""

    @property
    def cover(self) -> Cover:
        """Lip or flange."""
        left, right, bottom, top = self.cover_mm
        width, height = left + right, bottom + top
        around = 2.0 * (left + right + bottom + top)
        return Cover(self.cover_mm, width * height, around, self.cover_column)

    @property
    def opening(self) -> Opening:
        """A rectangle, with a notch for the key ridge and holes for the screws."""
        w, h = self.opening_mm
        notch = None
        if self.key is not None:
            notch = (
                self.key.width_mm + 2 * FIT_CLEARANCE.value,
                self.key.height_mm + FIT_CLEARANCE.value,
            )
        words = f"rectangle {w:g} x {h:g} mm"
        return Opening("rectangle", (w, h), w * h, words, notch, self.holes)

    @property
    def facts(self) -> dict[str, float]:
        """Nothing that other bodies have not got."""
        return {}

    @property
    def mark_bar_top_mm(self) -> float:
        """Upper edge of lip or flange."""
        return self.cover_mm[3]

    def mark_place_mm(self, ceiling_mm: float) -> tuple[float, float]:
        """Return lower edge and letter height of a mark in the middle of the bar."""
        bar = self.mark_bar_top_mm - ceiling_mm
        return ceiling_mm + (bar - defaults.MARK_HEIGHT_MM) / 2, defaults.MARK_HEIGHT_MM

    def clear_half_width_mm(self, y_mm: float) -> float:
        """Return the same half width at every height."""
        return self.half_width_mm

    def clear_area_mm2(self, x_mm: tuple[float, float], y_mm: tuple[float, float]) -> float:
        """Return the whole rectangle: floor, ceiling and ribs are what bounds a block's air."""
        return (x_mm[1] - x_mm[0]) * (y_mm[1] - y_mm[0])

    def rib_end_z_mm(self, section: Section) -> float:
        """Return the inner plane: ribs run as deep as the block."""
        return section.inner_z_mm

    def side_outline_mm(self, front_z_mm: float) -> list[tuple[float, float]]:
        """Return cover and block."""
        top, half = self.cover_mm[3], self.body_mm[1] / 2
        return [(front_z_mm, top), (0.0, top), (0.0, half), (self.inner_z_mm, half)]

    def cavity_outline(self, z_mm: float) -> Polygon:
        """Return the same rectangle at every depth, from the body's lower to its upper side."""
        half, h = self.half_width_mm, self.body_mm[1] / 2
        return box(-half, -h, half, h)

    def members(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[BodyMember, ...]:
        """Return the stack between side walls, the cover around the body, and what hangs on it.

        Snap arms are what stands free of the side walls; their hooks belong to them. ``bays`` are
        the clear x ranges between ribs, mm.
        """
        w, h = self.body_mm[0] / 2, self.body_mm[1] / 2
        depth, front = (self.inner_z_mm, section.front_z_mm), (0.0, section.front_z_mm)
        wall = w if self.snap is None else w - self.snap.thickness_mm - self.snap.slot_mm
        behind, sides = (self.inner_z_mm, 0.0), _both(self.half_width_mm, wall)
        beside = block(front, (-h, h), _both(w, BEYOND_MM))
        around = [block(front, (-BEYOND_MM, -h)), block(front, (h, BEYOND_MM)), beside]
        found = [
            *stack_members(section, bays, (-h, h)),
            BodyMember("side walls", (block(depth, (-h, h), sides),), plate=True),
            BodyMember(self.cover_column.removesuffix("_width_mm"), tuple(around), plate=True),
            BodyMember("raised mark", (block((front[1], front[1] + FAR)),)),
        ]
        if self.key is not None:
            found.append(BodyMember("key ridge", (block(behind, (-BEYOND_MM, -h)),)))
        if self.screen is not None:
            found.append(BodyMember("screen rails", (block((-BEYOND_MM, self.inner_z_mm)),)))
        if self.snap is not None:
            arms = block(behind, (-h, h), _both(wall, BEYOND_MM))
            roots = block(front, (-h, h), _both(wall, w))
            found.append(BodyMember("snap arms", (arms, roots)))
        if self.fan_mount is not None:
            found.append(BodyMember("fan mount", (block((-BEYOND_MM, self.inner_z_mm)),)))
        return tuple(found)

    def volume_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return cover and block less their recesses, less the section's air over the bays.

        ``bays`` are the clear x ranges between ribs, mm.
        """
        w, h = self.body_mm
        left, right, bottom, top = self.cover_mm
        t, depth = self.cover_thickness_mm, -self.inner_z_mm
        volume = (left + right) * (bottom + top) * t + w * h * depth
        if self.key is not None:
            volume += self.key.width_mm * self.key.height_mm * depth
        if self.screen is not None:
            volume += self.screen.rails_mm3(section)
        if self.snap is not None:
            snap = self.snap
            volume += 2 * h * 0.5 * snap.proud_mm * snap.foot_mm
            slot = snap.slot_mm * (depth - snap.root_mm) - snap.thickness_mm * snap.free_end_z_mm
            volume -= 2 * h * slot
        for hole in self.holes:
            volume -= _hole_area_mm2(hole, teardrop=self.teardrop_holes) * t
        if self.gasket is not None:
            outer, inner = self.gasket.outer_mm, self.gasket.inner_mm
            volume -= (outer[0] * outer[1] - inner[0] * inner[1]) * self.gasket.recess_mm
        if self.fan_mount is not None:
            volume += self.fan_mount.duct(section).volume_mm3()
        return volume - float(section.air.area) * sum(x1 - x0 for x0, x1 in bays)


def _both(low: float, high: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return a range of x left and right of the middle."""
    return (-high, -low), (low, high)


def _lower_sill(row: FilledRow, over_mm: float, size: tuple[float, float]) -> list[Change]:
    """Return a sill lower, or an opening higher, by what it stands too high (mm)."""
    higher = f"{decimal(size[0])}x{decimal(float(math.ceil(size[1] + over_mm)))}"
    if row.sill_height_mm is None:
        return [{"size": higher}]
    low = on_step(COLUMNS["sill_height_mm"], row.sill_height_mm - over_mm, upwards=False)
    return [{"sill_height_mm": low}, {"sill_height_mm": None}, {"size": higher}]


def _hole_area_mm2(hole: Hole, *, teardrop: bool) -> float:
    r = hole.diameter_mm / 2
    # A roof at 45 degrees adds a square on the radius less a quarter of the circle.
    return math.pi * r * r + (r * r * (1.0 - math.pi / 4.0) if teardrop else 0.0)


@dataclass(frozen=True, slots=True)
class _Cover:
    """Reach of lip or flange to left, right, bottom and top (mm), and what it is held by."""

    reach_mm: tuple[float, float, float, float]
    holes: tuple[Hole, ...]
    gasket: GasketSpec | None = None


BlockRowT = TypeVar("BlockRowT", bound=BlockRow)


class _Blocks(ABC, Generic[BlockRowT]):
    """What both families of blocks share; they differ in their cover and what holds them."""

    name: ClassVar[str]
    size: ClassVar[SizeKind] = "opening"
    opening: ClassVar[str] = "rectangle"
    body: ClassVar[type[BlockBody]] = BlockBody
    _kind: type[BlockRowT]
    _cover_column: ClassVar[str]

    @property
    def columns(self) -> frozenset[str]:
        """The columns that not every family has."""
        return own_columns(self._kind)

    def lay_out(self, row: FilledRow, refusals: Refusals, stack: Stack) -> tuple[BlockBody, Bounds]:
        """Return body and bounds."""
        own = own_row(row, self._kind)
        size = opening_size(row, refusals)
        wall, front = row.wall_mm, self._cover_thickness_mm(own)
        slot = row.drain_height_mm
        body_w, body_h = (side - 2 * FIT_CLEARANCE.value for side in size)
        depth = (
            defaults.FRONT_MARGIN_MM
            + stack.depth_mm
            + defaults.INNER_MARGIN_MM
            + defaults.SILL_THICKNESS_MM
        )
        inner_z = front - depth
        snap = self._snap(own, refusals, inner_z)
        half = body_w / 2 - wall
        if snap is not None:
            half -= snap.thickness_mm + snap.slot_mm
        foot_z = inner_z + defaults.SILL_THICKNESS_MM
        floor_front = -body_h / 2 + wall
        floor_foot = floor_front + (front - foot_z) * math.tan(math.radians(row.floor_slope_deg))
        sill = floor_foot + (row.sill_height_mm or slot + defaults.SILL_OVER_DRAIN_MM)
        if sill > body_h / 2 - wall - 2 * GAP_MIN.value:
            over = sill - (body_h / 2 - wall - 2 * GAP_MIN.value)
            refusals.refuse(
                "sill in cavity",
                "sill_height_mm",
                "the sill closes the inner side of the cavity",
                guesses=_lower_sill(row, over, size),
                columns=("sill_height_mm", "floor_slope_deg", "drain_height_mm", "size"),
                lack=over,
            )
        if half < BAY_MIN.value / 2:
            refusals.refuse(
                "cavity width",
                "wall_mm",
                "the walls leave no cavity",
                columns=("wall_mm", "size", "fixing"),
                lack=BAY_MIN.value / 2 - half,
            )
        cover = self._cover(own, refusals, size)
        mesh = woven_mesh(own.screen_mm, own.screen_wire_mm, refusals)
        if own.fan_mount is not None:
            screen_behind_fan(mesh, refusals)
        body = BlockBody(
            opening_mm=size,
            body_mm=(body_w, body_h),
            half_width_mm=half,
            wall_mm=wall,
            cover_mm=cover.reach_mm,
            cover_column=self._cover_column,
            cover_thickness_mm=front,
            inner_z_mm=inner_z,
            holes=cover.holes,
            teardrop_holes=row.print_orientation == "upright",
            snap=snap,
            key=KeyRidge(defaults.KEY_WIDTH_MM, defaults.KEY_HEIGHT_MM)
            if own.locating_key == "notch"
            else None,
            gasket=cover.gasket,
            fan_mount=None
            if own.fan_mount is None
            else FanMount(
                FRAMES[own.fan_mount],
                (body_w / 2, body_h / 2),
                half,
                wall,
                row.panel_thickness_mm,
            ),
            screen=sliding(mesh, (body_w, body_h), inner_z, spaced(row, half, stack), refusals),
        )
        ceiling = body_h / 2 - wall
        bounds = Bounds(
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
            sill_top_mm=sill,
        )
        return body, bounds

    @abstractmethod
    def _cover_thickness_mm(self, row: BlockRowT) -> float:
        """Return the thickness of lip or flange."""

    @abstractmethod
    def _snap(self, row: BlockRowT, refusals: Refusals, inner_z: float) -> SnapArms | None:
        """Return the snap arms, if that is what holds the vent."""

    @abstractmethod
    def _cover(self, row: BlockRowT, refusals: Refusals, size: tuple[float, float]) -> _Cover:
        """Return lip or flange around an opening (width, height)."""


class Rectangular(_Blocks[RectangularRow]):
    """Blocks with a lip, held by screws or by snap arms."""

    name = "rectangular"
    _kind = RectangularRow
    _cover_column = "lip_width_mm"

    def filled(self, row: CatalogRow) -> RectangularRow:
        """Return a row with its defaults; a vent with snap arms prints standing."""
        standing = {"print_orientation": "upright"} if row.fixing == "snap" else {}
        return fill(row, RectangularRow, {**_RECTANGULAR, **standing})

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        """Refuse snap arms that print badly, and a key ridge printed upright."""
        own = own_row(row, RectangularRow)
        fan_ways(row, own.fan_mount, refusals, snapped=own.fixing == "snap")
        upright = row.print_orientation == "upright"
        if own.fixing == "snap":
            gap_over_snap_arms(row, refusals)
            if not upright:
                refusals.refuse(
                    "snap arms face down",
                    "fixing",
                    "snap arms start in mid-air when printed face down",
                    guesses=({"print_orientation": None}, {"fixing": "screw"}),
                    columns=("print_orientation",),
                )
            for column in ("screw", "screw_fit"):
                if row.given(column):
                    refusals.refuse(
                        f"{column} with snap arms",
                        column,
                        "a snap-fixed vent has no screws",
                        guesses=({column: None},),
                    )
        if own.seal == "gasket":
            lip_holds_gasket(row, refusals, own.lip_thickness_mm, own.fixing)
        if upright and own.locating_key == "notch":
            refusals.refuse(
                "key upright",
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
                "snap arm length",
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

    def _cover(self, row: RectangularRow, refusals: Refusals, size: tuple[float, float]) -> _Cover:
        """Return the lip with its screw holes.

        Upright parts stand on their floor, so their lip ends flush with the body at the bottom.
        """
        if row.seal == "gasket":
            given = row.lip_width_mm if row.given("lip_width_mm") else None
            return _sealed(row, refusals, size, given, self._cover_column)
        w, h = size
        lip = row.lip_width_mm
        side = w / 2 + lip
        holes: tuple[Hole, ...] = ()
        if row.fixing != "snap":
            washer = defaults.WASHER_MM[row.screw]
            diameter = defaults.ISO_273_MM[row.screw][row.screw_fit]
            x = w / 2 + washer / 2 + 1.0
            side = max(side, x + washer / 2 + 1.0)
            heights = (0.0,) if h <= HOLE_SPACING_MAX.value else (-h / 4, h / 4)
            holes = tuple(Hole(sx * x, y, diameter) for sx in (-1, 1) for y in heights)
        upright = row.print_orientation == "upright"
        bottom = (h - 2 * FIT_CLEARANCE.value) / 2 if upright else h / 2 + lip
        return _Cover((side, side, bottom, h / 2 + lip), holes)


class Flanged(_Blocks[FlangedRow]):
    """Blocks with a flange, a gasket under it and screws all round."""

    name = "flanged"
    _kind = FlangedRow
    _cover_column = "flange_width_mm"

    def filled(self, row: CatalogRow) -> FlangedRow:
        """Return a row with its defaults."""
        return fill(row, FlangedRow, _FLANGED)

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        """Refuse to print the flange hanging over the bed."""
        refuse_upright(row, refusals, "flange")
        fan_ways(row, own_row(row, FlangedRow).fan_mount, refusals)

    def _cover_thickness_mm(self, row: FlangedRow) -> float:
        return row.flange_thickness_mm

    def _snap(self, row: FlangedRow, refusals: Refusals, inner_z: float) -> None:
        """Screws hold a flange."""

    def _cover(self, row: FlangedRow, refusals: Refusals, size: tuple[float, float]) -> _Cover:
        """Return the flange with its screw holes and gasket."""
        return _sealed(row, refusals, size, row.flange_width_mm, self._cover_column)


def _sealed(
    row: BlockRow,
    refusals: Refusals,
    size: tuple[float, float],
    given_mm: float | None,
    column: str,
) -> _Cover:
    """Return a lip or flange around an opening with a gasket, and screws all round outside it.

    ``given_mm`` is its width, mm, in a ``column``; blank: the least that holds both.
    """
    w, h = size
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    washer = defaults.WASHER_MM[row.screw]
    diameter = defaults.ISO_273_MM[row.screw][row.screw_fit]
    line = 2 * land + gw + washer / 2
    need = line + washer / 2 + 1.0
    width = given_mm or math.ceil(need)
    if width < need:
        refusals.refuse(
            column.removesuffix("_mm").replace("_", " "),
            column,
            f"a {column.removesuffix('_width_mm')} of {width:g} mm has no room for gasket and"
            f" {row.screw} screws",
            allowed=f"{need:g} mm or more with {row.screw}",
            guesses=({column: float(math.ceil(need))}, {column: None}),
            columns=(column, "screw"),
        )
    x, y = w / 2 + line, h / 2 + line
    # An even number along the top keeps its middle free for the mark.
    along = max(2, 2 * math.ceil((math.ceil(2 * x / HOLE_SPACING_MAX.value) + 1) / 2))
    up = max(2, math.ceil(2 * y / HOLE_SPACING_MAX.value) + 1)
    xs = [-x + 2 * x * i / (along - 1) for i in range(along)]
    ys = [-y + 2 * y * i / (up - 1) for i in range(up)]
    places = [(px, sy * y) for sy in (-1, 1) for px in xs]
    places += [(sx * x, py) for sx in (-1, 1) for py in ys[1:-1]]
    gasket = GasketSpec(
        is_ring=False,
        inner_mm=(w + 2 * land, h + 2 * land),
        outer_mm=(w + 2 * (land + gw), h + 2 * (land + gw)),
        thickness_mm=defaults.GASKET_THICKNESS_MM,
        recess_mm=defaults.GASKET_RECESS_MM,
    )
    return _Cover(
        (w / 2 + width, w / 2 + width, h / 2 + width, h / 2 + width),
        tuple(Hole(px, py, diameter) for px, py in places),
        gasket,
    )
