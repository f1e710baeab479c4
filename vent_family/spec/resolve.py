"""From a catalogue row to a fully resolved vent, or to sentences saying why not."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final, cast

from vent_family.catalog.model import CatalogRow
from vent_family.limits import (
    BAY_MIN,
    FIT_CLEARANCE,
    GAP_MIN,
    HOLE_SPACING_MAX,
    MARK_DEPTH,
    NECK_WALL_MIN,
    OPENING_MAX,
    OPENING_MIN,
    SIGHT_MARGIN_MIN,
    SLAT_MIN_UPRIGHT,
)
from vent_family.materials import MATERIALS
from vent_family.problems import InputError, Problem
from vent_family.spec import defaults
from vent_family.spec.iso_thread import ThreadSpec, thread_spec
from vent_family.spec.section import Section, SectionError, Throat, Trough, lay_out_closed
from vent_family.spec.stack import (
    IN,
    OUT,
    Stack,
    close_straight_paths,
    endless_margin,
    narrow_places,
    uncovered_fraction,
)
from vent_family.spec.thread_parts import (
    locknut_size,
    neck_length_min_mm,
    neck_relief_diameter_mm,
)
from vent_family.spec.vent import (
    BlockBody,
    GasketSpec,
    Hole,
    KeyRidge,
    Mark,
    Opening,
    RoundBody,
    SnapArms,
    VentSpec,
)

MARK_HEIGHT_MM: Final = 4.0
MARK_BAR_MM: Final = 8.0
"""Height of the plain bar above a round vent's ceiling that carries the mark."""
SHOULDER_MM: Final = 2.5
THROAT_Z_MM: Final = 0.5
SILL_STEP_MM: Final = 0.5
SILL_STEPS: Final = 16
SILL_OVER_DRAIN_MM: Final = 4.0
"""A blank sill is at least this much higher than the drain slot is."""
_R2: Final = math.sqrt(2.0)


class _Refusals:
    """Collects the problems of one row."""

    def __init__(self, row: CatalogRow) -> None:
        self.row = row
        self.problems: list[Problem] = []

    def add(self, column: str, message: str, suggestion: str, allowed: str = "") -> None:
        value = getattr(self.row, column, None)
        self.problems.append(
            Problem(
                message,
                part_number=self.row.part_number,
                column=column,
                value=_text(value),
                allowed=allowed,
                suggestion=suggestion,
            )
        )

    def stop_if_any(self) -> None:
        if self.problems:
            raise InputError(self.problems)


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)


Get = Callable[[str], Any]


def resolve(row: CatalogRow) -> VentSpec:
    """Return the resolved vent of a row.

    Raises
    ------
    InputError
        with one :class:`Problem` for every rule between columns that the row breaks; file and row
        number are left for the caller to fill in
    """
    refuse = _Refusals(row)
    form = row.slat_form or defaults.COMMON["slat_form"]

    def get(column: str) -> Any:
        value = getattr(row, column, None)
        if value is not None:
            return value
        return defaults.blank_value(column, row.family, cast(str, form))

    orientation = _orientation(row, get, refuse)
    stack = _stack(row, get, orientation, refuse)
    refuse.stop_if_any()
    assert stack is not None
    body, trough = (
        _round_body(row, get, stack, refuse)
        if row.family == "round"
        else _block_body(row, get, stack, orientation, refuse)
    )
    refuse.stop_if_any()
    try:
        section = _laid_out(stack, trough, row)
    except SectionError as fault:
        refuse.add(fault.column, str(fault), fault.fix)
        refuse.stop_if_any()
        raise AssertionError from fault
    bays = _bays(row, get, body, refuse)
    _sight(section, stack, row, refuse)
    refuse.stop_if_any()
    return VentSpec(
        row=row,
        revision=get("revision"),
        description=row.description or _describe(row, stack),
        colour=get("colour"),
        material=MATERIALS[get("material")],
        print_orientation=orientation,
        stl_orientation=get("stl_orientation"),
        section=section,
        bays=bays,
        rib_thickness_mm=get("rib_thickness_mm"),
        panel_thickness_mm=get("panel_thickness_mm"),
        body=body,
        mark=_mark(body, section, raised=orientation == "upright"),
        opening=_opening(body),
    )


