"""Round vents: a low head on a threaded neck, held by a locknut."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import ClassVar, Final

from vent_family.base.limits import HEAD_MAX, NECK_WALL_MIN
from vent_family.base.materials import MATERIALS
from vent_family.catalog.model import CatalogRow, LocatingKey, SizeKind, StepThread
from vent_family.spec import defaults
from vent_family.spec.body import Body, GasketSpec, Neck
from vent_family.spec.bounds import Bounds, Throat
from vent_family.spec.families.common import own_columns, own_row, refuse_upright
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.families.round_head import Head
from vent_family.spec.families.round_places import without_slivers
from vent_family.spec.families.round_ribs import bore_half_mm, check_spans, spans, way_mm2
from vent_family.spec.families.round_shelter import floor_rise_of, head_more_mm, shelter_of
from vent_family.spec.families.sheltered import ShelteredRow, check_banks_outside
from vent_family.spec.neck_key import neck_key
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow, fill
from vent_family.spec.screen import ScrewScreen
from vent_family.spec.screen_rules import woven_mesh
from vent_family.spec.section import Section
from vent_family.spec.stack import Stack
from vent_family.spec.thread.iso import ThreadSpec, thread_spec
from vent_family.spec.thread.parts import (
    locknut_size,
    neck_length_min_mm,
    neck_relief_diameter_mm,
    screen_ring_size,
)

_HEAD_PER_THREAD: Final = (1.4, 20.0)
"""The usual head: so many thread diameters, and so many millimetres more."""
_HEAD_GROWTH_MOST: Final = 1.2
"""A blank head diameter grows by this factor at most to hold its sill."""
_SHOULDER_BESIDE_MM: Final = 2.0
"""How far a head reaches over its shoulder at least."""
_PLENUM_MIN_MM: Final = 5.5
_PLENUM_PER_BORE: Final = 0.56
"""Depth of the plenum over the bore's radius: over its edge as much way as the bore has area."""
_CORNER_CLEAR_MM: Final = 2.0
"""How far the rear corner stays from the bore."""
_FLOOR_SHARE: Final = 0.5
"""Half-width of the floor against the cavity's radius, where the sill lets it be."""
_FLOOR_SHARE_MIN: Final = 0.35
_RIB_OVER_FLOOR_MM: Final = 1.5
"""How far the wall may rise over the floor up to the outer faces of the ribs beside the bore."""
_SILL_OVER_DRAIN_MM: Final = 6.0
"""A blank sill is at least this much higher than the drain slot is."""
_PLATE_MM: Final = 2.0
"""Usual thickness of floor and ceiling."""
_BACK_PLATE_MM: Final = ((50.0, 2.0), (math.inf, 2.4))
"""Usual thickness of the back plate of threads below a diameter, mm."""
# A shallow head leaves no room for the deeper stack of slats on wide feet, and the neck throttles.
# The line through a higher drain would decide the sight margin.
_DEFAULTS: Final = MappingProxyType(
    {
        "banks_outside": 0,
        "wall_mm": 2.4,
        "drain_height_mm": 3.0,
        "step_thread": "helical",
        "slat_foot_mm": 0.2,
        "rib_thickness_mm": 1.2,
        "locating_key": "none",
    }
)


class RoundRow(ShelteredRow):
    """A row of a round vent."""

    head_diameter_mm: float | None
    """Blank: the usual head, or the least that holds its sill."""
    back_plate_mm: float | None
    """Blank: by the thread's diameter."""
    neck_length_mm: float | None
    """Blank: the least that reaches through panel and locknut."""
    step_thread: StepThread
    locating_key: LocatingKey
    screen_mm: float | None
    """Blank: no screen."""
    screen_wire_mm: float | None
    """Blank: the wire of a usual mesh."""


