"""What holds a vent in a wall and a fan on a vent: bodies, designations and places.

A vent with screw holes is held by machine screws with washers on both sides, and by nuts with a
ring of polyamide behind the wall: the plastic under the heads creeps and so loses most of the
force that keeps a plain nut from turning loose (common practice, no source). Whoever wants plain
nuts says so. Screws are tightened from outside by a screwdriver, hence pan heads with a cross
recess. The gasket of a sealed vent lies within the ring of screws, so these need no seals.

A fan is held by four thread-forming screws for plastics, which no ISO standard describes: they are
sold by makers' designations. All of it is stainless steel A2; by the sea and in the spray of salt
water A4 is usual (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import cadquery as cq

from vent_family.base.limits import FAN_BORE_DEPTH, FAN_FLANGE, SCREW_TORQUE
from vent_family.base.materials import FAN_COLOUR, STEEL_COLOUR, STEEL_MATERIAL
from vent_family.base.problems import InputError, Problem
from vent_family.enclosure.hardware import (
    HARDWARE,
    Hardware,
    fan_envelope,
    forming_screw,
    nut,
    screw,
    washer,
)
from vent_family.enclosure.members import BodyData, FittedBody
from vent_family.evidence.installed.record import FanRoom, InstallationRecord
from vent_family.evidence.rounding import Plain, worth

PITCHES: Final = 2.0
"""Pitches by which a screw reaches beyond its nut (common practice, no source)."""
BORE_LEFT_MM: Final = 0.5
"""What a thread-forming screw leaves of its bore, so that it never bottoms."""
STANDARD: Final = "standard"
"""The attribute that names the standard of a bought part."""


@dataclass(frozen=True, slots=True)
class ScrewSet:
    """A screw with its nut and washers, chosen for a wall; ``length_mm`` is the screw's."""

    size: Hardware
    length_mm: int
    locking: bool

    @property
    def screw(self) -> str:
        """Designation of the screw.

        Examples
        --------
        >>> chosen = ScrewSet(HARDWARE["M4"], 16, locking=True)
        >>> chosen.screw, chosen.nut, chosen.washer
        ('ISO 7045 - M4 x 16 - A2-70', 'ISO 7040 - M4 - A2-70', 'ISO 7089 - 4 - 200 HV - A2')
        """
        return f"ISO 7045 - {self.size.thread} x {self.length_mm} - A2-70"

    @property
    def nut(self) -> str:
        """Designation of the nut."""
        return f"{_nut_standard(self.locking)} - {self.size.thread} - A2-70"

    @property
    def washer(self) -> str:
        """Designation of the washers."""
        return f"ISO 7089 - {self.size.nominal_mm:g} - 200 HV - A2"


def screw_set(
    part_number: str, room: InstallationRecord, wall_mm: float, *, locking: bool = True
) -> ScrewSet | None:
    """Return what holds a vent in a wall of a thickness (mm); ``None`` if no screws do.

    The screw is the shortest one sold that reaches through cover, wall, two washers and the nut,
    and two pitches beyond.

    Raises
    ------
    InputError
        if no screw of that size is long enough
    """
    if not room.screws:
        return None
    size = HARDWARE[room.screws[0].screw]
    need = grip_mm(room, wall_mm) + size.nut_height_mm(locking=locking) + PITCHES * size.pitch_mm
    length = size.length_from(need)
    if length is None:
        raise InputError(
            [
                Problem(
                    "wall.screw.short",
                    "no screw of that size is sold that is long enough for the wall",
                    part_number=part_number,
                    column="panel_mm",
                    value=f"{wall_mm:g}",
                    allowed=f"{wall_mm - (need - size.longest_mm):.1f} mm or less with"
                    f" {size.thread}",
                    suggestion="take a part with larger screws, or thin the wall there",
                    place="option",
                )
            ]
        )
    return ScrewSet(size, length, locking)


def grip_mm(room: InstallationRecord, wall_mm: float) -> float:
    """Return what lies between the screws' heads and their nuts in a wall of a thickness, mm."""
    size = HARDWARE[room.screws[0].screw]
    return room.head_mm + wall_mm + 2.0 * size.washer_height_mm


def fasteners_of(
    part_number: str, room: InstallationRecord, wall_mm: float, *, locking: bool = True
) -> tuple[FittedBody, ...]:
    """Return screws, washers and nuts that hold a vent in a wall, in the vent's coordinates.

    None for a vent that a locknut or snap arms hold. Bodies of one designation share one solid.

    Parameters
    ----------
    part_number
        the vent
    room
        what it asks of the wall
    wall_mm
        thickness of the wall, mm
    locking
        whether the nuts have a ring of polyamide

    Raises
    ------
    InputError
        if no screw of that size is long enough, or a nut has no room beside the fan
    GeometryError
        if the kernel does not return one solid
    """
    chosen = screw_set(part_number, room, wall_mm, locking=locking)
    if chosen is None:
        return ()
    _room_beside_the_fan(part_number, room, wall_mm, chosen)
    size, thread = chosen.size, chosen.size.thread
    torque = worth(SCREW_TORQUE.value * size.nominal_mm * 1e-3, "N m")
    kind = "prevailing torque nut, polyamide ring" if locking else "hexagon nut"
    standard = {
        "screw": _bought(
            chosen.screw,
            "pan head screw, cross recess",
            "ISO 7045",
            part_number,
            {"tightened_to_n_m": torque},
        ),
        "washer": _bought(chosen.washer, "plain washer, normal series", "ISO 7089", part_number),
        "nut": _bought(chosen.nut, kind, _nut_standard(locking), part_number),
    }
    front, back = room.head_mm, -wall_mm
    thick = size.washer_height_mm
    found: list[FittedBody] = []
    for i, at in enumerate(room.screws, 1):
        for name, shape, z in (
            ("washer_outside", washer(thread), front),
            ("screw", screw(thread, chosen.length_mm), front + thick),
            ("washer_inside", washer(thread), back - thick),
            ("nut", nut(thread, locking=locking), back - thick),
        ):
            place = cq.Location(cq.Vector(at.x_mm, at.y_mm, z))
            data = standard[name.split("_")[0]]
            found.append(FittedBody(f"{name}_{i}", shape, place, STEEL_COLOUR, data))
    return tuple(found)