def _describe(row: CatalogRow, stack: Stack) -> str:
    """Return a description for rows that bring none."""
    return f"{row.family} vent {row.size}, {stack.bank_count} banks of {stack.form} slats"


def _orientation(row: CatalogRow, get: Get, refuse: _Refusals) -> Any:
    """Return the print orientation and refuse combinations that need supports."""
    snap = row.family == "rectangular" and get("fixing") == "snap"
    orientation = row.print_orientation or ("upright" if snap else get("print_orientation"))
    if orientation == "upright" and row.family != "rectangular":
        what = "neck" if row.family == "round" else "flange"
        refuse.add(
            "print_orientation",
            f"a {row.family} vent does not print upright without supports: its {what} would hang"
            " over the bed",
            "use face_down",
            "face_down",
        )
    if orientation == "face_down" and snap:
        refuse.add(
            "fixing",
            "snap arms start in mid-air when printed face down",
            "set print_orientation to upright, or fixing to screw",
        )
    if snap:
        for column in ("screw", "screw_fit"):
            if getattr(row, column) is not None:
                refuse.add(column, "a snap-fixed vent has no screws", "leave this cell blank")
    if orientation == "upright" and row.family == "rectangular" and get("key") == "notch":
        refuse.add(
            "key",
            "the key ridge below the body would lift the part off the bed when printed upright",
            "print face_down, or set key to none",
        )
    return orientation


def _numbers(text: str) -> tuple[float, ...]:
    return tuple(float(part) for part in text.split("/"))


def _stack(row: CatalogRow, get: Get, orientation: str, refuse: _Refusals) -> Stack | None:
    """Return the slat stack, slopes and gaps still chosen by computation where left blank."""
    form, t, pitch = get("slat_form"), get("slat_thickness_mm"), get("pitch_mm")
    banks, shift = get("bank_count"), get("bank_shift")
    before = len(refuse.problems)
    if orientation == "upright" and t < SLAT_MIN_UPRIGHT.value:
        refuse.add(
            "slat_thickness_mm",
            f"slats of {t:g} mm are too thin to print upright, where layers cross the slat's root",
            "print face_down, or thicken the slats",
            f"{SLAT_MIN_UPRIGHT.value:g} mm or more when upright",
        )
    gaps = _gaps(row, get, banks, refuse)
    slopes = _slopes(row, get, form, banks, refuse)
    share = uncovered_fraction(shift, banks)
    height = _slat_height(row, get, share, refuse)
    if len(refuse.problems) > before:
        return None
    stack = Stack(form, t, pitch, height, gaps, shift, slopes)
    _overlap(row, stack, share, refuse)
    least = t + 1.0 if form == "flat" else t * _R2 + 1.0
    if height < least:
        refuse.add(
            "slat_height_mm" if row.slat_height_mm is not None else "overlap_mm",
            f"slats {height:.1f} mm high are too low for their thickness of {t:g} mm",
            f"raise the overlap by {least - height:.1f} mm or thin the slats",
        )
    for name, width in narrow_places(stack):
        refuse.add(
            "bank_gaps_mm" if name.startswith("gap") else "pitch_mm",
            f"the {name} is {width:.2f} mm wide: a water film would bridge it",
            _widen(name, width, stack),
            f"{GAP_MIN.value:g} mm or more",
        )
    if len(refuse.problems) > before:
        return None
    return close_straight_paths(
        stack,
        free_slopes=get("slopes") == "auto",
        free_gaps=row.bank_gaps_mm is None,
    )


def _widen(name: str, width: float, stack: Stack) -> str:
    """Return what to change so that a narrow place becomes wide enough."""
    lack = GAP_MIN.value - width
    if name.startswith("gap"):
        return f"increase this gap by {lack:.1f} mm"
    if stack.form == "flat":
        share = 1.0 - uncovered_fraction(stack.shift, stack.bank_count)
        return (
            f"raise the pitch to {stack.pitch_mm + lack / max(share, 0.1):.1f} mm or more,"
            " or lower the overlap"
        )
    need = (GAP_MIN.value + stack.thickness_mm) * _R2
    return f"raise the pitch to {math.ceil(need * 10) / 10:.1f} mm or more, or thin the slats"