class Round:
    """Round vents."""

    name: ClassVar[str] = "round"
    size: ClassVar[SizeKind] = "thread"
    opening: ClassVar[str] = "circle"
    body: ClassVar[type[RoundBody]] = RoundBody
    columns: ClassVar[frozenset[str]] = own_columns(RoundRow)

    def filled(self, row: CatalogRow) -> RoundRow:
        """Return a row with its defaults."""
        return fill(row, RoundRow, _DEFAULTS)

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        """Refuse to print the neck hanging over the bed, and banks outside that do not fit."""
        check_banks_outside(own_row(row, RoundRow), refusals)
        refuse_upright(row, refusals, "neck")

    def place_ribs(
        self, row: FilledRow, refusals: Refusals, body: Body, section: Section
    ) -> tuple[RoundBody, tuple[tuple[float, float], ...]]:
        """Return the body with two ribs beside the bore, and the clear x range of every bay, mm.

        Raises
        ------
        TypeError
            if the body is not one of a round vent
        """
        if not isinstance(body, RoundBody):
            raise TypeError(f"the body of a {row.family} row is no {RoundBody.__name__}")
        stack = section.stack

        def bays(head: Head) -> tuple[tuple[float, float], ...]:
            return spans(row, stack, head.bore_half_mm, head.half_width_mm)

        head, found = without_slivers(body.head, section, bays)
        neck = replace(body.neck, way_mm2=way_mm2(head, found, section.ceiling_mm))
        return replace(body, head=head, neck=neck), found

    def bounds(self, row: FilledRow, stack: Stack) -> Bounds:
        """Return the bounds alone, those of the least head where the row's is too small."""
        own, unheard = own_row(row, RoundRow), Refusals(row.source)
        thread = _thread(own)
        laid = _chosen(own, unheard, stack, thread)
        return _bounds(row, stack, laid, _neck(own, unheard, thread, screened=bool(own.screen_mm)))

    def lay_out(self, row: FilledRow, refusals: Refusals, stack: Stack) -> tuple[RoundBody, Bounds]:
        """Return body and bounds."""
        own = own_row(row, RoundRow)
        thread = _thread(own)
        d = thread.nominal_mm
        land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
        gasket = GasketSpec(
            is_ring=True,
            inner_mm=(d + 2 * land, d + 2 * land),
            outer_mm=(d + 2 * (land + gw), d + 2 * (land + gw)),
            thickness_mm=defaults.GASKET_THICKNESS_MM,
            recess_mm=defaults.GASKET_RECESS_MM,
        )
        mesh = woven_mesh(own.screen_mm, own.screen_wire_mm, refusals)
        neck = _neck(own, refusals, thread, screened=mesh is not None)
        laid = _chosen(own, refusals, stack, thread)
        head = laid.head
        found = spans(row, stack, head.bore_half_mm, head.half_width_mm)
        check_spans(row, refusals, found)
        bounds = _bounds(row, stack, laid, neck)
        ceiling = bounds.ceiling_max_mm
        rise = head.front_z_mm * math.tan(math.radians(row.floor_slope_deg))
        floors = (laid.floor_front_mm + rise, laid.floor_front_mm)
        (_, lowest), _ = head.trim_mm(floors, ceiling)
        body = RoundBody(
            head=head,
            below_mm=min(-lowest, head.radius_mm),
            neck=Neck(
                head.bore_radius_mm,
                neck,
                head.plate_z_mm,
                thread,
                own.step_thread == "helical",
                head.flats_mm,
                head.bevel_mm,
                0.0,  # known as soon as the ribs stand
                head.depths_mm,
            ),
            gasket=gasket,
            screen=None if mesh is None else ScrewScreen(mesh, thread, head.bore_radius_mm, -neck),
            key=neck_key(thread, row.panel_thickness_mm) if own.locating_key == "notch" else None,
        )
        return body, bounds


def _least_head(lack_mm: Callable[[float], float], first: int) -> int | None:
    """Return the least whole diameter (mm), from a first one on, at which a head lacks nothing.

    A wider head never lacks more: its lowest floor sinks faster than the floor's foot moves back.
    """
    low, high = first, math.floor(HEAD_MAX.value)
    if low > high:
        return None
    if lack_mm(low) <= 0.0:
        return low
    if lack_mm(high) > 0.0:
        return None
    while low < high:
        middle = (low + high) // 2
        if lack_mm(middle) <= 0.0:
            high = middle
        else:
            low = middle + 1
    return high


