"""What a cabinet must offer a vent as a kind of evidence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from shapely.geometry import Polygon

from vent_family.base.limits import MOUNTING_TOLERANCE
from vent_family.evidence.installed.record import (
    FanRoom,
    GasketLand,
    InstallationRecord,
    NutRoom,
    ScrewPlace,
)
from vent_family.evidence.installed.taken import Ring, Taken, taken_by
from vent_family.evidence.kind import Kind
from vent_family.geometry.families import BUILDERS
from vent_family.geometry.outline import Bend, Disc, upper_outline
from vent_family.spec.body import Cover, GasketSpec, Neck
from vent_family.spec.families import filled_row
from vent_family.spec.fan_mount import FanDuct
from vent_family.spec.thread.parts import locknut_size

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext

PLAIN_MM: Final = 0.05
"""How far the outlines of what it takes up may lie from the true ones in the record."""


@dataclass(frozen=True)
class Room:
    """The opening's edge and what the fitted vent takes up."""

    cut: tuple[Bend, ...] | Disc
    taken: Taken


class Installed(Kind[Room]):
    """Which opening and wall the vent fits, and what room it needs."""

    name = "installation"
    section = "installation"
    record_type = InstallationRecord
    heading = ""

    def compute(self, context: PartContext) -> Room:
        """Return opening and room, measured on the solids.

        Raises
        ------
        GeometryError
            if the kernel makes no solid, or the opening is not bounded by straight lines and arcs
        """
        spec = context.spec
        tool = BUILDERS[spec.family].opening(spec, (-spec.panel_thickness_mm, 0.0))
        return Room(upper_outline(tool), taken_by(context))

    def record(self, context: PartContext) -> InstallationRecord:
        """Return what the cabinet must offer."""
        spec, room = context.spec, context.of(self)
        body, section = spec.body, spec.section
        panel = body.panel_range(section)
        row = filled_row(spec.row)
        bends = () if isinstance(room.cut, Disc) else room.cut
        z, y = section.lower[-1]
        return InstallationRecord(
            panel_least_mm=panel.least_mm,
            panel_most_mm=panel.most_mm,
            panel_basis=panel.why,
            outline_mm=[(b.x_mm, b.y_mm) for b in bends],
            bulges=[b.bulge for b in bends],
            circle_mm=room.cut.diameter_mm if isinstance(room.cut, Disc) else None,
            screws=[
                ScrewPlace(x_mm=h.x_mm, y_mm=h.y_mm, hole_mm=h.diameter_mm, screw=h.screw)
                for h in spec.opening.holes
            ],
            outside_mm=_plain(room.taken.outside),
            inside_mm=_plain(room.taken.inside),
            front_mm=room.taken.front_mm,
            behind_mm=room.taken.behind_mm,
            head_mm=section.front_z_mm,
            gasket=None if body.gasket is None else _land(body.gasket),
            nut=None if body.neck is None else _nut(body.neck, body.cover),
            fan=None if spec.fan_duct is None else _fan(spec.fan_duct),
            drain_mm=(0.0, y, z),
            tilt_deg=row.mounting_tilt_deg,
            roll_deg=row.mounting_roll_deg,
            spare_deg=MOUNTING_TOLERANCE.value,
        )


def _plain(ring: Ring) -> list[tuple[float, float]]:
    """Return an outline with fewer corners, within :data:`PLAIN_MM` of the true one."""
    plain = Polygon(ring).simplify(PLAIN_MM)
    return [(float(x), float(y)) for x, y in plain.exterior.coords[:-1]]


def _land(gasket: GasketSpec) -> GasketLand:
    return GasketLand(
        ring=gasket.is_ring,
        inner_mm=gasket.inner_mm,
        outer_mm=gasket.outer_mm,
        fitted_mm=gasket.recess_mm,
    )


def _nut(neck: Neck, cover: Cover) -> NutRoom:
    size = locknut_size(neck.thread)
    return NutRoom(
        thread=neck.thread.designation,
        thickness_mm=size.thickness_mm,
        across_flats_mm=size.across_flats_mm,
        across_corners_mm=size.across_corners_mm,
        head_flats_mm=cover.reach_mm[0] + cover.reach_mm[1],
        pitch_mm=neck.thread.pitch_mm,
    )


def _fan(duct: FanDuct) -> FanRoom:
    frame = duct.frame
    return FanRoom(
        frame_mm=frame.side_mm,
        centre_y_mm=duct.centre_mm,
        plane_z_mm=duct.end_z_mm,
        depth_mm=frame.depth_mm,
        screw=frame.screw,
        hole_spacing_mm=frame.spacing_mm,
        bore_mm=frame.bore_mm,
        hub_mm=frame.hub_mm,
    )


INSTALLED: Final = Installed()
"""What a cabinet must offer a vent."""