def _gaps(row: CatalogRow, get: Get, banks: int, refuse: _Refusals) -> tuple[float, ...]:
    """Return one clear distance per gap between banks."""
    if row.bank_gaps_mm is None:
        return (get("bank_gap_mm"),) * (banks - 1)
    gaps = _numbers(row.bank_gaps_mm)
    if len(gaps) == 1:
        return gaps * (banks - 1)
    if len(gaps) != banks - 1:
        refuse.add(
            "bank_gaps_mm",
            f"{len(gaps)} gaps are given but {banks} banks have {banks - 1} gaps between them",
            "give one number for all gaps, or one number per gap",
        )
    if max(gaps) > 40.0:
        refuse.add("bank_gaps_mm", "a gap between banks is absurdly wide", "use 40 mm or less")
    return gaps


def _slopes(row: CatalogRow, get: Get, form: str, banks: int, refuse: _Refusals) -> tuple[int, ...]:
    """Return one slope per bank; all out where they do not matter or are still to be chosen."""
    text = get("slopes")
    if text == "auto":
        return (OUT,) * banks
    if form != "inclined":
        refuse.add(
            "slopes", f"{form} slats have no slope to choose", "leave this cell blank or say auto"
        )
        return (OUT,) * banks
    slopes = tuple(OUT if word == "out" else IN for word in text.split("-"))
    if len(slopes) != banks:
        refuse.add(
            "slopes",
            f"{len(slopes)} slopes are given for {banks} banks",
            "give one slope per bank, from outside in",
        )
    elif slopes[-1] == IN:
        refuse.add(
            "slopes",
            "the innermost bank slopes in: what it catches runs into the cabinet",
            "let the innermost bank slope out",
        )
    return slopes


def _slat_height(row: CatalogRow, get: Get, share: float, refuse: _Refusals) -> float:
    """Return the slat height, given directly or from the overlap."""
    if row.slat_height_mm is not None and row.overlap_mm is not None:
        refuse.add(
            "overlap_mm",
            "overlap_mm and slat_height_mm both say how high a slat is",
            "leave one of the two blank",
        )
    if row.slat_height_mm is not None:
        return row.slat_height_mm
    return float(share * get("pitch_mm") + get("overlap_mm"))


def _overlap(row: CatalogRow, stack: Stack, share: float, refuse: _Refusals) -> None:
    """Refuse slats that leave a level straight path, in the trade's terms."""
    if stack.overlap_mm > 0.0:
        return
    most = math.floor(stack.slat_height_mm / share * 10) / 10
    advice = f"reduce the pitch to {most:.1f} mm or less"
    if row.slat_height_mm is None:
        advice = "raise overlap_mm above zero"
    if uncovered_fraction(stack.shift, stack.bank_count + 1) < share - 1e-9:
        advice += ", or add a bank"
    refuse.add(
        "overlap_mm" if row.slat_height_mm is None else "pitch_mm",
        f"slats overlap by {stack.overlap_mm:.1f} mm: a straight path exists",
        advice,
    )


def _sight(section: Section, stack: Stack, row: CatalogRow, refuse: _Refusals) -> None:
    """Refuse a section through which a straight line passes, or nearly."""
    if section.closed:
        return
    margin = section.sight.margin_mm
    angle = section.sight.elevation_deg
    what = (
        f"a straight path {-margin:.2f} mm wide exists"
        if margin < 0
        else f"a straight line misses by only {margin:.2f} mm"
    )
    refuse.add(
        "pitch_mm",
        f"{what} at {angle:.0f} degrees elevation",
        _closing_advice(stack, row),
        f"{SIGHT_MARGIN_MIN.value:g} mm margin or more",
    )