def fan_of(part_number: str, room: InstallationRecord, *, name: str = "") -> tuple[FittedBody, ...]:
    """Return the fan that a vent holds, as the room it takes up, and its screws.

    None for a vent that holds no fan. Coordinates are the vent's. How heavy the fan is, is not
    known.

    Parameters
    ----------
    part_number
        the vent
    room
        what it asks of the wall
    name
        the fan's own name; by default its trade size

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    fan = room.fan
    if fan is None:
        return ()
    size = HARDWARE[fan.screw]
    envelope = fan_envelope(
        fan.frame_mm, fan.depth_mm, fan.hole_spacing_mm, fan.bore_mm, fan.hub_mm, fan.screw
    )
    length = size.length_up_to(
        FAN_FLANGE.value + FAN_BORE_DEPTH.value * size.nominal_mm - BORE_LEFT_MM
    )
    assert length is not None
    trade = f"axial fan {fan.frame_mm:g} mm"
    found = [
        FittedBody(
            "fan",
            envelope,
            cq.Location(cq.Vector(0.0, fan.centre_y_mm, fan.plane_z_mm)),
            FAN_COLOUR,
            BodyData(
                name or trade,
                "",
                f"{trade}, drawn as the room it takes up",
                "",
                None,
                {"belongs_to": part_number, "frame_mm": fan.frame_mm},
            ),
        )
    ]
    data = _bought(
        f"thread-forming screw for plastics {size.nominal_mm:g} x {length}",
        "pan head screw for bores in thermoplastics",
        "none; by the maker's designation",
        part_number,
    )
    half = fan.hole_spacing_mm / 2.0
    corners = [(sx * half, sy * half) for sy in (-1, 1) for sx in (-1, 1)]
    for i, (x, y) in enumerate(corners, 1):
        place = cq.Vector(x, fan.centre_y_mm + y, fan.plane_z_mm - FAN_FLANGE.value)
        # Driven from inside the cabinet: the head looks down.
        turned = cq.Location(place, cq.Vector(1.0, 0.0, 0.0), 180.0)
        shape = forming_screw(fan.screw, length)
        found.append(FittedBody(f"fan_screw_{i}", shape, turned, STEEL_COLOUR, data))
    return tuple(found)


def _bought(
    designation: str,
    words: str,
    standard: str,
    part_number: str,
    further: Mapping[str, Plain] = MappingProxyType({}),
) -> BodyData:
    return BodyData(
        designation,
        "",
        words,
        STEEL_MATERIAL.name,
        STEEL_MATERIAL.density_g_cm3,
        {STANDARD: standard, "belongs_to": part_number, **further},
    )


def _nut_standard(locking: bool) -> str:
    return "ISO 7040" if locking else "ISO 4032"


def _room_beside_the_fan(
    part_number: str, room: InstallationRecord, wall_mm: float, chosen: ScrewSet
) -> None:
    """Refuse nuts that run into the frame of the fan."""
    fan, size = room.fan, chosen.size
    if fan is None or not _reaches(fan, room, wall_mm, chosen):
        return
    # Washers are wider than nuts across their corners.
    wide = size.washer_mm / 2.0
    half = fan.frame_mm / 2.0
    for at in room.screws:
        beside = max(abs(at.x_mm) - half, abs(at.y_mm - fan.centre_y_mm) - half)
        if beside < wide:
            raise InputError(
                [
                    Problem(
                        "wall.fan.nuts",
                        f"the nut at x {at.x_mm:g} mm, y {at.y_mm:g} mm has no room beside the"
                        f" fan's frame: {wide:.1f} mm are needed, {beside:.1f} mm are there",
                        part_number=part_number,
                        column="panel_mm",
                        value=f"{wall_mm:g}",
                        suggestion="take a part with a wider opening for that fan, or a smaller"
                        " fan",
                        place="option",
                    )
                ]
            )


def _reaches(fan: FanRoom, room: InstallationRecord, wall_mm: float, chosen: ScrewSet) -> bool:
    """Tell whether screws and nuts reach as deep as the fan's frame stands."""
    end = room.head_mm + chosen.size.washer_height_mm - chosen.length_mm
    return min(end, -wall_mm) < fan.plane_z_mm
