"""The fan behind a vent as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.evidence.facts import facts_table
from vent_family.evidence.fan.record import FanMountSection, fan_mount_section
from vent_family.evidence.kind import Kind

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class FanBehind(Kind[FanMountSection]):
    """Which fan goes behind the vent, and how."""

    name = "fan mount"
    section = ""
    record_type = FanMountSection
    heading = "Fan behind the vent"

    def compute(self, context: PartContext) -> FanMountSection:
        """Return which fan the duct holds."""
        return fan_mount_section(context.spec.fan_duct, context.spec.opening.size_mm)

    def record(self, context: PartContext) -> FanMountSection:
        """Return the same."""
        return context.of(self)

    def sentences(self, context: PartContext) -> list[str]:
        """Return fan, screws and distance in one line, with what they do not say."""
        held = context.of(self).fan_mount
        if held is None:
            return []
        share = held.swept_open_mm2 / held.swept_area_mm2
        beyond = ""
        if held.overhang_mm > 0.0:
            beyond = f" Its frame reaches {held.overhang_mm:.1f} mm beyond the opening."
        return [
            f"Fan: a frame of {held.frame_mm:g} mm, holes {held.hole_spacing_mm:g} mm apart, on"
            f" four bosses for thread-forming {held.screw} screws (bores of"
            f" {held.screw_bore_mm:.1f} x {held.screw_bore_depth_mm:g} mm),"
            f" {held.guard_distance_mm:.1f} mm behind the slats; {100.0 * share:.0f} % of what it"
            f" sweeps is open. {held.fitting[0].upper()}{held.fitting[1:]}.{beyond}",
            f"Fan, caution: {held.caution}.",
        ]

    def chapter(self, context: PartContext) -> list[str]:
        """Return the table of its facts, nothing for a part that holds no fan."""
        held = context.of(self).fan_mount
        return [] if held is None else facts_table(held)


FAN = FanBehind()
"""The fan behind the vent."""