def _closing_advice(stack: Stack, row: CatalogRow) -> str:
    """Return a change, found by trying, that closes the straight path of a stack."""
    free_slopes = stack.form == "inclined"

    def closes(trial: Stack) -> bool:
        if narrow_places(trial):
            return False
        fixed = close_straight_paths(trial, free_slopes=free_slopes, free_gaps=True)
        return endless_margin(fixed).margin_mm >= SIGHT_MARGIN_MIN.value

    if (row.slopes or row.bank_gaps_mm) and closes(stack):
        return "leave slopes and bank_gaps_mm blank so that they are chosen to close it"
    for percent in range(95, 45, -5):
        pitch = math.floor(stack.pitch_mm * percent / 10) / 10
        if closes(replace(stack, pitch_mm=pitch)):
            return f"reduce the pitch to {pitch:.1f} mm or less at the same slat height"
    for more in (0.5, 1.0, 1.5, 2.0, 3.0, 4.0):
        if closes(replace(stack, slat_height_mm=stack.slat_height_mm + more)):
            return f"raise the overlap to {stack.overlap_mm + more:.1f} mm"
    return "reduce the pitch, raise the overlap, or add a bank"


def _laid_out(stack: Stack, trough: Trough, row: CatalogRow) -> Section:
    """Return the section; a blank sill height is raised until no straight line passes."""
    steps = 0
    if row.sill_height_mm is None:
        room = trough.ceiling_max_mm - 2 * stack.pitch_mm - trough.sill_top_mm
        if trough.throat is not None:
            room = min(room, -trough.throat.bore_radius_mm - 0.5 - trough.sill_top_mm)
        steps = max(0, min(SILL_STEPS, math.floor(room / SILL_STEP_MM)))
    return lay_out_closed(stack, trough, steps, SILL_STEP_MM)


def _bays(
    row: CatalogRow, get: Get, body: BlockBody | RoundBody, refuse: _Refusals
) -> tuple[tuple[float, float], ...]:
    """Return the clear x range of every bay; ribs are spaced evenly.

    A blank rib count is the least one that keeps every slat within the good bridge length.
    """
    half = body.inner_radius_mm if isinstance(body, RoundBody) else body.cavity_half_width_mm
    t = get("rib_thickness_mm")
    width = 2.0 * half
    count = row.rib_count
    profile = MATERIALS[get("material")].print_profile
    longest = profile.bridge_max_mm
    if count is None:
        count = math.ceil((width + t) / (profile.bridge_good_mm + t)) - 1
    bay = (width - count * t) / (count + 1)
    if bay > longest:
        need = math.ceil((width + t) / (longest + t)) - 1
        refuse.add(
            "rib_count",
            f"with {count} ribs the slats bridge {bay:.1f} mm",
            f"use {need} ribs or more, or leave the cell blank",
            f"bridges up to {longest:g} mm in {get('material')}",
        )
    if bay < BAY_MIN.value:
        most = max(0, math.floor((width + t) / (BAY_MIN.value + t)) - 1)
        refuse.add(
            "rib_count",
            f"{count} ribs of {t:g} mm leave bays only {bay:.1f} mm wide",
            f"use {most} ribs or fewer",
            f"bays of {BAY_MIN.value:g} mm or more",
        )
    starts = [-half + i * (bay + t) for i in range(count + 1)]
    return tuple((x, x + bay) for x in starts)


def _size(row: CatalogRow) -> tuple[float, float]:
    width, height = row.size.split("x")
    return float(width), float(height)


def _drain(row: CatalogRow, get: Get, refuse: _Refusals) -> float:
    drain = float(get("drain_height_mm"))
    if drain < GAP_MIN.value:
        refuse.add(
            "drain_height_mm",
            f"a drain slot {drain:g} mm high stays bridged by a water film",
            f"use {GAP_MIN.value:g} mm or more",
            f"{GAP_MIN.value:g} mm or more",
        )
    return drain


