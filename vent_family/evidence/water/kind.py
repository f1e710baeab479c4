"""Water as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.evidence.kind import Kind, Picture
from vent_family.evidence.solid.kind import AREAS
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.chapter import water_lines, water_summary
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.record import WaterRecord, water_record
from vent_family.evidence.water.report import WaterReport

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Water(Kind[WaterReport]):
    """Will water get in, under the exposures of the row."""

    name = "water"
    section = "water"
    record_type = WaterRecord
    heading = "Will water get in?"

    def compute(self, context: PartContext) -> WaterReport:
        """Assess every exposure of the row, with advice."""
        return assess(context.spec, conditions_of(context.spec, context.of(AREAS)))

    def record(self, context: PartContext) -> WaterRecord:
        """Return the water section."""
        return water_record(context.of(self))

    def figures(self, context: PartContext) -> dict[str, Picture]:
        """Return straight paths, drop tracks and penetration."""
        # Imported here: the plotting library takes a while to load, and only this needs it.
        from vent_family.evidence.water.pictures import pictures

        drawn = pictures(context.spec.section, context.of(self))
        return {stem: Picture(figure, stem.replace("-", " ")) for stem, figure in drawn.items()}

    def sentences(self, context: PartContext) -> list[str]:
        """Return what is predicted of all exposures in one line."""
        return [water_summary(context.of(self))]

    def chapter(self, context: PartContext) -> list[str]:
        """Return operating points, verdicts in words and what is not predicted."""
        return water_lines(context.of(self))


WATER = Water()