@dataclass(frozen=True, slots=True)
class _Laid:
    """A head and where its floor lies, mm; ``lack_mm`` is what it is too small by."""

    head: Head
    floor_front_mm: float
    foot_z_mm: float
    lack_mm: float


def _thread(row: RoundRow) -> ThreadSpec:
    """Return the neck's thread."""
    return thread_spec(row.size, MATERIALS[row.material].thread_clearance_normal_mm)


def _bounds(row: FilledRow, stack: Stack, laid: _Laid, neck_mm: float) -> Bounds:
    """Return the bounds within a head on a neck of a length (mm)."""
    head = laid.head
    ceiling = min(head.radius_mm - defaults.MARK_BAR_MM, 0.94 * head.inner_radius_mm)
    return Bounds(
        front_z_mm=head.front_z_mm,
        front_margin_mm=defaults.FRONT_MARGIN_MM,
        floor_front_mm=laid.floor_front_mm,
        slope_deg=row.floor_slope_deg,
        drain_height_mm=row.drain_height_mm,
        apron_thickness_mm=defaults.APRON_THICKNESS_MM,
        ceiling_max_mm=ceiling,
        ceiling_min_mm=ceiling - stack.pitch_mm,
        inner_z_mm=-neck_mm,
        foot_z_mm=laid.foot_z_mm,
        sill_top_mm=-head.bore_radius_mm,
        throat=Throat(head.bore_radius_mm, head.bevel_z_mm, head.plate_z_mm, head.plate_radius_mm),
        shelter=head.shelter,
    )


def _neck(row: RoundRow, refusals: Refusals, thread: ThreadSpec, *, screened: bool) -> float:
    """Return the neck's length (mm); one that does not reach through panel and nut is refused.

    Behind the locknut two pitches stand out, or what a screen's ring takes.
    """
    panel, nut = row.panel_thickness_mm, locknut_size(thread).thickness_mm
    behind = screen_ring_size(thread).thickness_mm if screened else 2 * thread.pitch_mm
    short = max(panel + nut + behind, neck_length_min_mm(thread))
    neck = row.neck_length_mm or math.ceil(short)
    if neck < short:
        refusals.refuse(
            "neck.length.short",
            "neck_length_mm",
            f"a neck of {neck:g} mm does not reach through a {panel:g} mm panel and its locknut"
            + (" into the screen's ring" if screened else ""),
            allowed=f"{math.ceil(short)} mm or more",
            guesses=({"neck_length_mm": float(math.ceil(short))}, {"neck_length_mm": None}),
        )
    return neck


def _chosen(row: RoundRow, refusals: Refusals, stack: Stack, thread: ThreadSpec) -> _Laid:
    """Return the head; a blank diameter is the usual one, or the least that holds its sill."""

    def laid(diameter: float) -> _Laid:
        return _laid(row, stack, thread, diameter)

    nominal = thread.nominal_mm
    smallest = math.ceil(2 * (_shoulder(nominal) + _SHOULDER_BESIDE_MM))
    per, more = _HEAD_PER_THREAD
    usual = max(smallest, round(per * nominal + more + head_more_mm(row)))
    given = row.head_diameter_mm
    if given and given >= smallest and laid(math.floor(given)).lack_mm <= 0.0:
        return laid(given)
    least = _least_head(lambda diameter: laid(diameter).lack_mm, smallest if given else usual)
    columns = ("sill_height_mm", "floor_slope_deg", "drain_height_mm", "bank_gaps_mm")
    if least is None:
        refusals.refuse(
            "head.sill.high",
            "sill_height_mm" if row.sill_height_mm else "floor_slope_deg",
            f"no head up to {HEAD_MAX.value:g} mm keeps the sill below the bore",
            columns=columns,
            lack=laid(HEAD_MAX.value).lack_mm,
        )
    elif given and given < least:
        what = "neck and gasket" if given < smallest else "sill, which would reach into the bore"
        refusals.refuse(
            "head.size.small",
            "head_diameter_mm",
            f"a head of {given:g} mm is too small for its {what}",
            allowed=f"{least} mm or more on {row.size} with this floor and drain",
            guesses=({"head_diameter_mm": float(least)}, {"head_diameter_mm": None}),
            columns=("head_diameter_mm", *columns),
            lack=least - given,
        )
    elif not given and least > _HEAD_GROWTH_MOST * usual:
        refusals.refuse(
            "head.size.large",
            "head_diameter_mm",
            f"this floor and drain would need a head of {least} mm, not {usual} mm",
            guesses=({"head_diameter_mm": float(least)},),
            columns=(*columns, "head_diameter_mm"),
            lack=least - _HEAD_GROWTH_MOST * usual,
        )
    return laid(max(given or 0.0, least or smallest))