def _block_body(
    row: CatalogRow, get: Get, stack: Stack, orientation: str, refuse: _Refusals
) -> tuple[BlockBody, Trough]:
    """Return body and trough of a rectangular or flanged vent."""
    w, h = _size(row)
    for value, name in ((w, "width"), (h, "height")):
        if not OPENING_MIN.value <= value <= OPENING_MAX.value:
            refuse.add(
                "size",
                f"the opening's {name} of {value:g} mm is out of range",
                "choose another size",
                f"{OPENING_MIN.value:g} to {OPENING_MAX.value:g} mm",
            )
    flanged = row.family == "flanged"
    wall, panel = get("wall_mm"), get("panel_thickness_mm")
    cover_t = get("flange_thickness_mm") if flanged else get("lip_thickness_mm")
    drain = _drain(row, get, refuse)
    body_w, body_h = w - 2 * FIT_CLEARANCE.value, h - 2 * FIT_CLEARANCE.value
    front = cover_t
    depth = (
        defaults.FRONT_MARGIN_MM
        + stack.depth_mm
        + defaults.INNER_MARGIN_MM
        + defaults.SILL_THICKNESS_MM
    )
    inner_z = front - depth
    snap = None
    if not flanged and get("fixing") == "snap":
        snap = _snap(inner_z, panel, refuse)
    half = body_w / 2 - wall
    if snap is not None:
        half -= snap.thickness_mm + snap.slot_mm
    foot_z = inner_z + defaults.SILL_THICKNESS_MM
    slope = get("floor_slope_deg")
    floor_front = -body_h / 2 + wall
    floor_foot = floor_front + (front - foot_z) * math.tan(math.radians(slope))
    sill = floor_foot + (row.sill_height_mm or drain + SILL_OVER_DRAIN_MM)
    if sill > body_h / 2 - wall - 2 * GAP_MIN.value:
        refuse.add(
            "sill_height_mm",
            "the sill closes the inner side of the cavity",
            "lower sill_height_mm or floor_slope_deg, or make the opening higher",
        )
    if half < BAY_MIN.value / 2:
        refuse.add(
            "wall_mm", "the walls leave no cavity", "thin the walls or make the opening wider"
        )
    cover, holes, gasket = (
        _flange(row, get, (w, h), refuse)
        if flanged
        else _lip(get, (w, h), body_h, orientation, snap is not None)
    )
    body = BlockBody(
        opening_mm=(w, h),
        body_mm=(body_w, body_h),
        cavity_half_width_mm=half,
        wall_mm=wall,
        cover_mm=cover,
        cover_thickness_mm=cover_t,
        inner_z_mm=inner_z,
        holes=holes,
        teardrop_holes=orientation == "upright",
        snap=snap,
        key=KeyRidge(defaults.KEY_WIDTH_MM, defaults.KEY_HEIGHT_MM)
        if get("key") == "notch"
        else None,
        gasket=gasket,
    )
    ceiling = body_h / 2 - wall
    trough = Trough(
        front_z_mm=front,
        front_margin_mm=defaults.FRONT_MARGIN_MM,
        floor_front_mm=floor_front,
        slope_deg=slope,
        drain_height_mm=drain,
        apron_thickness_mm=defaults.APRON_THICKNESS_MM,
        ceiling_max_mm=ceiling,
        ceiling_min_mm=ceiling - stack.pitch_mm,
        inner_z_mm=inner_z,
        foot_z_mm=foot_z,
        sill_top_mm=sill,
    )
    return body, trough


def _snap(inner_z: float, panel: float, refuse: _Refusals) -> SnapArms:
    """Return the snap arms; their 45 degree hooks bear on the panel's inner edge."""
    free_end = -panel + FIT_CLEARANCE.value
    length = free_end - (inner_z + defaults.SNAP_ROOT_MM)
    if length < 4 * defaults.SNAP_ARM_MM + 3.5 * defaults.SNAP_HOOK_MM:
        refuse.add(
            "panel_thickness_mm",
            f"snap arms only {max(length, 0.0):.1f} mm long would break",
            "use a thinner panel, a deeper stack, or fixing screw",
        )
    return SnapArms(
        thickness_mm=defaults.SNAP_ARM_MM,
        slot_mm=defaults.SNAP_SLOT_MM,
        root_mm=defaults.SNAP_ROOT_MM,
        hook_mm=defaults.SNAP_HOOK_MM,
        free_end_z_mm=free_end,
    )


def _lip(
    get: Get, opening: tuple[float, float], body_h: float, orientation: str, snap: bool
) -> tuple[tuple[float, float, float, float], tuple[Hole, ...], None]:
    """Return lip reach and screw holes of a rectangular vent.

    Upright parts stand on their floor, so their lip ends flush with the body at the bottom.
    """
    w, h = opening
    lip = get("lip_width_mm")
    side = w / 2 + lip
    holes: tuple[Hole, ...] = ()
    if not snap:
        washer = defaults.WASHER_MM[get("screw")]
        diameter = defaults.ISO_273_MM[get("screw")][get("screw_fit")]
        x = w / 2 + washer / 2 + 1.0
        side = max(side, x + washer / 2 + 1.0)
        heights = (0.0,) if h <= HOLE_SPACING_MAX.value else (-h / 4, h / 4)
        holes = tuple(Hole(sx * x, y, diameter) for sx in (-1, 1) for y in heights)
    bottom = body_h / 2 if orientation == "upright" else h / 2 + lip
    return (side, side, bottom, h / 2 + lip), holes, None


