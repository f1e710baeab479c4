"""Rules between columns that a fan behind the vent makes."""

from __future__ import annotations

import math

from vent_family.base.limits import FAN_DUCT_MAX, FAN_SWEPT_MIN
from vent_family.catalog.columns import COLUMNS, decimal
from vent_family.spec.body import Body
from vent_family.spec.changes import Change
from vent_family.spec.fan_mount import FRAMES
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.section import Section

_COLUMN = "fan_mount"


def fan_ways(
    row: FilledRow, frame: str | None, refusals: Refusals, *, snapped: bool = False
) -> None:
    """Refuse ways of fixing, printing and driving that do not go with a fan behind the vent.

    ``frame`` is the fan's, ``None`` without one; ``snapped`` says that snap arms hold the vent.
    """
    if frame is None:
        return
    none: Change = {_COLUMN: None}
    if snapped:
        refusals.refuse(
            "snap.fan.both",
            "fixing",
            "a fan shakes what it hangs on: snap arms work loose",
            allowed="screw, with fan_mount",
            guesses=({"fixing": "screw", "print_orientation": None}, {"fixing": "screw"}, none),
        )
    elif row.print_orientation == "upright":
        refusals.refuse(
            "fan.duct.upright",
            "print_orientation",
            "the duct to the fan prints face down only: standing, its roof would have to bridge the"
            " whole width",
            allowed="face_down, with fan_mount",
            guesses=({"print_orientation": "face_down"}, none),
        )
    if row.fan is None:
        return
    position = "intake" if row.air_direction == "in" else "outlet"
    if row.fan_position != position:
        way = "draws air in" if row.air_direction == "in" else "lets air out"
        refusals.refuse(
            "fan.position.side",
            "fan_position",
            f"the fan stands behind this vent, which {way}",
            allowed=position,
            guesses=({"fan_position": position}, none),
            columns=("air_direction",),
        )
    if row.vents_in_parallel > 1:
        refusals.refuse(
            "fan.vents.shared",
            "vents_in_parallel",
            f"the fan stands behind one vent, and {row.vents_in_parallel} cannot share it",
            allowed="1, or blank, with fan_mount",
            guesses=({"vents_in_parallel": None}, none),
        )


def fan_room(row: FilledRow, refusals: Refusals, body: Body, section: Section) -> None:
    """Refuse a fan that does not fit behind a block.

    Parameters
    ----------
    row
        The filled row.
    refusals
        Where the problem is noted.
    body, section
        What was laid out.
    """
    mount = body.fan_mount
    if mount is None:
        return
    name = mount.frame.name
    width, height = (float(side) for side in row.size.split("x"))
    if mount.lack_mm > 0.0:
        least = mount.opening_least_mm
        wider = (float(math.ceil(max(side, least))) for side in (width, height))
        smaller = [f for f in FRAMES.values() if f.reach_mm <= min(mount.half_mm)]
        refusals.refuse(
            "fan.opening.small",
            _COLUMN,
            f"what holds a fan of {name} mm does not pass the opening: its screws stand"
            f" {mount.frame.spacing_mm:g} mm apart, and it draws air through a bore of"
            f" {mount.frame.bore_mm:g} mm",
            allowed=f"an opening of {least:.1f} mm or more, each way, for a fan of {name} mm",
            guesses=[
                *({_COLUMN: f.name} for f in reversed(smaller)),
                {"size": "x".join(decimal(side) for side in wider)},
                {_COLUMN: None},
            ],
            columns=(_COLUMN, "size"),
            lack=mount.lack_mm,
        )
        return
    duct = mount.duct(section)
    others: list[Change] = [{_COLUMN: n} for n in COLUMNS[_COLUMN].choices if n != name]
    if duct.depth_mm > FAN_DUCT_MAX.value:
        refusals.refuse(
            "fan.duct.deep",
            _COLUMN,
            f"a fan of {name} mm behind so large a block needs a duct {duct.depth_mm:.0f} mm deep",
            allowed=f"{FAN_DUCT_MAX.value:g} mm or less",
            guesses=[*others, {_COLUMN: None}],
            columns=("size",),
            lack=duct.depth_mm - FAN_DUCT_MAX.value,
        )
    if duct.open_share < FAN_SWEPT_MIN.value:
        lower: list[Change] = [{"sill_height_mm": None}] if row.given("sill_height_mm") else []
        # An opening higher by a share of the bore opens about as much of it.
        more = (FAN_SWEPT_MIN.value - duct.open_share) * mount.frame.bore_mm
        higher = float(math.ceil(height + more))
        refusals.refuse(
            "fan.sill.shut",
            _COLUMN,
            f"sill and walls leave only {100.0 * duct.open_share:.0f} % of what a fan of"
            f" {name} mm sweeps open",
            allowed=f"{100.0 * FAN_SWEPT_MIN.value:g} % or more",
            guesses=[*lower, {"size": f"{decimal(width)}x{decimal(higher)}"}, {_COLUMN: None}],
            columns=("size", "sill_height_mm", "drain_height_mm", "floor_slope_deg"),
            lack=FAN_SWEPT_MIN.value - duct.open_share,
        )
