"""Sizes of the threaded parts around the round vent: neck ends and locknut.

Asked for without building a solid, so that a catalogue can be checked without a geometry kernel.
Lengths in mm, angles in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import COMMON_PRACTICE, OWN_RULE, Limit
from vent_family.base.problems import InputError, Problem
from vent_family.spec.thread.iso import ThreadProfile, ThreadSpec

CHAMFER_DEG: Final = 45.0
"""Lead-in chamfers, angle to the axis, degrees: prints without support, and starts a nut."""

RELIEF_DEPTH: Final = Limit(
    0.1, "mm", "how far chamfers and relief reach radially beyond the thread", OWN_RULE
)
RELIEF_LENGTH: Final = Limit(
    1.0, "mm", "plain stub between head and thread, hidden by gasket and panel", OWN_RULE
)
FULL_TURNS_MIN: Final = Limit(1.0, "1", "full turns of thread that must remain", OWN_RULE)
RING_TURNS_MORE: Final = Limit(
    0.5, "1", "turns of thread that a screen's ring has over the least", OWN_RULE
)
RING_WALL: Final = Limit(
    2.0, "mm", "least wall of a screen's ring outside its thread", COMMON_PRACTICE
)
WASHER_SHARE: Final = 0.95
"""Washer face's diameter over the width across flats: common practice, no source."""
BACK_CHAMFER_DEG: Final = 30.0
"""Chamfer of a locknut's corners at the back, degrees to the end face: common practice, no
source."""
WASHER_HEIGHT: Final = Limit(0.4, "mm", "height of the locknut's washer face", COMMON_PRACTICE)


def neck_relief_diameter_mm(profile: ThreadProfile) -> float:
    """Return the diameter of the neck's plain stub and of its tip, mm.

    Examples
    --------
    >>> from vent_family.spec.thread.iso import thread_spec
    >>> round(neck_relief_diameter_mm(thread_spec("M32x1.5", 0.12).external), 3)
    30.069
    """
    return profile.minor_mm - 2.0 * RELIEF_DEPTH.value


def neck_length_min_mm(thread: ThreadSpec, relief_length_mm: float = RELIEF_LENGTH.value) -> float:
    """Return the shortest neck, mm, on which one full turn of thread stands between its ends.

    Examples
    --------
    >>> from vent_family.spec.thread.iso import thread_spec
    >>> round(neck_length_min_mm(thread_spec("M32x1.5", 0.12)), 2)
    4.28
    """
    profile = thread.external
    chamfer_mm = profile.depth_mm + RELIEF_DEPTH.value
    return relief_length_mm + 2.0 * chamfer_mm + FULL_TURNS_MIN.value * profile.pitch_mm


@dataclass(frozen=True, slots=True)
class LocknutSize:
    """Outer sizes of a hexagon locknut, mm."""

    across_flats_mm: float
    thickness_mm: float
    washer_diameter_mm: float
    washer_height_mm: float
    countersink_diameter_mm: float

    @property
    def across_corners_mm(self) -> float:
        """Width across corners of the sharp hexagon, mm."""
        return 2.0 * self.across_flats_mm / math.sqrt(3.0)


def locknut_size(thread: ThreadSpec) -> LocknutSize:
    """Return the sizes of the printed locknut of ``thread``.

    Across flats 1.1 d + 3 mm, rounded up to a whole mm; thickness 5 mm + 0.06 d, to the nearest
    half mm; washer face 95 % of the flats: common practice, no source.

    Raises
    ------
    InputError
        if countersinks leave less than one full turn of thread

    Examples
    --------
    >>> from vent_family.spec.thread.iso import thread_spec
    >>> nut = locknut_size(thread_spec("M32x1.5", 0.12))
    >>> nut.across_flats_mm, nut.thickness_mm, round(nut.across_corners_mm, 2)
    (39.0, 7.0, 45.03)
    """
    flats_mm = float(math.ceil(1.1 * thread.nominal_mm + 3.0 - 1e-9))
    thickness_mm = round(2.0 * (5.0 + 0.06 * thread.nominal_mm)) / 2.0
    profile = thread.internal
    chamfer_mm = profile.depth_mm + RELIEF_DEPTH.value
    if thickness_mm - 2.0 * chamfer_mm < FULL_TURNS_MIN.value * profile.pitch_mm:
        raise InputError(
            [
                Problem(
                    "thread.locknut.thin",
                    f"a locknut {thickness_mm:g} mm thick holds no full turn of this thread",
                    value=thread.designation,
                    allowed="pitches well below a third of the thickness",
                    suggestion="use the fine pitch, 1.5 mm",
                )
            ]
        )
    return LocknutSize(
        across_flats_mm=flats_mm,
        thickness_mm=thickness_mm,
        washer_diameter_mm=WASHER_SHARE * flats_mm,
        washer_height_mm=WASHER_HEIGHT.value,
        countersink_diameter_mm=profile.major_mm + 2.0 * RELIEF_DEPTH.value,
    )


def screen_ring_size(thread: ThreadSpec) -> LocknutSize:
    """Return the sizes of the threaded part of the ring that holds a screen on the neck's end.

    A full turn between its countersinks and half a turn more, rounded up to half a mm; 2 mm left
    outside the thread at the flats; washer face as a locknut's: common practice, no source.

    Examples
    --------
    >>> from vent_family.spec.thread.iso import thread_spec
    >>> ring = screen_ring_size(thread_spec("M32x1.5", 0.12))
    >>> ring.across_flats_mm, ring.thickness_mm
    (37.0, 4.5)
    """
    profile = thread.internal
    chamfer_mm = profile.depth_mm + RELIEF_DEPTH.value
    turns = FULL_TURNS_MIN.value + RING_TURNS_MORE.value
    flats_mm = float(math.ceil(profile.major_mm + 2.0 * RING_WALL.value - 1e-9))
    return LocknutSize(
        across_flats_mm=flats_mm,
        thickness_mm=math.ceil(2.0 * (2.0 * chamfer_mm + turns * profile.pitch_mm)) / 2.0,
        washer_diameter_mm=WASHER_SHARE * flats_mm,
        washer_height_mm=WASHER_HEIGHT.value,
        countersink_diameter_mm=profile.major_mm + 2.0 * RELIEF_DEPTH.value,
    )