def _flange(
    row: CatalogRow, get: Get, opening: tuple[float, float], refuse: _Refusals
) -> tuple[tuple[float, float, float, float], tuple[Hole, ...], GasketSpec]:
    """Return flange reach, screw holes and gasket of a flanged vent."""
    w, h = opening
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    washer = defaults.WASHER_MM[get("screw")]
    diameter = defaults.ISO_273_MM[get("screw")][get("screw_fit")]
    line = 2 * land + gw + washer / 2
    need = line + washer / 2 + 1.0
    width = row.flange_width_mm or math.ceil(need)
    if width < need:
        refuse.add(
            "flange_width_mm",
            f"a flange of {width:g} mm has no room for gasket and {get('screw')} screws",
            f"use {math.ceil(need)} mm or more, or a smaller screw",
            f"{math.ceil(need)} mm or more with {get('screw')}",
        )
    x, y = w / 2 + line, h / 2 + line
    # An even number along the top keeps its middle free for the mark.
    along = max(2, 2 * math.ceil((math.ceil(2 * x / HOLE_SPACING_MAX.value) + 1) / 2))
    up = max(2, math.ceil(2 * y / HOLE_SPACING_MAX.value) + 1)
    xs = [-x + 2 * x * i / (along - 1) for i in range(along)]
    ys = [-y + 2 * y * i / (up - 1) for i in range(up)]
    places = [(px, sy * y) for sy in (-1, 1) for px in xs]
    places += [(sx * x, py) for sx in (-1, 1) for py in ys[1:-1]]
    holes = tuple(Hole(px, py, diameter) for px, py in places)
    gasket = GasketSpec(
        inner_mm=(w + 2 * land, h + 2 * land),
        outer_mm=(w + 2 * (land + gw), h + 2 * (land + gw)),
        thickness_mm=defaults.GASKET_THICKNESS_MM,
        recess_mm=defaults.GASKET_RECESS_MM,
    )
    return (w / 2 + width, w / 2 + width, h / 2 + width, h / 2 + width), holes, gasket


