"""What the record says of the fan behind a vent."""

from __future__ import annotations

from typing import Annotated, Final

from vent_family.base.frozen import Frozen
from vent_family.base.limits import FAN_GUARD_MIN
from vent_family.evidence.facts import Fact, Shown
from vent_family.spec.fan_mount import FanDuct

FITTING: Final = (
    "fit the fan from inside the cabinet, its frame flat on the duct's end, after the vent is fixed"
)
CAUTION: Final = (
    "the distance to the slats is common practice, no safety distance: whether the fan needs a"
    " guard, and against whose fingers, is for the installer to decide"
)


class FanMountRecord(Frozen):
    """The fan that a duct behind the vent holds."""

    frame_mm: Annotated[
        float,
        Fact(
            "side of the fan's square frame, a trade size",
            "mm",
            attribute="fan_frame_mm",
            index=Shown("fan_frame_mm", digits=0),
        ),
    ]
    hole_spacing_mm: Annotated[
        float, Fact("distance of the frame's holes", "mm", attribute="fan_hole_spacing_mm")
    ]
    screw: Annotated[
        str,
        Fact("thread-forming screws, one in each of four bosses", attribute="fan_screw"),
    ]
    screw_bore_mm: Annotated[
        float, Fact("diameter of a boss's bore", "mm", attribute="fan_screw_bore_mm")
    ]
    screw_bore_depth_mm: Annotated[
        float, Fact("depth of a boss's bore", "mm", attribute="fan_screw_bore_depth_mm")
    ]
    guard_distance_mm: Annotated[
        float,
        Fact(
            "from the slats to the plane of the fan's frame",
            "mm",
            attribute=Shown("fan_guard_distance_mm", digits=1),
        ),
    ]
    guard_distance_basis: Annotated[str, Fact("least distance, and where it comes from")] = (
        f"{FAN_GUARD_MIN.value:g} mm or more: {FAN_GUARD_MIN.source}"
    )
    plane_z_mm: Annotated[
        float,
        Fact("plane of the fan's frame, z", "mm", attribute=Shown("fan_plane_z_mm", digits=2)),
    ]
    centre_y_mm: Annotated[
        float,
        Fact(
            "the fan's axis above the opening's centre",
            "mm",
            attribute=Shown("fan_centre_y_mm", digits=2),
        ),
    ]
    overhang_mm: Annotated[
        float, Fact("how far the frame reaches beyond the opening, at most", "mm")
    ]
    swept_area_mm2: Annotated[float, Fact("what the blades sweep: bore less hub", "mm2")]
    swept_open_mm2: Annotated[
        float, Fact("what the duct leaves open of it", "mm2", attribute="fan_swept_open_mm2")
    ]
    fitting: Annotated[str, Fact("how it is fitted")] = FITTING
    caution: Annotated[str, Fact("what it does not say", attribute="fan_caution")] = CAUTION


class FanMountSection(Frozen):
    """The fan of vents that hold one."""

    fan_mount: Annotated[FanMountRecord | None, Fact("null: no fan is held")]


def fan_mount_section(duct: FanDuct | None, opening_mm: tuple[float, float]) -> FanMountSection:
    """Return what a duct holds, behind an opening of a width and height (mm)."""
    if duct is None:
        return FanMountSection(fan_mount=None)
    frame = duct.frame
    half = frame.side_mm / 2.0
    beyond = max(half - opening_mm[0] / 2.0, half + abs(duct.centre_mm) - opening_mm[1] / 2.0)
    return FanMountSection(
        fan_mount=FanMountRecord(
            frame_mm=frame.side_mm,
            hole_spacing_mm=frame.spacing_mm,
            screw=frame.screw,
            screw_bore_mm=2.0 * frame.pilot_mm,
            screw_bore_depth_mm=frame.pilot_depth_mm,
            guard_distance_mm=duct.guard_mm,
            plane_z_mm=duct.end_z_mm,
            centre_y_mm=duct.centre_mm,
            overhang_mm=max(beyond, 0.0),
            swept_area_mm2=frame.swept_mm2,
            swept_open_mm2=duct.open_swept_mm2,
        )
    )