def _laid(row: RoundRow, stack: Stack, thread: ThreadSpec, diameter: float) -> _Laid:
    """Return what follows from a head's diameter."""
    bore = _bore(thread)
    inner = diameter / 2 - row.wall_mm
    plenum = max(_PLENUM_MIN_MM, _PLENUM_PER_BORE * bore)
    back = row.back_plate_mm or next(t for d, t in _BACK_PLATE_MM if thread.nominal_mm < d)
    plate_z = defaults.GASKET_RECESS_MM + back
    front = plate_z + plenum + stack.depth_mm + defaults.FRONT_MARGIN_MM
    head = Head(
        radius_mm=diameter / 2,
        wall_mm=row.wall_mm,
        plate_mm=row.plate_mm or _PLATE_MM,
        back_plate_mm=back,
        flat_depth_mm=defaults.FLAT_DEPTH_MM,
        shoulder_mm=defaults.GASKET_RECESS_MM,
        shoulder_radius_mm=_shoulder(thread.nominal_mm),
        plenum_mm=plenum,
        corner_mm=max(min(plenum, inner - bore - _CORNER_CLEAR_MM), 0.1),
        bore_radius_mm=bore,
        bore_half_mm=bore_half_mm(row, stack, bore),
        front_z_mm=front,
    )
    rib = head.bore_half_mm + row.rib_thickness_mm
    # Where the wall rises far over the floor before it reaches the ribs, side bays keep water.
    usual = max(
        -inner * math.sqrt(1.0 - _FLOOR_SHARE**2),
        -math.sqrt(max(inner**2 - rib**2, 0.0)) - _RIB_OVER_FLOOR_MM,
    )
    lowest = -inner * math.sqrt(1.0 - _FLOOR_SHARE_MIN**2)
    sill = row.sill_height_mm or row.drain_height_mm + _SILL_OVER_DRAIN_MM
    rise = floor_rise_of(row, stack, head)
    foot_y = -bore - sill
    floor = foot_y - rise(head.plate_z_mm + max(-foot_y - head.plate_radius_mm, 0.0))
    if row.sill_height_mm is None:
        floor = min(floor, max(usual, lowest))
    # Where the floor's plane meets the plate or its corner.
    out = -(floor + rise(head.plate_z_mm)) - head.plate_radius_mm
    tangent = math.tan(math.radians(row.floor_slope_deg))
    foot_z = head.plate_z_mm + max(out, 0.0) / (1.0 - tangent)
    if row.banks_outside:
        head = replace(head, shelter=shelter_of(row, stack, head, floor))
    return _Laid(head, floor, foot_z, lowest - floor)


def _shoulder(nominal: float) -> float:
    """Return the radius of the shoulder: the gasket between its lands."""
    return nominal / 2 + 2 * defaults.GASKET_LAND_MM + defaults.GASKET_WIDTH_MM


@lru_cache(maxsize=128)
def _bore(thread: ThreadSpec) -> float:
    """Return the bore radius that leaves the least neck wall under the thread root."""
    relief = neck_relief_diameter_mm(thread.external)
    return math.floor((relief / 2 - NECK_WALL_MIN.value) * 20) / 20