def _round_body(
    row: CatalogRow, get: Get, stack: Stack, refuse: _Refusals
) -> tuple[RoundBody, Trough]:
    """Return body and trough of a round vent."""
    material = MATERIALS[get("material")]
    thread = thread_spec(row.size, material.thread_clearance_normal_mm)
    d, wall, panel = thread.nominal_mm, get("wall_mm"), get("panel_thickness_mm")
    drain = _drain(row, get, refuse)
    land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
    shoulder = d / 2 + 2 * land + gw
    bore = _bore(thread)
    head = row.head_diameter_mm or math.ceil(1.5 * d + 24.0)
    least = math.ceil(2 * (shoulder + 2.0))
    if head < least:
        refuse.add(
            "head_diameter_mm",
            f"a head of {head:g} mm is too small for its {row.size} neck and gasket",
            f"use {least} mm or more",
            f"{least} mm or more on {row.size}",
        )
        head = least
    gasket = GasketSpec(
        inner_mm=(d + 2 * land, d + 2 * land),
        outer_mm=(d + 2 * (land + gw), d + 2 * (land + gw)),
        thickness_mm=defaults.GASKET_THICKNESS_MM,
        recess_mm=defaults.GASKET_RECESS_MM,
    )
    nut = locknut_size(thread).thickness_mm
    short = max(panel + nut + 2 * thread.pitch_mm, neck_length_min_mm(thread))
    neck = row.neck_length_mm or math.ceil(short)
    if neck < short:
        refuse.add(
            "neck_length_mm",
            f"a neck of {neck:g} mm does not reach through a {panel:g} mm panel and its locknut",
            f"use {math.ceil(short)} mm or more",
            f"{math.ceil(short)} mm or more",
        )
    radius = head / 2
    inner = radius - wall
    cone = (SHOULDER_MM, SHOULDER_MM + radius - shoulder)
    throat_z = max(THROAT_Z_MM, SHOULDER_MM - shoulder + bore + _R2 * wall)
    stack_inner = throat_z + (inner - bore) + defaults.PLENUM_MM
    front = stack_inner + stack.depth_mm + defaults.FRONT_MARGIN_MM
    body = RoundBody(
        head_radius_mm=radius,
        inner_radius_mm=inner,
        wall_mm=wall,
        flat_depth_mm=defaults.FLAT_DEPTH_MM,
        shoulder_radius_mm=shoulder,
        cone_z_mm=cone,
        throat_z_mm=throat_z,
        bore_radius_mm=bore,
        neck_length_mm=neck,
        thread=thread,
        true_thread=get("thread") == "true",
        gasket=gasket,
    )
    bays = _bays(row, get, body, refuse)
    # The floor is wide enough that every bay has a stretch of it, so every bay can drain.
    reach = max(bays[-1][0] + 4.0, 0.35 * inner)
    if reach > 0.9 * inner:
        refuse.add(
            "rib_count",
            "so many ribs leave side bays without floor and drain",
            "use fewer ribs, or leave the cell blank",
        )
        reach = 0.9 * inner
    slope = get("floor_slope_deg")
    floor_front = -math.sqrt(inner**2 - reach**2)
    foot_z = stack_inner - defaults.INNER_MARGIN_MM
    floor_foot = floor_front + (front - foot_z) * math.tan(math.radians(slope))
    sill = floor_foot + (row.sill_height_mm or drain + SILL_OVER_DRAIN_MM)
    if sill > -bore - 0.4:
        refuse.add(
            "sill_height_mm" if row.sill_height_mm else "head_diameter_mm",
            f"the sill stands {sill + bore + 0.4:.1f} mm too high: it reaches into the bore",
            f"use a head of {math.ceil(head + 2.2 * (sill + bore + 0.4))} mm, or a smaller floor"
            " slope",
        )
    ceiling = min(radius - MARK_BAR_MM, 0.94 * inner)
    trough = Trough(
        front_z_mm=front,
        front_margin_mm=defaults.FRONT_MARGIN_MM,
        floor_front_mm=floor_front,
        slope_deg=slope,
        drain_height_mm=drain,
        apron_thickness_mm=defaults.APRON_THICKNESS_MM,
        ceiling_max_mm=ceiling,
        ceiling_min_mm=ceiling - stack.pitch_mm,
        inner_z_mm=-neck,
        foot_z_mm=foot_z,
        sill_top_mm=sill,
        throat=Throat(bore, throat_z, inner),
    )
    return body, trough


def _bore(thread: ThreadSpec) -> float:
    """Return the bore radius that leaves the least neck wall under the thread root."""
    relief = neck_relief_diameter_mm(thread.external)
    return math.floor((relief / 2 - NECK_WALL_MIN.value) * 20) / 20


def _mark(body: BlockBody | RoundBody, section: Section, *, raised: bool) -> Mark:
    """Return the place of the arrow and TOP mark, in the bar above the front window."""
    top = body.head_radius_mm - 1.0 if isinstance(body, RoundBody) else body.cover_mm[3]
    low = section.ceiling_mm
    if isinstance(body, RoundBody):
        height = min(MARK_HEIGHT_MM, (top - low) * 0.6)
        y = low + 0.25 * (top - low - height)
    else:
        height = MARK_HEIGHT_MM
        y = low + (top - low - height) / 2
    return Mark(0.0, y, height, MARK_DEPTH.value, raised)


def _opening(body: BlockBody | RoundBody) -> Opening:
    """Return what the panel needs."""
    if isinstance(body, RoundBody):
        hole = body.thread.nominal_mm + 2 * FIT_CLEARANCE.value
        return Opening("circle", (hole, hole), None, ())
    notch = None
    if body.key is not None:
        notch = (
            body.key.width_mm + 2 * FIT_CLEARANCE.value,
            body.key.height_mm + FIT_CLEARANCE.value,
        )
    return Opening("rectangle", body.opening_mm, notch, body.holes)
